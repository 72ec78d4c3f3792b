"""What each command loads: heavy rooms only where they are needed."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from bankwright.cli.main import COMMANDS, group

ROOT = Path(__file__).parents[2]
DEMO = str(ROOT / "demo" / "barn.toml")
WATCHED = ("numpy", "scipy", "pydantic", "fastapi", "uvicorn", "jinja2", "segno", "sqlite3", "bankwright.circuit")


def loaded_by(*args):
    """Names of watched modules that a command has loaded when it ends."""
    code = (
        "import json, sys\n"
        "from bankwright.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        f"print('\\n' + json.dumps([name for name in {WATCHED!r} if name in sys.modules]))\n"
    )
    done = subprocess.run([sys.executable, "-c", code, *args], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.strip().splitlines()[-1]))


def test_help_loads_nothing_heavy():
    assert loaded_by("--help") == set()
    assert loaded_by("plan", "--help") == set()


@pytest.mark.slow
@pytest.mark.parametrize(
    "args", [("plan", DEMO), ("plan", DEMO, "--case", "full charge"), ("compare", DEMO, "site.extension=2")]
)
def test_the_road_of_plan_has_no_scipy_and_no_server(args):
    assert loaded_by(*args) <= {"numpy", "pydantic", "bankwright.circuit"}


def test_every_command_can_be_loaded_and_says_the_same_in_one_line():
    for name, (_, words) in COMMANDS.items():
        command = group.get_command(None, name)
        assert command is not None, name
        first = (command.help or "").strip().splitlines()[0]
        assert first == words, f"{name}: {first!r} in the command, {words!r} in the table"


def test_the_commands_stand_in_the_order_of_the_job_before_what_goes_with_every_part_of_it():
    job = ["new", "plan", "buy", "build", "match", "survey", "prove", "listen", "watch"]
    beside = ["log", "import", "open", "pack", "unpack", "what", "manual"]
    assert [name for name in COMMANDS if name in {*job, *beside}] == job + beside
