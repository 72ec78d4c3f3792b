"""Rooms one mind wide: files, functions and lists of arguments past their end are refused, unless a reason is here.

A function ends at 40 lines, from its `def` to its last; one inside another at 30; five arguments go by place, `self`
and `cls` not counted, the others by name.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

SRC = Path(__file__).parents[2] / "src" / "bankwright"
MOST = 400
MOST_LINES, MOST_INNER, MOST_BY_PLACE = 40, 30, 5
REASONS: dict[str, str] = {}
LONG_FOR_A_REASON: dict[str, str] = {}  # "room/file.py name": why

Function = ast.FunctionDef | ast.AsyncFunctionDef


def test_no_source_file_is_longer_than_one_mind_is_wide():
    long = {
        str(path.relative_to(SRC)): count
        for path in SRC.rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > MOST
    }
    assert set(long) == set(REASONS), long


def test_every_module_says_what_it_gives():
    silent = [
        str(path.relative_to(SRC))
        for path in SRC.rglob("*.py")
        if not path.read_text(encoding="utf-8").lstrip().startswith('"""')
    ]
    assert not silent


def functions(tree: ast.AST, inside: bool = False) -> Iterator[tuple[Function, bool]]:
    """Every function with whether it stands inside another."""
    for node in ast.iter_child_nodes(tree):
        is_function = isinstance(node, Function)
        if isinstance(node, Function):
            yield node, inside
        yield from functions(node, inside or is_function)


def by_place(function: Function) -> list[str]:
    given = function.args.posonlyargs + function.args.args
    bound = given[:1] and given[0].arg in ("self", "cls") and not _is_static(function)
    return [each.arg for each in given[1 if bound else 0 :]]


def _is_static(function: Function) -> bool:
    return any(isinstance(each, ast.Name) and each.id == "staticmethod" for each in function.decorator_list)


def too_much(function: Function, inside: bool) -> Iterator[str]:
    assert function.end_lineno is not None
    lines = function.end_lineno - function.lineno + 1
    if lines > (MOST_INNER if inside else MOST_LINES):
        yield f"{lines} lines"
    if len(by_place(function)) > MOST_BY_PLACE:
        yield f"{len(by_place(function))} arguments by place"


def offenders(text: str) -> dict[str, list[str]]:
    return {f.name: list(too_much(f, inside)) for f, inside in functions(parsed(text)) if list(too_much(f, inside))}


def test_no_function_is_longer_than_a_page_or_takes_more_than_five_by_place():
    found = {
        f"{path.relative_to(SRC).as_posix()} {name}": what
        for path in sorted(SRC.rglob("*.py"))
        for name, what in offenders(path.read_text(encoding="utf-8")).items()
    }
    assert set(found) == set(LONG_FOR_A_REASON), found


def test_the_measure_sees_what_it_is_for():
    body = "\n".join(["    x = 1"] * 40)
    assert offenders(f"def long():\n{body}\n") == {"long": ["41 lines"]}
    assert not offenders("def whole():\n" + "\n".join(["    x = 1"] * 39))
    inner = "def outer():\n    def inner():\n" + "\n".join(["        x = 1"] * 30)
    assert offenders(inner) == {"inner": ["31 lines"]}
    assert offenders("class A:\n    def m(self, a, b, c, d, e, f): ...") == {"m": ["6 arguments by place"]}
    assert not offenders("class A:\n    def m(self, a, b, c, d, e, *, f): ...")
