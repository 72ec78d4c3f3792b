"""Logs as other programs write them, all invented: one true series of a module, written in many ways, with its truth.

Gives: CASES, Case. Every case says what must come out: rows, values, times; or what must be asked, or
refused.
"""

from __future__ import annotations

from support.foreign import asked, odd, shapes, usual
from support.foreign.truth import Case

__all__ = ["CASES", "Case"]

CASES: list[Case] = [*usual.CASES, *odd.CASES, *shapes.CASES, *asked.CASES]
