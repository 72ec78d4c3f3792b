"""A listener that is killed at any instruction, also while it seals, loses, doubles and changes nothing."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

_TESTS = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")


def _kill(tmp_path: Path, *args: str, timeout: float = 120) -> dict[str, Any]:
    program = _TESTS / "support" / "killed_listeners.py"
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    done = subprocess.run(
        [sys.executable, str(program), str(tmp_path), *args],
        env={**os.environ, "PYTHONPATH": paths}, capture_output=True, text=True, timeout=timeout, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def _nothing_is_lost(found: dict[str, Any]) -> None:
    assert (found["lost"], found["doubled"], found["changed"], found["uncounted"]) == (0, 0, 0, 0)
    assert found["damage"] == []


def test_listeners_killed_at_random_instants_lose_nothing(tmp_path: Path) -> None:
    found = _kill(tmp_path, "20", "20260302", "random")
    assert found["signals"] == {"9": 20}
    assert found["acknowledged"] >= 10  # most were let write first
    _nothing_is_lost(found)


@pytest.mark.slow
def test_listeners_killed_while_they_seal_lose_nothing(tmp_path: Path) -> None:
    found = _kill(tmp_path, "8", "20260303", "seal")
    assert found["signals"] == {"9": 8}
    assert found["inside_seal"] == 8
    _nothing_is_lost(found)


@pytest.mark.soak
@pytest.mark.parametrize(("where", "seed"), [("random", "1"), ("random", "2"), ("seal", "3"), ("seal", "4")])
def test_two_hundred_killed_listeners_lose_nothing(tmp_path: Path, where: str, seed: str) -> None:
    """Listeners killed 400 times at random and 400 times at instructions of the engine chosen while sealing."""
    found = _kill(tmp_path, "200", seed, where, timeout=1800)
    assert found["signals"] == {"9": 200}
    assert found["inside_seal"] == 200 or where == "random"
    _nothing_is_lost(found)
