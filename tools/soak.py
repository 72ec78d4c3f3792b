"""Runs the long tests (marker `soak`) and benches one after another; keeps the last result of each in docs/soak.md.

`make soak` runs it: fixed seeds; a test that already passed at this commit with nothing changed since is not run again,
so an interrupted round goes on where it stopped. `tools/soak.py --again` runs all; `tools/soak.py WORD` only
tests with that word; `tools/soak.py --list` runs none and writes the page with every test that there is.
A bench keeps what it has run under out/soak, a file a commit, and goes on there; `--months N` runs its first N months.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "soak.md"
HEAD = """# Long tests

Written by `make soak` (tools/soak.py): the tests marked `soak`, the cases that `share` leaves to it, and the bench of
joint growth, with fixed seeds, which `make test` leaves out; it runs a small share of each instead. The table keeps the last result of each, the commit it
ran at and how long it took (the bench: CPU time of the months that were run); "+" after a commit: with changes that
were not committed. The bench is no test: targets and all figures stand in [growth of joints](watch-joints.md).

| test | what it does | result | commit | seconds |
| --- | --- | --- | --- | --- |
"""


BENCHES = {
    "bench/watch_joints.py": "Months of pretend banks through growth of joints: false alarms, found in time, group"
}


@dataclass(frozen=True)
class Row:
    """Last result of one test."""

    result: str
    commit: str
    seconds: int


def rows() -> dict[str, Row]:
    """What the page holds, by test."""
    if not PAGE.exists():
        return {}
    cells = [line.strip("| \n").split(" | ") for line in PAGE.read_text("utf-8").splitlines() if line.startswith("| `")]
    return {test.strip("`"): Row(result, commit, int(seconds)) for test, _, result, commit, seconds in cells}


def tests() -> dict[str, str]:
    """Every test marked soak, with the first line of its docstring."""
    found = {}
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and any(
                long in ast.unparse(d) for d in node.decorator_list for long in ("mark.soak", "mark.share")
            ):
                words = (ast.get_docstring(node) or "").split("\n")[0].rstrip(".")
                found[f"{path.relative_to(ROOT)}::{node.name}"] = words
    return found | BENCHES


def page(results: dict[str, Row]) -> str:
    """The page with one line a test that exists."""
    lines = []
    for test, words in tests().items():
        row = results.get(test, Row("not run yet", "-", 0))
        lines.append(f"| `{test}` | {words} | {row.result} | {row.commit} | {row.seconds} |")
    return HEAD + "\n".join(lines) + "\n"


def commit() -> str:
    """The commit that stands here, with a plus if anything but the page itself differs from it."""
    said = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if said.returncode:
        return "unknown"
    changed = ["git", "status", "--porcelain", "--", ".", ":!docs/soak.md"]
    dirty = subprocess.run(changed, cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()
    return said.stdout.strip() + ("+" if dirty else "")


def run(test: str) -> Row:
    """Runs one test in a process of its own."""
    start = time.monotonic()
    done = subprocess.run([sys.executable, "-m", "pytest", "-q", "-m", "soak", test], cwd=ROOT, check=False)
    result = {0: "passed", 5: "not collected"}.get(done.returncode, "failed")
    return Row(result, commit(), round(time.monotonic() - start))


def run_bench(script: str, months: str) -> Row:
    """Goes on with a bench where this commit's file ends; of changes that were not committed nothing is taken over."""
    here = commit()
    out = ROOT / "out" / "soak" / f"{Path(script).stem}-{here}.jsonl"
    out.parent.mkdir(parents=True, exist_ok=True)
    if here.endswith("+"):
        out.unlink(missing_ok=True)
    more = ["--months", months] if months else []
    done = subprocess.run([sys.executable, script, "run", str(out), *more], cwd=ROOT, check=False)
    if done.returncode or not out.exists():
        return Row("failed", here, 0)
    said = subprocess.run(
        [sys.executable, script, "sum", str(out)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    told = json.loads(said.stdout)
    return Row(f"{'passed' if told['whole'] else 'part'}: {told['result']}", here, told["seconds"])


def main(arguments: list[str]) -> int:
    """Runs what is due; 1 if any of it did not pass."""
    months = arguments[arguments.index("--months") + 1] if "--months" in arguments else ""
    words = [word for word in arguments if not word.startswith("--") and word != months]
    results, here = rows(), commit()
    failed = 0
    for test in tests():
        before = results.get(test, Row("not run yet", "-", 0))
        done = before.result.startswith("passed") and before.commit == here and "--again" not in arguments
        if done or not all(word in test for word in words):
            continue
        if "--list" in arguments:
            break
        print(f"== {test}", file=sys.stderr, flush=True)
        results[test] = run_bench(test, months) if test in BENCHES else run(test)
        failed += not results[test].result.startswith(("passed", "part"))
        PAGE.write_text(page(results), "utf-8")
    PAGE.write_text(page(results), "utf-8")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
