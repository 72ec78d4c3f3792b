"""`make quick` has a test of every room, the floors and the fixture table, and notices when it outgrows its budget."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from types import SimpleNamespace

import pytest

from support.quick import MOST, MOST_EACH, Spent, has_quick

pytestmark = pytest.mark.quick

TESTS = Path(__file__).parents[1]
FILES = sorted(TESTS.rglob("test_*.py"))
ALWAYS = (
    "house/test_floors.py", "house/test_sizes.py", "house/test_codes.py", "house/test_limits_stand_twice.py",
    "plan/test_edges_of_plan.py", "plan/test_every_check_reaches_its_verdicts.py", "prove/test_edges_of_prove.py",
)  # fmt: skip


@pytest.mark.parametrize("room", sorted({path.relative_to(TESTS).parts[0] for path in FILES}))
def test_every_room_has_a_quick_test(room: str) -> None:
    assert any(has_quick(path) for path in FILES if path.relative_to(TESTS).parts[0] == room)


def test_the_floors_and_the_fixture_table_are_in_it() -> None:
    assert [name for name in ALWAYS if not has_quick(TESTS / name)] == []


def test_no_quick_file_needs_a_browser_or_a_server_of_its_own() -> None:
    slow = ("fixture(browser", "served(", "mark.browser")
    whole = [path for path in FILES if has_quick(path) and path != Path(__file__)]
    marked = [path for path in whole if "pytestmark" in path.read_text("utf-8")]
    assert [path.name for path in marked if any(word in path.read_text("utf-8") for word in slow)] == []


@pytest.mark.parametrize(
    ("spent", "over"), [({}, 0), ({"a": MOST_EACH * 0.99}, 0), ({"a": MOST_EACH * 1.01}, 1), ({"a": MOST * 1.01}, 2)]
)
def test_a_budget_that_is_outgrown_fails_the_run(spent: dict[str, float], over: int) -> None:
    config, session = SimpleNamespace(), SimpleNamespace(exitstatus=0)
    measured = Spent(config)  # type: ignore[arg-type]
    measured.files = Counter(spent)
    measured.pytest_sessionfinish(session)  # type: ignore[arg-type]
    assert len(measured.over()) == over
    assert bool(session.exitstatus) == bool(over)


def test_what_workers_measured_is_added_up() -> None:
    measured = Spent(SimpleNamespace())  # type: ignore[arg-type]
    for spent in ({"a": 1.0}, {"a": 2.0, "b": 3.0}):
        measured.pytest_testnodedown(SimpleNamespace(workeroutput={"spent": spent}))
    assert measured.files == {"a": 3.0, "b": 3.0}
