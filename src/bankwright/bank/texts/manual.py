"""The manual of the bank file: every key with what may stand there and what it means, made from the written models.

Gives: manual(), example(), examples(). `python -m bankwright.bank.texts.manual docs/bank-file.md` writes it; a test
compares the page with it.
Limits: the prose around the tables is in bank/texts/manual_text, the examples in examples.toml.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from bankwright.bank.file.toml_text import value_text
from bankwright.bank.sizes import stud_sizes, wire_sizes
from bankwright.bank.texts.manual_text import HEAD, TAIL
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.keys import form_of, keys, table_of
from bankwright.bank.written.values import Strict
from bankwright.forms.quantities import QUANTITIES

__all__ = ["example", "examples", "manual"]


def manual() -> str:
    """The page as markdown."""
    parts = [
        HEAD.strip(),
        "## Every key",
        *_tables(Written, "", "Above the first table of the file", {}),
        _units(),
        TAIL.strip(),
    ]
    return "\n\n".join(parts) + "\n"


@cache
def examples() -> Mapping[str, Mapping[str, object]]:
    """Examples by the name of a model and a key of it."""
    return tomllib.loads(files("bankwright.bank.texts").joinpath("examples.toml").read_text("utf-8"))


def example(model: type[BaseModel], key: str) -> str | None:
    """The example of a key as it is written in a file: the model's own, else that of the model it is made of."""
    for each in model.__mro__:
        if key in examples().get(each.__name__, {}):
            return value_text(examples()[each.__name__][key])
    return None


def _tables(model: type[BaseModel], path: str, words: str, told: dict[type[BaseModel], str]) -> Iterator[str]:
    """One table a model, then those below it; what stands in an earlier table is named, not told again."""
    title = f"`{path}`" if path else "Top level"
    base = next((each for each in model.__mro__ if each in told), None)
    shared = keys(base) if base is not None else {}
    own = {key: field for key, field in keys(model).items() if key not in shared and not _below(field)}
    rows = [f"| `{key}` | {_may(model, key, field)} | {field.description} |" for key, field in own.items()]
    paragraphs = [f"### {title}", f"{words}."]
    if base is not None:
        paragraphs.append(f"Every key of [{told[base]}](#{_anchor(told[base])})" + (", and:" if rows else "."))
    if rows:
        paragraphs.append("| key | what may stand there | meaning |\n| --- | --- | --- |\n" + "\n".join(rows))
    if rows or base is not None:
        yield "\n\n".join(paragraphs)
    for each in model.__mro__:
        if isinstance(each, type) and issubclass(each, Strict) and each is not Strict:
            told.setdefault(each, title)
    for key, field in sorted(keys(model).items(), key=lambda item: path == "[kinds]" and item[0] != "device"):
        table = table_of(field)
        if table is not None and key not in shared:
            yield from _tables(table[0], _heading(path, key, table[1]), (field.description or "").rstrip("."), told)


def _anchor(title: str) -> str:
    """The anchor that a heading has in the manual."""
    return re.sub(r"[^\w\- ]", "", title.strip().lower()).replace(" ", "-")


def _below(field: FieldInfo) -> bool:
    return table_of(field) is not None


def _heading(path: str, key: str, how: str) -> str:
    """`[kinds.module.NAME]`, `[[modules]]`, `kinds.module.NAME.posts`."""
    bare = path.strip("[]")
    name = f"{bare}.{key}" if bare else key
    if how == "blocks":
        return f"[[{name}]]"
    return f"[{name}.NAME]" if how == "named" else f"[{name}]" if not bare else name


def _may(model: type[BaseModel], key: str, field: FieldInfo) -> str:
    form = form_of(field)
    sample = (example(model, key) or form.sample).replace("|", "\\|")
    words = form.words.replace("|", "\\|")
    told = words if "..." in sample else f"{words}: `{sample}`"
    text = told if form.words != "one of" else form.sample.replace("|", "\\|").replace('"', "`")
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
