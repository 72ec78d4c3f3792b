"""What the rules and the unfolding look at: the written bank, its holes, and where everything stands.

Gives: Told, with entries().
Limits: holds no rule.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.kinds import Kinds
from bankwright.bank.written.validate import Holes

__all__ = ["Told"]


@dataclass(frozen=True, slots=True)
class Told:
    """A written bank whose kinds include those of the included files."""

    written: Written
    kinds: Kinds
    holes: Holes
    where: Whereabouts

    def entries(self, key: str) -> Iterator[tuple[Path, Any]]:
        """Entries of a list that were right, each with its path in the file."""
        for number, entry in enumerate(getattr(self.written, key)):
            yield (key, self.holes.index(key, number)), entry

    def is_lost(self, key: str) -> bool:
        """True when a required top-level key had to be replaced by a stand-in."""
        return (key,) in self.holes.paths
