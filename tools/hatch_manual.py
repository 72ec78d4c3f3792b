"""Puts the built manual and the demo banks into a wheel; an editable installation reads both from the checkout."""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

DEMO = ("four.toml", "barn.toml", "barn-map.toml")


def build_manual(root: Path, out: Path) -> None:
    """Build docs/ into `out`; any warning is an error, so that no link of it leads nowhere."""
    with tempfile.TemporaryDirectory() as spare:
        words = ["-q", "-W", "--keep-going", "-b", "html", "-d", spare, str(root / "docs"), str(out)]
        done = subprocess.run([sys.executable, "-m", "sphinx", *words], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"The manual cannot be built (pip install '.[docs]' brings what it needs):\n{done.stderr}")


class ManualHook(BuildHookInterface[Any]):
    """The hook of the wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build beside the checkout, which may be read-only, and name what goes where."""
        if version == "editable":
            return
        root = Path(self.root)
        self._folder = Path(tempfile.mkdtemp(prefix="bankwright-manual-"))
        build_manual(root, self._folder / "manual")
        build_data["force_include"][str(self._folder / "manual")] = "bankwright/manual"
        for name in DEMO:
            build_data["force_include"][str(root / "demo" / name)] = f"bankwright/demo/{name}"

    def finalize(self, version: str, _data: dict[str, Any], _wheel: str) -> None:
        """Take the folder away again."""
        if version != "editable":
            shutil.rmtree(self._folder, ignore_errors=True)


if __name__ == "__main__":
    build_manual(Path(__file__).parents[1], Path(sys.argv[1]))
