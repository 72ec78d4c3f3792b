"""The demo banks, whose data is invented: where their files are, and writing them into a folder.

Gives: DEMO, demo_files(), write_demo().
Limits: a wheel carries the files as bankwright/demo; a checkout has them in the folder demo beside src.
"""

from __future__ import annotations

from pathlib import Path

from bankwright.forms.disk import write_whole
from bankwright.forms.faults import Fault, QuestionError

__all__ = ["DEMO", "demo_files", "write_demo"]

DEMO = ("four.toml", "barn.toml", "barn-map.toml")
_PACKAGE = Path(__file__).parents[2]


def demo_files() -> tuple[Path, ...]:
    """The files, wherever this installation keeps them; FileNotFoundError where it has none."""
    packed, checkout = _PACKAGE / "demo", _PACKAGE.parents[1] / "demo"
    folder = packed if packed.is_dir() else checkout
    found = tuple(folder / name for name in DEMO)
    for path in found:
        if not path.is_file():
            raise FileNotFoundError(2, "this installation has no demo bank", str(path))
    return found


def write_demo(folder: Path) -> tuple[Path, ...]:
    """Write every demo file into a folder; QuestionError, and nothing written, where one of them is there already."""
    sources = demo_files()
    targets = tuple(folder / path.name for path in sources)
    there = [str(target) for target in targets if target.exists()]
    if there:
        fault = Fault(
            "--demo", "exists", f"{', '.join(there)}: there already; nothing was written", "Name another folder"
        )
        raise QuestionError((fault,), "the options")
    folder.mkdir(parents=True, exist_ok=True)
    return tuple(write_whole(target, source.read_bytes()) for source, target in zip(sources, targets, strict=True))
