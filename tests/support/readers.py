"""Who reads which field: every attribute of the source with the class of its object, as the type checker sees it.

Gives: Reads, reads(). `reads().of("bankwright.bank.model.Site", "door")` are the modules that read that field.
Limits: fields read by getattr() with a name in a variable are not seen; libraries are not followed.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from mypy import build
from mypy.find_sources import create_source_list
from mypy.nodes import Expression, MemberExpr
from mypy.options import Options
from mypy.types import Instance, Type, UnionType, get_proper_type

__all__ = ["SRC", "Reads", "names_in", "reads"]

SRC = Path(__file__).parents[2] / "src"


@dataclass(frozen=True)
class Reads:
    """All reads of fields: (class, field) -> modules."""

    found: dict[tuple[str, str], frozenset[str]]

    def of(self, owner: str, field: str) -> frozenset[str]:
        """Modules that read a field of a class."""
        return self.found.get((owner, field), frozenset())


def _modules() -> Iterator[tuple[str, Path]]:
    for path in sorted(SRC.joinpath("bankwright").rglob("*.py")):
        yield ".".join(path.relative_to(SRC).with_suffix("").parts), path


def _attributes() -> dict[tuple[int, int, int | None, str], list[str]]:
    """Where each attribute stands; the checker tells lines and columns, but not the file."""
    where: dict[tuple[int, int, int | None, str], list[str]] = {}
    for module, path in _modules():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Attribute):
                where.setdefault((node.lineno, node.col_offset, node.end_col_offset, node.attr), []).append(module)
    return where


def names_in(prefix: str) -> frozenset[str]:
    """Names that modules with this beginning read, of whatever class: as attributes, or as a word handed to a call."""
    found: set[str] = set()
    for module, path in _modules():
        if module.startswith(prefix):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Attribute):
                    found.add(node.attr)
                elif isinstance(node, ast.Call):
                    found |= {
                        arg.value for arg in node.args if isinstance(arg, ast.Constant) and type(arg.value) is str
                    }
    return frozenset(found)


def _types() -> dict[Expression, Type]:
    options = Options()
    options.export_types = True
    options.preserve_asts = True
    options.incremental = False
    options.cache_dir = "/dev/null"
    options.follow_imports = "skip"
    options.ignore_missing_imports = True
    options.namespace_packages = True
    options.explicit_package_bases = True
    options.mypy_path = [str(SRC)]
    options.python_executable = sys.executable
    return build.build(create_source_list([str(SRC / "bankwright")], options), options).types


@cache
def reads() -> Reads:
    """Read the whole source once; some seconds."""
    where, types = _attributes(), _types()
    found: dict[tuple[str, str], set[str]] = {}
    for node in types:
        if not isinstance(node, MemberExpr) or node.expr not in types:
            continue
        whole = get_proper_type(types[node.expr])
        for part in whole.items if isinstance(whole, UnionType) else [whole]:
            proper = get_proper_type(part)
            if isinstance(proper, Instance) and proper.type.fullname.startswith("bankwright"):
                modules = where.get((node.line, node.column, node.end_column, node.name), [])
                found.setdefault((proper.type.fullname, node.name), set()).update(modules)
    return Reads({key: frozenset(modules) for key, modules in found.items()})
