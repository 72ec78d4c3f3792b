"""The demo: plans an invented bank, draws it, counts its parts, writes its building sheet, looks for what mends it,
plays a minute of its data bus, proves it on the pretend rack (a whole first power-up with six planted faults), and
watches a pretend year in which one joint goes bad.

Run by `make demo` as `python demo/run.py out`. Everything it writes goes into that folder.
"""

import shutil
import sys
from pathlib import Path

from click.testing import CliRunner

from bankwright.cli.main import group

HERE = Path(__file__).parent
BAD = "L3+@M3+=0.25 mohm"


def run(*args: str) -> str:
    """Run one command as it would be typed; 0 and 1 are answers, anything else stops the demo."""
    result = CliRunner().invoke(group, list(args))
    if result.exit_code not in (0, 1):
        raise SystemExit(f"bankwright {' '.join(args)} ended with {result.exit_code}:\n{result.output}")
    return result.output


def watched(out: Path) -> None:
    """A year of telemetry, made by the bank's own circuit and errors of sensors, and what watch finds in it."""
    year = out / "barn-year.toml"
    for old in out.glob("barn-year.logbook*"):
        old.unlink()
    shutil.copy(HERE / "barn.toml", year)
    print(f'$ bankwright pretend {year} --days 365 --grow "{BAD}"\n')
    print(run("pretend", str(year), "--days", "365", "--grow", BAD))
    print(f"$ bankwright watch {year} --since 365d\n")
    told = run("watch", str(year), "--since", "365d", "--charts", str(out))
    (out / "watch.txt").write_text(told, encoding="utf-8")
    print(told.partition("-- Who is heard")[0])
    print(f"(The rest of it stands in {out / 'watch.txt'}. Put in: {BAD} at the end of")
    print("the year, in a straight line from its middle on: 0.2 W at 25 A a module, not warm.)\n")


def main(folder: str) -> None:
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    bank = str(shutil.copy(HERE / "barn.toml", out / "barn.toml"))
    shutil.copy(HERE / "barn-map.toml", out / "barn-map.toml")
    print(f"$ bankwright plan {bank}\n")
    print(run("plan", bank))
    run("draw", bank, "-o", str(out))
    run("buy", bank, "--csv", str(out / "parts.csv"), "--html", str(out / "parts.html"))
    run("build", bank, "--html", str(out / "sheet.html"))
    mended = str(shutil.copy(bank, out / "barn-mended.toml"))
    suggestion = run("plan", mended, "--suggest", "--put-in")
    (out / "suggestion.txt").write_text(suggestion, encoding="utf-8")
    print(f"$ bankwright plan {mended} --suggest --put-in\n")
    print(suggestion)
    print(f"$ bankwright pretend {bank} --minute\n")
    print(run("pretend", bank, "--minute"))
    print(f"$ bankwright prove rehearse {bank}\n")
    print(run("prove", "rehearse", bank))
    watched(out)
    print("The demo bank is invented and holds mistakes on purpose. Written:")
    for path in sorted(out.iterdir()):
        if path.is_file() and not path.name.endswith(("-wal", "-shm")):
            print(f"  {path}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "out")
