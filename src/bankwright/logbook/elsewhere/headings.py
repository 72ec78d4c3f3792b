"""What a heading says: quantity, unit, and which cell, module or probe it belongs to.

Gives: Meaning, meaning_of(), words_in(). Reads the trade's words in six languages (words.toml), camel case, units in
brackets or at the end, numbers of cells and modules.
Limits: a heading alone; what its column's values and its neighbours say is propose.py.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from bankwright.logbook.elsewhere.units import Written, written_unit
from bankwright.logbook.elsewhere.zones import zone_named

__all__ = ["Meaning", "meaning_of", "words_in"]

_BRACKETS = re.compile(r"[(\[{（【]([^)\]}）】]*)[)\]}）】]")
_HUMP = re.compile(
    r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])|(?<=[A-Za-z])(?=[\u4e00-\u9fff])"
)
_SHORT = re.compile(
    r"(?P<q>[VUIT])[_ ]?"
    r"(?:(?P<bat>bat|batt|pack|tot|total|sum|dc|bus|avg|inst|mean)|(?P<cell>c|cell)?[_ ]?(?P<n>\d{1,3}))",
    re.IGNORECASE,
)
_OF_LETTER = {"v": "voltage", "u": "voltage", "i": "current", "t": "temperature"}
_INSIDE = {"soc": "soc", "soh": "soh", "temperature": "temperature_degc", "energy": "energy_kwh",
           "capacity": "capacity_ah"}  # fmt: skip
_BY_PLACE = re.compile(
    r"\b(?:b|bms|bat|pack|p|m|mod)[_ -]?(\d{1,2})[_ .-]*(?:c|cell|cel|z)[_ -]?(\d{1,3})\b", re.IGNORECASE
)
_IN_SERIES = re.compile(r"(?<![A-Za-z0-9])\d{1,2}[sS](?:\d+[pP])?(?![A-Za-z0-9])")  # 16S1P: cells in series, no number
_COUNTS = re.compile(r"\b(?:num|number|count|qty|anzahl|nr|nombre|numero|aantal|imbalance)\b|数")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading says; "" and None where it says nothing."""

    text: str
    quantity: str = ""
    unit: Written | None = None
    part: str = ""  # cell | module | bank | tap
    cell: int | None = None
    module: int | None = None
    number: int | None = None  # a number that could be of a cell, a module or a probe
    probe: str = ""
    stretch: str = ""  # min | max | mean | spread
    way: str = ""  # charge | discharge
    time: str = ""  # moment | date | clock | elapsed
    long: str = ""  # item | value | unit
    by: str = ""  # module: each row says which module it is of
    other: str = ""  # the word that makes it something else's
    zone: str = ""
    notes: tuple[str, ...] = field(default=())


@lru_cache
def _words() -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    text = Path(__file__).with_name("words.toml").read_text("utf-8")
    return {room: {key: tuple(words) for key, words in table.items()} for room, table in tomllib.loads(text).items()}


def _plain(text: str) -> str:
    """Small letters without accents, words parted by blanks."""
    parted = _HUMP.sub(" ", re.sub(r"S[oO][cC]", "SOC", text))
    letters = unicodedata.normalize("NFKD", parted.replace("ß", "ss"))
    kept = "".join(c for c in letters if not unicodedata.combining(c)).lower()
    return " ".join(re.findall(r"[^\W_]+|[%°]", kept))


def words_in(plain: str, room: str, leave: tuple[str, ...] = ()) -> str:
    """The key of the longest word of a room that stands in a text; "" when none does."""
    return _longest(plain, room, leave)[0]


def _longest(plain: str, room: str, leave: tuple[str, ...] = ()) -> tuple[str, int]:
    tokens, found = plain.split(), ("", 0)
    joined = plain.replace(" ", "")
    for key, words in _words()[room].items():
        for word in words if key not in leave else ():
            wanted = word.replace("_", " ")
            short = len(word) <= 3 and word.isascii()
            here = wanted in tokens if short else wanted in plain or wanted.replace(" ", "") in joined
            if here and len(word) > found[1]:
                found = (key, len(word))
    return found


def meaning_of(text: str) -> Meaning:
    """Read one heading."""
    channel = re.search(r"<([^<>]+)>", text)  # `101 <Cell 1> (VDC)`: a channel and its name
    unit, bare, notes = _unit_of(text)
    bare = channel[1] if channel is not None else bare
    short = _SHORT.fullmatch(bare.strip())
    plain = _plain(bare)
    if short is not None:
        return _of_short(text, short, unit, notes)
    quantity, length = _longest(plain, "quantity")
    quantity = "" if _longest(plain, "time")[1] > max(length, 4) else quantity  # Zeitstempel is no temperature
    part, stretch = words_in(plain, "part"), words_in(plain, "stretch")
    cell, module, number = _numbers(bare, plain, part)
    part = "cell" if cell is not None else part
    other = words_in(plain, "other") and _other_word(plain)
    if part in ("module", "bank") and re.search(
        r"\b(battery|batterie|bateria|batterij|akku|accu|bat|batt|pack)", plain
    ):
        other = other if other in ("setpoint", "limit", "protection", "alarm", "threshold", "nominal", "rated") else ""
    if unit is not None and unit.quantity == "time" and quantity:
        unit = None
    return Meaning(
        text, _quantity(quantity, unit, part, stretch, plain), unit, part, cell, module, number,
        words_in(plain, "probe"), stretch, _way(plain), _time_word(plain, quantity, unit),
        words_in(plain, "long"), words_in(plain, "by"), other, _zone(text), tuple(notes),
    )  # fmt: skip


def _of_short(text: str, short: re.Match[str], unit: Written | None, notes: list[str]) -> Meaning:
    """`V3`, `Vtot`, `Iinst`, `T2`, `Uc07`."""
    letter, number = short["q"].lower(), int(short["n"]) if short["n"] else None
    quantity = _OF_LETTER[letter]
    part = "cell" if short["cell"] else "module" if short["bat"] else ""
    return Meaning(
        text, _INSIDE.get(quantity, quantity), unit, part, number if part == "cell" else None, None,
        None if part == "cell" else number, stretch="mean" if (short["bat"] or "").lower() in ("avg", "mean") else "",
        notes=tuple(notes),
    )  # fmt: skip


def _unit_of(text: str) -> tuple[Written | None, str, list[str]]:
    """Unit in brackets or at the end; the heading without it; other words in brackets."""
    notes: list[str] = []
    for inside in _BRACKETS.findall(text):
        found = written_unit(inside)
        if found is not None:
            return found, _BRACKETS.sub(" ", text), notes
        notes.append(inside)
    bare = _BRACKETS.sub(" ", text).strip() if notes else text.strip()
    alone = written_unit(bare) if bare != "t" and len(bare) < 4 else None
    if alone is not None and alone.quantity != "time":  # `A`, `Ah`: the unit is all there is
        return alone, bare, notes
    scaled = re.search(r"[_\s,;-](\d*[.,]?\d+\s*[^\W\d_%]{1,4})$", bare)  # `NTC1_0.1K`
    if scaled is not None and (found := written_unit(scaled[1])) is not None:
        return found, bare[: scaled.start()], notes
    parts = re.split(r"(?:\s+in\s+|\s*/\s*|[_,;:\s.-]+)", bare)
    if len(parts) > 1 and parts[-1]:
        found = written_unit(parts[-1])
        rest = bare[: bare.rfind(parts[-1])].rstrip(" _,;:/.-")
        fits = found is not None and (found.quantity != "time" or words_in(_plain(rest), "time") or rest == "t")
        if fits and parts[-1] not in ("K", "H", "D", "S", "1"):
            return found, rest, notes
    if "%" in bare:
        return Written("%"), bare.replace("%", " "), notes
    return None, bare if bare else text, notes


def _way(plain: str) -> str:
    """Charge, discharge, or "" where a heading names both."""
    words = _words()["way"]["discharge"]
    rest = plain
    for word in sorted(words, key=len, reverse=True):
        rest = rest.replace(word, " ")
    if words_in(plain, "way") == "discharge" or rest != plain:
        return "" if words_in(rest, "way", ("discharge",)) else "discharge"
    return words_in(plain, "way")


def _other_word(plain: str) -> str:
    tokens = plain.split()
    for word in _words()["other"]["words"]:
        if word in tokens or (len(word) > 3 and word in plain) or (not word.isascii() and word in plain):
            return word
    return ""


def _quantity(word: str, unit: Written | None, part: str, stretch: str, plain: str) -> str:
    """Name of the quantity inside: the unit's own, where word and unit do not fit together."""
    name = _INSIDE.get(word, word)
    by_unit = unit.quantity if unit is not None else ""
    if by_unit == "voltage" and name not in ("voltage",):
        name = "voltage"
    elif by_unit and by_unit not in ("time", "soc") and name not in ("soh", by_unit):
        name = by_unit
    elif not name and by_unit == "soc" and part:
        name = "soc"
    if name == "voltage" and part == "cell":
        return "cell_spread" if stretch == "spread" else "cell_voltage"
    if name == "voltage" and stretch == "spread":
        return "cell_spread"
    if name == "" and part == "cell" and not _COUNTS.search(plain):
        return "cell_voltage"
    return name


def _numbers(bare: str, plain: str, part: str) -> tuple[int | None, int | None, int | None]:
    """Numbers of cell and module, and one that is of either."""
    bare, plain = _IN_SERIES.sub(" ", bare), _plain(_IN_SERIES.sub(" ", bare))
    both = _BY_PLACE.search(re.sub(r"_", " ", bare))
    if both is not None:
        return int(both[2]), int(both[1]), None
    cell, module, rest = None, None, None
    cells = "|".join(re.escape(w) for w in _words()["part"]["cell"])
    modules = "|".join(re.escape(w) for w in _words()["part"]["module"])
    spaced = re.sub(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])", " ", plain)
    found = re.search(rf"(?:{cells})(?:n|nspannung|spannung|voltage| voltage| nr| no| number)?\s*(\d{{1,3}})\b", spaced)
    if found is not None:
        cell = int(found[1])
        spaced = spaced[: found.start()] + " " + spaced[found.end() :]
    found = re.search(rf"(?:{modules})(?: nr| no| number| id)?\s*(\d{{1,3}})\b", spaced)
    if found is not None:
        module = int(found[1])
        spaced = spaced[: found.start()] + " " + spaced[found.end() :]
    left = re.findall(r"(?<![\d.,])\d{1,3}(?![\d.,])", spaced)
    if left:
        rest = int(left[-1])
    if part == "cell" and cell is None and rest is not None:
        cell, rest = rest, None
    return cell, module, rest


def _time_word(plain: str, quantity: str, unit: Written | None) -> str:
    if unit is not None and unit.quantity == "time":
        return "elapsed" if not words_in(plain, "time") or words_in(plain, "time") in ("elapsed", "moment") else ""
    found = words_in(plain, "time")
    return "" if quantity and found in ("moment", "elapsed", "clock") and quantity != "soh" else found


def _zone(text: str) -> str:
    named = re.search(r"\b[A-Z][a-z]+/[A-Z][A-Za-z_]+(?:/[A-Z][A-Za-z_]+)?", text)
    if named is not None and zone_named(named[0]) is not None:
        return named[0]
    return "UTC" if re.search(r"\b(?:UTC|GMT|Zulu)\b", text) else ""
