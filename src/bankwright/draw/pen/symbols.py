"""Symbols in the style of IEC 60617: fuse, switch-disconnector, circuit-breaker, shunt, converter, cell, post, cable.

Gives: wire(), planned(), post(), device(), converter(), cells(), balloon(), verdict_mark(), SIGN, POLE_WORDS.
Positive is solid with +, negative is hollow with the minus sign; the long thin plate of a cell is its positive one.
Contacts are drawn as they stand in the case that is shown; without a case open, as the standard draws them.
Sources: IEC 60617 shapes [from memory; not checked against the standard].
"""

from __future__ import annotations

from typing import Literal

from bankwright.draw.pen.svg import Markup, box, circle, element, group, joined, line, number, points, words

__all__ = [
    "DEVICE_WORDS",
    "POLE_WORDS",
    "SIGN",
    "balloon",
    "cells",
    "converter",
    "device",
    "planned",
    "polarity",
    "post",
    "verdict_mark",
    "wire",
]

Polarity = Literal["pos", "neg"]
SIGN = {"+": "+", "-": "−"}
POLE_WORDS = {"+": "+ positive", "-": "negative −"}
DEVICE_WORDS = {"fuse": "fuse", "breaker": "breaker", "disconnect": "switch", "shunt": "shunt"}
HOLLOW = 3.2  # px that the upper stroke of a negative cable is thinner


def polarity(pole: str) -> Polarity:
    """Class of a pole: "+" is pos, "-" is neg."""
    return {"+": "pos", "-": "neg"}[pole]  # type: ignore[return-value]


def wire(path: str, width: float, pole: str, marked: bool = False) -> Markup:
    """Draw a cable: positive solid; negative hollow, a second and thinner stroke in the colour of the sheet."""
    parts = [element("path", d=path, cls="mark", stroke_width=float(width + 10))] if marked else []
    parts.append(element("path", d=path, cls=f"wire {polarity(pole)}", stroke_width=float(width)))
    if pole == "-":
        parts.append(element("path", d=path, cls="core", stroke_width=float(width - HOLLOW)))
    return joined(parts)


def planned(path: str, pole: str) -> Markup:
    """Draw a cable that is still to be made: dashed."""
    return element("path", d=path, cls=f"planned {polarity(pole)}")


def post(x: float, y: float, pole: str, radius: float = 6.0, title: str | None = None) -> Markup:
    """Draw a post: filled with + or a ring with the minus sign."""
    cls, arm = polarity(pole), radius * 0.5
    parts = [circle(x, y, radius, f"post {cls}"), line(x - arm, y, x + arm, y, f"sign {cls}")]
    if pole == "+":
        parts.append(line(x, y - arm, x, y + arm, f"sign {cls}"))
    return group(*parts, title=title, cls="terminal")


def _contact(kind: str, closed: bool) -> list[Markup]:
    """A contact: blade hinged below, fixed contact above; open with a bar (disconnector) or a cross (breaker).

    Closed it is a straight line from dot to dot: a bar across it would be a plus.
    """
    if closed:
        return [line(0, 18, 0, -18, "mid2"), circle(0, 12, 2.8, "dot"), circle(0, -10, 2.8, "dot")]
    blade = [line(0, 18, 0, 12, "mid2"), line(0, 12, -11, -12, "mid2"), line(0, -10, 0, -18, "mid2")]
    if kind == "disconnect":
        return [*blade, line(-6, -10, 6, -10, "mid2")]
    return [*blade, line(-4, -14, 4, -6, "mid2"), line(4, -14, -4, -6, "mid2")]


def device(
    kind: str,
    x: float,
    y: float,
    lying: bool = False,
    scale: float = 1.0,
    *,
    mirrored: bool = False,
    closed: bool = False,
) -> Markup:
    """Draw a device in an upright cable (lying: in a level one); 36 px long at scale 1, the cable is blanked."""
    parts = [box(-8, -18, 16, 36, "blank")]
    if kind == "fuse":
        parts += [box(-7, -16, 14, 32, "part"), line(0, -18, 0, 18, "mid2")]
    elif kind == "shunt":
        parts += [box(-7, -16, 14, 32, "part"), line(-7, -9, -15, -9), line(-7, 9, -15, 9)]
    elif kind in ("breaker", "disconnect"):
        parts += _contact(kind, closed)
    else:
        raise ValueError(f"no symbol for {kind!r}")
    place = f"translate({number(float(x))} {number(float(y))})"
    place += " rotate(90) scale(-1 1)" if lying else ""
    place += f" scale({-scale if mirrored else scale:.2f} {scale:.2f})" if scale != 1.0 or mirrored else ""
    return element("g", *parts, transform=place, cls=f"dev {kind}")


def converter(x: float, y: float, kind: str = "inverter") -> Markup:
    """Draw the 30 px square of a converter by its middle: what comes in upper left, what goes out lower right."""
    direct = ((-10, -9), (-10, -5)) if kind == "inverter" else ((2, 8), (2, 12))
    wave = (1, 8) if kind == "inverter" else (-12, -5)
    parts = [box(-15, -15, 30, 30, "part"), line(-15, 15, 15, -15)]
    if kind == "load":
        return element("g", *parts[:1], *_resistor(), transform=f"translate({number(float(x))} {number(float(y))})")
    (a, b), (c, d) = direct
    parts += [line(a, b, a + 9, b), line(c, d, c + 9, d, "thin dash")]
    parts.append(element("path", d=points("M", wave[0], wave[1], "q", 3, -6, 5.5, 0, "t", 5.5, 0), cls="thin"))
    return element("g", *parts, transform=f"translate({number(float(x))} {number(float(y))})", cls=f"conv {kind}")


def _resistor() -> list[Markup]:
    return [line(-11, 0, -7, 0), box(-7, -3, 14, 6, "part"), line(7, 0, 11, 0)]


def cells(x: float, y: float) -> Markup:
    """Draw cells in series, upright, 44 px high from y: the long thin plate is positive and is up."""
    parts = []
    for down, half, cls in ((0, 17, "thin plus"), (9, 8, "heavy minus"), (35, 17, "thin plus"), (44, 8, "heavy minus")):
        parts.append(line(x - half, y + down, x + half, y + down, cls))
    parts.append(line(x, y + 11, x, y + 34, "thin dash"))
    parts += [words(x + 21, y + 5, "+", "d b pos"), words(x + 21, y + 52, "−", "d b neg")]
    return group(*parts, cls="cells")


FINGER = 22  # radius that takes a touch: 44 px across (WCAG 2.2, 2.5.5)


def balloon(x: float, y: float, label: str, verdict: str, title: str, *, href: str | None = None) -> Markup:
    """Draw the number of a finding at its place: fail a filled block, caution a box with a wedge, else open corners."""
    shapes = {
        "fail": (box(-10, -9, 20, 18, "bal fail"),),
        "caution": (box(-10, -9, 20, 18, "bal caution"), element("path", d="M10 -9L16 9H10Z", cls="balwedge")),
    }
    corners = element("path", d="M-10 -4V-9H-5M5 -9H10V-4M10 4V9H5M-5 9H-10V4", cls=f"balopen {verdict}")
    shape = shapes.get(verdict, (box(-10, -9, 20, 18, "blank"), corners))
    finger = () if href is None else (element("circle", r=FINGER, fill="none", pointer_events="all"),)
    inside = (element("title", title), *finger, *shape, words(0, 4.5, label, f"baln {verdict}"))
    place = f"translate({number(float(x))} {number(float(y))})"
    return element("g" if href is None else "a", *inside, href=href, transform=place, cls="balloon")


_MARKS = {  # no stroke is level and alone, no two strokes cross: those shapes belong to + and -
    "fail": (("M1 0.5H11.6L5.6 16.5H1ZM16.4 3.5H19V19.5H10.4Z", "solidmark"),),
    "caution": (("M1 19V1H2.6L19 15.4V19Z", "solidmark"),),
    "unknown": (("M1.5 7.5V1.5H7.5M12.5 1.5H18.5V7.5M18.5 12.5V18.5H12.5M7.5 18.5H1.5V12.5", "openmark"),),
    "pass": (("M2 10.5L8 17L18 2.5", "hookmark"),),
    "assumed": (
        ("M1.2 5.2V1.2H5.2M14.8 1.2H18.8V5.2M18.8 14.8V18.8H14.8M5.2 18.8H1.2V14.8", "cornermark"),
        ("M5 10L9 14.4L15.5 5.2", "smallhook"),
    ),
}


def verdict_mark(verdict: str) -> Markup:
    """Draw the mark of a verdict, 20 x 20 px: block, wedge, open corners, hook; the word stands beside it."""
    shapes = (element("path", d=path, cls=f"verdict {verdict} {cls}") for path, cls in _MARKS[verdict])
    return element("svg", *shapes, viewBox="0 0 20 20", width=20, height=20, aria_hidden="true", cls="bw mark-of")
