"""What is typed on the page of Match: a bare number is in the unit shown, a repair is offered, a fault has its field.

Gives: Entry, Mend, ALL, ALONE, LEVELS, ROWS, entry_from(), faults_of(), levels_of(), mends_of(), typed_of(),
units_of().
Limits: only the fields of that page; readings are judged in match/.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from bankwright.forms.faults import Fault
from bankwright.job.matching import Typed
from bankwright.job.quantity import QuantityFault, parse
from bankwright.web.beside import typed_bare

__all__ = ["ALL", "ALONE", "LEVELS", "ROWS", "Entry", "Mend"]
__all__ += ["entry_from", "faults_of", "levels_of", "mends_of", "typed_of", "units_of"]

LEVELS = ("level1", "level2", "level3")  # amperes of each module at so many moments
ROWS = ("voltage", "rested", "temperature", "last", "soc", *LEVELS)
ALL = ("rested", "temperature")  # one field for the modules that have none of their own
ALONE = ("meter", "charger", "resistor")
_QUANTITY = {"voltage": "voltage", "rested": "time", "temperature": "temperature", **dict.fromkeys(LEVELS, "current")}
_NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")
Entry = dict[str, Any]  # {"rows": {module: {what: text}}, "all": {what: text}, "meter": text, ...}


@dataclass(frozen=True, slots=True)
class Mend:
    """What may have been meant: the field, what was typed, and the whole right answer."""

    field: str
    typed: str
    right: str


def units_of(units: str) -> dict[str, str]:
    """The unit that a bare number is in, by field; it stands in the label."""
    warm = {"temperature": "degF" if units == "us" else "degC"}
    return {"voltage": "V", "rested": "h", **warm, **dict.fromkeys(LEVELS, "A")}


def entry_from(form: dict[str, str], modules: Iterable[str], units: str) -> Entry:
    """Letters of the form by field, a bare number with the unit shown; a repair that was taken stands in its field."""
    field, _, right = form.get("mend", "").partition("=")
    form = form | ({field: right} if right and field in form else {})
    unit = units_of(units)

    def text(what: str, place: str) -> str:
        typed = form.get(f"{what} {place}", "")
        return typed_bare(typed, unit[what]) if typed and what in unit else typed

    rows = {name: {what: text(what, name) for what in ROWS} for name in modules}
    return {"rows": rows, "all": {what: text(what, "all") for what in ALL}} | {key: form.get(key, "") for key in ALONE}


def _fields(entry: Entry) -> Iterable[tuple[str, str, str]]:
    """Field, quantity, text of everything that was typed as an amount."""
    for name, row in entry["rows"].items():
        yield from ((f"{what} {name}", quantity, row.get(what, "")) for what, quantity in _QUANTITY.items())
    yield from ((f"{what} all", _QUANTITY[what], entry["all"].get(what, "")) for what in ALL)


def faults_of(entry: Entry) -> tuple[Fault, ...]:
    """What cannot be read as an amount, each under the name of its own field."""
    found = []
    for field, quantity, text in _fields(entry):
        try:
            _ = parse(text, quantity) if text else None
        except QuantityFault as fault:
            found.append(Fault(field, fault.code, fault.found, hint=fault.hint))
    return tuple(found)


def mends_of(entry: Entry, faults: Iterable[Fault], units: str) -> list[Mend]:
    """Right answers that may have been meant: a comma, a letter O, a unit without its gap or in other letters."""
    wrong, found = {fault.path for fault in faults}, []
    for field, _, text in _fields(entry):
        unit = units_of(units)[field.split(" ", 1)[0]]
        plain = text.replace(" ", "")
        plain = plain[: -len(unit)] if plain.lower().endswith(unit.lower()) else plain
        plain = plain.replace(",", ".").replace("O", "0").replace("o", "0")
        if field in wrong and _NUMBER.fullmatch(plain):
            found.append(Mend(field, text, f"{plain} {unit}"))
    return found


def levels_of(entry: Entry) -> tuple[dict[str, float], ...]:
    """Amperes of the modules at each moment that has any, plus while discharging."""
    rows = [
        {name: parse(row[level], "current").nominal for name, row in entry["rows"].items() if row.get(level)}
        for level in LEVELS
    ]
    return tuple(row for row in rows if row)


def typed_of(entry: Entry) -> Typed:
    """What is judged: a module's own word, else the one for all."""
    alls = entry.get("all", {})
    lists = {
        what: tuple(
            f"{name}={said}" for name, row in entry["rows"].items() if (said := row.get(what) or alls.get(what, ""))
        )
        for what in ROWS
        if what not in LEVELS
    }
    return Typed(
        voltage=lists["voltage"], rested=lists["rested"], temperature=lists["temperature"], last=lists["last"],
        soc=lists["soc"], meter=entry.get("meter") or None,
    )  # fmt: skip
