"""The floors of the house: a room imports only what stands on a lower floor, and the same holds inside a room.

Every import counts: at the top of a file, inside a function, for types only, and by name at run time.
"""

from __future__ import annotations

import ast

import pytest

from support.floors import ALSO_ALLOWED, COUNTED_WITH, FLOORS, INSIDE, SRC, TO_COME, below, floor_of, may_import
from support.imports import MODULES, circle, graph, imports_of, reached_from
from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

ROOT = "bankwright"
OUTSIDE = {ROOT, f"{ROOT}.__main__"}  # the public names of the package, and the way in


def room_of(name: str) -> str:
    return name.split(".")[1]


def inner_of(name: str) -> str | None:
    """The room inside a room that a module stands in, if it stands in one."""
    parts = name.split(".")
    return parts[2] if len(parts) > 2 and (SRC / parts[1] / parts[2] / "__init__.py").exists() else None


def whole(name: str) -> str:
    """The room inside a room, or the file that stands beside such rooms."""
    return COUNTED_WITH.get(name) or inner_of(name) or name


def test_every_room_has_a_floor_and_a_room_that_came_is_not_to_come() -> None:
    rooms = {room_of(name) for name in MODULES if name not in OUTSIDE}
    floors = [room for _, names, _ in FLOORS for room in names]
    assert len(floors) == len(set(floors))
    assert rooms | set(TO_COME) == set(floors), "tests/support/floors.py holds the table"
    assert not rooms & set(TO_COME)


def test_every_room_inside_a_room_has_its_place() -> None:
    inner = {(room_of(name), inner_of(name)) for name in MODULES if name not in OUTSIDE and inner_of(name)}
    placed = {(room, name) for room, lines in INSIDE.items() for names in lines for name in names}
    assert inner <= placed, f"no place in tests/support/floors.py for {sorted(inner - placed)}"


def test_a_room_imports_only_lower_floors() -> None:
    wrong = []
    for name, others in graph().items():
        for other, line in others.items() if name not in OUTSIDE else ():
            if other in OUTSIDE:
                wrong.append(f"{name}:{line} imports the package root")
            elif not may_import(room_of(name), room_of(other)):
                wrong.append(f"{name}:{line} imports {other}")
    assert not wrong, "\n".join(wrong)


def test_a_room_inside_a_room_reaches_only_those_below_it() -> None:
    """By any way: a file between two rooms does not turn their order round."""
    wrong = []
    for name in MODULES:
        if name in OUTSIDE or inner_of(name) is None:
            continue
        room, inner = room_of(name), inner_of(name)
        within = {key: value for key, value in graph().items() if key.startswith(f"{ROOT}.{room}.")}
        for other, by in reached_from(name, within).items():
            there = inner_of(other) if room_of(other) == room else None
            if there not in (None, inner) and not below(room, str(inner), str(there)):
                wrong.append(f"{name} reaches {other}, by {by}")
    assert not wrong, "\n".join(wrong)


def test_there_is_no_circle() -> None:
    assert circle({name: others for name, others in graph().items() if name != ROOT}) is None


def test_the_rooms_inside_a_room_make_no_circle_as_wholes() -> None:
    """A room inside a room counts as one: file a of it may not use what uses file b of it."""
    for room in INSIDE:
        edges: dict[str, dict[str, int]] = {}
        for name, others in graph().items():
            if name not in OUTSIDE and room_of(name) == room:
                within = {whole(other): line for other, line in others.items() if room_of(other) == room}
                within.pop(whole(name), None)
                edges.setdefault(whole(name), {}).update(within)
        assert circle(edges) is None, room


def test_each_package_says_its_floor() -> None:
    wrong = []
    for name, path in MODULES.items():
        if name in OUTSIDE or (path.name != "__init__.py" and name != f"{ROOT}.job"):
            continue
        words = ast.get_docstring(parsed(path.read_text("utf-8"))) or ""
        floor = FLOORS[floor_of(room_of(name))][0]
        if not words.startswith(f"{floor}: "):
            wrong.append(f"{name} begins {words[:30]!r} and stands on the floor {floor!r}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("room", "other"),
    [("forms", "bank"), ("plan", "buy"), ("draw", "plan"), ("circuit", "logbook"), ("handbook", "physics"),
     ("size", "sun"), ("watch", "bus"), ("fleet", "job"), ("report", "fleet"), ("web", "cli"),
     ("web", "plan"), ("cli", "circuit"), ("cli", "bank"), ("web", "logbook"), ("cli", "handbook")],
)  # fmt: skip
def test_the_guard_would_notice(room: str, other: str) -> None:
    up = {("size", "sun"), ("watch", "bus"), ("fleet", "job"), ("report", "fleet")}
    assert may_import(room, other) is ((room, other) in up)


def test_the_order_inside_would_be_noticed() -> None:
    assert below("bank", "rules", "unfold")
    assert not below("bank", "unfold", "rules")
    assert not below("bank", "pieces", "texts")
    assert not below("circuit", "run", "inverse")
    assert below("draw", "paint", "pen")


def test_every_way_of_importing_is_seen() -> None:
    text = """
import bankwright.bank.read
from bankwright.circuit import steady
if TYPE_CHECKING:
    from bankwright.plan.context import Plan
def late():
    from bankwright.buy.parts import parts
    import_module("bankwright.match.face")
    importlib.import_module(f"bankwright.cli.{name}").command
"""
    known = ("bankwright.circuit.steady", "bankwright.cli.plan", "bankwright.cli.buy", "bankwright.cli.show.case")
    seen = {name for name, _ in imports_of(parsed(text), dict.fromkeys(known))}
    assert seen == {
        "bankwright.bank.read",
        "bankwright.circuit.steady",
        "bankwright.plan.context",
        "bankwright.buy.parts",
        "bankwright.match.face",
        "bankwright.cli.plan",
        "bankwright.cli.buy",
    }
    with pytest.raises(AssertionError, match="star"):
        list(imports_of(parsed("from bankwright.bank.model import *"), {}))
    with pytest.raises(AssertionError, match="relative"):
        list(imports_of(parsed("from . import model"), {}))


def test_a_circle_is_found() -> None:
    edges = {"a": {"b": 1}, "b": {"c": 1}, "c": {"b": 1}}
    assert circle(edges) == ["b", "c", "b"]
    assert circle({"a": {"b": 1, "c": 1}, "b": {"c": 1}}) is None
    assert reached_from("a", edges) == {"b": "a", "c": "b"}


def test_exceptions_are_few_and_used() -> None:
    used = {(room_of(name), room_of(other)) for name in graph() if name not in OUTSIDE for other in graph()[name]}
    assert {pair for pair in ALSO_ALLOWED if pair[0] not in TO_COME} <= used
