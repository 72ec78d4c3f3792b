"""Every constant of the rooms that decide verdicts stands a second time in limits.toml, by room and name.

A limit that is changed has to be changed in both places, with its reason. New constants are added there as they come;
one that is listed and gone is refused too. What a limit does to a verdict is in the tests of edges of each stage.
"""

from __future__ import annotations

import ast
import importlib
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.quick

LIMITS: dict[str, dict[str, Any]] = tomllib.loads((Path(__file__).parent / "limits.toml").read_text("utf-8"))


def plain(value: Any) -> Any:
    """As TOML has it: lists for tuples, texts for keys."""
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    if isinstance(value, dict):
        return {str(key): plain(each) for key, each in value.items()}
    return value


@pytest.mark.parametrize("room", sorted(LIMITS))
def test_a_limit_is_the_one_that_is_written_down(room: str) -> None:
    module = importlib.import_module("bankwright." + room.replace("/", "."))
    assert {name: plain(getattr(module, name, "gone")) for name in LIMITS[room]} == LIMITS[room]


def test_the_rooms_that_decide_are_listed() -> None:
    heads = {room.split("/")[0] for room in LIMITS}
    assert heads >= {"plan", "buy", "build", "match", "prove", "watch", "bus", "physics", "circuit", "forms", "bank"}
    assert sum(len(names) for names in LIMITS.values()) > 150


DECIDE = (
    "plan/checks", "plan/zones", "plan/figures", "plan/ends", "match", "build", "buy", "prove", "watch/alarms",
    "watch/cells", "watch/running", "watch/joints", "watch/charge/section", "watch/heard", "bus/survey/explain",
)  # fmt: skip
# of the method, of lists and of forms of what is kept: they decide no verdict
NO_LIMIT = {
    "_FORM", "FORM", "MOST_ROWS", "SEED", "NO_REGISTER", "EVER", "NEVER", "_ROLE", "_ORDER", "HALF", "STILL", "NOTHING",
    "TRIES", "WAITS", "MESSAGES", "HOUR", "PATIENCE", "SUBJECT", "SEEN", "APART", "LEAD", "SHOWN_WINDOW", "SCATTER",
    "LONGEST", "ROUNDING",
}  # fmt: skip


def numbers_of(file: Path) -> set[str]:
    """Names in capitals that a module sets to numbers, or to tables of them, by itself."""
    found = set()
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found |= {each.id for target in targets for each in ast.walk(target) if isinstance(each, ast.Name)}
    return {name for name in found if re.fullmatch(r"[A-Z][A-Z0-9_]*", name)}


def is_number(value: Any) -> bool:
    """A number, or a table of nothing else."""
    if isinstance(value, bool):
        return False
    if isinstance(value, list):
        return bool(value) and all(is_number(each) for each in value)
    if isinstance(value, dict):
        return bool(value) and all(is_number(each) for each in value.values())
    return isinstance(value, int | float)


@pytest.mark.parametrize("head", DECIDE)
def test_no_limit_of_a_room_that_decides_is_left_out(head: str) -> None:
    src = Path(__file__).parents[2] / "src" / "bankwright"
    files = sorted((src / head).rglob("*.py")) if (src / head).is_dir() else [src / f"{head}.py"]
    left = []
    for file in files:
        room = str(file.relative_to(src).with_suffix(""))
        module = importlib.import_module("bankwright." + room.replace("/", "."))
        names = numbers_of(file) - NO_LIMIT - set(LIMITS.get(room, {}))
        left += [f"{room}: {name}" for name in sorted(names) if is_number(plain(getattr(module, name)))]
    assert left == [], "write them a second time into tests/house/limits.toml"
