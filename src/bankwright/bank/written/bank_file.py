"""The bank file as written: patterns and all, quantities parsed to SI.

Gives: Written (the whole file), WrittenKinds (an included file of kinds). Pydantic, strict, one description a key:
the manual (docs/bank-file.md) is made from them.
Limits: shapes and single values; rules that join fields are in bank/rules, unfolding in bank/unfold.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.bus import BusW
from bankwright.bank.written.kinds import Kinds
from bankwright.bank.written.parts import Ampere, Terminals, Volt, Watt
from bankwright.bank.written.site import InstrumentW, SiteW
from bankwright.bank.written.sun import ArrayEntry
from bankwright.bank.written.values import Count, Form, Names, Strict, Text, Texts, YesNo, amount, band
from bankwright.bank.written.watch import WatchW
from bankwright.bank.written.wiring import BarW, ConductorW, LinkW, WiringW
from bankwright.forms.toleranced import Toleranced

__all__ = [
    "ChargerEntry",
    "DeviceEntry",
    "InverterEntry",
    "LoadEntry",
    "ModuleEntry",
    "RackEntry",
    "Written",
    "WrittenKinds",
]


class ModuleEntry(Strict):
    """One module that stands there."""

    name: Text = Field(description="Its name, used everywhere.")
    kind: Text = Field(description="A kind of kinds.module.")
    count: Annotated[int, Field(ge=1, le=64), Form("whole number from 1 to 64", "4")] = Field(
        1, description="How many alike it stands for: name and slot count on, M1 to M4 in slots 1 to 4."
    )
    slot: Count | None = Field(None, description="Rack slot; slot 1 is the lowest.")
    rack: Text | None = Field(None, description="The rack it stands in, when there are several.")
    unit: Count | None = Field(None, description="Rack unit of its lower edge, counted from 1.")
    capacity: Annotated[float, amount("capacity_ah")] | None = Field(
        None, description="Measured capacity, where it differs."
    )
    resistance_factor: Annotated[Toleranced, band("ratio")] | None = Field(
        None, description="Its resistance against that of its kind: aged, or measured."
    )
    address: Annotated[int, Field(ge=0, le=255), Form("whole number", "1")] | None = Field(
        None, description="Its address on the data bus, where it is set already."
    )
    serial: Text | None = Field(None, description="Serial number of its plate.")


class RackEntry(Strict):
    """One rack."""

    name: Text = Field(description="Its name.")
    kind: Text = Field(description="A kind of kinds.rack.")


class DeviceEntry(Strict):
    """One device, or one in every module lead."""

    name: Text = Field(description="Its name; with `each module`, names are NAME-M1, NAME-M2 and so on.")
    kind: Text = Field(description="A kind of kinds.device.")
    on: Names = Field(
        description="The conductor it sits in: a link, `main+`, a post that one link lands on, or a list of both poles "
        "for one handle; `each module +` puts one in every module's lead, `each module` one with both poles; so do "
        "`each inverter`, `each charger` and `each main`."
    )
    at: Text | None = Field(
        None,
        description="`bank end`, `module end`, `bar end`, `inverter end`, a post, or a distance from the bank's end.",
    )
    poles_used: Count | None = Field(None, description="Poles in series in one conductor.")
    reach: Text | None = Field(None, description='Where the hand finds it: "beside the rack".')
    labels: Texts = Field([], description="Labels on it.")
    reversed: YesNo | None = Field(None, description="Line and load marks turned against the current out of the bank.")


class InverterEntry(Strict):
    """One inverter."""

    name: Text = Field(description="Its name.")
    kind: Text = Field(description="A kind of kinds.inverter.")
    lead: ConductorW | None = Field(None, description="Its own cables; what is not given comes from wiring.branch.")
    phase: Text | None = Field(None, description='Phase it feeds: "L1".')
    remote_off: YesNo | None = Field(None, description="Whether the emergency off stops it.")


class ChargerEntry(Strict):
    """One charger."""

    name: Text = Field(description="Its name.")
    kind: Text = Field(description="A kind of kinds.charger.")
    lead: ConductorW | None = Field(None, description="Its own cables; what is not given comes from wiring.branch.")


class LoadEntry(Strict):
    """One direct load on the bus: power or current."""

    name: Text = Field(description="Its name.")
    power: Watt | None = Field(None, description="Power it takes.")
    current: Ampere | None = Field(None, description="Current it takes.")
    highest_input: Volt | None = Field(None, description="Highest voltage it stands.")
    lowest_input: Volt | None = Field(None, description="Lowest voltage at which it still works.")
    sense_wire: YesNo | None = Field(
        None, description="A sense or control wire, of a meter or a coil: without power or current it takes none."
    )
    lead: ConductorW | None = Field(None, description="Its own cables; what is not given comes from wiring.branch.")
    terminals: Terminals | None = Field(None, description="Its terminals.")


class Written(Strict):
    """A bank file."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(description="Number of this format.")
    title: Text = Field("", description="What the bank is called.")
    rules: Literal["nec-2023", "iec-60364"] | None = Field(None, description="Rule book that checks quote.")
    storage_rules: Text | None = Field(None, description='Edition for places and energy limits: "irc-2021".')
    units: Literal["metric", "us"] = Field("metric", description="Units of all output.")
    include: Texts = Field([], description="Files of kinds, in the folder of the bank file or below it.")
    site: SiteW = Field(SiteW(), description="The room and what rules it.")
    kinds: Kinds = Field(Kinds(), description="What data sheets say.")
    racks: list[RackEntry] = Field([], description="Racks.")
    modules: list[ModuleEntry] = Field(min_length=1, description="Modules.")
    wiring: WiringW = Field(description="How they are joined.")
    bars: list[BarW] = Field([], description="Busbars.")
    links: list[LinkW] = Field([], description="Links listed one by one, or changes to links of the pattern.")
    devices: list[DeviceEntry] = Field([], description="Devices.")
    inverters: list[InverterEntry] = Field([], description="Inverters.")
    chargers: list[ChargerEntry] = Field([], description="Chargers.")
    loads: list[LoadEntry] = Field([], description="Direct loads.")
    arrays: list[ArrayEntry] = Field([], description="Strings of solar modules.")
    instruments: list[InstrumentW] = Field([], description="Instruments.")
    bus: BusW | None = Field(None, description="The data bus.")
    watch: WatchW | None = Field(None, description="Alarms: limits that go before the usual ones, and who is told.")


class WrittenKinds(Strict):
    """A file of kinds that bank files include."""

    format: Annotated[Literal[1], Form("1", "1")] = Field(1, description="Number of this format.")
    title: Text = Field("", description="What the file holds.")
    include: Texts = Field([], description="Further files of kinds.")
    kinds: Kinds = Field(Kinds(), description="What data sheets say.")
