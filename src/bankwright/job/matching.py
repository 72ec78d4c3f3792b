"""The door of the faces: what the faces need of Match: readings gathered, verdicts, what is kept.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.match.amperes import levels_from, levels_from_csv
from bankwright.match.cells import cell_word
from bankwright.match.collect import Typed, collected, from_csv, keep
from bankwright.match.settle import chart_rows
from bankwright.match.timed import tools_of
from bankwright.match.verdicts import Match, match_of

__all__ = [
    "Match",
    "Typed",
    "cell_word",
    "chart_rows",
    "collected",
    "from_csv",
    "keep",
    "levels_from",
    "levels_from_csv",
    "match_of",
    "tools_of",
]
