"""The door of the faces: the search for the least change that passes.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.plan.suggest.search import Suggestion, suggest

__all__ = ["Suggestion", "suggest"]
