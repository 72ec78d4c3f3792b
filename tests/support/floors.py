"""The floors of the house as one table: which room may import which, and in what order the rooms inside a room stand.

Gives: FLOORS, TO_COME, INSIDE, COUNTED_WITH, ALSO_ALLOWED, DRAW_KNOWS, floor_of(), may_import(), below(), words_of(),
floor_table().
tests/house/test_floors.py holds every import against it; tools/make_docs.py prints it into docs/architecture.md.
"""

from __future__ import annotations

import ast
from pathlib import Path

from support.source import parsed

SRC = Path(__file__).parents[2] / "src" / "bankwright"

# from the ground up: the floor's name, its rooms, what they may know
FLOORS: list[tuple[str, tuple[str, ...], str]] = [
    ("Ground 0", ("forms",), "nothing of the house"),
    ("Ground 1", ("handbook", "physics"), "forms; not each other"),
    ("Ground 2", ("bank",), "ground 0 and 1"),
    ("Engine", ("circuit", "logbook", "bus", "sun", "sheets"), "ground; not each other"),
    ("Stage", ("size", "plan", "buy", "build", "match", "prove", "watch"), "ground and engines; not each other"),
    ("Job", ("job",), "ground, engines and stages"),
    ("Above", ("fleet",), "everything up to the job"),
    ("Paper", ("draw", "report"), "draw: ground and circuit only; report: everything below, and draw"),
    (
        "Face",
        ("web", "cli"),
        "forms, fleet, draw, report, and the job as their only door; they compose; `cli open` starts `web`",
    ),
]
# rooms that have their floor and are not built: they leave this list when they come
TO_COME = {
    "sun": "sun, sky and house load over a year",
    "size": "how big must it be?",
    "fleet": "questions over many banks",
}
ALSO_ALLOWED = {("report", "draw"), ("cli", "web")}
FACES = ("web", "cli")
FACES_KNOW = {"forms", "job", "fleet", "draw", "report"}  # the job is their only door: no stage, no engine, no bank
DRAW_KNOWS = {"forms", "handbook", "physics", "bank", "circuit"}

# inside a room, from the ground up; those on one line never reach each other, nor one of a later line
INSIDE: dict[str, list[tuple[str, ...]]] = {
    "bank": [("file",), ("written",), ("unfold",), ("rules", "pieces", "texts"), ("talk",)],
    "circuit": [("solver",), ("of_bank",), ("scatter", "run", "inverse")],
    "logbook": [("telemetry",), ("elsewhere",)],
    "bus": [
        ("modbus",),
        ("ascii",),
        ("map", "wire"),
        ("messages",),
        ("sunspec",),
        ("survey",),
        ("overheard",),
        ("can", "mqtt"),
        ("pretend",),
    ],
    "sheets": [("rules",)],
    "plan": [("ends",), ("figures", "walks"), ("zones",), ("checks", "lists", "behind"), ("suggest",)],
    "build": [("rack", "joints"), ("steps",), ("apart",)],
    "prove": [("settings", "sheet", "capacity"), ("rehearse",)],
    "watch": [("alarms", "joints", "charge"), ("cells", "year"), ("running",), ("say",)],
    "job": [("parcel",)],
    "draw": [("pen",), ("arrange", "over_time"), ("paint",)],
    "cli": [("show",), ("hands",)],
    "web": [("pages",), ("api",)],
}
COUNTED_WITH = {"bankwright.circuit.solution": "solver"}  # the solver's answer, kept where its many readers look for it


def floor_of(room: str) -> int:
    """Number of a room's floor, from the ground up."""
    return next(number for number, (_, rooms, _) in enumerate(FLOORS) if room in rooms)


def may_import(room: str, other: str) -> bool:
    """Whether a room may import another: what stands on a lower floor, and nothing else."""
    if room == other or (room, other) in ALSO_ALLOWED:
        return True
    if room == "draw":
        return other in DRAW_KNOWS
    if room in FACES:
        return other in FACES_KNOW
    return floor_of(other) < floor_of(room)


def below(room: str, inner: str, other: str) -> bool:
    """Whether `other` stands on a line of `room` below that of `inner`: then `inner` may reach it."""
    lines = INSIDE[room]
    return _line(lines, other) < _line(lines, inner)


def _line(lines: list[tuple[str, ...]], inner: str) -> int:
    return next(number for number, names in enumerate(lines) if inner in names)


def words_of(room: str) -> str:
    """What a room says of itself: the first line of its docstring, without the floor's name."""
    path = SRC / room / "__init__.py"
    path = path if path.exists() else SRC / f"{room}.py"
    first = (ast.get_docstring(parsed(path.read_text("utf-8"))) or "").split("\n")[0]
    floor = FLOORS[floor_of(room.split("/")[0])][0]
    return first.removeprefix(f"{floor}: ").rstrip(".")


def floor_table() -> str:
    """The table of floors and the line of each room, for docs/architecture.md."""
    lines = ["| floor | rooms | what they may know |", "| --- | --- | --- |"]
    for name, rooms, known in FLOORS:
        lines.append(f"| {name} | {', '.join(f'`{room}`' for room in rooms)} | {known} |")
    lines.append("")
    for name, rooms, _ in FLOORS:
        lines += [line for room in rooms for line in _lines_of(name, room)]
    return "\n".join(lines)


def _lines_of(floor: str, room: str) -> list[str]:
    if room in TO_COME:
        return [f"- `{room}` (not built): {TO_COME[room]}"]
    lines = [f"- `{room}`: {words_of(room)}"]
    for names in INSIDE.get(room, []):
        lines += [f"  - `{room}/{name}`: {words_of(f'{room}/{name}')}" for name in names if _stands(room, name)]
    return lines


def _stands(room: str, name: str) -> bool:
    return (SRC / room / name / "__init__.py").exists()
