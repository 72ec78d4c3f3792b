"""Symbols in the style of IEC 60617: fuse, switch-disconnector, circuit-breaker, shunt, converter, cell, post, cable.

Gives: wire(), planned(), post(), device(), converter(), cells(), balloon(), verdict_mark(), SIGN, POLE_WORDS.
Positive is solid with +, negative is hollow with the minus sign; the long thin plate of a cell is its positive one.
Contacts are drawn open, as the standard draws them; the state is a word.
Sources: IEC 60617 shapes [from memory; not checked against the standard].
"""

from __future__ import annotations

from typing import Literal

from bankwright.draw.svg import Markup, box, circle, element, group, joined, line, number, points, words

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


def _contact(kind: str) -> list[Markup]:
    """A contact, open: blade hinged below, fixed contact above; bar of a disconnector, cross of a breaker."""
    blade = [line(0, 18, 0, 12, "mid2"), line(0, 12, -11, -12, "mid2"), line(0, -10, 0, -18, "mid2")]
    if kind == "disconnect":
        return [*blade, line(-6, -10, 6, -10, "mid2")]
    return [*blade, line(-4, -14, 4, -6, "mid2"), line(4, -14, -4, -6, "mid2")]


def device(kind: str, x: float, y: float, lying: bool = False, scale: float = 1.0, mirrored: bool = False) -> Markup:
    """Draw a device in an upright cable (lying: in a level one); 36 px long at scale 1, the cable is blanked."""
    parts = [box(-8, -18, 16, 36, "blank")]
    if kind == "fuse":
        parts += [box(-7, -16, 14, 32, "part"), line(0, -18, 0, 18, "mid2")]
    elif kind == "shunt":
        parts += [box(-7, -16, 14, 32, "part"), line(-7, -9, -15, -9), line(-7, 9, -15, 9)]
    elif kind in ("breaker", "disconnect"):
        parts += _contact(kind)
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


def balloon(x: float, y: float, label: str, verdict: str, title: str, href: str | None = None) -> Markup:
    """Draw the number of a finding at its place: fail a filled block, caution a roofed box, unknown a dashed box."""
    roofed = element("path", d=points("M", -10, 8, "V", -5, "L", 0, -11, "L", 10, -5, "V", 8, "Z"), cls="bal caution")
    shape = roofed if verdict == "caution" else box(-10, -9, 20, 18, f"bal {verdict}")
    inside = (element("title", title), shape, words(0, 4.5, label, f"baln {verdict}"))
    place = f"translate({number(float(x))} {number(float(y))})"
    return element("g" if href is None else "a", *inside, href=href, transform=place, cls="balloon")


def verdict_mark(verdict: str) -> Markup:
    """Draw the mark of a verdict, 30 x 20 px: a bar running at a stop; the word stands beside it."""
    cls = f"verdict {verdict}"
    shapes = {
        "pass": (box(2, 7, 10, 6, cls), box(19, 1, 4, 18, cls)),
        "caution": (box(2, 7, 17, 6, cls), box(19, 1, 4, 18, cls)),
        "fail": (box(1, 7, 28, 6, cls), box(15, 0, 4, 5, cls), box(15, 15, 4, 5, cls)),
        "unknown": (
            *(box(x, 8, 4, 4, cls) for x in (2, 9)),
            *(box(19, y, 4, 4, cls) for y in (0, 8, 16)),
        ),
    }
    return element(
        "svg", *shapes[verdict], viewBox="0 0 30 20", width=30, height=20, aria_hidden="true", cls="bw mark-of"
    )
