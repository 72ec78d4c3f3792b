"""Changes the rooms that decide verdicts, one small thing at a time, and tells which changes no test notices.

`tools/mutate.py plan/checks/bar.py` goes through one file or room with only the tests that go through the changed
function (learnt once a room, kept under out/mutation); without a room through all of ROOMS. `--kinds number,compare`
takes some kinds only, `--by 1.01` sets the factor, `--only FILE,FILE` takes some tests only, `--list` prints the changes,
`--learn` learns the tests anew. A row that stands in out/mutation is not run again without `--again`.
Nothing of the tree is touched: each change lives in a process of its own.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")
ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / part) for part in ("src", "tests", "tools")]

import pytest  # noqa: E402
from mutation.changes import KINDS, SRC, Change, changes_of  # noqa: E402
from mutation.covering import Covering, Place, learn  # noqa: E402
from mutation.trial import in_a_child, with_constant, with_function  # noqa: E402

OUT = ROOT / "out" / "mutation"
LEAVE_OUT = "not soak and not browser and not slow"
# rooms that decide verdicts, with the tests that are held against them; the first that fits counts
FITTING = {
    "plan": "plan cases/test_plan_findings.py cases/test_practice_plan.py cases/test_plan_arithmetic.py circuit/test_shorts.py",
    "match": "match cases/test_match_cases.py cases/test_practice_match.py",
    "build": "build cases/test_practice_build.py",
    "buy": "buy cases/test_parts_counts.py",
    "prove": "prove",
    "circuit": "circuit outside plan/test_edges_of_plan.py",
    "physics": "physics plan build bus",
    "forms": "forms physics handbook",
    "logbook": "logbook/test_refusals.py logbook/test_clocks.py",
    "handbook": "handbook plan match build physics",
    "bank": "bank plan build",
}
ROOMS = ["plan/checks", "plan/zones", "plan/figures", "build", "buy/checks.py", "match", "prove", "forms/finding.py"]


def room_of(file: str) -> str:
    """The room whose tests fit a file."""
    return next(head for head in FITTING if file.startswith(head))


def files(words: list[str]) -> Iterator[Path]:
    """Python files of the rooms asked for."""
    for word in words or ROOMS:
        path = SRC / word
        yield from sorted(path.rglob("*.py")) if path.is_dir() else [path]


def readers(change: Change) -> list[Place]:
    """Functions that name what is changed in the module itself; where none does, all functions of the module."""
    names = set(change.names)
    found = []
    for file in SRC.rglob("*.py"):
        text = file.read_text("utf-8")
        if any(name in text for name in names):
            path = str(file.relative_to(SRC))
            found += [(path, name) for name, node in _functions(ast.parse(text).body) if _names(node) & names]
    own = ast.parse((SRC / change.file).read_text("utf-8")).body
    return found or [(change.file, name) for name, _ in _functions(own)]


def _functions(body: list[ast.stmt], inside: str = "") -> Iterator[tuple[str, ast.AST]]:
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield inside + node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from _functions(node.body, f"{node.name}.")


def _names(node: ast.AST) -> set[str]:
    return {
        each.id if isinstance(each, ast.Name) else each.attr
        for each in ast.walk(node)
        if isinstance(each, ast.Name | ast.Attribute)
    }


class _Collected:
    """Holds the collected tests and does the work in the place of running them."""

    def __init__(self, work: object) -> None:
        self.work = work

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.work(list(session.items))  # type: ignore[operator]
        return True


def collected(tests: list[str], work: object) -> None:
    """Loads tests once and gives them to `work`."""
    pytest.main(["-q", "-p", "no:cacheprovider", "-m", LEAVE_OUT, *tests], plugins=[_Collected(work)])


def verdict(answer: object, tests: int) -> str:
    """The last cell of a row."""
    if not tests:
        return "SURVIVED: no test comes here"
    if answer in ("survived", "not loaded"):  # what no test has loaded, none can notice
        return "SURVIVED" if answer == "survived" else "SURVIVED: not loaded"
    return f"killed: {str(answer).split('::', 1)[-1].split('[')[0]}" if answer else "killed: did not end"


class Room:
    """One room's changes, tests and rows."""

    def __init__(self, name: str, found: list[Change], again: bool) -> None:
        self.name, self.path = name, OUT / f"{name}.md"
        self.map = OUT / f"{name}.json"
        before = self.path.read_text("utf-8").splitlines() if self.path.exists() else []
        keep = {c.key for c in found} if again else set()
        self.rows = {row[: row.rindex("| ", 0, -2) + 1]: row for row in before if row}
        self.rows = {key: row for key, row in self.rows.items() if key not in keep}
        self.due = [change for change in found if change.key not in self.rows]

    def take(self, change: Change, answer: object, tests: int) -> None:
        row = f"{change.key} {verdict(answer, tests)} |"
        self.rows[change.key] = row
        if "SURVIVED" in row:
            print(f"{change.file}:{change.line} {row}", flush=True)
        self.path.write_text("\n".join(self.rows.values()) + "\n", "utf-8")

    def run(self, words: list[str], anew: bool) -> None:
        OUT.mkdir(parents=True, exist_ok=True)
        tests = [str(ROOT / "tests" / word) for word in words]
        if anew:
            self.map.unlink(missing_ok=True)
        in_a_child(lambda: collected(tests, lambda items: learn(items, self.map)), 3600.0)
        covering = Covering.read(self.map)
        collected(tests, lambda items: self._all(covering, {item.nodeid: item for item in items}))

    def _all(self, covering: Covering, items: dict[str, pytest.Item]) -> None:
        for file in {change.file for change in self.due}:
            importlib.import_module(".".join(["bankwright", *Path(file).with_suffix("").parts]))
        for change in self.due:
            chosen = [items[test] for test in covering.tests(change, readers) if test in items]
            if change.head is None:
                chosen = [*(item for item in items.values() if _mentions(item, change)), *chosen]
            way = with_constant if change.head is None else with_function
            answer = in_a_child(lambda c=change, i=chosen, w=way: w(c, i) or "survived", 90.0) if chosen else None  # type: ignore[misc]
            self.take(change, answer, len(chosen))


def _mentions(item: pytest.Item, change: Change) -> bool:
    """A test that names the constant itself."""
    code = getattr(getattr(item, "function", None), "__code__", None)
    return code is not None and bool(set(change.names) & {*code.co_names, *code.co_varnames})


def _in_its_own_process(work: Callable[[], None]) -> None:
    """Each room from a process that has loaded nothing of the tree."""
    child = os.fork()
    if child == 0:
        try:
            work()
        finally:
            sys.stdout.flush()
            os._exit(0)
    os.waitpid(child, 0)


def main() -> int:
    """Goes through all changes; 1 if one survived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="*")
    parser.add_argument("--by", type=float, default=1.02)
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--learn", action="store_true")
    parser.add_argument("--only", default="", help="these tests alone, under tests/, with commas between")
    parser.add_argument("--again", action="store_true")
    asked = parser.parse_args()
    found = [c for file in files(asked.rooms) for c in changes_of(file, asked.by, tuple(asked.kinds.split(",")))]
    if asked.list:
        print("\n".join(f"{c.file}:{c.line} {c.kind} {c.key}" for c in found))
        return 0
    survived = 0
    for name in dict.fromkeys(room_of(change.file) for change in found):
        mine = [change for change in found if room_of(change.file) == name]
        room = Room(name, mine, asked.again)
        tests = asked.only.split(",") if asked.only else FITTING[name].split()
        _in_its_own_process(lambda room=room, tests=tests: room.run(tests, asked.learn))  # type: ignore[misc]
        rows = Room(name, mine, again=False).rows
        survived += sum("SURVIVED" in rows.get(change.key, "") for change in mine)
    print(f"{len(found)} changes, {survived} survived")
    return int(survived > 0)


if __name__ == "__main__":
    sys.exit(main())
