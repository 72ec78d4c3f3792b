"""The floors of the house: a room imports only what stands on a lower floor."""

import ast
from pathlib import Path

import pytest

SRC = Path(__file__).parents[2] / "src" / "bankwright"

# lower number = lower floor; rooms with the same number never import each other (report may import draw)
FLOOR = {
    "forms": 0,
    "handbook": 1,
    "physics": 1,
    "bank": 2,
    "circuit": 3,
    "logbook": 3,
    "bus": 3,
    "plan": 4,
    "buy": 4,
    "build": 4,
    "match": 4,
    "prove": 4,
    "watch": 4,
    "job": 5,
    "draw": 6,
    "report": 6,
    "web": 7,
    "cli": 7,
}
ALSO_ALLOWED = {("report", "draw"), ("cli", "web")}  # `open` starts the page
DRAW_KNOWS = {"forms", "handbook", "physics", "bank", "circuit", "draw"}


def modules():
    return sorted(SRC.rglob("*.py"))


def room_of(path):
    part = path.relative_to(SRC).parts[0]
    return part.removesuffix(".py")


def imported_rooms(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import; write it in full"
            names = [node.module or ""]
            if node.module == "bankwright":
                names = [f"bankwright.{alias.name}" for alias in node.names]
        for name in names:
            if name == "bankwright" or name.startswith("bankwright."):
                yield (name.split(".") + [""])[1], node.lineno


def allowed(room, other):
    if room == other or (room, other) in ALSO_ALLOWED:
        return True
    if room == "draw":
        return other in DRAW_KNOWS
    return FLOOR[other] < FLOOR[room]


def test_every_room_has_a_floor():
    rooms = {room_of(path) for path in modules()} - {"__init__", "__main__"}
    assert rooms <= set(FLOOR), f"no floor for {rooms - set(FLOOR)}"


def test_a_room_imports_only_lower_floors():
    wrong = []
    for path in modules():
        room = room_of(path)
        if room in ("__init__", "__main__"):
            continue
        for other, line in imported_rooms(path):
            if other in ("", "__init__"):
                wrong.append(f"{path.relative_to(SRC)}:{line} imports the package root")
            elif not allowed(room, other):
                wrong.append(f"{path.relative_to(SRC)}:{line} imports {other}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("room", "other"), [("forms", "bank"), ("plan", "buy"), ("draw", "plan"), ("circuit", "logbook")]
)
def test_the_guard_would_notice(room, other):
    assert not allowed(room, other)


def test_no_star_imports_and_no_circles():
    edges: dict[str, set[str]] = {}
    known = {".".join(("bankwright", *path.relative_to(SRC).with_suffix("").parts)) for path in modules()}
    for path in modules():
        name = ".".join(("bankwright", *path.relative_to(SRC).with_suffix("").parts)).removesuffix(".__init__")
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in tree.body:  # imports inside functions run later and cannot make a circle at load time
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("bankwright"):
                assert all(alias.name != "*" for alias in node.names), f"{path}: star import"
                inner = {f"{node.module}.{alias.name}" for alias in node.names}
                edges.setdefault(name, set()).update((inner & known) or {node.module})
    done: set[str] = set()

    def walk(name, trail):
        assert name not in trail, " -> ".join((*trail, name))
        if name in done:
            return
        for other in edges.get(name, ()):
            walk(other, (*trail, name))
        done.add(name)

    for name in list(edges):
        walk(name, ())
