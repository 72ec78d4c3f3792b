"""Currents of modules as they were typed, or in rows of a file: one level of load each.

Gives: levels_from(), levels_from_csv(). "M1=20 A" given several times is one level; "M1=20 A, M2=22 A" is a level of
its own. A file has the columns level, module, current, in any order.
Limits: nothing is judged here (match/levels, match/uneven).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.forms.faults import Fault, QuestionError

__all__ = ["levels_from", "levels_from_csv"]

COLUMNS = ("level", "module", "current")


def levels_from(texts: Sequence[str], sign: float, option: str) -> tuple[dict[str, float], ...]:
    """Levels in the order they were typed, all amperes with this sign; QuestionError with all faults."""
    faults: list[Fault] = []
    single: dict[str, float] = {}
    found = [single]
    for text in texts:
        parts = [part.strip() for part in text.split(",") if part.strip()]
        level = single if len(parts) == 1 else {}
        if level is not single:
            found.append(level)
        for part in parts:
            name, _, value = part.partition("=")
            _put(level, name.strip(), value, f"{option} {part}", faults)
    if faults:
        raise QuestionError(tuple(faults), "the currents")
    return tuple({name: sign * abs(amps) for name, amps in level.items()} for level in found if level)


def _put(level: dict[str, float], name: str, text: str, where: str, faults: list[Fault]) -> None:
    try:
        amps = parse(text, "current").nominal
    except QuantityFault as fault:
        faults.append(Fault(where, fault.code, fault.found, "MODULE=CURRENT, as M1=20A", fault.hint))
        return
    if name in level:
        hint = "Several levels: write each in one text, M1=20A,M2=22A"
        faults.append(Fault(where, "reading-doubled", f"two currents of {name} at one level", hint=hint))
    level[name] = amps


def levels_from_csv(path: Path) -> tuple[dict[str, float], ...]:
    """Rows of level, module, current; currents keep their sign, plus while discharging."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        fault = Fault(path.name, "file-unreadable", str(error), hint="A text file with commas is expected")
        raise QuestionError((fault,), "the currents") from error
    head = next(iter(text.splitlines()), "")
    rows = csv.DictReader(text.splitlines(), delimiter=max(",;\t", key=head.count))
    names = [(name or "").strip().casefold() for name in rows.fieldnames or ()]
    if set(names) != set(COLUMNS):
        found = f"found the columns {', '.join(names) or 'none'}"
        raise QuestionError((Fault(path.name, "columns-unknown", found, hint="level,module,current"),), "the currents")
    rows.fieldnames = names
    return _by_level(path.name, rows)


def _by_level(file: str, rows: Iterable[dict[str, str]]) -> tuple[dict[str, float], ...]:
    levels: dict[str, dict[str, float]] = {}
    faults: list[Fault] = []
    for number, row in enumerate(rows, 2):
        level, module, current = ((row.get(name) or "").strip() for name in COLUMNS)
        if not (level or module or current):
            continue
        if not (level and module and current):
            faults.append(Fault(f"{file}:{number}", "row-incomplete", "level, module or current is empty"))
            continue
        _put(levels.setdefault(level, {}), module, current, f"{file}:{number}", faults)
    if faults:
        raise QuestionError(tuple(faults), "the currents")
    return tuple(levels.values())
