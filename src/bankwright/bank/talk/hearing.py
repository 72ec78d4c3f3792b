"""What was typed, heard: taken, mended and offered back, or refused with what would be right.

Gives: Heard, hear_amount(), hear_whole(), hear_choice(), hear_label(), hear_words(), hear_value(), is_unknown().
A bare number takes the unit shown; a comma, a letter O for nought and a unit in other letters are offered back, never
taken silently; the first letters of a choice choose it.
Limits: one answer at a time; what the answers mean together is in talk.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from pydantic_core import PydanticCustomError

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.forms.nearest import nearest
from bankwright.forms.quantities import QUANTITIES

__all__ = [
    "Heard",
    "Reader",
    "hear_amount",
    "hear_choice",
    "hear_label",
    "hear_value",
    "hear_whole",
    "hear_words",
    "is_unknown",
]

Reader = Callable[[str], object]  # raises QuantityFault, ValueError or PydanticCustomError for what cannot stand
LONGEST = 200  # letters of one answer
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_STUCK = re.compile(r"([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*([^\d\s.,+-].*)")
_THOUSANDS = re.compile(r"(?<!\d)\d{1,3}(?:,\d{3})+(?!\d)")
_NOUGHT = re.compile(r"(?<=\d)[oO]+(?![a-z])|(?<![A-Za-z])[oO](?=[.,]?\d|$)")
_UNKNOWN = ("?", "-", "i do not know", "do not know", "don't know", "dont know", "i don't know", "no idea", "unknown")
_SPOKEN = {
    "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "volt": "V", "volts": "V", "watt": "W", "watts": "W",
    "kilowatt": "kW", "kilowatts": "kW", "kilo": "kg", "kilos": "kg", "pound": "lb", "pounds": "lb", "#": "lb",
    "amp hours": "Ah", "amphours": "Ah", "amp-hours": "Ah", '"': "in", "percent": "%", "pct": "%", "c": "degC",
    "f": "degF", "units": "U", "ru": "U",
}  # fmt: skip
_WHAT = {
    "capacity_ah": "a charge", "current": "a current", "voltage": "a voltage", "mass": "a mass", "power": "a power",
    "length": "a length", "height": "a height", "energy_kwh": "an energy", "share": "a share", "time": "a time",
    "resistance": "a resistance", "temperature_degc": "a temperature", "torque": "a torque",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer as it was heard. `text` stands when taken; `offers` are whole answers, each for one key or tap."""

    how: Literal["taken", "mended", "refused"]
    typed: str
    text: str = ""
    words: str = ""
    offers: tuple[str, ...] = ()


def is_unknown(typed: str) -> bool:
    """Whether somebody said that it is not known."""
    return " ".join(typed.lower().split()).rstrip(".!") in _UNKNOWN


def _tidy(text: str) -> str:
    return " ".join(text.replace("\u2212", "-").replace("\u00a0", " ").split())[:LONGEST]


def _fault(read: Reader, text: str) -> tuple[str, str] | None:
    """What is wrong with a text: (found, what would be right); None when it can stand."""
    try:
        read(text)
    except QuantityFault as error:
        return error.found, error.hint
    except PydanticCustomError as error:
        parts = error.context or {}
        return str(parts.get("found", error)), str(parts.get("hint", ""))
    except ValueError as error:
        return str(error), ""
    return None


def _with_unit(text: str, unit: str) -> str:
    """A bare number with the unit shown; a stuck unit apart: "45kg" is "45 kg"."""
    if _NUMBER.fullmatch(text):
        return f"{text.rstrip('.')} {unit}".strip()
    ends = [part.strip() for part in re.split(r"\s+to\s+", text)]
    if unit and len(ends) == 2 and all(map(_NUMBER.fullmatch, ends)):
        return f"{ends[0]} {unit} to {ends[1]} {unit}"
    stuck = _STUCK.fullmatch(text)
    return f"{stuck[1]} {stuck[2].strip()}" if stuck else text


def _spoken(text: str, units: Iterable[str]) -> str:
    """A unit in other letters or as a word, as the table writes it; the text itself where there is none."""
    parts = _STUCK.fullmatch(text)
    if parts is None:
        return text
    said = parts[2].strip().rstrip(".")
    near = {unit for unit in units if unit.lower() == said.lower()}
    unit = _SPOKEN.get(said.lower()) or (near.pop() if len(near) == 1 else None)
    return text if unit is None else f"{parts[1]} {unit}"


def _candidates(text: str, unit: str, units: tuple[str, ...]) -> Iterator[str]:
    """What may have been meant, the likeliest first."""
    plain = _NOUGHT.sub(lambda found: "0" * len(found[0]), text)
    commas = [plain]
    if _THOUSANDS.search(plain):
        commas = [plain.replace(",", ""), plain.replace(",", ".")]
    elif re.search(r"\d,\d", plain):
        commas = [re.sub(r"(?<=\d),(?=\d)", ".", plain)]
    for each in commas:
        yield _with_unit(each, unit)
        yield _spoken(each, units)


def _mended(text: str, read: Reader, unit: str, units: tuple[str, ...]) -> tuple[str, ...]:
    found = dict.fromkeys(_candidates(text, unit, units))
    return tuple(each for each in found if each != text and _fault(read, each) is None)[:2]


def hear_value(typed: str, read: Reader, unit: str = "", units: tuple[str, ...] = ()) -> Heard:
    """Hear a value for which a reader stands; `unit` is what a bare number takes, `units` what may be written."""
    text = _with_unit(_tidy(typed), unit)
    fault = _fault(read, text)
    if fault is None:
        return Heard("taken", typed, text)
    offers = _mended(_tidy(typed), read, unit, units)
    if offers:
        return Heard("mended", typed, words=f"You typed {_tidy(typed)}.", offers=offers)
    return Heard("refused", typed, words=". ".join(part.rstrip(".") for part in fault if part) + ".")


def _of_other_kind(text: str, name: str) -> str:
    """What else it is: "45 Ah is a charge, not a mass."; "" where it is nothing that is known."""
    for other, words in _WHAT.items():
        if other != name and _fault(lambda t, q=other: parse(t, q), text) is None:  # type: ignore[misc]
            return f"{text} is {words}, not {_WHAT.get(name, 'what is asked')}."
    return ""


def hear_amount(typed: str, name: str, unit: str) -> Heard:
    """Hear one amount of a quantity, above nought and without tolerance."""

    def read(text: str) -> object:
        value = parse(text, name)
        if value.low <= 0 or not value.is_exact:
            raise QuantityFault("out-of-range", f'found "{text}"', "One value above zero is asked")
        return value

    units = tuple(row.symbol for row in QUANTITIES[name].units)
    heard = hear_value(typed, read, unit, units)
    if heard.how != "refused":
        return heard
    number = _STUCK.fullmatch(_tidy(typed))
    other = _of_other_kind(_with_unit(_tidy(typed), unit), name)
    offers = (f"{number[1]} {unit}",) if number and float(number[1]) > 0 and other else ()
    return Heard("refused", typed, words=other or heard.words, offers=offers)


def hear_whole(typed: str, low: int, high: int) -> Heard:
    """Hear a whole number between two ends."""

    def read(text: str) -> object:
        if not text.isascii() or not text.isdecimal() or not low <= int(text[:9]) <= high:
            raise QuantityFault("out-of-range", f'found "{text}"', f"A whole number from {low} to {high} is asked")
        return int(text)

    heard = hear_value(typed, read)
    return replace(heard, offers=tuple(str(int(offer)) for offer in heard.offers))


def hear_choice(typed: str, choices: tuple[str, ...]) -> Heard:
    """Hear one of some choices; its first letters, or its number in the list, are enough."""
    said = _tidy(typed).lower()
    exact = [choice for choice in choices if choice.lower() == said]
    begun = exact or [choice for choice in choices if said and choice.lower().startswith(said)]
    if len(begun) == 1:
        return Heard("taken", typed, begun[0])
    if len(begun) > 1:
        return Heard("refused", typed, words=f"{_tidy(typed)} may be one of several.", offers=tuple(begun)[:4])
    near = nearest(said, [choice.lower() for choice in choices])
    meant = next((choice for choice in choices if choice.lower() == near), None)
    if meant is not None:
        return Heard("mended", typed, words=f"You typed {_tidy(typed)}.", offers=(meant,))
    words = f"{_tidy(typed) or 'Nothing'} is none of them: {', '.join(choices)}."
    return Heard("refused", typed, words=words, offers=choices[:4])


def hear_label(typed: str, label: Callable[[str], str]) -> Heard:
    """Hear a label of a table, a stud or a wire size; another spelling of it is taken as the table's own."""
    text = _tidy(typed)
    try:
        return Heard("taken", typed, label(text))
    except QuantityFault as error:
        found = f"{error.found}. {error.hint.rstrip('.')}."
    offers = _mended(text.upper(), label, "", ())
    if _fault(label, text.upper()) is None:
        offers = (label(text.upper()),)
    how: Literal["mended", "refused"] = "mended" if offers else "refused"
    return Heard(how, typed, words=f"You typed {text}." if offers else found, offers=offers)


def hear_words(typed: str) -> Heard:
    """Hear free words."""
    text = _tidy(typed)
    if not text or not text.isprintable():
        return Heard("refused", typed, words="A few letters are asked.")
    return Heard("taken", typed, text)
