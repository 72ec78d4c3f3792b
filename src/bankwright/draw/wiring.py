"""The drawing of the bank: rack, posts, cables with their currents, devices, what is fed, findings at their places.

Gives: wiring(). Positive left, negative right, slot 1 lowest; nothing of one pole crosses the other.
One drawing for every stage: `solution` letters currents (plan), `made` what stands (build), `texts` readings (match).
Limits: one case, one variant; a layout on paper, not the distances in the room (rack).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from bankwright.bank.model import Bank
from bankwright.draw.arrange.head import consumers
from bankwright.draw.arrange.layout import Layout, layout
from bankwright.draw.paint.assumed import HIGH, assumed_lines, painted_assumed
from bankwright.draw.paint.cables import painted_bars, painted_cables, painted_letters
from bankwright.draw.paint.currents import Currents, amperes, case_name, opened_in, reading
from bankwright.draw.paint.head import painted_head
from bankwright.draw.paint.look import Look
from bankwright.draw.paint.places import marks
from bankwright.draw.paint.racks import painted_racks
from bankwright.draw.pen.paper import Drawing, SizeName, sheet
from bankwright.draw.pen.svg import joined
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import numbered

__all__ = ["wiring"]


def _desc(lay: Layout, look: Look, findings: Iterable[Finding]) -> str:
    bank = lay.bank
    racks = f" in {lay.topology.columns} racks side by side" if lay.topology.columns > 1 else ""
    feed = f", feed {bank.feed}" if bank.feed else ""
    fed = ", ".join(item.name for item in consumers(bank)) or "nothing"
    said = [
        f"{len(bank.modules)} modules{racks}, slot 1 lowest, wired as {bank.pattern}{feed}.",
        f"Positive cables on the left, negative on the right. Above: {fed}.",
    ]
    carried = [(abs(value), m.name) for m in bank.modules if (value := look.current(m.name)) is not None]
    if look.made is not None:
        said.append(f"Made so far: {', '.join(sorted(look.made)) or 'nothing'}.")
    elif carried:
        most, name = max(carried, key=lambda pair: pair[0])
        said.append(f"{name} carries most: {amperes(most)}.")
    count = len(numbered(findings))
    if count:
        said.append(f"{count} numbered findings.")
    return " ".join(said)


def wiring(
    bank: Bank,
    solution: Currents | Mapping[str, float] | None = None,
    findings: Iterable[Finding] = (),
    size: SizeName = "desk",
    *,
    case: str | None = None,
    marked: Collection[str] = (),
    made: Collection[str] | None = None,
    texts: Mapping[str, str] | None = None,
    embedded: bool = False,
    prefix: str = "w",
) -> Drawing:
    """Draw the bank. `solution`: a solved case, or names to amperes; `made`, `texts`, `marked`: names in the bank."""
    found = tuple(findings)
    lay = layout(bank, size)
    shown = case if case is not None else case_name(solution)
    look = _look(bank, solution, found, shown, marked, made=made, texts=texts, prefix=prefix, embedded=embedded)
    said = assumed_lines(solution, bank.units, lay.width - 16)
    body = joined(
        [
            painted_cables(lay, look),
            painted_bars(lay, look),
            painted_head(lay, look, shown),
            painted_letters(lay, look),
            painted_racks(lay, look),
            joined(painted_assumed(said, 8, lay.height + 8)),
        ]
    )
    title = f"Bank drawing, {shown}" if shown else "Bank drawing"
    high = lay.height + HIGH * len(said)
    desc = " ".join([_desc(lay, look, found), *said])
    return sheet(lay.width, high, title, desc, prefix, body=body, cls=f"bank {size}", embedded=embedded)


def _look(
    bank: Bank, solution: Currents | Mapping[str, float] | None, found: tuple[Finding, ...], shown: str | None,
    marked: Collection[str], *, made: Collection[str] | None, texts: Mapping[str, str] | None, prefix: str,
    embedded: bool,
) -> Look:  # fmt: skip
    """What is painted on the bank: currents, marks, what is made, words at the modules."""
    current, out = reading(solution), opened_in(shown)
    carried = [abs(value) for link in bank.links if (value := current(link.name)) is not None]
    return Look(
        current=current,
        most=max(carried, default=0.0),
        marks=marks(bank, found),
        marked=frozenset(marked),
        made=None if made is None else frozenset(made),
        texts={**({out: "open"} if out in {m.name for m in bank.modules} else {}), **(texts or {})},
        prefix=prefix,
        linked=embedded,
        in_case=bool(shown),
        opened=out,
    )
