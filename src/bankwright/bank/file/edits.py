"""Edits of a TOML text by splice: only the characters of one value, line or block change.

Gives: set_value(), drop_value(), add_block(), drop_block(): text, data and spans in, new text out. Comments, order,
line ends, quotes and spacing of everything else stay.
Limits: nothing is proved here; Document parses each result and compares it with the change that was asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from bankwright.bank.file.spans import Header, Path, Spans, path_text
from bankwright.bank.file.toml_text import key_text, value_text

__all__ = ["EditRefused", "add_block", "add_table", "drop_block", "drop_value", "set_value"]

_LINE_REST = re.compile(r"[ \t]*(?:#[^\n]*)?(?:\n|$)")


class EditRefused(ValueError):
    """The asked edit cannot be made as a splice, or its result would not be exactly that edit."""


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _line_end(text: str, offset: int) -> int:
    """Offset after the line break of the line that holds `offset`."""
    found = text.find("\n", offset)
    return len(text) if found < 0 else found + 1


def _line_start(text: str, offset: int) -> int:
    return text.rfind("\n", 0, offset) + 1


def set_value(text: str, at: Spans, path: Path, value: Any) -> str:
    """Replace the value of a path, or add the key where its table stands."""
    span = at.at.get(path)
    if span is not None:
        if span.kind != "value":
            raise EditRefused(f"{path_text(path)} is a table with lines of its own; change its keys one by one")
        return text[: span.start] + value_text(value) + text[span.end :]
    return _add_key(text, at, path, value)


def _add_key(text: str, at: Spans, path: Path, value: Any) -> str:
    depth = next((n for n in range(len(path) - 1, 0, -1) if path[:n] in at.at), 0)
    parent, rest = path[:depth], path[depth:]
    if isinstance(rest[0], int):
        return _add_item(text, at, parent, rest, value)
    span = at.at.get(parent)
    kind = "root" if span is None else span.kind
    names = [str(part) for part in rest]
    if any(isinstance(part, int) for part in rest):
        raise EditRefused(f"{path_text(path)}: there is no list at {path_text(path[: depth + 1])} yet")
    if kind == "value":
        return _add_inline(text, at, parent, names, value)
    if kind in ("header", "block"):
        header = next(h for h in at.headers if h.path == parent)
        return _line_after(text, header.last, _dotted(names, value))
    if kind == "dotted":
        return _add_dotted(text, at, parent, names, value)
    if kind == "root" and len(names) == 1:
        return _add_root(text, at, _dotted(names, value))
    if kind in ("root", "implied") and not any(isinstance(part, int) for part in parent):
        return _append_header(text, (*parent, *names[:-1]), _dotted(names[-1:], value))
    raise EditRefused(f"{path_text(path)}: no line can be added there")


def _dotted(names: Sequence[str], value: Any) -> str:
    return ".".join(map(key_text, names)) + " = " + value_text(value)


def _nested(names: Sequence[str], value: Any) -> str:
    for name in reversed(names[1:]):
        value = {name: value}
    return f"{key_text(names[0])} = {value_text(value)}"


def _line_after(text: str, offset: int, line: str) -> str:
    end, newline = _line_end(text, offset), _newline(text)
    if end == len(text) and not text.endswith("\n"):
        return text + newline + line + newline
    return text[:end] + line + newline + text[end:]


def _add_root(text: str, at: Spans, line: str) -> str:
    if at.root_last >= 0:
        return _line_after(text, at.root_last, line)
    first = _comment_start(text, at.headers[0].start) if at.headers else len(text)
    newline = _newline(text)
    lead = newline if text[:first] and not text[:first].endswith("\n") else ""
    return text[:first] + lead + line + newline + (newline if at.headers else "") + text[first:]


def _append_header(text: str, path: Path, line: str) -> str:
    newline = _newline(text)
    head = "[" + ".".join(key_text(str(part)) for part in path) + "]"
    lead = "" if not text else newline if text.endswith("\n") else newline * 2
    return f"{text}{lead}{head}{newline}{line}{newline}"


def _children(at: Spans, parent: Path) -> list[Path]:
    return [path for path in at.at if len(path) == len(parent) + 1 and path[: len(parent)] == parent]


def _add_inline(text: str, at: Spans, parent: Path, names: Sequence[str], value: Any) -> str:
    span, children = at.at[parent], _children(at, parent)
    if text[span.start] != "{":
        raise EditRefused(f"{path_text(parent)} is a value, it holds no keys")
    made = _nested(names, value)
    if not children:
        return text[: span.start] + "{ " + made + " }" + text[span.end :]
    last = max(_deep_end(at, child) for child in children)
    return text[:last] + ", " + made + text[last:]


def _deep_end(at: Spans, path: Path) -> int:
    """End of the last value at or under a path."""
    return max(span.end for other, span in at.at.items() if other[: len(path)] == path and span.kind == "value")


def _add_dotted(text: str, at: Spans, parent: Path, names: Sequence[str], value: Any) -> str:
    """Add a key to a table that is written as dotted keys: beside the last of them, spelt the same way."""
    owner = next(n for n in range(len(parent), -1, -1) if not n or at.at[parent[:n]].kind != "dotted")
    prefix = [str(part) for part in parent[owner:]]
    last = _deep_end(at, parent)
    if owner and at.at[parent[:owner]].kind == "value":
        return text[:last] + ", " + _dotted([*prefix, *names], value) + text[last:]
    return _line_after(text, last, _dotted([*prefix, *names], value))


def _add_item(text: str, at: Spans, parent: Path, rest: Path, value: Any) -> str:
    span, children = at.at.get(parent), _children(at, parent)
    if span is None or span.kind != "value" or text[span.start] != "[":
        raise EditRefused(f"{path_text((*parent, *rest))}: add a block instead")
    if rest[0] != len(children) or len(rest) > 1:
        raise EditRefused(f"{path_text(parent)} has {len(children)} items; the next is {len(children)}")
    made = value_text(value)
    if not children:
        return text[: span.start] + f"[{made}]" + text[span.end :]
    last = max(at.at[child].end for child in children)
    return text[:last] + ", " + made + text[last:]


def drop_value(text: str, at: Spans, path: Path) -> str:
    """Remove one key with its line, or one item or key of an inline list or table."""
    span = at.at.get(path)
    if span is None:
        raise EditRefused(f"{path_text(path)} is not in the file")
    if span.kind != "value":
        raise EditRefused(f"{path_text(path)} is a table with lines of its own; remove it as a block")
    start = _line_start(text, span.lead)
    rest = _LINE_REST.match(text, span.end)
    if rest and not text[start : span.lead].strip() and not _inside_inline(at, path):
        return text[:start] + text[rest.end() :]
    return _drop_inline(text, at, path)


def _inside_inline(at: Spans, path: Path) -> bool:
    return any(at.at[path[:n]].kind == "value" for n in range(1, len(path)) if path[:n] in at.at)


def _drop_inline(text: str, at: Spans, path: Path) -> str:
    """Cut an inline key or item with the comma that parts it from its neighbour."""
    span = at.at[path]
    after = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*,[ \t]*").match(text, span.end)
    if after:
        return text[: span.lead] + text[after.end() :]
    before = re.compile(r",[ \t\r\n]*$").search(text[: span.lead])
    if before:
        return text[: before.start()] + text[span.end :]
    return text[: span.lead] + text[span.end :]


def _comment_start(text: str, offset: int) -> int:
    """Offset of the comment that stands directly above a line, or of the line itself."""
    start = _line_start(text, offset)
    while start > 0:
        above = _line_start(text, start - 1)
        if not text[above:start].lstrip().startswith("#"):
            break
        start = above
    return start


def add_block(text: str, at: Spans, name: Path, values: Mapping[str, Any], comment: str = "") -> str:
    """Add a [[name]] block after the last of its kind, or at the end; to an inline list, an item."""
    span = at.at.get(name)
    if span is not None and span.kind == "value":
        return _add_item(text, at, name, (len(_children(at, name)),), dict(values))
    if span is not None and span.kind != "blocks":
        raise EditRefused(f"{path_text(name)} is a table, no list of blocks")
    last = [i for i, header in enumerate(at.headers) if header.path[: len(name)] == name]
    return _put_block(text, at, f"[[{_head(name)}]]", values, comment, after=last[-1] if last else None)


def add_table(text: str, at: Spans, path: Path, values: Mapping[str, Any], comment: str = "") -> str:
    """Add a [path] table after the last table with the same parent, or at the end."""
    if path in at.at and at.at[path].kind != "implied":
        raise EditRefused(f"{path_text(path)} is already in the file")
    last = [i for i, header in enumerate(at.headers) if header.path[: len(path) - 1] == path[:-1]]
    return _put_block(text, at, f"[{_head(path)}]", values, comment, after=last[-1] if last else None)


def _head(path: Path) -> str:
    return ".".join(key_text(part) for part in path if isinstance(part, str))


def _put_block(text: str, at: Spans, head: str, values: Mapping[str, Any], comment: str, *, after: int | None) -> str:
    newline = _newline(text)
    lines = [*(f"# {line}".rstrip() for line in comment.splitlines()), head]
    lines += [_dotted([key], value) for key, value in values.items()]
    block = newline.join(lines) + newline
    if after is None or after + 1 == len(at.headers):
        lead = "" if not text else newline if text.endswith("\n") else newline * 2
        return text + lead + block
    start = _comment_start(text, at.headers[after + 1].start)
    lead = "" if text[:start].endswith(newline * 2) else newline
    return text[:start] + lead + block + newline + text[start:]


def drop_block(text: str, at: Spans, path: Path) -> str:
    """Remove a [[name]] block or a [path] table with its sub-tables and the comment directly above it."""
    span = at.at.get(path)
    if span is None:
        raise EditRefused(f"{path_text(path)} is not in the file")
    if span.kind == "value":
        return drop_value(text, at, path)
    own = [i for i, header in enumerate(at.headers) if header.path[: len(path)] == path]
    if not own:
        raise EditRefused(f"{path_text(path)} has no header of its own")
    for i in reversed(own):
        start, end = _block_range(text, at.headers, i)
        text = text[:start] + text[end:]
    return text


def _block_range(text: str, headers: Sequence[Header], index: int) -> tuple[int, int]:
    start = _comment_start(text, headers[index].start)
    if index + 1 < len(headers):
        return start, _comment_start(text, headers[index + 1].start)
    end = _line_end(text, headers[index].last)
    while (
        start > 0 and text[_line_start(text, start - 1) : start].strip() == ""
    ):  # no blank lines left hanging at the end
        start = _line_start(text, start - 1)
    return start, end
