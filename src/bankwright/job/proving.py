"""The door of the faces: what the faces need of Prove.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.prove.millivolt_test import MillivoltTest, Wanted, drops_for_fit, millivolt_test
from bankwright.prove.share_plan import HOW
from bankwright.prove.share_test import Part, ShareTest, share_test
from bankwright.prove.typed import Typed, due_of, millivolt_subject_of, share_subject_of

__all__ = [
    "HOW",
    "MillivoltTest",
    "Part",
    "ShareTest",
    "Typed",
    "Wanted",
    "drops_for_fit",
    "due_of",
    "millivolt_subject_of",
    "millivolt_test",
    "share_subject_of",
    "share_test",
]
