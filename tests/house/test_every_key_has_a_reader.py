"""A key that may be written in a bank file is read by something that computes, checks, draws or says it."""

from __future__ import annotations

import dataclasses
import re

import pytest
from pydantic import BaseModel

from bankwright.bank import model, model_bus, model_kinds, model_watch
from bankwright.bank.written.bank_file import Written, WrittenKinds
from bankwright.bank.written.keys import keys, table_of
from bankwright.forms import readings
from support.readers import names_in, reads

pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("readers")]  # the type checker reads the source once

MAKERS = re.compile(r"bankwright\.bank\.(model\w*|(written|unfold|rules|texts)\.\w+)")

NO_KEY = {  # fields that no key of the file stands behind, or that unfolding itself puts to use
    "BarPiece.pole": "follows from its two posts",
    "ChargerKind.terminals": "become the posts of the charger",
    "InverterKind.charger": "becomes a charger of the bank",
    "InverterKind.terminals": "become the posts of the inverter",
    "PostSpec.pairs": "become second posts",
    "PostSpec.inner": "becomes the resistance of the inner bars",
    "Device.at": "becomes the distance along the cable",
}
WRITTEN_ONLY = {"format": "its only value is demanded by its type"}


def fields() -> list[tuple[str, str, str]]:
    found = []
    for room in (model_kinds, model_bus, model_watch, model, readings):
        for name in room.__all__:
            made = getattr(room, name)
            if isinstance(made, type) and dataclasses.is_dataclass(made):
                found += [(f"{room.__name__}.{name}", name, field.name) for field in dataclasses.fields(made)]
    return found


def dead() -> set[str]:
    read = reads()
    return {
        f"{name}.{field}"
        for owner, name, field in fields()
        if not [module for module in read.of(owner, field) if not MAKERS.fullmatch(module)]
        and name not in ("Reading", "Columns")
    }


def test_every_field_of_the_bank_is_read():
    unread = dead() - NO_KEY.keys()
    assert not unread, f"nothing reads {', '.join(sorted(unread))}: give the key a reader, or retire it"


def test_the_list_names_only_what_is_unread():
    gone = NO_KEY.keys() - dead()
    assert not gone, f"these have a reader now; take them off the list: {', '.join(sorted(gone))}"


def test_the_guard_tells_fields_of_one_name_apart():
    # `listing` of the room is read by the places of plan, that of a module by its marks and the list of parts
    read = reads()
    site, kind = (read.of(f"bankwright.bank.{name}", "listing") for name in ("model.Site", "model_kinds.ModuleKind"))
    assert "bankwright.plan.checks.place" in site
    assert kind == {"bankwright.bank.pieces.frame", "bankwright.plan.checks.marks"}
    assert not read.of("bankwright.bank.model.Site", "no_such_field")


def tables(root: type[BaseModel], path: str = "") -> list[tuple[str, str]]:
    found = []
    for key, field in keys(root).items():
        whole = f"{path}.{key}" if path else key
        name = next(name for name, each in root.model_fields.items() if each is field)
        found.append((whole, name))
        table = table_of(field)
        if table is not None:
            found += tables(table[0], whole)
    return found


def test_every_written_key_is_unfolded():
    read = {name for part in ("unfold", "file.includes", "read") for name in names_in(f"bankwright.bank.{part}")}
    read |= {field for _, name, field in fields() if name == "RackKind"}  # handed on as they stand
    for root in (Written, WrittenKinds):
        lost = [path for path, name in tables(root) if name not in read and name not in WRITTEN_ONLY]
        assert not lost, f"nothing takes {', '.join(lost)} out of the written file"
