"""The source as the house tests read it: each text is parsed once a process, for all of them.

Gives: parsed(). Tests that read the whole source are one group, `xdist_group("source")`, so that one worker does it.
"""

from __future__ import annotations

import ast
from functools import cache

__all__ = ["parsed"]


@cache
def parsed(text: str) -> ast.Module:
    """The tree of a module's text; to be read, never changed."""
    return ast.parse(text)
