"""A starter bank file: commented, without faults, from a few answers.

Gives: Start (the answers, from texts/answers), starter() (the text), first_document().
Limits: only what was answered stands as a value; what only the maker's sheet or a meter can tell stands as a comment
with the key to fill in. Sizes follow from the currents (texts/proposed), lengths are a start;
plan says whether they carry.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from bankwright.bank.file.document import Document
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.texts.answers import Start
from bankwright.bank.texts.proposed import Proposal, proposed
from bankwright.bank.texts.starter_text import BARS, HEAD, INVERTER_KIND, MODULE_KIND, PARTS_KINDS, WIRING

__all__ = ["Start", "first_document", "starter"]


_CONTINUOUS = {"continuous": "100 A"}
_BREAKER: dict[str, object] = {
    "rating": "125 A", "interrupts": "10 kA", "volts": "80 V", "poles": 1, "polarised": False,
}  # fmt: skip
_BREAKER_REST = 'volts = "80 V", poles = 1, polarised = false'
_POSTS: dict[str, object] = {
    "pairs": 2, "stud": "M8", "lugs": 1, "torque": "10 N m", "through": "200 A", "rating": "75 degC",
}  # fmt: skip
_POSTS_REST = 'lugs = 1, torque = "10 N m", through = "200 A", rating = "75 degC"'
_LENGTHS = {"metric": ("600 mm", "1.5 m", "1 m", "300 mm"), "us": ("24 in", "5 ft", "3 ft", "12 in")}


def _line(key: str, value: object | None, sample: object, comment: str) -> str:
    """A key with its value, or the same key as a comment to fill in."""
    if value is not None:
        return f"{key} = {value_text(value)}"
    return f"# {key} = {value_text(sample)}   # {comment}"


def starter(start: Start) -> str:
    """The text of a starter file."""
    lead, main, branch, link = _LENGTHS[start.units]
    sizes = proposed(start)
    shared = {kind.family for kind in start.kinds}
    parts = [_head(start), "" if "module" in shared else _module_kind(start), _parts_kinds(start, sizes)]
    if start.inverters and "inverter" not in shared:
        parts.append(_inverter_kind(start))
    parts += [_modules(start), _wiring(start, sizes, (link if start.pattern == "chain" else lead, main, branch))]
    if start.pattern == "busbar":
        parts.append(BARS)
    parts += [_devices(start), _inverters(start)]
    return "\n".join(part.strip("\n") + "\n" for part in parts if part)


def first_document(start: Start, path: FilePath) -> Document:
    """The starter file as a document to save; saving refuses to overwrite a file."""
    return Document(starter(start), path)


def _named(start: Start, family: str, name: str) -> str:
    """Name of a kind: that of the file of kinds, or one of this file that stands in no such file yet."""
    shared = [kind.name for kind in start.kinds if kind.family == family]
    if shared:
        return shared[0]
    taken = {each for kind in start.kinds for each in kind.taken}
    free = (name, *(f"{name}-{k}" for k in range(2, len(taken) + 3)))
    return next(each for each in free if f"{family} {each}" not in taken)


def _head(start: Start) -> str:
    files = dict.fromkeys(kind.file for kind in start.kinds)
    return HEAD.format(
        include=f"include = {value_text(list(files))}   # kinds that several banks share\n" if files else "",
        title=value_text(start.title),
        rules=start.rules,
        units=start.units,
        place=_line("place", start.place, "detached garage", "decides which storage limits hold"),
        ambient=_line("ambient", start.ambient, "5 degC to 35 degC", "lowest and highest of the room over the year"),
    )


def _module_kind(start: Start) -> str:
    return MODULE_KIND.format(
        module=_named(start, "module", "module"),
        cells=start.cells,
        capacity=_line("capacity", start.capacity, "100 Ah", "as on the plate"),
        discharge=_line("discharge", _within("continuous", start.discharge), _CONTINUOUS, "not the peak"),
        charge=_line("charge", _within("continuous", start.charge), _CONTINUOUS, "not the peak"),
        mass=_line("mass", start.mass, "46 kg", "decides how it is lifted"),
        height=_line("height", start.height, "3 U", "also in mm or in"),
        **_inside(start),
    )


def _within(key: str, value: str | None) -> dict[str, str] | None:
    return None if value is None else {key: value}


def _inside(start: Start) -> dict[str, str]:
    """The breaker and the posts as far as they are known; what is open stands behind `#`."""
    breaker = {"rating": start.breaker, "interrupts": start.interrupts}
    posts = {"pairs": start.pairs, "stud": start.stud}
    known = [{key: value for key, value in table.items() if value is not None} for table in (breaker, posts)]
    return {
        "breaker": _line("breaker", known[0] or None, _BREAKER, "on its front")
        + ("   # further: " + _BREAKER_REST if known[0] else ""),
        "posts": _line("posts", known[1] or None, _POSTS, "on the sheet")
        + ("   # further: " + _POSTS_REST if known[1] else ""),
    }


def _parts_kinds(start: Start, sizes: Proposal) -> str:
    """Fuses and switch: the ratings follow from the currents, as a start."""
    lead, main = (None if value is None else f"{value:g} A" for value in (sizes.lead_fuse, sizes.main_fuse))
    return PARTS_KINDS.format(
        branch_fuse=_named(start, "device", "branch-fuse"),
        main_fuse=_named(start, "device", "main-fuse"),
        main_switch=_named(start, "device", "main-switch"),
        lug=_named(start, "lug", "lug"),
        lead=_line("rating", lead, "125 A", "from the current of a lead"),
        main=_line("rating", main, "300 A", "from the current of all inverters"),
    )


def _inverter_kind(start: Start) -> str:
    start_only = "   # a start, common practice, no source: put in what the sheet says"
    return INVERTER_KIND.format(
        inverter=_named(start, "inverter", "inverter"),
        power=_line("power", start.power, "5 kW", "continuous, not the peak"),
        efficiency=_line("efficiency", start.efficiency, "92 %", "at that power")
        + (start_only if start.efficiency == Start().efficiency else ""),
        lowest=_line("lowest_voltage", start.lowest_voltage, "48 V", "lowest input that still gives rated power"),
    )


def _modules(start: Start) -> str:
    kind = value_text(_named(start, "module", "module"))
    blocks = [f'[[modules]]\nname = "M{k}"\nkind = {kind}\nslot = {k}\n' for k in range(1, start.modules + 1)]
    return "# ---- what stands there: slot 1 is the lowest\n" + "\n".join(blocks)


def _wiring(start: Start, sizes: Proposal, lengths: tuple[str, str, str]) -> str:
    feed = f'feed = "{start.feed}"' if start.pattern == "busbar" or start.modules > 1 else ""
    rows = zip(("link", "main", "branch"), (sizes.link, sizes.main, sizes.branch), lengths, strict=True)
    lug = value_text(_named(start, "lug", "lug"))
    size = {name: f'{{ cable = "{cable}", length = "{length}", lug = {lug} }}' for name, cable, length in rows}
    link = size["link"] if start.pattern == "busbar" or start.modules > 1 else "{}"
    return WIRING.format(pattern=start.pattern, feed=feed, link=link, main=size["main"], branch=size["branch"])


def _devices(start: Start) -> str:
    blocks = ["# ---- protection: sizes are decided with the plan"]
    if start.pattern == "busbar":
        branch = _kind_line(start, "branch-fuse")
        blocks.append(f'[[devices]]\nname = "FB"\n{branch}on = "each module +"\nat = "module end"\n')
    blocks.append(f'[[devices]]\nname = "F1"\n{_kind_line(start, "main-fuse")}on = "main+"\nat = "bank end"\n')
    blocks.append(
        f'[[devices]]\nname = "X1"\n{_kind_line(start, "main-switch")}on = ["main+", "main-"]\n'
        'reach = "beside the rack"\n'
    )
    return "\n".join(blocks)


def _kind_line(start: Start, name: str) -> str:
    return f"kind = {value_text(_named(start, 'device', name))}\n"


def _inverters(start: Start) -> str:
    kind = value_text(_named(start, "inverter", "inverter"))
    return "\n".join(f'[[inverters]]\nname = "I{k}"\nkind = {kind}\n' for k in range(1, start.inverters + 1))
