"""The manual of the bank file: every key with what may stand there and what it means, made from the written models.

Gives: manual(). `python -m bankwright.bank.manual docs/bank-file.md` writes it; a test compares the page with it.
Limits: the prose around the tables is in bank/manual_text.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from bankwright.bank.manual_text import HEAD, TAIL
from bankwright.bank.sizes import stud_sizes, wire_sizes
from bankwright.bank.toml_text import value_text
from bankwright.bank.written import Written
from bankwright.bank.written_keys import form_of, keys, table_of
from bankwright.forms.quantities import QUANTITIES

__all__ = ["manual"]


def manual() -> str:
    """The page as markdown."""
    parts = [
        HEAD.strip(),
        "## Every key",
        *_tables(Written, "", "Above the first table of the file"),
        _units(),
        TAIL.strip(),
    ]
    return "\n\n".join(parts) + "\n"


def _tables(model: type[BaseModel], path: str, words: str) -> Iterator[str]:
    """One table a model, then those below it."""
    title = f"`{path}`" if path else "Top level"
    rows = [
        f"| `{key}` | {_may(field)} | {field.description} |" for key, field in keys(model).items() if not _below(field)
    ]
    if rows:
        head = "| key | what may stand there | meaning |\n| --- | --- | --- |"
        yield f"### {title}\n\n{words}.\n\n{head}\n" + "\n".join(rows)
    for key, field in keys(model).items():
        table = table_of(field)
        if table is not None:
            yield from _tables(table[0], _heading(path, key, table[1]), (field.description or "").rstrip("."))


def _below(field: FieldInfo) -> bool:
    return table_of(field) is not None


def _heading(path: str, key: str, how: str) -> str:
    """`[kinds.module.NAME]`, `[[modules]]`, `kinds.module.NAME.posts`."""
    bare = path.strip("[]")
    name = f"{bare}.{key}" if bare else key
    if how == "blocks":
        return f"[[{name}]]"
    return f"[{name}.NAME]" if how == "named" else f"[{name}]" if not bare else name


def _may(field: FieldInfo) -> str:
    form = form_of(field)
    sample = form.sample.replace("|", "\\|")
    words = form.words.replace("|", "\\|")
    text = f"{words}: `{sample}`" if form.words != "one of" else sample.replace('"', "`")
    if field.is_required():
        return f"{text}; required"
    default = field.default
    if default in (None, "", (), []) or default is PydanticUndefined:
        return text
    shown = {30.0: '"30 s"'}.get(default) if isinstance(default, float) else value_text(default)
    return f"{text}; not given: `{shown}`"


def _units() -> str:
    rows = ["## Units", "", "| quantity | units |", "| --- | --- |"]
    for row in QUANTITIES.values():
        units = ", ".join(f"`{unit.symbol}`" for unit in row.units)
        rows.append(
            f"| {row.name.replace('_degc', '').replace('_kwh', '').replace('_ah', '').replace('_', ' ')} | {units} |"
        )
    rows += ["", f"Wire sizes: {', '.join(wire_sizes())}.", "", f"Studs: {', '.join(stud_sizes())}."]
    return "\n".join(rows)


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(manual(), "utf-8")
