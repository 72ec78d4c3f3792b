"""Small drawings that say where an answer is found: plate, post, breaker, switch block, jacket, page of a manual.

Gives: plate(), PLATES. One pen; at most one patch under the highlighter, which means "here"; a label says the same.
Limits: invented figures, no maker's plate; a name that is not known gives None.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from bankwright.draw.pen.svg import Markup, box, circle, element, group, joined, line, words

__all__ = ["PLATES", "plate"]

_ROWS = (
    ("cells", "Type", "LFP 16 cells"), ("volts", "Nominal", "51.2 V"), ("capacity", "Capacity", "100 Ah"),
    ("charge", "Charge", "50 A cont."), ("discharge", "Discharge", "100 A cont."), ("mass", "Mass", "45 kg"),
)  # fmt: skip
_INVERTER_ROWS = (("ac", "AC out", "230 V"), ("power", "Power", "5 kW"), ("surge", "Surge 5 s", "10 kW"))


def _svg(width: int, height: int, label: str, *inside: Markup) -> Markup:
    head = {"viewBox": f"0 0 {width} {height}", "width": width, "height": height, "role": "img"}
    return element("svg", joined(inside), **head, aria_label=label, cls="bw plate-of")  # type: ignore[arg-type]


def _table(x: float, y: float, rows: tuple[tuple[str, str, str], ...], here: str) -> Markup:
    high = 19.0
    parts = [box(x, y, 176, high * len(rows) + 10, "part")]
    for number, (name, left, right) in enumerate(rows):
        base = y + 19 + high * number
        if name == here:
            parts.append(box(x + 3, base - 14, 170, high, "lit"))
        parts += [words(x + 9, base, left, "soft"), words(x + 167, base, right, "b end" if name == here else "end")]
    return joined(parts)


def _plate(here: str) -> Markup:
    rows = _INVERTER_ROWS if here == "power" else _ROWS
    whose = "inverter" if here == "power" else "module"
    high = int(19 * len(rows) + 22)
    body = group(
        box(4, 34, 96, 46, "part"),
        element("path", d="M4 34L22 18H118L100 34M118 18V62L100 80", cls="thin"),
        box(104, 42, 10, 20, "lit"),
        element("path", d="M114 40L140 8M114 64L140 100", cls="hair2"),
        words(6, 98, f"side of the {whose}", "soft small"),
    )
    found = next((f"{left} {right}" for name, left, right in rows if name == here), "")
    return _svg(324, max(high, 108), f"Plate on the side of the {whose}, line marked: {found}", body,
                _table(142, 6, rows, here))  # fmt: skip


def _post(_: str) -> Markup:
    ridges = [line(58, 24 + 7 * k, 90, 20 + 7 * k, "hair2") for k in range(6)]
    return _svg(148, 96, "Post with its thread measured across the tops: 8 millimetres",
                line(10, 88, 138, 88), box(44, 62, 60, 26, "part"), box(58, 18, 32, 44, "lit"), *ridges,
                element("path", d="M58 14V4M90 14V4M58 9H90", cls="thin"), words(96, 13, "M8", "b"),
                words(8, 58, "nut off", "soft"))  # fmt: skip


def _posts(_: str) -> Markup:
    return _svg(180, 84, "Module with two posts a pole: a link comes in on one and leaves by the other",
                box(30, 10, 120, 60, "face"), box(36, 16, 30, 48, "lit"),
                *(circle(50, y, 7, "post pos") for y in (28, 52)), *(circle(130, y, 7, "post neg") for y in (28, 52)),
                words(76, 44, "2 a pole", "b"))  # fmt: skip


def _breaker(here: str) -> Markup:
    mark = box(36, 52, 76, 18, "lit") if here == "rating" else box(36, 70, 76, 18, "lit")
    return _svg(148, 104, f"Breaker on the front of the module, {here} marked",
                box(30, 4, 88, 96, "part"), box(58, 12, 32, 30, "part"), box(63, 15, 22, 13, "dot"), mark,
                words(74, 66, "125 A 80 V", "b mid" if here == "rating" else "mid"),
                words(74, 84, "Icu 10 kA", "mid" if here == "rating" else "b mid"))  # fmt: skip


def _switches(_: str) -> Markup:
    parts = [joined([box(20 + 30 * k, 20, 18, 40, "part"), box(22 + 30 * k, 22 if k == 2 else 42, 14, 16, "dot"),
                     words(29 + 30 * k, 76, str(k + 1), "mid")]) for k in range(4)]  # fmt: skip
    return _svg(148, 84, "Block of four address switches, the third one on",
                box(10, 10, 128, 70, "lit"), *parts)  # fmt: skip


def _jacket(here: str) -> Markup:
    printed = "4/0 AWG 105 °C 600 V" if here == "size" else "105 °C 600 V fine"
    return _svg(188, 64, "Print along the jacket of the cable", box(4, 4, 180, 36, "lit"),
                element("path", d="M4 4H184M4 40H184", cls="mid2"), words(10, 27, printed, "b"),
                words(4, 57, "printed every metre", "soft"))  # fmt: skip


def _page(here: str) -> Markup:
    rows = [line(42, 34 + 10 * k, 108 - (12 if k % 3 == 0 else 0), 34 + 10 * k, "hair2") for k in range(6)]
    return _svg(168, 100, f"Page of the manual, line {here}", element("path", d="M34 4H98L118 24V96H34Z", cls="part"),
                element("path", d="M98 4V24H118", cls="thin"), box(40, 58, 72, 13, "lit"), *rows,
                line(42, 64, 106, 64), words(6, 22, "?", "head"))  # fmt: skip


def _lug(_: str) -> Markup:
    return _svg(168, 72, "Lug: hole and size of cable are stamped on it",
                element("path", d="M8 36A26 26 0 0 1 58 22H100V50H58A26 26 0 0 1 8 36Z", cls="part"),
                circle(34, 36, 12, "part"), box(64, 26, 34, 20, "lit"), words(66, 41, "50-8", "b"),
                box(100, 26, 60, 20, "dot"))  # fmt: skip


def _rack(_: str) -> Markup:
    rows = [box(36, 8 + 20 * k, 84, 17, "face marked" if k == 3 else "face") for k in range(4)]
    return _svg(168, 96, "Four modules in a rack, counted from below", line(30, 4, 30, 90, "rail"),
                line(126, 4, 126, 90, "rail"), *rows, *(words(44, 21 + 20 * k, f"M{4 - k}", "b") for k in range(4)),
                line(24, 91, 132, 91, "floor"))  # fmt: skip


def _inverter(_: str) -> Markup:
    return _svg(168, 72, "Inverter: DC in from the bank, AC out", box(54, 12, 60, 48, "face marked"),
                words(84, 41, "I1", "b mid"), line(10, 24, 54, 24), line(10, 48, 54, 48), words(8, 18, "DC", "soft"),
                element("path", d="M118 36q7-14 13 0t13 0", cls="thin"), words(120, 62, "AC", "soft"))  # fmt: skip


def _joined(pattern: str) -> Markup:
    """Three modules as a chain, or each with its lead and fuse to a bar a pole."""
    parts: list[Markup] = []
    for k in range(3):
        y = 8.0 + 30 * k
        parts += [box(52, y, 84, 22, "face"), circle(62, y + 11, 4, "post pos"), circle(126, y + 11, 4, "post neg")]
        if pattern == "busbar":
            parts += [
                line(16, y + 11, 58, y + 11, "planwire pos"),
                box(28, y + 6, 16, 10, "part"),
                line(28, y + 11, 44, y + 11, "hair2"),
                line(130, y + 11, 170, y + 11, "planwire neg"),
            ]
        elif k:
            parts += [element("path", d=f"M58 {y - 19:.0f}H38V{y + 11:.0f}H58", cls="planwire pos"),
                      element("path", d=f"M130 {y - 19:.0f}H150V{y + 11:.0f}H130", cls="planwire neg")]  # fmt: skip
    if pattern == "busbar":
        parts += [box(8, 4, 8, 92, "bar pos"), box(170, 4, 8, 92, "bar neg")]
    label = {"chain": "Chain: links from module to module", "busbar": "Busbar: each module with its lead and fuse"}
    return _svg(188, 102, label[pattern], *parts)


PLATES: Mapping[str, Callable[[str], Markup]] = MappingProxyType({
    "plate": _plate, "post": _post, "posts": _posts, "breaker": _breaker, "switches": _switches, "jacket": _jacket,
    "page": _page, "lug": _lug, "rack": _rack, "inverter": _inverter,
    "chain": lambda _: _joined("chain"), "busbar": lambda _: _joined("busbar"),
})  # fmt: skip


def plate(name: str) -> Markup | None:
    """Draw one by its name, "plate:capacity" with the line that is marked; None for a name that is not known."""
    what, _, here = name.partition(":")
    draw = PLATES.get(what)
    return None if draw is None else draw(here)
