"""Who imports whom in the source tree; every import counts: at the top, in a function, for types, by name at run time.

Gives: MODULES, imports_of(), graph(), circle(), reached_from().
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from support.source import parsed

SRC = Path(__file__).parents[2] / "src" / "bankwright"


def name_of(path: Path) -> str:
    return ".".join(("bankwright", *path.relative_to(SRC).with_suffix("").parts)).removesuffix(".__init__")


MODULES: dict[str, Path] = {name_of(path): path for path in sorted(SRC.rglob("*.py"))}


def imports_of(tree: ast.AST, known: Mapping[str, object]) -> Iterator[tuple[str, int]]:
    """Modules of ours that a tree imports anywhere in it, with the line; a name of a module counts as that module."""
    for node in ast.walk(tree):
        for name in _names(node, known):
            if name == "bankwright" or name.startswith("bankwright."):
                yield name, getattr(node, "lineno", 0)


def _names(node: ast.AST, known: Mapping[str, object]) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        assert node.level == 0, f"line {node.lineno}: relative import; write it in full"
        assert all(alias.name != "*" for alias in node.names), f"line {node.lineno}: star import"
        full = [f"{node.module}.{alias.name}" for alias in node.names]
        return [name if name in known else str(node.module) for name in full]
    if isinstance(node, ast.Call) and node.args and _called(node.func) in ("import_module", "__import__"):
        return _loaded(node.args[0], known)
    return []


def _called(function: ast.expr) -> str:
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _loaded(argument: ast.expr, known: Mapping[str, object]) -> list[str]:
    """What import_module() is asked for: a written name, or the head of a name that is put together."""
    if isinstance(argument, ast.Constant):
        return [str(argument.value)]
    if isinstance(argument, ast.JoinedStr) and isinstance(argument.values[0], ast.Constant):
        head = str(argument.values[0].value).rstrip(".")
        return [name for name in known if name.startswith(f"{head}.") and name.count(".") == head.count(".") + 1]
    return []


@lru_cache(maxsize=1)
def graph() -> dict[str, dict[str, int]]:
    """For each module, what it imports and on which line."""
    return {
        name: {other: line for other, line in imports_of(parsed(path.read_text("utf-8")), MODULES) if other != name}
        for name, path in MODULES.items()
    }


def circle(edges: Mapping[str, Mapping[str, object]]) -> list[str] | None:
    """A round trip, if there is one."""
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> list[str] | None:
        if name in trail:
            return [*trail[trail.index(name) :], name]
        if name in done:
            return None
        done.add(name)
        return next((found for other in edges.get(name, ()) if (found := walk(other, (*trail, name)))), None)

    return next((found for name in edges if (found := walk(name, ()))), None)


def reached_from(name: str, edges: Mapping[str, Mapping[str, object]]) -> dict[str, str]:
    """Everything that can be reached from a module, each with the module that led there."""
    found: dict[str, str] = {}
    waiting = [name]
    while waiting:
        here = waiting.pop()
        for other in edges.get(here, ()):
            if other not in found:
                found[other] = here
                waiting.append(other)
    return found
