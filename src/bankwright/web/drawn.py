"""The bank's drawing on a page, in both widths, with the words that stand under it; the key plan; the crop of Build.

Gives: Drawn, drawn(), key_plan(), crop(). One drawing on every stage: amperes (Plan), made (Build), volts (Match).
Limits: composition only; lines and places come from draw/.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from bankwright.draw.arrange.layout import layout
from bankwright.draw.paint.places import place_of
from bankwright.draw.pen.paper import SizeName
from bankwright.draw.pen.svg import box, element, joined
from bankwright.draw.wiring import wiring
from bankwright.forms.finding import Finding
from bankwright.job.file import Bank

__all__ = ["Drawn", "crop", "drawn", "key_plan"]


SIZES: tuple[tuple[SizeName, str], ...] = (("desk", "wd"), ("phone", "wp"))


@dataclass(frozen=True, slots=True)
class Drawn:
    """Both widths and the foot: pairs of a caption and what it says."""

    desk: Markup
    phone: Markup
    foot: tuple[tuple[str, str], ...]
    places: tuple[str, ...]

    @property
    def scrolls(self) -> bool:
        """True when the drawing is wider than its column: then it is scrolled, never made smaller."""
        found = re.search(r'width="(\d+)"', self.desk)
        return found is not None and int(found[1]) > 632


def places_of(bank: Bank) -> tuple[str, ...]:
    """Every place that the drawing shows, in the order of the hand: modules, links, devices, bars, what is fed."""
    groups: tuple[Iterable[Any], ...] = (bank.modules, bank.links, bank.devices, bank.bars, bank.inverters)
    groups += (bank.chargers, bank.loads)
    return tuple(dict.fromkeys(thing.name for group in groups for thing in group))


def drawn(
    bank: Bank,
    solution: Any = None,
    findings: Iterable[Finding] = (),
    *,
    marked: Iterable[str] = (),
    made: Collection[str] | None = None,
    texts: Mapping[str, str] | None = None,
    foot: tuple[tuple[str, str], ...] = (),
) -> Drawn:
    """Draw the bank twice; marked places are those that the drawing can show."""
    found = tuple(findings)
    shown = tuple(dict.fromkeys(place for name in marked if (place := place_of(bank, name)) is not None))
    both = [
        wiring(bank, solution, found, size, marked=shown, made=made, texts=texts, embedded=True, prefix=prefix).text
        for size, prefix in SIZES
    ]
    wired = ", ".join(part for part in (bank.pattern, bank.feed) if part)
    head = (("Drawing", "Rack, front, posts apart"), ("Wiring", wired or "listed"))
    tail = (("Marked", ", ".join(shown[:4]).replace("-", "−")),) if shown else ()
    return Drawn(Markup(both[0]), Markup(both[1]), (*head, *foot, *tail), places_of(bank))


def key_plan(bank: Bank, name: str | None) -> Markup:
    """A plan of a thumb's width: the rack, its modules, the two sides; the place in hand under the highlighter."""
    count = max(min(len(bank.modules), 12), 1)
    high = min(9.0, 44.0 / count)
    marked = None if name is None else place_of(bank, name)
    ends = _ends(bank, marked)
    parts = [
        element("path", d="M18 58H9V7H22", cls=_side("pos", marked, bank), stroke_width=2.5),
        element("path", d="M66 58H75V7H62", cls=_side("neg", marked, bank), stroke_width=2.5),
        element("path", d="M66 58H75V7H62", cls="core", stroke_width=0.8),
        box(22, 3, 40, 8, "kf" + (" marked" if _above(bank, marked) else "")),
    ]
    for place, module in enumerate(bank.modules[:12]):
        cls = "kf marked" if module.name in ends else "kf"
        parts.append(box(18, 62.5 - high * (place + 1), 48, max(high - 2.5, 2.0), cls))
    words = f"Key plan, marked: {marked or 'nothing'}"
    svg = element(
        "svg",
        element("title", words),
        joined(parts),
        viewBox="0 0 84 66",
        width=84,
        height=66,
        role="img",
        cls="bw key",
    )
    return Markup(str(svg))


def _ends(bank: Bank, marked: str | None) -> frozenset[str]:
    """Modules that a place touches."""
    if marked is None or marked not in bank:
        return frozenset()
    modules = {module.name for module in bank.modules}
    if marked in modules:
        return frozenset((marked,))
    link = next((link for link in bank.links if link.name == marked), None)
    posts = {p.name: p.owner for p in bank.posts}
    return frozenset(posts.get(end, "") for end in (link.a, link.b)) & modules if link else frozenset()


def _above(bank: Bank, marked: str | None) -> bool:
    return marked in {thing.name for group in (bank.inverters, bank.chargers, bank.loads) for thing in group}


def _side(pole: str, marked: str | None, bank: Bank) -> str:
    sign = "+" if pole == "pos" else "-"
    device = next((d for d in bank.devices if d.name == marked), None)
    on = device.on if device else marked or ""
    lit = on.startswith("main") and on.endswith(sign)
    return f"wire {pole}" + (" lit" if lit else "")


def crop(bank: Bank, phone: Markup, names: Iterable[str]) -> Markup:
    """Two modules' height of the phone drawing, around the first place that can be found on it; else the top."""
    whole = re.search(r'viewBox="0 0 (\d+) (\d+)"', phone)
    if whole is None:
        return phone
    width, height = int(whole[1]), int(whole[2])
    show = min(160, height)
    middle = _middle(bank, names)
    top = 0.0 if middle is None else min(max(middle - show / 2, 0), height - show)
    text = str(phone).replace(whole[0], f'viewBox="0 {top:.0f} {width} {show}"', 1)
    text = re.sub(rf'width="{width}" height="{height}"', f'width="{width}" height="{show}"', text, count=1)
    return Markup(text.replace('id="wp-', 'id="wc-').replace("wp-t wp-d", "wc-t wc-d").replace("#wp-", "#wc-"))


def _middle(bank: Bank, names: Iterable[str]) -> float | None:
    """Height at which the first place with a module stands on the phone drawing."""
    heights = layout(bank, "phone").heights.middle
    for name in names:
        touched = [heights[module] for module in _ends(bank, place_of(bank, name)) if module in heights]
        if touched:
            return sum(touched) / len(touched)
    return None
