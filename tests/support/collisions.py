"""Counts what lies on what in a drawing, from its text alone: letters, cables, plus on minus, balloons.

Gives: Found, collisions(). Letters are taken as wide as the widest face of the stack needs (7.5 px a letter at 13 px);
the browser test measures the real faces.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["Found", "collisions"]

SVG = "{http://www.w3.org/2000/svg}"
SIZES = {"head": 16.0, "fig": 18.0, "mod": 16.0, "small": 12.0, "baln": 13.0}


@dataclass(frozen=True)
class Found:
    """Collisions by kind, each with the words or names involved."""

    text_text: tuple[str, ...]
    cable_text: tuple[str, ...]
    plus_minus: tuple[str, ...]
    balloon_text: tuple[str, ...]
    outside: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """True when nothing lies on anything."""
        return not any((self.text_text, self.cable_text, self.plus_minus, self.balloon_text, self.outside))


@dataclass(frozen=True)
class _Box:
    words: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: _Box) -> bool:
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def _em(letter: str, bold: bool) -> float:
    """Advance in parts of the size: no face of the stack is wider on average (DejaVu Sans Condensed, measured)."""
    return 0.9 if letter in "MWmw" else 0.63 if bold else 0.577


def _moved(element: ET.Element, x: float, y: float) -> tuple[float, float]:
    """Shift of a group; only plain translations hold letters or cables."""
    found = re.match(r"translate\(([-\d.]+) ([-\d.]+)\)$", element.get("transform", ""))
    return (x + float(found[1]), y + float(found[2])) if found else (x, y)


def _text_box(element: ET.Element, x: float, y: float, size_name: str) -> _Box:
    cls = (element.get("class") or "").split()
    words = "".join(element.itertext())
    bold = any(c in cls for c in ("b", "mod", "fig", "head"))
    size = next((SIZES[c] for c in cls if c in SIZES), 14.0 if size_name == "desk" and "d" in cls else 13.0)
    parts = [
        (element.text or "", bold),
        *((t.text or "", bold or "b" in (t.get("class") or "").split()) for t in element),
    ]
    width = sum(_em(letter, heavy) * size for text, heavy in parts for letter in text)
    width += sum(float(t.get("dx", "0")) for t in element)
    at = x + float(element.get("x", "0"))
    left = at - width if "end" in cls else at - width / 2 if "mid" in cls or "baln" in cls else at
    base = y + float(element.get("y", "0"))
    return _Box(words, left + 1, base - size * 0.74, left + width - 1, base + size * 0.08)


def _polyline(path: str) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for letter, numbers in re.findall(r"([A-Za-z])([^A-Za-z]*)", path):
        values = [float(n) for n in numbers.split()]
        if letter in "ML":
            found.append((values[0], values[1]))
        elif letter == "Q":
            found += [(values[0], values[1]), (values[2], values[3])]
    return found


def _along(path: str) -> list[tuple[float, float]]:
    points = _polyline(path)
    found = []
    for (x1, y1), (x2, y2) in pairwise(points):
        steps = max(1, int(math.hypot(x2 - x1, y2 - y1) / 2))
        found += [(x1 + (x2 - x1) * i / steps, y1 + (y2 - y1) * i / steps) for i in range(steps + 1)]
    return found


class _Reader:
    def __init__(self, size_name: str) -> None:
        self.size = size_name
        self.texts: list[_Box] = []
        self.balloons: list[_Box] = []
        self.cables: list[tuple[str, str, float, str]] = []  # name, pole, half width, path

    def read(self, element: ET.Element, x: float = 0.0, y: float = 0.0, name: str = "") -> None:
        x, y = _moved(element, x, y)
        name = element.get("data-place", name)
        name = element.findtext(SVG + "title", name) if "balloon" in (element.get("class") or "") else name
        cls = (element.get("class") or "").split()
        tag = element.tag.removeprefix(SVG)
        if tag == "text" and "baln" not in cls:
            self.texts.append(_text_box(element, x, y, self.size))
        elif "balloon" in cls:
            self.balloons.append(_Box(name, x - 10, y - 11, x + 10, y + 9))
            return
        elif tag == "path" and ("wire" in cls or "planned" in cls):
            self.cables.append((name, cls[1], float(element.get("stroke-width", "2")) / 2, element.get("d", "")))
        for child in element:
            self.read(child, x, y, name)


def _cable_on_text(reader: _Reader) -> list[str]:
    found = []
    for name, _, half, path in reader.cables:
        for x, y in _along(path):
            for text in reader.texts:
                inside = (
                    x + half > text.left and x - half < text.right and y + half > text.top and y - half < text.bottom
                )
                if inside:
                    found.append(f"{name} on {text.words!r}")
    return sorted(set(found))


def _plus_on_minus(reader: _Reader) -> list[str]:
    points = {
        pole: [(name, half, p) for name, cls, half, path in reader.cables if cls == pole for p in _along(path)]
        for pole in ("pos", "neg")
    }
    cells: dict[tuple[int, int], list[tuple[str, float, tuple[float, float]]]] = {}
    for item in points["neg"]:
        cells.setdefault((int(item[2][0] // 12), int(item[2][1] // 12)), []).append(item)
    found = set()
    for name, half, (x, y) in points["pos"]:
        for i in (-1, 0, 1):
            for j in (-1, 0, 1):
                for other, other_half, (a, b) in cells.get((int(x // 12) + i, int(y // 12) + j), ()):
                    if math.hypot(x - a, y - b) < half + other_half:
                        found.add(f"{name} on {other}")
    return sorted(found)


def collisions(text: str, size_name: str) -> Found:
    """Count what lies on what in a drawing of one size."""
    root = ET.fromstring(text)
    reader = _Reader(size_name)
    reader.read(root)
    texts, (_, _, width, height) = reader.texts, map(float, root.get("viewBox", "0 0 0 0").split())
    pairs = [f"{a.words!r} on {b.words!r}" for i, a in enumerate(texts) for b in texts[i + 1 :] if a.meets(b)]
    balloons = [f"{q.words} on {t.words!r}" for q in reader.balloons for t in texts if q.meets(t)]
    balloons += [
        f"{a.words} on {b.words}" for i, a in enumerate(reader.balloons) for b in reader.balloons[i + 1 :] if a.meets(b)
    ]
    outside = [
        box.words
        for box in (*texts, *reader.balloons)
        if box.left < -1 or box.top < -1 or box.right > width + 1 or box.bottom > height + 1
    ]
    return Found(
        tuple(pairs), tuple(_cable_on_text(reader)), tuple(_plus_on_minus(reader)), tuple(balloons), tuple(outside)
    )
