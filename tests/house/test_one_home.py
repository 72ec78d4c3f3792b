"""One formula, one home: what physics and the handbook hold is used by the program, and a constant stands once.

A formula that only tests call is no formula of the program: it is a closed form under tests/outside. So for tables.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache

import pytest

from bankwright.handbook.tables import known_ids
from support.imports import MODULES, SRC
from support.source import parsed

pytestmark = pytest.mark.xdist_group("source")

PHYSICS = sorted(name for name in MODULES if name.startswith("bankwright.physics."))
BOOKS = [*(SRC / "handbook" / "books").glob("*.toml"), *(SRC / "handbook" / "storage").glob("*.toml")]

# a number and the one file that may write it; everybody else takes it from there
HOMES: dict[float, str] = {
    0.0254: "forms/constants.py",
    0.3048: "forms/constants.py",
    0.45359237: "forms/constants.py",
    9.80665: "forms/constants.py",
    0.04445: "forms/constants.py",
    1.7241e-8: "forms/constants.py",
    3.93e-3: "forms/constants.py",
    4.184: "forms/constants.py",
    4.184e4: "forms/constants.py",
    3.65: "handbook/data/published_ranges.toml",  # end of charge of a cell
    35.0: "handbook/data/lfp_module_default.toml",  # s, quick branch
    5.5e-3: "handbook/data/lfp_module_default.toml",
}
ONLY_IN = {35.0: ("circuit/", "match/")}  # elsewhere it means something else: pixels, bytes


@cache
def tree(name: str) -> ast.Module:
    return parsed(MODULES[name].read_text("utf-8"))


def exported(module: ast.Module) -> list[str]:
    for node in module.body:
        if isinstance(node, ast.Assign) and any(getattr(target, "id", "") == "__all__" for target in node.targets):
            return list(ast.literal_eval(node.value))
    return []


@cache
def taken(name: str) -> tuple[tuple[str, str], ...]:
    """Names of physics that a module imports and then reads: (room, name)."""
    module, given = tree(name), {}
    for node in ast.walk(module):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("bankwright.physics."):
            given |= {alias.asname or alias.name: (str(node.module), alias.name) for alias in node.names}
    read = {node.id for node in ast.walk(module) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)}
    return tuple(found for local, found in given.items() if local in read)


@cache
def used_inside(room: str, name: str) -> set[str]:
    """Names of its own room that a name of physics rests on."""
    for node in tree(room).body:
        made = getattr(node, "name", None) or next(
            (target.id for target in getattr(node, "targets", ()) if isinstance(target, ast.Name)), None
        )
        if made == name:
            return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)} - {name}
    return set()


@cache
def used_names() -> set[tuple[str, str]]:
    waiting = [found for name in MODULES if name not in PHYSICS for found in taken(name)]
    used: set[tuple[str, str]] = set()
    while waiting:
        room, name = waiting.pop()
        if (room, name) not in used:
            used.add((room, name))
            waiting += [(room, other) for other in used_inside(room, name)]
            waiting += [found for found in taken(room) if found[1] in used_inside(room, name)]
    return used


@pytest.mark.parametrize("room", PHYSICS)
def test_every_public_name_of_physics_is_used_by_the_program(room: str) -> None:
    lone = [name for name in exported(tree(room)) if (room, name) not in used_names()]
    assert not lone, f"{lone}: call it, or make it a closed form under tests/outside, or take it out"


@cache
def words_of_the_program() -> set[str]:
    """Every piece of text in the code outside the docstrings, and the books and editions as they stand."""
    found: set[str] = set()
    for name in MODULES:
        for node in ast.walk(tree(name)):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and "\n" not in node.value:
                found.add(node.value)
    return found


def test_every_table_of_the_handbook_is_read_by_the_program() -> None:
    books = "\n".join(path.read_text("utf-8") for path in BOOKS)
    lone = [name for name in known_ids() if name not in words_of_the_program() and f'"{name}"' not in books]
    assert not lone, f"{lone}: read it, or keep it under tests/outside/tables, or take it out"


def numbers(name: str) -> Iterator[tuple[float, int]]:
    for node in ast.walk(tree(name)):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield float(node.value), node.lineno


def test_a_constant_stands_in_its_home_and_nowhere_else() -> None:
    wrong = []
    for name, path in MODULES.items():
        inside = str(path.relative_to(SRC))
        for value, line in numbers(name):
            home = HOMES.get(value)
            if home not in (None, inside) and inside.startswith(ONLY_IN.get(value, ("",))):
                wrong.append(f"{name}:{line} writes {value:g}; it stands in {home}")
    assert not wrong, "\n".join(wrong)


def test_each_home_holds_its_constant() -> None:
    from bankwright.forms import constants
    from bankwright.handbook.cells import cell_voltage, relaxation

    held = {value for value in vars(constants).values() if isinstance(value, float)}
    held |= {constants.CALORIE * 1e4, cell_voltage("full").value, relaxation().quick_time, relaxation().quick}
    missing = [value for value in HOMES if not any(abs(value - each) <= 1e-12 * value for each in held)]
    assert not missing, missing
