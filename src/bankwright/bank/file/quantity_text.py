"""Quantities as a person writes them: "14 mohm +- 3 mohm", "-5 degC to 40 degC", "150 A for 3 s".

Gives: parse(), parse_range(), parse_paired(), QuantityFault. Takes text and the name of a quantity; gives SI.
Limits: only units of the closed table in forms/quantities; no bare numbers, no decimal comma, no two-part lengths.
Wire and stud sizes are labels (bank/sizes).
"""

from __future__ import annotations

import re

from bankwright.forms.nearest import nearest
from bankwright.forms.quantities import QUANTITIES, TWO_MEANINGS, Quantity, Unit, quantity
from bankwright.forms.toleranced import Toleranced, exact

__all__ = ["QuantityFault", "example", "parse", "parse_paired", "parse_range", "with_unit"]

_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_FRACTION = r"(?:[0-9]+\s+)?[0-9]+/[0-9]+"
_AMOUNT = re.compile(rf"\s*({_FRACTION}(?=\s*[^\s0-9/])|{_NUMBER})\s*(.*?)\s*", re.S)
_PLUS_MINUS = re.compile(r"\s*(?:\+-|\+/-|±)\s*")
_UNEVEN = re.compile(r"(.+?)\s+\+\s*(\S.*?)\s+-\s*(\S.*)", re.S)
_TO = re.compile(r"\s+to\s+")
_COMMA = re.compile(r"[0-9],[0-9]")
_TWO_PART = re.compile(rf"{_NUMBER}\s*([^0-9\s.+-]+)\s*{_NUMBER}\s*\S*")
_BARE = frozenset({"ratio", "share", "count", "soc", "rack_units"})
_ONE_UNIT = frozenset({"voltage", "cell_voltage", "current", "capacity_ah", "energy_kwh"})
_INCHES = frozenset({"in", "ft"})
_EXAMPLES = {
    "voltage": "51.2 V", "cell_voltage": "3.65 V", "cell_spread": "20 mV", "current": "100 A", "resistance": "14 mohm",
    "length": "320 mm", "height": "3 U", "time": "30 s", "temperature_degc": "40 degC", "temperature_difference": "8 K",
    "power": "6 kW", "energy_kwh": "5.12 kWh", "energy": "80 J", "capacity_ah": "100 Ah", "mass": "46 kg",
    "torque": "10 N m", "force": "2 kN", "pressure": "2 kPa", "capacitance": "20 mF", "frequency": "50 Hz",
    "share": "93 %", "ratio": "1.2", "let_through": "50000 A2s", "floor_area": "0.3 m2", "acceleration": "0.5 g",
}  # fmt: skip


class QuantityFault(ValueError):
    """A text that is no quantity of the wanted kind: code, what is wrong, what to write instead."""

    def __init__(self, code: str, found: str, hint: str) -> None:
        """Keep the three parts."""
        self.code, self.found, self.hint = code, found, hint
        super().__init__(f"{found}. {hint}")


def example(name: str) -> str:
    """Return a text that would be right for a quantity: `320 mm`."""
    return _EXAMPLES.get(name, f"1 {quantity(name).unit}")


def parse(text: str, name: str) -> Toleranced:
    """Read a quantity with its tolerance: "14 mohm +- 3 mohm", "+- 20 %", "+4 mohm -2 mohm", "11 mohm to 17 mohm"."""
    row, text = quantity(name), _clean(text, name)
    if _TO.search(text):
        low, high = parse_range(text, name)
        return Toleranced((low + high) / 2, low, high)
    parts = _PLUS_MINUS.split(text)
    if len(parts) == 2:
        _both_bear_units(parts, "+-", row)
        middle = _amount(parts[0], row)
        return _banded(middle, _half(parts[1], row, middle), _half(parts[1], row, middle), text, row)
    if len(parts) > 2:
        raise QuantityFault("not-a-quantity", f'found "{text}": more than one tolerance', _write(name))
    uneven = _UNEVEN.fullmatch(text)
    if uneven:
        middle = _amount(uneven[1], row)
        return _banded(middle, _half(uneven[3], row, middle), _half(uneven[2], row, middle), text, row)
    return exact(_amount(text, row))


def parse_range(text: str, name: str) -> tuple[float, float]:
    """Read "LOW to HIGH", both with unit; a single value gives both ends; a tolerance gives its limits."""
    row, text = quantity(name), _clean(text, name)
    parts = _TO.split(text)
    if len(parts) == 1:
        value = parse(text, name)
        return value.low, value.high
    if len(parts) > 2:
        raise QuantityFault("not-a-quantity", f'found "{text}": more than two ends', _write(name))
    _both_bear_units(parts, "to", row)
    low, high = _amount(parts[0], row), _amount(parts[1], row)
    if low > high:
        raise QuantityFault(
            "range-reversed", f'found "{text}": it runs from high to low', f'Write "{parts[1]} to {parts[0]}"'
        )
    return low, high


def parse_paired(text: str, word: str, first: str, second: str) -> tuple[Toleranced, float | None]:
    """Read "150 A for 3 s" or "75 mV at 500 A"; without the second part it is None."""
    parts = re.split(rf"\s+{word}\s+", text.strip())
    right = f'Write "{example(first)} {word} {example(second)}"'
    if len(parts) > 2:
        raise QuantityFault("not-a-quantity", f'found "{text}"', right)
    value = parse(parts[0], first)
    if len(parts) == 1:
        return value, None
    other = parse(parts[1], second)
    if other.nominal <= 0:
        raise QuantityFault("out-of-range", f'found "{parts[1]}": it must be above zero', right)
    return value, other.nominal


def _clean(text: str, name: str) -> str:
    cleaned = " ".join(text.replace("\u2212", "-").replace("\u00a0", " ").replace("\u202f", " ").split())
    if not cleaned:
        raise QuantityFault("not-a-quantity", "found an empty text", _write(name))
    if _COMMA.search(cleaned):
        point = re.sub(r"(\d),(\d)", r"\1.\2", cleaned)
        raise QuantityFault(
            "decimal-comma",
            f'found "{text}": a comma is no decimal point here',
            f'Write "{point}", thousands without a mark',
        )
    return cleaned


def _write(name: str) -> str:
    return f'Write it as "{example(name)}"'


def _amount(text: str, row: Quantity) -> float:
    """Read one number with its unit; the unit inside comes back."""
    match = _AMOUNT.fullmatch(text)
    if match is None:
        raise QuantityFault("not-a-quantity", f'found "{text}": no number stands at its start', _write(row.name))
    number, symbol = match[1], match[2]
    if not symbol and row.name not in _BARE:
        raise QuantityFault("unit-missing", f'found "{text}"; a unit is missing', with_unit(number, row.name))
    unit = row.unit_named(symbol)
    if unit is None:
        raise _unknown_unit(text, number, symbol, row)
    if "/" in number and unit.symbol not in _INCHES:
        raise QuantityFault("not-a-quantity", f'found "{text}": fractions are for inches and feet', _write(row.name))
    value = _inside(_number(number, text, row), unit)
    if not -1e15 < value < 1e15:
        raise QuantityFault("out-of-range", f'found "{text}": out of any range', _write(row.name))
    if row.name == "temperature_degc" and value < -273.15:
        raise QuantityFault("out-of-range", f'found "{text}": below absolute zero', _write(row.name))
    return value


def _inside(number: float, unit: Unit) -> float:
    """Turn into the unit inside; small decimal factors divide, so that "40 uohm" is exactly 4e-05."""
    inverse = round(1 / unit.factor) if unit.factor < 1 else 0
    if inverse and 1 / inverse == unit.factor:
        return number / inverse + unit.offset
    return number * unit.factor + unit.offset


def _both_bear_units(parts: list[str], word: str, row: Quantity) -> None:
    """Refuse "14 +- 3 mohm" with the text that would be right."""
    second = _AMOUNT.fullmatch(parts[1])
    if row.name in _BARE or second is None or not second[2] or not re.fullmatch(_NUMBER, parts[0]):
        return
    text = f"{parts[0]} {word} {parts[1]}"
    raise QuantityFault(
        "unit-missing",
        f'found "{text}"; the first number has no unit',
        f'Write "{parts[0]} {second[2]} {word} {parts[1]}"',
    )


def _number(number: str, text: str, row: Quantity) -> float:
    if "/" not in number:
        return float(number)
    *whole, fraction = number.split()
    top, bottom = (int(part) for part in fraction.split("/"))
    if bottom == 0:
        raise QuantityFault("not-a-quantity", f'found "{text}": a fraction over zero', _write(row.name))
    return (int(whole[0]) if whole else 0) + top / bottom


def with_unit(number: str, name: str) -> str:
    """Offer the number with its unit where there is one usual unit, otherwise an example of another value."""
    if name in _ONE_UNIT:
        return f'Write "{number} {quantity(name).unit}"'
    return f'Write the unit too, as in "{example(name)}"'


def _plain(name: str) -> str:
    """Name of a quantity as it stands in a sentence: "temperature", "capacity", "apparent power"."""
    return name.removesuffix("_degc").removesuffix("_ah").replace("_", " ")


def _unknown_unit(text: str, number: str, symbol: str, row: Quantity) -> QuantityFault:
    """Say which of the ways of being wrong this is: two parts, another dimension, a misspelt unit."""
    first = _TWO_PART.fullmatch(text)
    if first is not None and any(q.unit_named(first[1]) for q in QUANTITIES.values()):
        hint = _one_part(text, row) or f'Write one number with one unit: "{example(row.name)}"'
        return QuantityFault("two-part", f'found "{text}": two parts', hint)
    known = [spelling for unit in row.units for spelling in (unit.symbol, *unit.spellings) if spelling]
    if symbol in TWO_MEANINGS:
        return QuantityFault(
            "unit-unknown",
            f'found "{text}": "{symbol}" has two meanings',
            f"{TWO_MEANINGS[symbol][0].upper()}{TWO_MEANINGS[symbol][1:]}",
        )
    close = nearest(symbol, known)
    other = next((q for q in QUANTITIES.values() if q.unit_named(symbol)), None)
    allowed = ", ".join(unit.symbol for unit in row.units if unit.symbol)
    if other is not None and symbol:
        return QuantityFault(
            "wrong-dimension",
            f'found "{text}": "{symbol}" is a unit of {_plain(other.name)}',
            f"Write {_plain(row.name)} in one of: {allowed}",
        )
    if close:
        return QuantityFault(
            "unit-unknown", f'found "{text}": "{symbol}" is no unit here', f'Did you mean "{number} {close}"?'
        )
    return QuantityFault(
        "unit-unknown", f'found "{text}": "{symbol}" is no unit here', f"Write it in one of: {allowed}"
    )


def _one_part(text: str, row: Quantity) -> str | None:
    """Offer "42 in" for "3 ft 6 in", where both parts are known."""
    match = re.fullmatch(rf"({_NUMBER})\s*([^\d\s]+)\s*({_NUMBER})\s*(\S+)", text)
    if match is None:
        return None
    units: list[Unit | None] = [row.unit_named(match[2]), row.unit_named(match[4])]
    if units[0] is None or units[1] is None or units[0].offset:
        return None
    total = float(match[1]) * units[0].factor + float(match[3]) * units[1].factor
    return f'Write "{total / units[1].factor:.6g} {units[1].symbol}"'


def _half(text: str, row: Quantity, middle: float) -> float:
    """Read the width of a tolerance: a quantity, or percent of the middle; a difference for temperatures."""
    percent = re.fullmatch(rf"({_NUMBER})\s*%", text)
    if percent and row.name not in ("share", "soc", "ratio"):
        if row.name == "temperature_degc":
            raise QuantityFault(
                "not-a-quantity", f'found "+- {text}": a percentage of a temperature says nothing', 'Write "+- 2 K"'
            )
        width = abs(middle) * float(percent[1]) / 100
    else:
        width = _amount(text, quantity("temperature_difference") if row.name == "temperature_degc" else row)
    if width < 0:
        raise QuantityFault("tolerance-negative", f'found a tolerance of "{text}"', "A tolerance is zero or more")
    return width


def _banded(middle: float, below: float, above: float, text: str, row: Quantity) -> Toleranced:
    low = middle - below
    if middle > 0 > low and row.name in ("resistance", "capacitance", "length", "mass"):
        raise QuantityFault(
            "tolerance-too-wide", f'found "{text}": its lower limit is below zero', "Write a smaller tolerance"
        )
    return Toleranced(middle, low, middle + above)
