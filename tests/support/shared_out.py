"""Which tests go together to one worker: those of a file, since they share banks, plans, servers and what was read.

Gives: ByFile, unit_of(), rank_of(). `xdist_group("NAME")` in a file puts it together with every other file of that
group; `xdist_group(f"... {name}")` on parameters makes a unit of each parameter. All tests with a browser are one unit:
two browsers at once slow each other down. What takes longest is given out first, so that the workers end together.
Limits: the groups are read from the text of the file; the suffix that pytest-xdist 3.8 writes behind the name of a test
for them is lost on pytest 9.2.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from xdist.scheduler import LoadScopeScheduling

__all__ = ["ByFile", "rank_of", "unit_of"]

ROOT = Path(__file__).parents[2]
GROUP = re.compile(r'mark\.xdist_group\((f?)"([^"]+)"')


@cache
def _text(file: str) -> str:
    path = ROOT / file
    return path.read_text("utf-8") if path.is_file() else ""


def unit_of(test: str) -> str:
    """Name of the unit that a test belongs to, by its node id."""
    file, _, name = test.partition("::")
    found = GROUP.search(_text(file))
    if found is None:
        return file
    return f"{file}::{name.partition('[')[2]}" if found[1] else found[2]


def rank_of(unit: str) -> int:
    """0 for the browser, 1 for files with slow tests, 2 for all others."""
    if unit == "browser":
        return 0
    return 1 if "mark.slow" in _text(unit.partition("::")[0]) else 2


class ByFile(LoadScopeScheduling):  # type: ignore[misc, unused-ignore]
    """Gives out whole units in the order of collection, in which tests/conftest.py has put what takes longest first."""

    def _split_scope(self, nodeid: str) -> str:
        return unit_of(nodeid)
