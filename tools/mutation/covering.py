"""Which tests go through which function: learnt once for a room by running its tests, kept under out/.

Gives: learn(), Covering. Each test runs in a process of its own, so that no value kept from the test before hides a call.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest

from mutation.changes import SRC, Change
from mutation.trial import failure, in_a_child

__all__ = ["Covering", "learn"]

Place = tuple[str, str]  # file below src/bankwright, qualified name of an outermost function
MOST_SECONDS = 3.0  # of computing, for one change
KEPT_EVERY = 50  # tests


class Covering:
    """Tests by the functions they go through; those of edges first, then the quickest."""

    def __init__(self, rows: dict[str, dict[str, Any]]) -> None:
        self.rows = rows
        self.through: dict[Place, list[str]] = defaultdict(list)
        for test, row in rows.items():
            for file, name in row["through"]:
                self.through[file, name].append(test)

    @classmethod
    def read(cls, path: Path) -> Covering:
        return cls(json.loads(path.read_text("utf-8")))

    def _turn(self, test: str) -> tuple[bool, float]:
        return "edges" not in test, self.rows[test]["seconds"]

    def tests(
        self, change: Change, readers: Callable[[Change], list[Place]], seconds: float = MOST_SECONDS
    ) -> list[str]:
        """Tests that go through the changed function or through what reads the changed table; in all so many seconds."""
        places = readers(change) if change.head is None else [(change.file, change.place.removesuffix("()"))]
        found = sorted({t for place in places for t in self.through.get(place, [])}, key=self._turn)
        kept, spent = [], 0.0
        for test in found:
            spent += self.rows[test]["seconds"]
            if kept and spent > seconds:
                break
            kept.append(test)
        return kept


def _outermost(code: CodeType) -> str:
    return code.co_qualname.split(".<locals>")[0]


def _gone_through(item: pytest.Item) -> dict[str, Any]:
    seen: set[CodeType] = set()

    def note(frame: FrameType, event: str, _: Any) -> None:
        if event == "call":
            seen.add(frame.f_code)

    began = time.process_time()
    sys.setprofile(note)
    try:
        failed = failure([item])
    finally:
        sys.setprofile(None)
    root = f"{SRC}{os.sep}"
    places = {(c.co_filename[len(root) :], _outermost(c)) for c in seen if c.co_filename.startswith(root)}
    return {"failed": failed, "seconds": round(time.process_time() - began, 3), "through": sorted(places)}


def learn(items: Sequence[pytest.Item], path: Path) -> None:
    """Runs every test and writes what each goes through; a test that fails by itself is left out and said.

    What was learnt is written now and then, so that a run that was stopped goes on where it was.
    """
    rows: dict[str, dict[str, Any]] = json.loads(path.read_text("utf-8")) if path.exists() else {}
    path.parent.mkdir(parents=True, exist_ok=True)
    for n, item in enumerate(items):
        if n % KEPT_EVERY == 0:
            path.write_text(json.dumps(rows), "utf-8")
        if item.nodeid in rows:
            continue
        row = in_a_child(lambda item=item: _gone_through(item), 120.0)  # type: ignore[misc]
        if row is None or row.pop("failed"):
            print(f"left out, it fails or does not end by itself: {item.nodeid}", flush=True)
            row = {"seconds": 0.0, "through": []}
        rows[item.nodeid] = row
    path.write_text(json.dumps(rows), "utf-8")
