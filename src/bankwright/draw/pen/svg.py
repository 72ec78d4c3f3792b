"""The element writer: SVG as text, escaped in one place.

Gives: Markup, element(), number(), points(), words(), line(), box(), circle(), group(), joined().
Colour, type and dash come from classes of drawing.css; only places, lengths and widths are attributes.
Order, names and decimals are fixed: drawings compare as text.
Limits: knows no drawing; no style attribute can be written, a strict content policy forbids it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["Markup", "box", "circle", "element", "escaped", "group", "joined", "line", "number", "points", "words"]

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
Value = str | float | None


class Markup(str):
    """Text that is already written as elements; a plain str is escaped wherever it is put."""

    __slots__ = ()


def escaped(text: str) -> Markup:
    """Escape a text for use between tags and in attributes; what XML cannot hold becomes U+FFFD."""
    return text if isinstance(text, Markup) else Markup(_NOT_XML.sub("\ufffd", text).translate(_ESCAPES))


def number(value: float) -> str:
    """Write a length: whole numbers as they are, others to 0.1 px, never minus nought."""
    return str(value) if isinstance(value, int) else f"{round(value, 1) + 0.0:.1f}"


def points(*parts: str | float) -> str:
    """Write path data: `points("M", 3, 4.25, "H", 9)` -> `M3 4.2H9`."""
    written = " ".join(part if isinstance(part, str) else number(part) for part in parts)
    return re.sub(r" ?([A-Za-z]) ?", r"\1", written)


def element(name: str, *inside: str, **attributes: Value) -> Markup:
    """Write one element: `cls` is class, `a_b` is a-b, None leaves out; plain strings inside are escaped."""
    written = []
    for key, value in attributes.items():
        if key == "style":
            raise ValueError("no style attribute: colour and type come from classes")
        if value is not None:
            text = value if isinstance(value, str) else number(value)
            written.append(f' {"class" if key == "cls" else key.replace("_", "-")}="{escaped(text)}"')
    head = name + "".join(written)
    return Markup(f"<{head}>{''.join(map(escaped, inside))}</{name}>" if inside else f"<{head}/>")


def words(x: float, y: float, text: str, cls: str = "d", **attributes: Value) -> Markup:
    """Write a text at its base line."""
    return element("text", text, x=float(x), y=float(y), cls=cls, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, cls: str = "thin") -> Markup:
    """Write a straight line."""
    return element("path", d=points("M", float(x1), float(y1), "L", float(x2), float(y2)), cls=cls)


def box(x: float, y: float, width: float, height: float, cls: str, **attributes: Value) -> Markup:
    """Write a rectangle."""
    return element("rect", x=float(x), y=float(y), width=float(width), height=float(height), cls=cls, **attributes)


def circle(x: float, y: float, radius: float, cls: str) -> Markup:
    """Write a circle."""
    return element("circle", cx=float(x), cy=float(y), r=float(radius), cls=cls)


def group(*inside: str, title: str | None = None, **attributes: Value) -> Markup:
    """Write a group; `title` is what the ear is told of it."""
    head = () if title is None else (element("title", title),)
    return element("g", *head, *inside, **attributes)


def joined(parts: Iterable[Markup]) -> Markup:
    """Put elements one after another."""
    return Markup("".join(parts))
