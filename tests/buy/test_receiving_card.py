"""The receiving card: one event and one reading a module, refused where it cannot be; what follows."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta
from pathlib import Path

import pytest

from bankwright.bank.model import Bank
from bankwright.buy.pages import parts_page
from bankwright.buy.parts import parts
from bankwright.buy.receiving import Received, card_rows, receive, received_of, waits
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.logbook import Logbook, open_logbook
from support.banks import sample

BANK = sample("five")
NOW = SystemClock().now()
TODAY = date.fromisoformat(NOW.wall[:10])


def stored(book: Logbook, module: str = "M1", **more: object) -> Received:
    given = {"serial": "A1", "damage": "none", "volts": "52.8 V", "on": TODAY, "now": NOW, **more}
    return receive(book, BANK, module, **given)  # type: ignore[arg-type]


def test_a_card_is_kept_with_its_reading_and_the_newest_counts(tmp_path: Path) -> None:
    with open_logbook(tmp_path / "b.toml", BANK) as book:
        stored(book)
        stored(book, serial="A2", damage="dent")
        stored(book, "M2", serial="A3")
        found = received_of(book)
        assert {name: (card.serial, card.damaged) for name, card in found.items()} == {
            "M1": ("A2", True), "M2": ("A3", False),
        }  # fmt: skip
        assert book.latest_readings("voltage")["M2"].value == 52.8
    rows = card_rows(BANK, found)
    assert [row[0] for row in rows] == [module.name for module in BANK.modules]
    assert "________" in rows[4]
    page = parts_page(BANK, parts(BANK), cards=found)
    assert "Receiving card" in page
    assert "A3" in page


@pytest.mark.parametrize(
    ("module", "more", "code"),
    [("M9", {}, "module-unknown"), ("M1", {"serial": " "}, "serial-missing"),
     ("M2", {"serial": "a1"}, "serial-doubled"),
     ("M1", {"on": TODAY + timedelta(days=2)}, "time-ahead"), ("M1", {"volts": "900 V"}, "value-impossible"),
     ("M1", {"volts": "52.8"}, "unit-missing")],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_nothing_is_stored(tmp_path: Path, module: str, more: dict, code: str) -> None:  # type: ignore[type-arg]
    with open_logbook(tmp_path / "b.toml", BANK) as book:
        if code == "serial-doubled":
            stored(book)
        before = len(list(book.entries()))
        with pytest.raises(EntryRefused) as refused:
            stored(book, module, **more)
        assert refused.value.faults[0].code == code
        assert len(list(book.entries())) == before


def card(volts: float = 52.8, damage: str = "none") -> Received:
    return Received("M1", "A1", damage, volts, date(2026, 3, 1))


def module(bank: Bank = BANK, standby: float | None = None):  # type: ignore[no-untyped-def]
    first = bank.modules[0]
    return dataclasses.replace(first, kind=dataclasses.replace(first.kind, standby_power=standby))


@pytest.mark.parametrize(
    ("held", "words"),
    [(card(damage="corner dented"), "Damaged"), (card(-52.0), "Below zero"), (card(39.0), "goes back"),
     (card(47.0), "Nearly empty"), (card(), "standby_power")],
)  # fmt: skip
def test_what_follows_from_a_card(held: Received, words: str) -> None:
    assert words in waits(module(), held)


def test_a_module_that_waits_is_topped_up_before_a_fifth_is_gone() -> None:
    """100 Ah x 20 % x 51.2 V / 2 W = 512 h = 21 days after 1 March: 22 March; read by then too."""
    assert BANK.modules[0].kind.capacity_ah == 100
    told = waits(module(standby=2.0), card())
    assert "top it up by 2026-03-22" in told
    assert "Read it by 2026-03-22" in told
    assert "Read it by 2026-06-01" in waits(module(standby=0.01), card())
