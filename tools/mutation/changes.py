"""Small changes of a source file, each of which should make a test fail.

Gives: Change, changes_of(), KINDS. Kinds: "number" (a constant times a factor; a whole number below 10 plus one), "compare"
(< and <= for each other, > and >= too, == and !=), "swap" (min and max for each other), "term" (one side of + - * / dropped),
"case" (an `if` that never holds, one side of `and` or `or` dropped), "entry" (one entry of a table of the module left out).
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

__all__ = ["KINDS", "SRC", "Change", "changes_of"]

SRC = Path(__file__).parents[2] / "src" / "bankwright"
KINDS = ("number", "compare", "swap", "term", "case", "entry")
# numbers of a method, an order or a text, which decide no verdict
OF_THE_METHOD = {
    "_RANK", "EQUAL", "SAME", "_SAME", "_MOST_STEPS", "_WITHOUT_LUG", "_LEAST_AREA", "MAX_STEPS", "LEAST_HELP", "STILL", "_ROLE",
    "_ROUNDING", "LONGEST", "HOURS", "NOTHING", "MAX_METAL_DEGC", "SMALLEST_BRANCH", "_POST_AT", "HALF", "__all__", "CHECKS",
}  # fmt: skip
TURNED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
}  # fmt: skip
WORDS = ast.JoinedStr | ast.List | ast.Tuple | ast.Set | ast.Dict | ast.ListComp


@dataclass(frozen=True)
class Change:
    """Characters from `start` to `end` of a file become `new`; `place` is the function or the name it stands in."""

    file: str
    place: str
    kind: str
    line: int
    start: int
    end: int
    old: str
    new: str
    head: int | None  # the line of the outermost function; None where the module itself is changed
    which: int = 1  # of those alike in one place

    @property
    def key(self) -> str:
        """The head of its row; the line is left out, so that a row is found again."""
        which = f" ({self.which})" if self.which > 1 else ""
        return f"| {self.file} | {self.place} | {_short(self.old)} -> {_short(self.new) or 'left out'}{which} |"

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the changed constant; more than one where they are set together."""
        return tuple(part for part in (each.strip(" ()") for each in self.place.split(",")) if part)

    def applied(self, text: str) -> str:
        """The changed text of the file."""
        return text[: self.start] + self.new + text[self.end :]


def _short(text: str) -> str:
    one = " ".join(text.split()).replace("|", "or")
    return one if len(one) <= 60 else f"{one[:40]} ... {one[-15:]}"


class _File:
    def __init__(self, file: Path, by: float) -> None:
        self.text = file.read_text("utf-8")
        self.path = str(file.relative_to(SRC))
        self.by = by
        self.lines = [0]
        for line in self.text.splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(line))
        self.raw = self.text.splitlines(keepends=True)

    def at(self, line: int, column: int) -> int:
        return self.lines[line - 1] + len(self.raw[line - 1].encode()[:column].decode())

    def span(self, node: ast.expr) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.at(node.lineno, node.col_offset), self.at(node.end_lineno, node.end_col_offset)

    def of(self, node: ast.expr) -> str:
        start, end = self.span(node)
        return self.text[start:end]


def changes_of(file: Path, by: float = 1.02, kinds: tuple[str, ...] = KINDS) -> list[Change]:
    """All changes of one file, in the order of its lines."""
    source, found = _File(file, by), []
    for name, head, node in _places(ast.parse(source.text).body, ""):
        for kind, start, end, new in _in(node, source, head is None):
            if kind in kinds and new != source.text[start:end]:
                line = source.text.count("\n", 0, start) + 1
                old = source.text[start:end]
                found.append(Change(source.path, name, kind, line, start, end, old, new, head))
    return _counted(sorted(set(found), key=lambda change: (change.start, change.end, change.new)))


def _counted(found: list[Change]) -> list[Change]:
    alike: Counter[str] = Counter()
    told = []
    for change in found:
        alike[change.key] += 1
        told.append(replace(change, which=alike[change.key]))
    return told


def _places(body: list[ast.stmt], inside: str) -> Iterator[tuple[str, int | None, ast.AST]]:
    """Name, line of the function (None for a table) and node of what is gone through; classes by their methods."""
    for place in body:
        if isinstance(place, ast.FunctionDef):
            first = min([place.lineno, *(each.lineno for each in place.decorator_list)])
            yield f"{inside}{place.name}()", first, ast.Module(place.body, [])
        elif isinstance(place, ast.ClassDef):
            yield from _places([each for each in place.body if isinstance(each, ast.FunctionDef)], f"{place.name}.")
        elif isinstance(place, ast.Assign | ast.AnnAssign) and place.value is not None:
            name = ast.unparse(place.targets[0] if isinstance(place, ast.Assign) else place.target)
            if name not in OF_THE_METHOD:
                yield name, None, place.value


def _in(top: ast.AST, source: _File, table: bool) -> Iterator[tuple[str, int, int, str]]:
    queue: list[ast.AST] = [top]
    while queue:
        node = queue.pop()
        if isinstance(node, ast.JoinedStr | ast.Assert | ast.Raise) or _is_words(node):
            continue
        queue += ast.iter_child_nodes(node)
        if table:
            yield from _entries(node, source)
        if isinstance(node, ast.expr | ast.stmt):
            yield from _of_node(node, source, table)


def _is_words(node: ast.AST) -> bool:
    """Calls that only make words for people: nothing in them decides."""
    return (
        isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("say", "Source", "place_of")
    )


def _of_node(node: ast.AST, source: _File, table: bool) -> Iterator[tuple[str, int, int, str]]:
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        if table or node.value not in (0, 1, 2, -1):
            yield "number", *source.span(node), _scaled(node, source.by)
    elif isinstance(node, ast.Compare):
        yield from _turned(node, source)
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("min", "max"):
        yield "swap", *source.span(node), ("max" if node.func.id == "min" else "min") + source.of(node)[3:]
    elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub | ast.Mult | ast.Div):
        if not isinstance(node.left, WORDS) and not isinstance(node.right, WORDS) and not _has_text(node):
            yield "term", *source.span(node), f"({source.of(node.left)})"
            if isinstance(node.op, ast.Add | ast.Mult):
                yield "term", *source.span(node), f"({source.of(node.right)})"
    elif isinstance(node, ast.BoolOp):
        for each in node.values:
            rest = [f"({source.of(other)})" for other in node.values if other is not each]
            yield (
                "case",
                *source.span(node),
                "(" + (" and " if isinstance(node.op, ast.And) else " or ").join(rest) + ")",
            )
    elif isinstance(node, ast.If):
        yield "case", *source.span(node.test), "False"


def _has_text(node: ast.BinOp) -> bool:
    return any(isinstance(each, ast.Constant) and isinstance(each.value, str) for each in (node.left, node.right))


def _scaled(node: ast.Constant, by: float) -> str:
    value = node.value
    assert isinstance(value, int | float)
    if isinstance(value, int) and value < 10:
        return str(value + 1)
    return f"{value * by:.9g}" if value else "0.02"


def _turned(node: ast.Compare, source: _File) -> Iterator[tuple[str, int, int, str]]:
    left = node.left
    for operator, right in zip(node.ops, node.comparators, strict=True):
        new = TURNED.get(type(operator))
        if new is not None:
            start, end = source.span(left)[1], source.span(right)[0]
            between = source.text[start:end]
            old = next(each for each in ("<=", ">=", "==", "!=", "<", ">") if each in between)
            at = start + between.index(old)
            first, last = source.span(node)
            yield "compare", first, last, source.text[first:at] + new + source.text[at + len(old) : last]
        left = right


def _entries(node: ast.AST, source: _File) -> Iterator[tuple[str, int, int, str]]:
    if isinstance(node, ast.Tuple | ast.List | ast.Set) and len(node.elts) > 2:
        pairs = [(source.span(each)[0], source.span(each)[1]) for each in node.elts]
    elif isinstance(node, ast.Dict) and len(node.keys) > 1:
        pairs = [
            (source.span(key)[0] if key else source.span(value)[0] - 2, source.span(value)[1])
            for key, value in zip(node.keys, node.values, strict=True)
        ]
    else:
        return
    for start, end in pairs:
        comma = source.text[end:].lstrip()
        yield "entry", start, end + (len(source.text[end:]) - len(comma) + 1 if comma.startswith(",") else 0), ""
