"""The wheel holds every file; every test folder is collected (a folder named `build` is easily lost)."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_the_wheel_holds_every_file_of_the_source_tree(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("*.whl")
    packed = set(zipfile.ZipFile(wheel).namelist())
    source = {
        str(path.relative_to(ROOT / "src"))
        for path in (ROOT / "src" / "bankwright").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert source <= packed, sorted(source - packed)


def test_every_test_folder_is_collected():
    folders = {path.parent.name for path in (ROOT / "tests").rglob("test_*.py")}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    collected = {Path(line.split("::")[0]).parent.name for line in done.stdout.splitlines() if "::" in line}
    assert folders <= collected, folders - collected
