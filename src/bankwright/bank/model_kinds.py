"""What data sheets say: kinds of module, cable, lug, device, inverter, charger, rack; None where the sheet is silent.

Gives: ModuleKind and its parts, CableKind, StrapKind, LugKind, DeviceKind, InverterKind, ChargerKind, PostSpec,
Precharge, Message, RackKind. All frozen, in SI.
Limits: no file knowledge beyond `path`, the key of each kind in the bank file ("kinds.module.M100").
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from bankwright.forms.toleranced import Toleranced
from bankwright.handbook.cells import cell_voltage

__all__ = [
    "Addressing",
    "CableKind",
    "ChargeLimits",
    "ChargerKind",
    "DeviceKind",
    "DischargeLimits",
    "InverterKind",
    "LugKind",
    "Message",
    "ModuleKind",
    "PostSpec",
    "Precharge",
    "RackKind",
    "Resistances",
    "StrapKind",
    "TripBehaviour",
]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class PostSpec:
    """Studs or terminals of a module, inverter, device or bar."""

    pairs: int = 1  # posts a pole
    inner: Toleranced | None = None  # bar between the two posts of one pole
    stud: str | None = None  # "M8", "3/8 in"
    lugs: int | None = None  # that one post takes
    torque: float | None = None
    through: float | None = None  # current entering one post of a pole and leaving by the other
    rating_degc: float | None = None


@dataclass(frozen=True, slots=True)
class Resistances:
    """Three resistances post to post, and the part of dc that is in the cells; at 25 degC."""

    dc: Toleranced | None = None
    after: float = 30.0  # s into a step that `dc` holds for
    surge: Toleranced | None = None
    surge_after: float | None = None
    ohmic: Toleranced | None = None  # 1 kHz or first millisecond
    cells: Toleranced | None = None  # the part of dc in the cells; the rest is metal and is in all three


@dataclass(frozen=True, slots=True)
class DischargeLimits:
    """Discharge side of a data sheet."""

    continuous: float | None = None
    trip: Toleranced | None = None
    trip_delay: float | None = None
    lowest_degc: float | None = None
    highest_degc: float | None = None
    cell_trip: Toleranced | None = None  # V, cell under-voltage
    cell_empty: float | None = None  # V, end of discharge a cell, under load
    cell_spread: float | None = None  # V near empty, highest minus lowest


@dataclass(frozen=True, slots=True)
class ChargeLimits:
    """Charge side of a data sheet."""

    continuous: float | None = None
    by_temperature: tuple[Point, ...] = ()  # (cell degC, A), steps upward
    trip: Toleranced | None = None
    trip_delay: float | None = None
    lowest_degc: float | None = None
    highest_degc: float | None = None
    cell_trip: Toleranced | None = None  # V, cell over-voltage
    cell_full: float | None = None  # V, end of charge a cell
    highest_voltage: float | None = None  # stated maximum of the module
    inhibits: bool | None = None  # stops charging itself when too cold
    heated: bool | None = None


@dataclass(frozen=True, slots=True)
class TripBehaviour:
    """What a trip leaves open and how the module comes back."""

    charge: Literal["still discharges", "opens"] | None = None
    discharge: Literal["still charges", "opens"] | None = None
    restart: Literal["by hand", "by itself", "by charger"] | None = None
    recloses: str | None = None  # "never", or "after 30 s"
    reclose_delay: float | None = None


@dataclass(frozen=True, slots=True)
class Addressing:
    """Address switches of a module on its data bus."""

    switches: int | None = None
    first: int | None = None
    most: int | None = None
    order: Literal["first is lowest", "first is highest"] | None = None  # which switch counts least
    base: int | None = None
    on_is: Literal["one", "zero"] | None = None
    reserved: int | None = None  # for a group leader
    wakes: bool | None = None  # switches are read only on waking


@dataclass(frozen=True, slots=True)
class DeviceKind:
    """A kind of fuse, breaker, disconnect or shunt."""

    name: str
    path: str
    type: Literal["fuse", "breaker", "disconnect", "shunt"]
    rating: float | None = None
    volts: float | None = None  # on DC, for `poles`
    interrupts: float | None = None  # on DC, at `volts`
    poles: int | None = None  # poles in series that `volts` and `interrupts` hold for
    polarised: bool | None = None
    device_class: str | None = None  # "class T", "gG", "aR", "iec 60898-2"
    curve: tuple[Point, ...] = ()  # (A, s): total clearing, falling
    melting: tuple[Point, ...] = ()  # (A, s): before melting or shortest trip
    melting_i2t: float | None = None
    let_through: float | None = None  # A2s, total clearing at the interrupting rating
    least_breaking: float | None = None
    derating: tuple[Point, ...] = ()  # (degC, factor)
    full_rated: bool | None = None  # marked for 100 % continuous
    breaks_load: bool | None = None
    terminals: PostSpec | None = None
    resistance: Toleranced | None = None
    instant: Toleranced | None = None  # magnetic trip, A
    listing: tuple[str, ...] = ()
    ac_rating_only: bool | None = None
    mass: float | None = None
    accuracy: float | None = None  # class of a shunt
    sits_in: Literal["plus", "minus", "both"] | None = None  # poles that a breaker inside a module opens
    time_constant: float | None = None  # s, largest L/R that `interrupts` holds for
    withstands: float | None = None  # A, short circuit that a switch may be closed onto, behind its fuse
    current_limiting: bool | None = None
    altitude: float | None = None  # m up to which its ratings hold
    enclosure: str | None = None  # "IP65", "type 3R"


@dataclass(frozen=True, slots=True)
class ModuleKind:
    """A kind of module."""

    name: str
    path: str
    cells: int
    chemistry: str = "LFP"
    capacity_ah: float | None = None
    energy_kwh: float | None = None
    listing: tuple[str, ...] = ()
    resistance: Resistances = Resistances()
    discharge: DischargeLimits = DischargeLimits()
    charge: ChargeLimits = ChargeLimits()
    trips: TripBehaviour = TripBehaviour()
    breaker: DeviceKind | None = None
    breaker_backed_by: str | None = None  # a fuse kind proved for it
    posts: PostSpec = PostSpec()
    parallel_most: int | None = None
    join_within: float | None = None  # V
    mass: float | None = None
    height: float | None = None
    width: float | None = None
    depth: float | None = None
    address: Addressing = Addressing()
    ocv: tuple[Point, ...] = ()  # (state of charge 0..1, V a cell), the kind's own table
    standby_power: float | None = None
    heat_capacity: float | None = None  # J/K
    cell_spread: float | None = None  # V at rest, highest minus lowest
    altitude: float | None = None  # m up to which its ratings hold
    enclosure: str | None = None  # "IP65", "type 3R"

    @property
    def nominal_voltage(self) -> float:
        """Cells times the nominal voltage of one. [V]"""
        return self.cells * cell_voltage("nominal").value

    @property
    def energy_or_nominal(self) -> float | None:
        """Energy of the plate, else rated capacity times nominal voltage. [kWh]"""
        if self.energy_kwh is not None or self.capacity_ah is None:
            return self.energy_kwh
        return self.capacity_ah * self.nominal_voltage / 1000.0


@dataclass(frozen=True, slots=True)
class StrapKind:
    """A flat strap: its section, metal, holes at both ends, and what it is rated for."""

    path: str
    width: float
    thickness: float  # of the whole stack
    material: str = "copper"
    layers: int = 1
    hole: float | None = None
    rating: float | None = None
    rated_ambient_degc: float | None = None

    @property
    def around(self) -> float:
        """Perimeter of the section. [m]"""
        return 2.0 * (self.width + self.thickness)


@dataclass(frozen=True, slots=True)
class CableKind:
    """A cable as cut: size label with its section and resistance, and how it lies; or a flat strap in its place."""

    size: str  # table label: "4/0 AWG", "70 mm2"
    area: float  # m2
    ohm_per_m: float  # at 20 degC
    size_path: str  # the file key of the size
    strands: str | None = None  # "fine", "class 5", "class 2"
    insulation_degc: float | None = None
    method: str | None = None  # "free air", "raceway", "rack"
    spacing: float | None = None  # m between the two poles
    bundled: int | None = None  # current-carrying conductors together
    outer_diameter: float | None = None
    bend_radius: float | None = None
    conduit: float | None = None  # m inside diameter
    strap: StrapKind | None = None

    def around(self, coat: float) -> float:
        """Perimeter over the insulation, `coat` thick where the outer diameter is not given; a strap's own. [m]"""
        if self.strap is not None:
            return self.strap.around
        return math.pi * (self.outer_diameter or math.sqrt(4 * self.area / math.pi) + 2 * coat)


@dataclass(frozen=True, slots=True)
class LugKind:
    """A kind of lug; also the drilled end of a strap, which has a hole and no barrel."""

    name: str
    path: str
    hole: float | None = None  # m
    stud: str | None = None  # the stud it is sold for
    cables: tuple[str, ...] = ()  # sizes it is listed for
    strands: tuple[str, ...] = ()  # strand classes it is listed for
    rating_degc: float | None = None
    barrel: float | None = None  # length of barrel, m
    crimp: str | None = None  # die or tool of its sheet
    is_lug: bool = True  # False: the drilled end of a strap


@dataclass(frozen=True, slots=True)
class Precharge:
    """A pre-charge path: resistor, its pulse energy, power, and the waiting time before closing."""

    resistor: float | None = None
    pulse_energy: float | None = None
    power: float | None = None
    wait: float | None = None
    hold: float | None = None  # s that it may be held on
    place: Literal["for good", "button", "inside"] | None = (
        None  # across the main for good, on a button, in the inverter
    )
    tolerance: float | None = None  # of the resistor


@dataclass(frozen=True, slots=True)
class Message:
    """The cable that carries the modules' control message, at the device, and what the device does without it."""

    socket: str | None = None
    cable: str | None = None
    pins: str | None = None
    terminator: str | None = None
    first: str | None = None  # the module that it asks first
    lost: Literal["stops", "own limits", "goes on"] | None = None


@dataclass(frozen=True, slots=True)
class ChargerKind:
    """A kind of charger, or the charging side of an inverter."""

    name: str
    path: str
    current: float | None = None
    voltage_low: float | None = None
    voltage_high: float | None = None  # ceiling of the range, not the setting
    setting: float | None = None  # V
    without_message: float | None = None  # A it gives without the control message
    highest_input: float | None = None  # V its battery side stands
    one_way: bool | None = None
    terminals: PostSpec | None = None
    message: Message = Message()
    altitude: float | None = None  # m up to which its ratings hold
    enclosure: str | None = None  # "IP65", "type 3R"


@dataclass(frozen=True, slots=True)
class InverterKind:
    """A kind of inverter."""

    name: str
    path: str
    power: float | None = None  # W out, continuous
    efficiency: float | None = None
    surge_power: float | None = None
    surge_time: float | None = None
    lowest_voltage: float | None = None  # that still gives rated power
    cut_out: float | None = None
    highest_input: float | None = None
    phases: int | None = None
    frequency: float | None = None
    isolated: bool | None = None
    capacitance: Toleranced | None = None
    capacitor_resistance: float | None = None
    standby_current: float | None = None
    earthable: tuple[str, ...] | None = None  # poles that its manual lets one earth
    precharge: Precharge | None = None
    charger: ChargerKind | None = None
    terminals: PostSpec | None = None
    start_delay: float | None = None
    message: Message = Message()
    volts_out: Toleranced | None = None  # of a leg against the neutral
    stops_within: float | None = None  # s from the stop to an output without voltage
    transfers_within: float | None = None  # s
    altitude: float | None = None  # m up to which its ratings hold
    enclosure: str | None = None  # "IP65", "type 3R"


@dataclass(frozen=True, slots=True)
class RackKind:
    """The frame the modules stand in."""

    name: str
    path: str
    units: int | None = None
    mass: float | None = None
    width: float | None = None
    depth: float | None = None
    height: float | None = None
    foot_width: float | None = None
    foot_depth: float | None = None
    first_unit_height: float | None = None  # floor to lower edge of unit 1
    on: Literal["floor", "wheels", "wall"] | None = None
    footprint: float | None = None  # m2 that carries
    wheels: int | None = None
    wheel_load: float | None = None  # kg a caster may carry
    anchors: int | None = None
    anchor_tension: float | None = None  # N each, allowable
    module_load: float | None = None  # kg the frame may carry
