"""Types of single values in a bank file: text in, SI out.

Gives: Strict (a table), Form and its makers amount(), band(), limits(), paired(), curve(); Names, Studs, WireSize,
Stud, Accuracy, Count, Text, Texts, YesNo. A Form says what may be written, for the manual,
and reads it: `Annotated[float, amount("current")]`.
Limits: one value at a time; rules that join fields are in bank/rules.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from bankwright.bank.file.quantity_text import QuantityFault, example, parse, parse_paired, parse_range, with_unit
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.sizes import stud_label, wire_label
from bankwright.forms.toleranced import Toleranced

__all__ = ["Accuracy", "Count", "Form", "Names", "Strict", "Stud", "Studs", "Text", "Texts", "WireSize", "YesNo"]
__all__ += ["amount", "band", "curve", "limits", "paired", "reclosing", "shown"]


class Strict(BaseModel):
    """A table of a bank file: no unknown keys, no silent conversions, no infinities."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, populate_by_name=False, defer_build=True
    )  # a table is built within the file that holds it, not once more by itself


@dataclass(frozen=True, slots=True)
class Form:
    """What may be written: in words and as an example."""

    words: str
    sample: str
    read: Callable[[Any], Any] | None = None  # None: pydantic's own strict reading
    quantity: str = ""  # of the (first) figure

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Let this form's reader stand in for pydantic's."""
        return handler(source) if self.read is None else core_schema.no_info_plain_validator_function(self.read)


def _fault(code: str, found: str, hint: str) -> PydanticCustomError:
    return PydanticCustomError("bank", "{found}. {hint}", {"code": code, "found": found, "hint": hint})


def shown(value: Any) -> str:
    """Print what was found as the file spells it."""
    try:
        text = value_text(value)
    except TypeError:
        text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _text(value: Any, sample: str, name: str = "") -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        right = with_unit(f"{value:g}", name) if name else f'Write "{sample}"'
        raise _fault("unit-missing", f"found {shown(value)}; a quantity is a text with its unit", right)
    raise _fault("wrong-type", f"found {shown(value)}", f'Write a text such as "{sample}"')


def _guarded(read: Callable[[str], Any], sample: str, name: str = "") -> Callable[[Any], Any]:
    """Wrap a reader of text so that its faults travel through pydantic with their parts."""

    def checked(value: Any) -> Any:
        text = _text(value, sample, name)
        try:
            return read(text)
        except QuantityFault as fault:
            raise _fault(fault.code, fault.found, fault.hint) from None

    return checked


MOST_COUNTED = 1000  # of anything that is counted in a bank: slots, units, poles, conductors; our choice
MOST_DRIFT = 0.05  # 1/K; ten times what any solar module has; common practice, no source
_SIGNED = frozenset({"temperature_degc", "voltage"})


def _bounded(name: str, low: float, text: str, positive: bool) -> None:
    if name in _SIGNED and not positive:
        return
    if low < 0 or (positive and low <= 0):
        least = "above zero" if positive else "zero or more"
        raise QuantityFault("out-of-range", f'found "{text}"', f"It must be {least}")


def amount(name: str, positive: bool = True, most: float | None = None, sample: str = "") -> Form:
    """Form of one value without tolerance; `most` in SI; `sample`: an example that lies inside."""

    def read(text: str) -> float:
        value = parse(text, name)
        if not value.is_exact:
            raise QuantityFault(
                "tolerance-not-here",
                f'found "{text}"; no tolerance is kept here',
                f'Write one value: "{example(name)}"',
            )
        _bounded(name, value.low, text, positive)
        if most is not None and value.high > most:
            raise QuantityFault("out-of-range", f'found "{text}"', f"It is at most {most:g}")
        return value.nominal

    shown = sample or example(name)
    return Form(_words(name), f'"{shown}"', _guarded(read, shown, name), name)


def band(name: str, positive: bool = True) -> Form:
    """Form of one value with its tolerance."""

    def read(text: str) -> Toleranced:
        value = parse(text, name)
        _bounded(name, value.low, text, positive and value.nominal <= 0)
        return value

    words = f"{_words(name)}, tolerance allowed"
    return Form(words, f'"{example(name)} +- 10 %"', _guarded(read, example(name), name), name)


def drift(sample: str) -> Form:
    """Form of a change by temperature, of either sign."""

    def read(text: str) -> float:
        value = parse(text, "drift_per_kelvin")
        if abs(value.nominal) > MOST_DRIFT:
            raise QuantityFault("out-of-range", f'found "{text}"', f"It is at most {MOST_DRIFT:.0%} a kelvin")
        return value.nominal

    return Form("share by temperature", f'"{sample}"', _guarded(read, sample, "drift_per_kelvin"), "drift_per_kelvin")


def _words(name: str) -> str:
    short = {"energy_kwh": "energy", "capacity_ah": "capacity", "temperature_degc": "temperature", "floor_area": "area"}
    return short.get(name, name).replace("_", " ")


def limits(name: str, sample: str) -> Form:
    """Form of "LOW to HIGH"."""
    reader = _guarded(lambda text: parse_range(text, name), sample)
    return Form(f"{_words(name)}, from and to", f'"{sample}"', reader, name)


def paired(word: str, first: str, second: str, sample: str) -> Form:
    """Form of "150 A for 3 s"."""

    def read(text: str) -> tuple[Toleranced, float | None]:
        value, other = parse_paired(text, word, first, second)
        _bounded(first, value.low, text, True)
        return value, other

    words = f"{_words(first)}, with its {_words(second)} after `{word}`"
    return Form(words, f'"{sample}"', _guarded(read, sample), first)


def curve(first: str, second: str, sample: tuple[str, str], rising: bool | None) -> Form:
    """Form of a list of points [["300 A", "1000 s"], ...]; the first of each must rise, `rising` is for the second."""
    shown_sample = f'[["{sample[0]}", "{sample[1]}"], ...]'

    def read(value: Any) -> tuple[tuple[float, float], ...]:
        if not isinstance(value, list) or any(not isinstance(p, list) or len(p) != 2 for p in value):
            raise _fault("wrong-type", f"found {shown(value)}", f"Write points in pairs: {shown_sample}")
        one, two = (
            _guarded(lambda t: parse(t, first).nominal, sample[0]),
            _guarded(lambda t: parse(t, second).nominal, sample[1]),
        )
        points = tuple((float(one(a)), float(two(b))) for a, b in value)
        if not points:
            raise _fault("out-of-range", "found no point", f"Write points in pairs: {shown_sample}")
        _in_order(value, points, rising)
        return points

    words = f"points of {_words(first)} and {_words(second)}, in rising order"
    return Form(words, shown_sample, read)


def _in_order(value: list[Any], points: tuple[tuple[float, float], ...], rising: bool | None) -> None:
    for k in range(1, len(points)):
        (a0, b0), (a1, b1) = points[k - 1], points[k]
        if a1 <= a0:
            raise _fault(
                "not-in-order",
                f"found {shown(value[k])} after {shown(value[k - 1])}",
                "The first of each pair must rise",
            )
        if rising is not None and (b1 < b0 if rising else b1 > b0):
            way = "may not fall" if rising else "may not rise"
            raise _fault(
                "not-in-order", f"found {shown(value[k])} after {shown(value[k - 1])}", f"The second of each pair {way}"
            )


def _names(value: Any) -> tuple[str, ...]:
    if isinstance(value, str) and value.strip():
        return (value,)
    if isinstance(value, list) and value and all(isinstance(item, str) and item.strip() for item in value):
        return tuple(value)
    raise _fault("wrong-type", f"found {shown(value)}", 'Write a name, or a list of names: ["main+", "main-"]')


def _studs(value: Any) -> tuple[tuple[str, ...], ...]:
    """Read what sits on each stud: a name, or a list of names where several lugs share it, or "" for a free one."""
    right = 'Write what sits on each stud in its order: ["M1", "main", ["M2", "M3"], ""]'
    if not isinstance(value, list) or not value:
        raise _fault("wrong-type", f"found {shown(value)}", right)
    made = []
    for item in value:
        inner = item if isinstance(item, list) else [item]
        if not all(isinstance(name, str) for name in inner):
            raise _fault("wrong-type", f"found {shown(item)}", right)
        made.append(tuple(name for name in inner if name))
    return tuple(made)


def reclosing() -> Form:
    """Form of "never" or "after 30 s": the words, and the delay."""

    def read(text: str) -> tuple[str, float | None]:
        if text.strip() == "never":
            return "never", None
        word, _, rest = text.strip().partition(" ")
        if word != "after" or not rest:
            raise QuantityFault("not-allowed", f'found "{text}"', 'Write "never" or "after 30 s"')
        delay = parse(rest, "time")
        _bounded("time", delay.low, text, False)
        return text.strip(), delay.nominal

    return Form('"never", or "after" and a time', '"after 30 s"', _guarded(read, "never"))


def _accuracy(text: str) -> tuple[float, float | None]:
    """Read "0.5 % + 2 digits" or "0.5 %"."""
    head, _, tail = text.partition("+")
    percent = parse(head, "share").nominal
    if percent < 0:
        raise QuantityFault("out-of-range", f'found "{text}"', "It must be zero or more")
    if not tail:
        return percent, None
    count = tail.strip().removesuffix("digits").removesuffix("digit").strip()
    if not count.isdigit():
        raise QuantityFault("not-a-quantity", f'found "{text}"', 'Write "0.5 % + 2 digits"')
    return percent, float(count)


Names = Annotated[tuple[str, ...], Form("name, or list of names", '["main+", "main-"]', _names)]
Studs = Annotated[tuple[tuple[str, ...], ...], Form("what sits on each stud", '["M1", "main", ["M2", "M3"]]', _studs)]
WireSize = Annotated[
    str, Form("wire size, a label of the tables", '"4/0 AWG" or "70 mm2"', _guarded(wire_label, "4/0 AWG"))
]
Stud = Annotated[str, Form("stud size", '"M8" or "3/8 in"', _guarded(stud_label, "M8"))]
Accuracy = Annotated[
    tuple[float, float | None], Form("accuracy", '"0.5 % + 2 digits"', _guarded(_accuracy, "0.5 % + 2 digits"))
]
Count = Annotated[int, Field(ge=1, le=MOST_COUNTED), Form("whole number from 1", "2")]
Text = Annotated[str, Field(min_length=1), Form("text", '"..."')]
Texts = Annotated[list[str], Form("list of texts", '["..."]')]
YesNo = Annotated[bool, Form("true or false", "true")]
