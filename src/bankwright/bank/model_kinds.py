"""What data sheets say: kinds of module, cable, lug, device, inverter, charger, rack; None where the sheet is silent.

Gives: ModuleKind and its parts, CableKind, LugKind, DeviceKind, InverterKind, ChargerKind, PostSpec, Precharge,
RackKind; frozen, SI.
Limits: no file knowledge beyond `path`, the key of each kind in the bank file ("kinds.module.M100").
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bankwright.forms.toleranced import Toleranced

__all__ = [
    "Addressing",
    "CableKind",
    "ChargeLimits",
    "ChargerKind",
    "DeviceKind",
    "DischargeLimits",
    "InverterKind",
    "LugKind",
    "ModuleKind",
    "PostSpec",
    "Precharge",
    "RackKind",
    "Resistances",
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
    order: Literal["first is lowest", "first is highest"] | None = None


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

    @property
    def nominal_voltage(self) -> float:
        """Nominal voltage: 3.2 V a cell (common practice for LFP, no source)."""
        return 3.2 * self.cells


@dataclass(frozen=True, slots=True)
class CableKind:
    """A cable as cut: size label with its section and resistance, and how it lies."""

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


@dataclass(frozen=True, slots=True)
class LugKind:
    """A kind of lug."""

    name: str
    path: str
    hole: float | None = None  # m
    stud: str | None = None  # the stud it is sold for
    cables: tuple[str, ...] = ()  # sizes it is listed for
    strands: tuple[str, ...] = ()  # strand classes it is listed for
    rating_degc: float | None = None
    barrel: float | None = None  # length of barrel, m
    crimp: str | None = None  # die or tool of its sheet


@dataclass(frozen=True, slots=True)
class Precharge:
    """A pre-charge path: resistor, its pulse energy, power, and the waiting time before closing."""

    resistor: float | None = None
    pulse_energy: float | None = None
    power: float | None = None
    wait: float | None = None
    hold: float | None = None  # s that it may be held on


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
