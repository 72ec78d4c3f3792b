"""Kinds as written under [kinds.*]: what data sheets say of devices, lugs, inverters, chargers, racks, solar modules.

Gives: Kinds and its tables. Pydantic, strict; quantities parsed to SI. A missing value is None, never 0.
Limits: one kind at a time; modules are in bank/written/module, rules that join fields in bank/rules/kinds.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.module import ModuleW
from bankwright.bank.written.parts import (
    Ampere,
    Ampere0,
    DeviceParts,
    Kilogram,
    Metre,
    Seconds,
    Terminals,
    Volt,
    Watt,
)
from bankwright.bank.written.sun import SolarW
from bankwright.bank.written.values import Count, Form, Strict, Stud, Text, Texts, WireSize, YesNo, amount, band, limits
from bankwright.forms.toleranced import Toleranced

__all__ = ["ChargerW", "DeviceW", "InverterW", "Kinds", "LugW", "MessageW", "PrechargeW", "RackW"]


class DeviceW(DeviceParts):
    """Fuse, breaker, disconnect or shunt."""

    type: Literal["fuse", "breaker", "disconnect", "shunt"] = Field(description="What it is.")
    accuracy: Annotated[float, amount("share", most=0.1, sample="0.5 %")] | None = Field(
        None, description="Accuracy class of a shunt."
    )


class LugW(Strict):
    """Lug."""

    hole: Metre | None = Field(None, description="Diameter of the hole.")
    stud: Stud | None = Field(None, description="Stud it is sold for.")
    cables: list[WireSize] = Field([], description="Wire sizes it is listed for.")
    strands: Texts = Field([], description='Strand classes it is listed for: "fine", "class 5", "class 2".')
    rating: Annotated[float, amount("temperature_degc")] | None = Field(None, description="Temperature rating.")
    barrel: Metre | None = Field(None, description="Length of the barrel.")
    crimp: Text | None = Field(None, description="Die or tool that its sheet names.")


class PrechargeW(Strict):
    """Pre-charge path of an inverter."""

    resistor: Annotated[float, amount("resistance")] | None = Field(None, description="Resistor.")
    pulse_energy: Annotated[float, amount("energy")] | None = Field(
        None, description="Pulse energy the resistor takes."
    )
    power: Watt | None = Field(None, description="Continuous power of the resistor.")
    wait: Seconds | None = Field(None, description="Waiting time before the main switch closes.")
    hold: Seconds | None = Field(None, description="Longest time that it may be held on.")
    tolerance: Annotated[float, amount("share", most=0.5, sample="5 %")] | None = Field(
        None, description="Tolerance of the resistor."
    )
    place: Literal["for good", "button", "inside"] | None = Field(
        None, description="Where it bridges: the main switch for good, on a button, or inside the inverter."
    )


class MessageW(Strict):
    """The cable that carries the modules' control message, at this device."""

    socket: Text | None = Field(None, description="Socket of the device that takes it.")
    cable: Text | None = Field(None, description="Cable that its manual asks for.")
    pins: Text | None = Field(None, description='Pins at both ends: "4 to 4, 5 to 5".')
    terminator: Text | None = Field(None, description="Where the line is ended, and how.")
    first: Text | None = Field(None, description="Module that is asked first: the one whose socket takes the cable.")
    lost: Literal["stops", "own limits", "goes on"] | None = Field(
        None, description="What the device does once the message is lost."
    )


class ChargerW(Strict):
    """Charger, or the charging side of an inverter."""

    current: Ampere | None = Field(None, description="Largest current into the bank.")
    voltage: Annotated[tuple[float, float], limits("voltage", "48 V to 60 V")] | None = Field(
        None, description="Range it can be set to, not only the setting; its ceiling is what counts."
    )
    setting: Volt | None = Field(None, description="Voltage it is set to.")
    without_message: Ampere0 | None = Field(
        None, description="Current it gives without the control message of the modules; not given: its largest."
    )
    highest_input: Volt | None = Field(None, description="Highest voltage its battery side stands.")
    one_way: YesNo | None = Field(None, description="Whether current can only flow towards the bank.")
    altitude: Metre | None = Field(None, description="Height above sea level up to which its ratings hold.")
    enclosure: Text | None = Field(None, description='Enclosure it has or sits in: "IP65", "type 3R".')
    terminals: Terminals | None = Field(None, description="Battery terminals.")
    message: MessageW = Field(MessageW(), description="Cable of the control message.")


class InverterW(Strict):
    """Inverter."""

    power: Watt | None = Field(None, description="Continuous power out.")
    efficiency: Annotated[float, amount("share", most=1.0)] | None = Field(
        None, description="Efficiency at that power."
    )
    surge_power: Watt | None = Field(None, description="Surge power out.")
    surge_time: Seconds | None = Field(None, description="How long it gives surge power.")
    lowest_voltage: Volt | None = Field(None, description="Lowest input voltage that still gives rated power.")
    cut_out: Volt | None = Field(None, description="Voltage at which it switches off.")
    highest_input: Volt | None = Field(None, description="Highest input voltage it stands.")
    phases: Annotated[Literal[1, 2, 3], Form("1, 2 (split) or 3", "1")] | None = Field(None, description="Phases out.")
    frequency: Annotated[float, amount("frequency")] | None = Field(None, description="Line frequency.")
    isolated: YesNo | None = Field(None, description="Whether the battery side is isolated from the AC side.")
    capacitance: Annotated[Toleranced, band("capacitance")] | None = Field(None, description="Input capacitance.")
    capacitor_resistance: Annotated[float, amount("resistance", positive=False)] | None = Field(
        None, description="Series resistance of the input capacitors."
    )
    standby_current: Ampere0 | None = Field(None, description="Current it draws before it starts.")
    earthable: list[Literal["plus", "minus"]] | None = Field(
        None, description="Poles that its manual lets one earth; an empty list for none."
    )
    precharge: PrechargeW | None = Field(None, description="Pre-charge path.")
    charger: ChargerW | None = Field(None, description="Its charging side.")
    altitude: Metre | None = Field(None, description="Height above sea level up to which its ratings hold.")
    enclosure: Text | None = Field(None, description='Enclosure it has or sits in: "IP65", "type 3R".')
    terminals: Terminals | None = Field(None, description="Battery terminals.")
    start_delay: Annotated[float, amount("time", positive=False)] | None = Field(
        None, description="Time from battery voltage to load."
    )
    volts_out: Annotated[Toleranced, band("voltage")] | None = Field(
        None, description='Voltage of a leg against the neutral, as its sheet holds it: "120 V +- 2 %".'
    )
    stops_within: Seconds | None = Field(None, description="Time from the stop to an output without voltage.")
    transfers_within: Seconds | None = Field(None, description="Time of its transfer from or to the utility.")
    message: MessageW = Field(MessageW(), description="Cable of the control message.")


class RackW(Strict):
    """Frame that modules stand in."""

    units: Count | None = Field(None, description="Rack units inside.")
    mass: Kilogram | None = Field(None, description="Mass when empty.")
    width: Metre | None = Field(None, description="Width outside.")
    depth: Metre | None = Field(None, description="Depth outside.")
    height: Metre | None = Field(None, description="Height outside.")
    foot_width: Metre | None = Field(None, description="Between the outer feet or wheels, across.")
    foot_depth: Metre | None = Field(None, description="Between the outer feet or wheels, front to back.")
    first_unit_height: Metre | None = Field(None, description="Floor to the lower edge of unit 1.")
    on: Literal["floor", "wheels", "wall"] | None = Field(None, description="What it stands on.")
    footprint: Annotated[float, amount("floor_area")] | None = Field(None, description="Floor area that carries it.")
    wheels: Count | None = Field(None, description="Wheels.")
    wheel_load: Kilogram | None = Field(None, description="Load that one wheel may carry while moved.")
    anchors: Count | None = Field(None, description="Anchors to floor or wall.")
    anchor_tension: Annotated[float, amount("force")] | None = Field(
        None, description="Tension that one anchor may carry."
    )
    module_load: Kilogram | None = Field(None, description="Load that the frame may carry.")


class Kinds(Strict):
    """Kinds by name: [kinds.module.NAME] and so on; also in an included file."""

    module: dict[str, ModuleW] = Field({}, description="Modules.")
    device: dict[str, DeviceW] = Field({}, description="Fuses, breakers, disconnects, shunts.")
    lug: dict[str, LugW] = Field({}, description="Lugs.")
    inverter: dict[str, InverterW] = Field({}, description="Inverters.")
    charger: dict[str, ChargerW] = Field({}, description="Chargers.")
    rack: dict[str, RackW] = Field({}, description="Racks.")
    solar: dict[str, SolarW] = Field({}, description="Solar modules.")
