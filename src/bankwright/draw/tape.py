"""The tape of what is known: a tick for each value that is asked for, inked as far as they are known.

Gives: tape(). A bracket reaches to what ten answers would make known. The words beside it say the same.
Limits: counts only; which values they are is Plan's matter.
"""

from __future__ import annotations

from bankwright.draw.pen.svg import Markup, element, joined, line, words

__all__ = ["tape"]

WIDE = 560.0


def tape(known: int, of: int, after: int) -> Markup:
    """Draw it: `known` of `of` values, `after` ten more answers."""
    count = max(of, 1)
    step = (WIDE - 16) / count

    def at(value: int) -> float:
        return 8 + step * value

    ticks = [line(at(k) + step / 2, 14, at(k) + step / 2, 26, "tick known" if k < known else "tick") for k in range(of)]
    span = line(at(known) + 1, 8, at(known) + 1, 12, "bracket")
    if after > known:
        span = element("path", d=f"M{at(known) + 1:.1f} 12V7H{at(after):.1f}V12", cls="bracket")
    said = f"{known} of {of} values known"
    label = words(min(max(at(known), 40.0), WIDE - 60), 42, f"{known} known", "b mid")
    return element(
        "svg", joined([*ticks, span, label]), viewBox=f"0 0 {WIDE:.0f} 46", role="img", aria_label=said, cls="bw tape"
    )
