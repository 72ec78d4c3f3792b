"""Alike modules by count: the same bank as with one entry each; faults are told at the entry."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from_text, faults_in
from bankwright.bank.texts.starter import Start, starter
from bankwright.bank.written.alike import names_alike
from bankwright.job import Job
from bankwright.web.sections import fresh_like

HERE = Path("bank.toml")
ALONE = starter(Start(modules=4, pattern="chain"))
HEAD, REST = ALONE.split("# ---- what stands there")[0], "# ---- how" + ALONE.split("# ---- how", 1)[1]


def by_count(block: str) -> str:
    return f"{HEAD}[[modules]]\n{block}\n\n{REST}"


FOUR = by_count('name = "M1"\ncount = 4\nkind = "module"\nslot = 1')


def test_it_is_the_same_bank() -> None:
    one, other = bank_from_text(ALONE, HERE), bank_from_text(FOUR, HERE)
    assert [(m.name, m.slot, m.posts) for m in other.modules] == [(m.name, m.slot, m.posts) for m in one.modules]
    assert [link.name for link in other.links] == [link.name for link in one.links]
    assert {m.origin.path for m in other.modules} == {"modules[0]"}


def test_plan_finds_the_same() -> None:
    one, other = (Job(HERE, text).findings for text in (ALONE, FOUR))
    assert [(f.code, f.at, f.verdict) for f in one] == [(f.code, f.at, f.verdict) for f in other]


@pytest.mark.parametrize(
    ("name", "count", "names"),
    [("M1", 3, ("M1", "M2", "M3")), ("M9", 2, ("M9", "M10")), ("Left ", 2, ("Left 1", "Left 2")), ("7", 2, ("7", "8")),
     ("M", 1, ("M",))],
)  # fmt: skip
def test_names_count_on(name: str, count: int, names: tuple[str, ...]) -> None:
    assert names_alike(name, count) == names


@pytest.mark.parametrize(
    ("block", "path"),
    [
        ('name = "M1"\ncount = 0\nkind = "module"', "modules[0].count"),
        ('name = "M1"\ncount = 65\nkind = "module"', "modules[0].count"),
        ('name = "M1"\ncount = "4"\nkind = "module"', "modules[0].count"),
        ('name = "M1"\ncount = 4\nkind = "other"', "modules[0].kind"),
        ('name = "M1"\ncount = 2\nkind = "module"\n\n[[modules]]\nname = "M2"\nkind = "module"', "modules[1].name"),
        ('name = "M1"\ncount = 2\nkind = "module"\nslot = 1\n\n[[modules]]\nname = "X"\nkind = "module"\nslot = 2',
         "modules[1].slot"),
    ],
)  # fmt: skip
def test_faults_are_told_at_their_entry(block: str, path: str) -> None:
    assert path in {fault.path for fault in faults_in(by_count(block), HERE)}


def test_another_one_like_it_gets_the_next_free_name_and_slot() -> None:
    name, values = fresh_like(Document(FOUR, HERE), "modules[0]")
    assert (name, values["name"], values["slot"], "count" in values) == ("modules", "M5", 5, False)
