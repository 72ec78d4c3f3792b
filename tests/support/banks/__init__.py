"""Banks for tests, all read through bank/read: a sample, a text, or one written from a few keys.

Gives: sample("two"), document(), changed(); bank_of(text) for a text of a test's own; bank_text() and bank_with() write
a bank of like modules; M100, the one invented module, only() for a part of it and module_kind() for it as it is read;
written() for any tables. All data invented. Builders of whole kinds of banks stand beside: drawn, rack, wired.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import ModuleKind
from bankwright.bank.read import bank_from, bank_from_text, read_bank

__all__ = [
    "BANKS", "M100", "Keys", "bank_of", "bank_text", "bank_with", "changed", "document", "like_modules", "module_kind",
    "only", "sample", "sample_path", "written",
]  # fmt: skip

BANKS = Path(__file__).parent
Keys = Mapping[str, Any]
M100: Keys = {
    "cells": 16,
    "capacity": "100 Ah",
    "energy": "5.12 kWh",
    "mass": "46 kg",
    "height": "133.35 mm",
    "depth": "480 mm",
    "resistance": {
        "dc": "14 mohm +- 3 mohm",
        "surge": "9 mohm +- 2 mohm",
        "surge_after": "10 s",
        "ohmic": "6 mohm +- 1 mohm",
        "cells": "12 mohm",
    },
    "discharge": {"continuous": "100 A", "trip": "150 A +- 10 % for 3 s"},
    "charge": {"continuous": "50 A", "trip": "110 A +- 10 % for 3 s", "cell_full": "3.65 V"},
    "posts": {"pairs": 1, "stud": "M8", "lugs": 2, "torque": "10 N m"},
    "address": {"switches": 4, "first": 1},
}


def sample_path(name: str) -> Path:
    """Path of a sample bank file."""
    return BANKS / f"{name}.toml"


def sample(name: str) -> Bank:
    """Read a sample bank."""
    return read_bank(sample_path(name))


def document(name: str) -> Document:
    """Open a sample bank file as a document."""
    return Document.read(sample_path(name))


def bank_of(text: str) -> Bank:
    """Read a bank from a text."""
    return bank_from_text(text, BANKS / "text.toml")


def changed(name: str, **values: object) -> Bank:
    """Read a sample bank with values changed; two underscores stand for a dot: wiring__feed="same end"."""
    made = document(name)
    for path, value in values.items():
        made = made.with_value(path.replace("__", "."), value)
    return bank_from(made)


def only(*keys: str, **instead: Any) -> Keys:
    """The keys of the invented module that are named, "discharge.continuous" for one of a table; others put in."""
    found: dict[str, Any] = {}
    for key in keys:
        head, _, inner = key.partition(".")
        if inner:
            found.setdefault(head, {})[inner] = M100[head][inner]
        else:
            found[head] = M100[head]
    return {**found, **instead}


def module_kind(keys: Keys = M100, name: str = "M100") -> ModuleKind:
    """A kind of module as the reader makes it."""
    return bank_with(1, keys, kind=name, wiring={"pattern": "chain", "feed": "same end"}).modules[0].kind


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def written(tables: Keys) -> str:
    """TOML: a mapping becomes a table, a list of mappings an array of tables; within them in line; None is left out."""
    text = ""
    for head, value in tables.items():
        many = isinstance(value, list) and value and isinstance(value[0], Mapping)
        for each in value if many else [value]:
            if isinstance(each, Mapping):
                text += f"[[{head}]]\n" if many else f"[{head}]\n"
                text += "".join(f"{key} = {_value(inner)}\n" for key, inner in each.items() if inner is not None)
            elif each is not None:
                text += f"{head} = {_value(each)}\n"
    return text


def like_modules(kinds: int | Sequence[str], kind: str = "M100", slots: bool = False) -> str:
    """Modules M1, M2 ... of one kind, or of the kinds named one by one; in slots 1, 2 ... if told."""
    names = [kind] * kinds if isinstance(kinds, int) else list(kinds)
    rows = [{"name": f"M{n}", "kind": each, "slot": n if slots else None} for n, each in enumerate(names, 1)]
    return written({"modules": rows}) if rows else ""


def bank_text(
    modules: int | Sequence[str], module: Keys = M100, *, kind: str = "M100", head: Keys | None = None,
    wiring: Keys | None = None, slots: bool = False, inverter: Keys | None = None, box: str = "inv", inverters: int = 1,
    more: Keys | None = None,
) -> str:  # fmt: skip
    """A bank: keys at the head, kinds, modules, inverters of one kind where it is given, wiring, more tables.

    So many modules of one kind; or the kinds of M1, M2 ... by name, and `module` then gives the keys of each by name.
    """
    kinds = {kind: module} if isinstance(modules, int) else module
    text = written({"format": 1, **(head or {}), **{f"kinds.module.{name}": keys for name, keys in kinds.items()}})
    text += written({f"kinds.inverter.{box}": inverter}) + like_modules(modules, kind, slots)
    boxes = [{"name": f"I{n}", "kind": box} for n in range(1, inverters + 1)]
    text += written({"inverters": boxes}) if inverter is not None else ""
    return text + written({"wiring": wiring}) + written(more or {})


def bank_with(modules: int, module: Keys = M100, **given: Any) -> Bank:
    """The bank of bank_text()."""
    return bank_of(bank_text(modules, module, **given))
