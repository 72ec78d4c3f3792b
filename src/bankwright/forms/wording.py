"""Words with figures kept apart, and how a figure is printed.

Gives: Figure, Say, say(), figure_text(), amount_text(), shown_unit(). Faces choose the units (metric or us); SI inside.
Limits: three significant digits, a space before the unit, the minus sign U+2212, as LOOK asks.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from bankwright.forms.quantities import Unit, quantity

__all__ = ["Figure", "Say", "amount_text", "figure_text", "range_text", "say", "shown_unit", "unit_text"]

NOISE = 1e-6  # of the step that a reading is kept in; less is what computing leaves, and printed as 0
_PRINTED = {
    "ohm": "Ω", "mohm": "mΩ", "uohm": "µΩ", "kohm": "kΩ", "Mohm": "MΩ", "degC": "°C", "degF": "°F", "uF": "µF",
    "uH": "µH", "mm2": "mm²", "m2": "m²", "in2": "in²", "ft2": "ft²", "A/mm2": "A/mm²", "A2s": "A²s",
    "m/s2": "m/s²", "deg": "°", "cal/cm2": "cal/cm²", "N m": "N·m", "in lb": "in·lb", "ft lb": "ft·lb", "1": "",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in SI with the quantity it is of, and its limits where they are known."""

    value: float
    quantity: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Say:
    """A sentence with named gaps and the figures that fill them; plain strings fill gaps as they are."""

    words: str
    figures: Mapping[str, Figure | str] = field(default_factory=lambda: MappingProxyType({}))

    def text(self, units: str = "metric") -> str:
        """Print the sentence with its figures in the asked units."""
        filled = {k: v if isinstance(v, str) else figure_text(v, units) for k, v in self.figures.items()}
        return self.words.format(**filled)


def say(words: str, **figures: Figure | str) -> Say:
    """Make a Say; every gap in the words must have a figure and every figure a gap."""
    made = Say(words, MappingProxyType(dict(figures)))
    made.text()
    unused = [name for name in figures if "{" + name + "}" not in words]
    if unused:
        raise ValueError(f"no gap for {', '.join(unused)} in {words!r}")
    return made


def unit_text(symbol: str) -> str:
    """Print a unit symbol as the trade writes it: `mohm` -> `mΩ`."""
    return _PRINTED.get(symbol, symbol)


def shown_unit(value: float, name: str, units: str = "metric") -> Unit:
    """Choose the unit that a value is printed in."""
    row = quantity(name)
    symbols = row.show_us if units == "us" and row.show_us else row.show
    found = [unit for symbol in symbols if (unit := row.unit_named(symbol)) is not None]
    for unit in found:
        if (abs(value) >= unit.factor * 0.9995 and unit.factor > 0) or len(found) == 1:
            return unit
    return found[-1] if value else row.unit_named(row.unit) or found[-1]


def _digits(value: float, digits: int = 3) -> str:
    """Round to significant digits, whole numbers above them kept; thousands parted by a thin gap from 10 000 up."""
    if value == 0:
        return "0"
    exponent = int(f"{value:.{digits - 1}e}".split("e")[1])
    text = f"{value:,.{max(digits - 1 - exponent, 0)}f}"
    text = text.replace(",", "\u202f" if abs(value) >= 9999.5 else "")
    return text.replace("-", "−")


def _powers(value: float, digits: int = 3) -> str:
    """Print a large number by thousands: 92 800 000 is 92.8 × 10⁶."""
    power = 3 * ((int(f"{value:.{digits - 1}e}".split("e")[1])) // 3)
    return f"{_digits(value / 10**power, digits)} × 10{str(power).translate(str.maketrans('0123456789', '⁰¹²³⁴⁵⁶⁷⁸⁹'))}"


def amount_text(value: float, name: str, units: str = "metric", digits: int = 3) -> str:
    """Print one value with its unit: `104 A`, `14.0 mΩ`; infinity is `no limit`."""
    if math.isinf(value):
        return "no limit"
    if math.isnan(value):
        return "unknown"
    if name == "count":
        return f"{value:g}".replace("-", "−")
    step = quantity(name).step
    if step is not None and abs(value) < NOISE * step and not name.startswith("temperature"):
        value = 0.0
    unit = shown_unit(value, name, units)
    written = (value - unit.offset) / unit.factor
    number = _powers(written, digits) if name == "let_through" and abs(written) >= 1e6 else _digits(written, digits)
    if name.startswith("temperature"):  # a tenth of a degree is the most that is said
        number = f"{round(written, 1) + 0.0:g}".replace("-", "−")
    label = unit_text(unit.symbol)
    return f"{number} {label}" if label else number


def range_text(figure: Figure, units: str = "metric") -> str:
    """Print the limits of a figure: `95.0 A to 114 A`; empty when there are none."""
    if figure.low is None or figure.high is None or figure.low == figure.high:
        return ""
    return f"{amount_text(figure.low, figure.quantity, units)} to {amount_text(figure.high, figure.quantity, units)}"


def figure_text(figure: Figure, units: str = "metric") -> str:
    """Print the value of a figure, without its limits."""
    return amount_text(figure.value, figure.quantity, units)
