"""What joins the keys of a message map: each rule yields faults with their place.

Gives: message_faults(). Limits: single values are judged in messages/written.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bus.map.registers import FLAGS, TEXTS
from bankwright.bus.map.rules import MOST_SIGNALS, quantity_faults
from bankwright.bus.messages.written import MessageMapW, MessageW, RecordFieldW
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean

__all__ = ["message_faults"]

MOST_BYTES = 2047  # of information, as many as the length of a frame can say
Fields = Sequence[RecordFieldW]


def message_faults(written: MessageMapW, where: Whereabouts) -> Iterator[Fault]:
    """All faults of the rules."""
    if not written.messages:
        yield where.fault(
            ("messages",), "key-missing", "the map has no messages", "", "Write a [[messages]] block each"
        )
    if written.version is None:
        hint = 'Write version = "20": two hexadecimal characters, VER in the manual'
        yield where.fault(("version",), "key-missing", 'the key "version" is missing', "", hint)
    if sum(_values(field) for message in written.messages for field in message.fields) > MOST_SIGNALS:
        yield where.fault(("messages",), "out-of-range", f"more than {MOST_SIGNALS} values")
    seen: dict[str, Path] = {}
    for number, message in enumerate(written.messages):
        path: Path = ("messages", number)
        if not any(field.name for field in message.fields):
            yield where.fault((*path, "fields"), "key-missing", "nothing of the answer is read", "",
                              "Write a [[messages.fields]] block each")  # fmt: skip
        yield from _doubled(message.fields, path, seen, where)
        yield from _message(message, path, where)


def _values(field: RecordFieldW) -> int:
    inner = sum(_values(each) for each in getattr(field, "each", None) or ())
    return _kept(field) * max(inner, 1)


def _kept(field: RecordFieldW) -> int:
    return field.count if isinstance(field.count, int) else (field.most or 1)


def _doubled(fields: Fields, path: Path, seen: dict[str, Path], where: Whereabouts) -> Iterator[Fault]:
    for place, field in enumerate(fields):
        own = (*path, "fields", place)
        if field.name is None:
            continue
        if field.name in seen:
            yield where.fault((*own, "name"), "double-name", f'found "{field.name}" twice', "", "",
                              also=seen[field.name])  # fmt: skip
        seen.setdefault(field.name, own)


def _message(message: MessageW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    before: list[RecordFieldW] = []
    for place, field in enumerate(message.fields):
        own = (*path, "fields", place)
        yield from _field(field, own, before, where)
        before.append(field)
        yield from _inside(field.each or (), own, where)


def _inside(fields: Fields, path: Path, where: Whereabouts) -> Iterator[Fault]:
    """Fields of a record."""
    before: list[RecordFieldW] = []
    seen: dict[str, Path] = {}
    for place, field in enumerate(fields):
        own = (*path, "each", place)
        yield from _field(field, own, before, where)
        if isinstance(field.at, int):
            hint = "Leave it out: fields of a record follow one another"
            yield where.fault((*own, "at"), "not-here", "a fixed place inside a record", "", hint)
        if field.name in seen:
            yield where.fault((*own, "name"), "double-name", f'found "{field.name}" twice in one record')
        seen |= {field.name: own} if field.name else {}
        before.append(field)


def _field(field: RecordFieldW, path: Path, before: list[RecordFieldW], where: Whereabouts) -> Iterator[Fault]:
    if field.skip is not None:
        beside = sorted(field.model_fields_set - {"skip", "at"})
        if beside:
            yield where.fault((*path, beside[0]), "not-here", "bytes that are not read have no more to them", "",
                              "Leave it out, or leave out skip")  # fmt: skip
        return
    if field.name is None:
        yield where.fault((*path, "name"), "key-missing", "the name is missing", "",
                          "Write name and quantity, or skip = so many bytes that are not read")  # fmt: skip
        return
    yield from _counted(field, path, before, where)
    if getattr(field, "each", None) is not None:
        yield from _record(field, path, where)
        return
    yield from quantity_faults(field, path, where)
    yield from _coding(field, path, where)


def _record(field: RecordFieldW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    for key in sorted(field.model_fields_set - {"name", "each", "count", "count_bytes", "most", "at"}):
        hint = "A record has name, count and each; its fields have the rest"
        yield where.fault((*path, key), "not-here", f"{key} of a record", "", hint)
    if field.count is None:
        hint = 'Write how many records there are: a number, "before", or the field that says it'
        yield where.fault((*path, "count"), "key-missing", "records, and no count", "", hint)
    if not any(each.name for each in getattr(field, "each", ())):
        yield where.fault((*path, "each"), "key-missing", "nothing of a record is read")


def _counted(field: RecordFieldW, path: Path, before: list[RecordFieldW], where: Whereabouts) -> Iterator[Fault]:
    told = isinstance(field.count, str)
    if told != (field.most is not None):
        hint = "Write how many the module has at most" if told else "Leave it out: the count says it"
        found = "the message says how many, and how many are kept is not said" if told else "most without such a count"
        yield where.fault((*path, "most"), "key-missing" if told else "not-here", found, "", hint)
    if (field.count_bytes is not None) and field.count != "before":
        yield where.fault((*path, "count_bytes"), "not-here", 'only with count = "before"')
    if told and field.count != "before":
        known = [each.name for each in before if each.name and each.count is None and each.quantity not in TEXTS]
        if field.count not in known:
            hint = did_you_mean(str(field.count), known, 'Write a number, "before", or a field before it: '
                                + (", ".join(filter(None, known)) or "there is none"))  # fmt: skip
            yield where.fault((*path, "count"), "unknown-name", f'found "{field.count}"', "", hint)
    if field.at == "same" and (not before or before[-1].count is not None):
        hint = "Write it behind the field whose bytes it shares; a list has no one place"
        yield where.fault((*path, "at"), "not-allowed", "the same bytes as what?", "", hint)


def _coding(field: RecordFieldW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    is_text, size = field.quantity in TEXTS, field.size or (4 if field.type == "float" else 2)
    if is_text != (field.type == "text"):
        yield where.fault((*path, "type"), "not-allowed", f'found "{field.type}" for {field.quantity}')
    if (field.type == "float" and size != 4) or (field.type not in ("text", "float") and size > 8):
        most = "A float has 4 bytes" if field.type == "float" else "A number has at most 8 bytes"
        yield where.fault((*path, "bytes"), "out-of-range", f"found {size}", "", most)
    if (field.quantity == FLAGS) != (field.bits is not None or field.words is not None):
        hint = 'bits = { 0 = "..." } for single bits, words = { 1 = "..." } for raw values'
        yield where.fault((*path, "bits"), "key-missing", "flags go with bits or words", "", hint)
    if field.bits is not None and field.words is not None:
        yield where.fault((*path, "words"), "not-here", "bits and words in one field", "", "One field for each")
    if (field.shift is None) != (field.width is None):
        yield where.fault((*path, "width"), "key-missing", "a field inside bytes has a shift and a width")
    if field.scale == 0:
        yield where.fault((*path, "scale"), "out-of-range", "a scale of 0 makes every value alike")
    yield from _fits(field, size, path, where)


def _fits(field: RecordFieldW, size: int, path: Path, where: Whereabouts) -> Iterator[Fault]:
    bits = 8 * size
    if field.shift is not None and field.type in ("float", "text"):
        yield where.fault((*path, "shift"), "not-here", f"no fields inside a {field.type}")
    elif field.shift is not None and field.width is not None and field.shift + field.width > bits:
        yield where.fault((*path, "width"), "out-of-range", f"a field beyond bit {bits - 1}")
    for bit in sorted(field.bits or {}):
        if bit >= (field.width or bits):
            yield where.fault((*path, "bits"), "out-of-range", f"bit {bit} of {field.width or bits}")
    for key, raws in (("not_available", field.not_available), ("words", sorted(field.words or {}))):
        for raw in raws:
            if not 0 <= raw < 2 ** (field.width or bits):
                hint = "Write it as the bytes show it, without sign: -1 in two bytes is 65535"
                yield where.fault((*path, key), "out-of-range", f"found {raw}", "", hint)
