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


def _kill(tmp_path: Path, *args: str, seconds: float = 120) -> dict[str, Any]:
    program = _TESTS / "support" / "killed_writers.py"
    paths = os.pathsep.join([str(_TESTS), str(_TESTS.parent / "src")])
    done = subprocess.run(
        [sys.executable, str(program), str(tmp_path), *args],
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_writers_killed_at_random_instants_lose_nothing(tmp_path: Path) -> None:
    found = _kill(tmp_path, "80", "20260301")
    assert found["signals"] == {"9": 80}
    assert found["acknowledged"] >= 40  # at least every other one had written before it died
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


@pytest.mark.soak
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")
def test_two_thousand_writers_killed_lose_nothing(tmp_path: Path) -> None:
    """Writers of a logbook killed 1500 times at random instants and 500 times at chosen instructions of the engine."""
    for rounds, args in ((1500, ("20260302",)), (500, ("20260303", "13"))):
        folder = tmp_path / str(rounds)
        folder.mkdir()
        found = _kill(folder, str(rounds), *args, seconds=1800)
        assert found["signals"] == {"9": rounds}
        assert found["lost"] == []
        assert found["damage"] == []
        assert found["gapless"]
