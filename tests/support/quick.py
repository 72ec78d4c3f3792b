"""What `make quick` runs: tests marked `quick`, one file or more of each room, and what they may cost.

Gives: QUICK, LEFT_OUT_OF_QUICK, MOST, MOST_EACH, has_quick(), Spent. The run measures its own processor time, which a
loaded machine stretches less than the clock, and fails when the tests together, or one file, outgrow what is theirs.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Generator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

__all__ = ["LEFT_OUT_OF_QUICK", "MOST", "MOST_EACH", "QUICK", "Spent", "has_quick"]

QUICK = "quick"
LEFT_OUT_OF_QUICK = ("slow", "browser", "soak")
MOST = 90.0  # s of processor of all tests; about 30 on a quiet machine of 2026
MOST_EACH = 20.0  # s of processor of one file


@cache
def has_quick(path: Path) -> bool:
    """Whether a file holds a test marked quick."""
    return "mark.quick" in path.read_text("utf-8")


def _used() -> float:
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


class Spent:
    """Adds up the processor time of each file, in this process and from the workers."""

    def __init__(self, config: pytest.Config) -> None:
        """Begin with nothing."""
        self.config, self.files = config, Counter[str]()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        """Measure a test with its fixtures."""
        begun = _used()
        try:
            return (yield)
        finally:
            self.files[item.nodeid.partition("::")[0]] += _used() - begun

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        """Take over what a worker measured."""
        self.files.update(getattr(node, "workeroutput", {}).get("spent", {}))

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        """Hand over to the run that started this worker, or judge."""
        if hasattr(self.config, "workeroutput"):
            self.config.workeroutput["spent"] = dict(self.files)
        elif self.over() and session.exitstatus == 0:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def over(self) -> list[str]:
        """What is more than its budget."""
        total = sum(self.files.values())
        said = [f"all quick tests took {total:.0f} s of processor, more than {MOST:.0f}"] if total > MOST else []
        return said + [
            f"{file} took {spent:.1f} s, more than {MOST_EACH:.0f}"
            for file, spent in self.files.items()
            if spent > MOST_EACH
        ]

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        """Say what was spent, and what outgrew its budget."""
        total = sum(self.files.values())
        terminalreporter.write_line(f"quick: {total:.1f} s of processor of {MOST:.0f} s")
        for line in self.over():
            terminalreporter.write_line(f"FAILED: {line}; the most expensive: {self.files.most_common(3)}", red=True)
