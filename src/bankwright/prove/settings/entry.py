"""What was set at a device, as typed: parsed, kept in the logbook one by one, read back newest first.

Gives: keep_set(), set_so_far(), KIND. "I1 low stop=48.0 V"; words where the row is one of words.
Limits: no judgement here (card.py); a correction is a newer entry, a wrong one is struck out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.logbook.logbook import Logbook
from bankwright.prove.settings.setting import Entered, Setting

__all__ = ["KIND", "keep_set", "set_so_far"]

KIND = "setting"
MOST = {"voltage": 1000.0, "current": 20000.0}  # nothing of this kind is set higher: a slip of the unit


def keep_set(book: Logbook, rows: Sequence[Setting], texts: Iterable[str], who: str = "") -> tuple[str, ...]:
    """Keep "ID=VALUE" texts, all or none; the ids that were kept. QuestionError with all faults."""
    read = _read({row.id: row for row in rows}, tuple(texts))
    for id_, value, typed in read:
        book.hand_over(KIND, {"id": id_, "value": value, "typed": typed}, who=who)
    return tuple(id_ for id_, _, _ in read)


def _read(rows: dict[str, Setting], texts: Sequence[str]) -> list[tuple[str, float | None, str]]:
    found: list[tuple[str, float | None, str]] = []
    faults: list[Fault] = []
    for text in texts:
        id_, equals, typed = (part.strip() for part in text.partition("="))
        row = rows.get(" ".join(id_.split()))
        if not equals or not typed or row is None:
            hint = did_you_mean(id_, list(rows), f"Rows: {', '.join(list(rows)[:4])} ...", 3)
            faults.append(Fault("--set", "unknown-setting", f"found {text!r}", "ROW=VALUE", hint))
            continue
        if row.id in {name for name, _, _ in found}:
            faults.append(Fault("--set", "setting-doubled", f"two values of {row.id}", "one"))
            continue
        try:
            found.append((row.id, _value(row, typed), typed))
        except QuantityFault as fault:
            faults.append(Fault(row.id, fault.code, fault.found, hint=fault.hint))
    if faults:
        raise QuestionError(tuple(faults), "what was set")
    return found


def _value(row: Setting, typed: str) -> float | None:
    if row.quantity == "words":
        return None
    value = parse(typed, row.quantity).nominal
    if not 0.0 <= value <= MOST[row.quantity]:
        raise QuestionError(
            (Fault(row.id, "value-out-of-range", f"found {typed}", "a value of its kind"),), "what was set"
        )
    return value


def set_so_far(book: Logbook | None) -> dict[str, Entered]:
    """The newest standing value of each row."""
    found: dict[str, Entered] = {}
    if book is None:
        return found
    for entry in book.entries(kind="result", standing=True):
        payload = entry.body.get("payload")
        if entry.body.get("kind") != KIND or not isinstance(payload, dict) or "id" not in payload:
            continue
        value = payload.get("value")
        number = float(value) if isinstance(value, int | float) else None
        id_ = str(payload["id"])
        found[id_] = Entered(id_, number, str(payload.get("typed", "")), entry.moment.wall, entry.who, entry.seq)
    return found
