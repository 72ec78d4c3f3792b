"""Lanes for upright cables, and heights for letters, so that nothing lies on anything.

Gives: nested(), lanes(), spread().
Limits: counts and px only; knows no bank.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["Span", "lanes", "nested", "spread"]

Span = tuple[float, float]


def _touch(a: Span, b: Span, gap: float = 0.0) -> bool:
    return a[0] < b[1] + gap and b[0] < a[1] + gap


def nested(spans: Sequence[Span]) -> list[int]:
    """Lane of each span, short ones inside (lane 0): spans that overlap never share a lane."""
    order = sorted(range(len(spans)), key=lambda i: (spans[i][1] - spans[i][0], spans[i][0], i))
    return lanes(spans, order)


def lanes(spans: Sequence[Span], order: Sequence[int]) -> list[int]:
    """Lane of each span when they are laid in this order: outside every earlier one that it overlaps."""
    found = [0] * len(spans)
    laid: list[int] = []
    for i in order:
        found[i] = max((found[j] + 1 for j in laid if _touch(spans[i], spans[j])), default=0)
        laid.append(i)
    return found


def spread(wanted: Sequence[float], heights: Sequence[float], blocked: Sequence[Span]) -> list[float]:
    """Middle heights for letters: near the wanted ones, clear of each other and of what is blocked."""
    taken = list(blocked)
    found = list(wanted)
    for i in sorted(range(len(wanted)), key=lambda k: (-wanted[k], k)):
        half = heights[i] / 2
        steps = (sign * 1.5 * n for n in range(160) for sign in (1, -1))
        free = (
            wanted[i] + step
            for step in steps
            if not any(_touch((wanted[i] + step - half, wanted[i] + step + half), span) for span in taken)
        )
        found[i] = next(free, wanted[i])
        taken.append((found[i] - half, found[i] + half))
    return found
