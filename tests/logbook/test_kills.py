"""A writer that is killed loses nothing that it had acknowledged."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

_TESTS = Path(__file__).parents[1]


def _kill(tmp_path: Path, *args: str) -> dict[str, Any]:
    program = _TESTS / "support" / "killed_writers.py"
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    done = subprocess.run(
        [sys.executable, str(program), str(tmp_path), *args],
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_two_hundred_writers_killed_at_random_instants_lose_nothing(tmp_path: Path) -> None:
    found = _kill(tmp_path, "200", "20260301")
    assert found["signals"] == {"9": 200}
    assert found["acknowledged"] >= 100  # at least every other one had written before it died
    assert found["lost"] == []
    assert found["damage"] == []
    assert found["gapless"]


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_a_writer_killed_at_chosen_instructions_of_the_engine_loses_nothing(tmp_path: Path) -> None:
    found = _kill(tmp_path, "60", "1", "7")
    assert found["signals"] == {"9": 60}
    assert found["lost"] == []
    assert found["damage"] == []
    assert found["gapless"]
