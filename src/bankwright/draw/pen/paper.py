"""A finished drawing, and the sheet that it is drawn on.

Gives: Drawing (text, width, height, save), sheet(). `embedded=True` leaves out style and paper: the page brings both.
Each drawing has a prefix for its ids, so that several stand in one page; title and desc are what the ear is told.
Limits: no geometry; the classes are those of drawing.css.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from bankwright.draw.pen.styles import standalone_css
from bankwright.draw.pen.svg import Markup, box, element, line
from bankwright.forms.disk import write_whole

__all__ = ["Drawing", "SizeName", "sheet"]

SizeName = Literal["desk", "phone"]


@dataclass(frozen=True, slots=True)
class Drawing:
    """One SVG with its title and its size in px."""

    text: str
    title: str
    width: float
    height: float

    def save(self, path: str | Path) -> Path:
        """Write the drawing as a file, whole or not at all."""
        return write_whole(Path(path), self.text + "\n")

    def __str__(self) -> str:
        """The SVG text."""
        return self.text


def _hatch(prefix: str) -> Markup:
    stroke = line(0, 0, 0, 6, "hatchline")
    return element(
        "pattern",
        stroke,
        id=f"{prefix}-hatch",
        width=5,
        height=6,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )


def sheet(
    width: float,
    height: float,
    title: str,
    desc: str,
    prefix: str,
    *,
    body: Markup,
    cls: str = "",
    embedded: bool = False,
    stretch: bool = False,
) -> Drawing:
    """Put a body on its sheet; `stretch` lets the width follow its column (places inside are per cent)."""
    wide, high = math.ceil(width), math.ceil(height)
    inside = [element("title", title, id=f"{prefix}-t"), element("desc", desc, id=f"{prefix}-d")]
    if not embedded:
        inside.append(element("style", Markup("\n" + standalone_css() + "\n")))
    if f"#{prefix}-hatch" in body:
        inside.append(element("defs", _hatch(prefix)))
    if not embedded:
        inside.append(box(0, 0, wide, high, "paper"))
    text = element(
        "svg",
        *inside,
        body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=None if stretch else f"0 0 {wide} {high}",
        width="100%" if stretch and embedded else wide,
        height=high,
        role="group",
        aria_labelledby=f"{prefix}-t {prefix}-d",
        cls=f"bw {cls}".strip(),
    )
    return Drawing(str(text), title, wide, high)
