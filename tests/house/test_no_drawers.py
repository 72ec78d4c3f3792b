"""No drawer holds whatever is put into it: what an object or a module keeps has types.

A drawer is a dictionary with values of any kind that outlives a call: a field or attribute of a class, a property, a
name at the top of a module that starts empty. What is passed along for JSON, templates and parsed files is none.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

SRC = Path(__file__).parents[2] / "src" / "bankwright"
VALUES_OF_OTHERS = {  # values of any kind by their nature
    "bank/file/document.py: data": "a bank file as parsed, before anything is checked",
    "web/api/shapes.py: changes": "a body of JSON, told by its schema",
}
DICTS = {"dict", "Dict", "MutableMapping", "defaultdict"}  # a Mapping is read only


def _any_dict(note: ast.expr | None) -> bool:
    """Whether an annotation holds a dictionary whose values are Any."""
    for node in ast.walk(note) if note is not None else ():
        if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") in DICTS:
            last = node.slice.elts[-1] if isinstance(node.slice, ast.Tuple) else node.slice
            if getattr(last, "id", "") == "Any":
                return True
    return False


def _empty(value: ast.expr | None) -> bool:
    """Whether a name starts as an empty dictionary, to be filled later; a table of constants is no drawer."""
    return value is None or (isinstance(value, ast.Dict) and not value.keys) or isinstance(value, ast.Call)


def _attributes(tree: ast.Module) -> list[tuple[str, ast.expr | None]]:
    found = [(n.target, n.annotation) for n in tree.body if isinstance(n, ast.AnnAssign) and _empty(n.value)]
    names: list[tuple[str, ast.expr | None]] = [(getattr(t, "id", "?"), note) for t, note in found]
    for each in ast.walk(tree):
        if not isinstance(each, ast.ClassDef):
            continue
        for node in ast.walk(each):
            if isinstance(node, ast.AnnAssign) and (node in each.body or isinstance(node.target, ast.Attribute)):
                names.append((getattr(node.target, "id", "") or getattr(node.target, "attr", "?"), node.annotation))
            elif isinstance(node, ast.FunctionDef) and any("property" in ast.dump(d) for d in node.decorator_list):
                names.append((node.name, node.returns))
    return names


def drawers(text: str) -> list[str]:
    """Names of a module's drawers."""
    return [name for name, note in _attributes(parsed(text)) if _any_dict(note)]


def test_nothing_keeps_a_drawer_of_any() -> None:
    found = {
        f"{path.relative_to(SRC).as_posix()}: {name}"
        for path in SRC.rglob("*.py")
        for name in drawers(path.read_text(encoding="utf-8"))
    }
    assert found == set(VALUES_OF_OTHERS)


def test_what_a_plan_keeps_is_touched_by_once_alone() -> None:
    for path in (SRC / "plan").rglob("*.py"):
        if path.name != "once.py":
            assert ".results[" not in path.read_text(encoding="utf-8"), path


@pytest.mark.parametrize(
    "text",
    [
        "class A:\n    @cached_property\n    def kept(self) -> dict[tuple[str, str], Any]:\n        return {}\n",
        "class A:\n    def __init__(self) -> None:\n        self.kept: dict[str, Any] = {}\n",
        "class A:\n    kept: dict[str, list[dict[str, Any]]]\n",
        "KEPT: dict[str, Any] = {}\n",
        "class A:\n    kept: MutableMapping[str, Any]\n",
    ],
)
def test_a_drawer_is_seen(text: str) -> None:
    assert drawers(text)


def test_what_has_types_is_no_drawer() -> None:
    assert not drawers("class A:\n    kept: dict[str, int]\n    def f(self) -> dict[str, Any]:\n        return {}\n")
