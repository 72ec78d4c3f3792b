"""Two widths that are drawn 1:1 and never scaled into each other: desk (600 px) and phone (344 px).

Gives: Size, SIZES, label_room(), pitch(), cable_width().
Limits: lengths only; where things stand is in grid, sides and head. Values: the look of the project.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.draw.pen.letters import room

__all__ = ["BALLOON", "SIZES", "Size", "cable_width", "label_room", "pitch"]

BALLOON = 22.0  # room that a balloon takes beside letters
LEAST_CABLE, MOST_CABLE = 5.0, 10.0


@dataclass(frozen=True, slots=True)
class Size:
    """Lengths of one of the two widths. [px]"""

    name: str
    width: float
    letter: float  # size of plain letters
    lane: float  # first link lane, from the rack outward
    lane_step: float
    margin: float  # from the edge of the sheet to the outermost cable's middle
    inset: float  # of posts inside the face
    text_inset: float  # of letters inside the face
    widest_face: float
    least_face: float
    label_letters: int  # letters that a cable's label must find room for
    two_lines: bool  # name over current
    device_scale: float  # of symbols in module leads


SIZES = {
    "desk": Size("desk", 600, 14, 22, 14, 18, 15, 32, 244, 200, 10, False, 1.0),
    "phone": Size("phone", 344, 13, 12, 12, 8, 11, 21, 160, 144, 5, True, 0.7),
}


def label_room(size: Size) -> float:
    """Room for the letters of one cable: `L15+ 979 A`, or the longer of two lines."""
    if size.two_lines:
        return room("0" * size.label_letters, size.letter, bold=True)
    return room("L15+", size.letter) + 4 + room("1979 A", size.letter, bold=True)


def pitch(rows: int, devices_in_links: int = 0) -> float:
    """Height of one module: 56 px to six modules, then 380/N, at least 36; more where devices sit in the links."""
    by_count = max(36.0, min(56.0, float(380 // max(rows, 1))))
    return max(by_count, 36.0 * devices_in_links + 34.0) if devices_in_links else by_count


def cable_width(current: float | None, most: float, row_pitch: float) -> float:
    """Width by current, 5 to 10 px, at most 0.24 of the pitch; 6.5 px where no current is known."""
    if current is None or most <= 0:
        return 6.5
    widest = min(MOST_CABLE, row_pitch * 0.24)
    return LEAST_CABLE + (widest - LEAST_CABLE) * min(1.0, abs(current) / most)
