"""The demo: plans an invented bank, draws it, counts its parts, writes its building sheet, and looks for what mends it.

Run by `make demo` as `python demo/run.py out`. Everything it writes goes into that folder.
"""

import shutil
import sys
from pathlib import Path

from click.testing import CliRunner

from bankwright.cli.main import group

HERE = Path(__file__).parent


def run(*args: str) -> str:
    """Run one command as it would be typed; 0 and 1 are answers, anything else stops the demo."""
    result = CliRunner().invoke(group, list(args))
    if result.exit_code not in (0, 1):
        raise SystemExit(f"bankwright {' '.join(args)} ended with {result.exit_code}:\n{result.output}")
    return result.output


def main(folder: str) -> None:
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    bank = str(shutil.copy(HERE / "barn.toml", out / "barn.toml"))
    print(f"$ bankwright plan {bank}\n")
    print(run("plan", bank))
    run("draw", bank, "-o", str(out))
    run("buy", bank, "--csv", str(out / "parts.csv"), "--html", str(out / "parts.html"))
    run("build", bank, "--html", str(out / "sheet.html"))
    mended = str(shutil.copy(bank, out / "barn-mended.toml"))
    suggestion = run("plan", mended, "--suggest", "--write")
    (out / "suggestion.txt").write_text(suggestion, encoding="utf-8")
    print(f"$ bankwright plan {mended} --suggest --write\n")
    print(suggestion)
    print("The demo bank is invented and holds mistakes on purpose. Written:")
    for path in sorted(out.iterdir()):
        if path.is_file():
            print(f"  {path}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "out")
