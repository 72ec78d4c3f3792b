"""The one table of quantities: name, unit inside, step in storage, sign, and the units that a person may write or read.

Gives: QUANTITIES, Quantity, Unit, quantity(). The closed list of units per dimension: nothing outside it is a unit.
Takes: nothing. Parsing of text is in bank/file/quantity_text, printing in forms/wording.
Sources: exact factors of the International System and of the 1959 international yard and pound (NIST SP 811:2008,
appendix B, from memory); AWG and kcmil sizes are labels, not units (handbook/wires).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.forms.constants import CALORIE, FOOT, GRAVITY, INCH, POUND, RACK_UNIT

__all__ = ["QUANTITIES", "TWO_MEANINGS", "Quantity", "Unit", "quantity"]


@dataclass(frozen=True, slots=True)
class Unit:
    """One written unit: value inside = written * factor + offset."""

    symbol: str
    factor: float
    offset: float = 0.0
    spellings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quantity:
    """One kind of measured or computed value."""

    name: str
    unit: str  # the unit inside, as printed: SI, or the one the name says
    units: tuple[Unit, ...]  # all that may be written; the first is the unit inside
    show: tuple[str, ...]  # metric display units, large to small
    show_us: tuple[str, ...] = ()  # US display units where they differ
    step: float | None = None  # storage step of telemetry, in the unit inside
    sign: str = ""  # what a positive value means, where a sign has a meaning

    def unit_named(self, text: str) -> Unit | None:
        """Find a written unit by symbol or spelling; None when it is not in the closed table."""
        for unit in self.units:
            if text == unit.symbol or text in unit.spellings:
                return unit
        return None


POUND_FORCE = POUND * GRAVITY

_OMEGAS = ("\u03a9", "\u2126")  # Greek letter, ohm sign
_MICROS = ("\u00b5", "\u03bc")  # micro sign, Greek letter


def _omega(prefixes: tuple[str, ...], *words: str) -> tuple[str, ...]:
    return tuple(prefix + omega for prefix in prefixes for omega in _OMEGAS) + words


def _micro(unit: str) -> tuple[str, ...]:
    return tuple(sign + unit for sign in _MICROS)


_VOLT = (Unit("V", 1.0), Unit("mV", 1e-3), Unit("kV", 1e3), Unit("uV", 1e-6, 0, _micro("V")))
_AMPERE = (Unit("A", 1.0), Unit("mA", 1e-3), Unit("kA", 1e3))
_OHM = (
    Unit("ohm", 1.0, 0, _omega(("",), "Ohm")),
    Unit("mohm", 1e-3, 0, _omega(("m",), "milliohm", "mOhm")),
    Unit("uohm", 1e-6, 0, _omega(("u", *_MICROS), "microohm", "uOhm")),
    Unit("kohm", 1e3, 0, _omega(("k",))),
    Unit("Mohm", 1e6, 0, _omega(("M",), "megohm")),
)
_METRE = (
    Unit("m", 1.0),
    Unit("mm", 1e-3),
    Unit("cm", 1e-2),
    Unit("in", INCH, 0, ("inch", "inches")),
    Unit("ft", FOOT, 0, ("foot", "feet")),
    Unit("U", RACK_UNIT),
)
_AREA = (Unit("m2", 1.0, 0, ("m²",)), Unit("mm2", 1e-6, 0, ("mm²",)), Unit("in2", INCH**2, 0, ("in²",)))
_AREA_FLOOR = (Unit("m2", 1.0, 0, ("m²",)), Unit("ft2", FOOT**2, 0, ("ft²",)))
_SECOND = (
    Unit("s", 1.0),
    Unit("ms", 1e-3),
    Unit("min", 60.0),
    Unit("h", 3600.0),
    Unit("d", 86400.0, 0, ("days", "day")),
    Unit("us", 1e-6, 0, _micro("s")),
)
_DEGC = (
    Unit("degC", 1.0, 0, ("°C", "ºC")),
    Unit("degF", 5 / 9, -160 / 9, ("°F", "ºF")),
    Unit("K", 1.0, -273.15),
)
_KELVIN = (Unit("K", 1.0, 0, ("degC", "°C")), Unit("degF", 5 / 9, 0, ("°F",)))
_WATT = (Unit("W", 1.0), Unit("kW", 1e3), Unit("mW", 1e-3))
_APPARENT = (Unit("VA", 1.0), Unit("kVA", 1e3))
_WATTHOUR = (Unit("kWh", 1.0), Unit("Wh", 1e-3), Unit("MWh", 1e3))
_JOULE = (Unit("J", 1.0), Unit("kJ", 1e3))
_AMPHOUR = (Unit("Ah", 1.0), Unit("mAh", 1e-3))
_KILOGRAM = (Unit("kg", 1.0), Unit("g", 1e-3), Unit("lb", POUND, 0, ("lbs",)))
_TORQUE = (
    Unit("N m", 1.0, 0, ("N.m", "N·m", "Nm")),
    Unit("in lb", INCH * POUND_FORCE, 0, ("in-lb", "in·lb", "lb in", "lb-in", "in lbf", "lbf in", "in-lbf")),
    Unit("ft lb", FOOT * POUND_FORCE, 0, ("ft-lb", "ft·lb", "lb ft", "lb-ft", "ft lbf", "lbf ft", "ft-lbf")),
)
_FORCE = (Unit("N", 1.0), Unit("kN", 1e3), Unit("lbf", POUND_FORCE))
_PRESSURE = (
    Unit("Pa", 1.0),
    Unit("kPa", 1e3, 0, ("kN/m2", "kN/m²")),
    Unit("psf", POUND_FORCE / FOOT**2, 0, ("lb/ft2",)),
    Unit("psi", POUND_FORCE / INCH**2),
)
_FARAD = (Unit("F", 1.0), Unit("mF", 1e-3), Unit("uF", 1e-6, 0, _micro("F")))
_HENRY = (Unit("H", 1.0), Unit("mH", 1e-3), Unit("uH", 1e-6, 0, _micro("H")), Unit("nH", 1e-9))
_HERTZ = (Unit("Hz", 1.0), Unit("kHz", 1e3))
_BIT_RATE = (Unit("bit/s", 1.0), Unit("kbit/s", 1e3))
_SHARE = (Unit("1", 1.0, 0, ("",)), Unit("%", 1e-2))
_PERCENT_RATE = (Unit("1/K", 1.0), Unit("%/K", 1e-2))
_DENSITY = (Unit("A/m2", 1.0, 0, ("A/m²",)), Unit("A/mm2", 1e6, 0, ("A/mm²",)))
_LET_THROUGH = (Unit("A2s", 1.0, 0, ("A²s", "A2 s", "A^2s")),)
_RESISTANCE_LENGTH = (Unit("ohm/m", 1.0), Unit("mohm/m", 1e-3), Unit("ohm/km", 1e-3))
_ENERGY_AREA = (Unit("J/m2", 1.0), Unit("cal/cm2", CALORIE * 1e4, 0, ("cal/cm²",)))
_ACCELERATION = (Unit("m/s2", 1.0, 0, ("m/s²",)), Unit("g", GRAVITY))


def _row(
    name: str,
    units: tuple[Unit, ...],
    show: str,
    show_us: str = "",
    step: float | None = None,
    *,
    sign: str = "",
) -> Quantity:
    return Quantity(
        name,
        units[0].symbol,
        units,
        tuple(show.split("|")),
        tuple(show_us.split("|") if show_us else ()),
        step,
        sign,
    )


_ROWS = (
    _row("voltage", _VOLT, "V|mV", step=1e-3, sign="positive post above negative post"),
    _row("frame_voltage", _VOLT, "V|mV", step=1e-3, sign="pole above the frame"),
    _row("voltage_drop", _VOLT, "V|mV", step=1e-5),
    _row("ac_voltage", _VOLT, "V|mV", step=1e-2, sign="between two conductors, a size"),
    _row("cell_voltage", _VOLT, "V", step=1e-3),
    _row("cell_spread", _VOLT, "mV", step=1e-3, sign="highest minus lowest cell"),
    _row("current", _AMPERE, "kA|A|mA", step=1e-2, sign="leaving the module"),
    _row("ac_current", _AMPERE, "A|mA", step=1e-2, sign="a size"),
    _row("resistance", _OHM, "Mohm|kohm|ohm|mohm|uohm", step=1e-6),
    _row("length", _METRE, "m|mm", "ft|in"),
    _row("height", _METRE, "mm", "in"),
    _row("rack_units", (Unit("U", 1.0, 0, ("",)),), "U"),
    _row("area", _AREA, "mm2"),
    _row("floor_area", _AREA_FLOOR, "m2", "ft2"),
    _row("time", _SECOND, "d|h|min|s|ms"),
    _row("temperature_degc", _DEGC, "degC", "degF", step=0.1),
    _row("temperature_difference", _KELVIN, "K", "degF"),
    _row("power", _WATT, "kW|W|mW", sign="taken from the bank"),
    _row("apparent_power", _APPARENT, "kVA|VA"),
    _row("energy_kwh", _WATTHOUR, "kWh"),
    _row("energy", _JOULE, "kJ|J"),
    _row("capacity_ah", _AMPHOUR, "Ah"),
    _row("charge_moved_ah", _AMPHOUR, "Ah|mAh", sign="leaving the module"),
    _row("mass", _KILOGRAM, "kg", "lb"),
    _row("torque", _TORQUE, "N m", "in lb"),
    _row("force", _FORCE, "kN|N", "lbf"),
    _row("pressure", _PRESSURE, "kPa|Pa", "psf"),
    _row("capacitance", _FARAD, "F|mF|uF"),
    _row("inductance", _HENRY, "mH|uH|nH"),
    _row("frequency", _HERTZ, "kHz|Hz"),
    _row("bit_rate", _BIT_RATE, "bit/s"),
    _row("share", _SHARE, "%", step=1e-3),
    _row("soc", _SHARE, "%", step=1e-3),
    _row("ratio", _SHARE, "1"),
    _row("count", (Unit("1", 1.0, 0, ("",)),), "1"),
    _row("drift_per_kelvin", _PERCENT_RATE, "%/K"),
    _row("current_density", _DENSITY, "A/mm2"),
    _row("let_through", _LET_THROUGH, "A2s"),
    _row("resistance_per_length", _RESISTANCE_LENGTH, "mohm/m"),
    _row("incident_energy", _ENERGY_AREA, "cal/cm2"),
    _row("heat_capacity", (Unit("J/K", 1.0), Unit("kJ/K", 1e3)), "kJ/K|J/K"),
    _row("angle_deg", (Unit("deg", 1.0, 0, ("°",)),), "deg"),
    _row("irradiance", (Unit("W/m2", 1.0, 0, ("W/m²",)),), "W/m2"),
    _row("speed", (Unit("m/s", 1.0), Unit("km/h", 1 / 3.6), Unit("ft/s", FOOT)), "m/s", "ft/s"),
    _row("acceleration", _ACCELERATION, "g|m/s2"),
)

# spellings that are refused because the trade reads them in two ways: what each could mean
TWO_MEANINGS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(("kA2s", "kA²s"), "It is read as 1 000 A2s and as 1 000 000 A2s; write the number in A2s")
)

QUANTITIES: Mapping[str, Quantity] = MappingProxyType({row.name: row for row in _ROWS})


def quantity(name: str) -> Quantity:
    """Return the row of a quantity; KeyError for a name that is not in the table."""
    return QUANTITIES[name]
