"""The baseline in the logbook: sealed once, read back, begun anew for one place, and all others kept."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from bankwright.logbook.baseline import ANEW, Measured, anew_places, baseline_of, seal
from bankwright.logbook.export import as_json
from bankwright.logbook.logbook import Logbook, open_logbook
from support.proved import barn

PLACES = ("M2", "M3", "L2+", "L3+", "L3-", "L3+@M3+")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with open_logbook(tmp_path / "barn.toml", barn()) as opened:
        yield opened


def measured(book: Logbook, ohms: float, *places: str) -> list[Measured]:
    """Values of one source entry."""
    number = book.hand_over("share test", {"parts": []}).seq
    return [
        Measured("resistance", at, ohms, 0.9 * ohms, 1.1 * ohms, 21.0, 20.0, 30.0, 40.0, entry=number)
        for at in places or PLACES
    ]


def test_nothing_was_sealed(book: Logbook) -> None:
    assert baseline_of(book, barn()) is None
    assert seal(book, barn(), ()) == (None, ())
    assert baseline_of(book, barn()) is None


def test_every_field_is_read_back_and_a_value_is_sealed_once(book: Logbook) -> None:
    first = measured(book, 1e-3)
    receipt, fresh = seal(book, barn(), first, open_=("M1 resistance: read its volts",), who="Kim")
    assert receipt is not None
    assert list(fresh) == first
    again = measured(book, 2e-3, *PLACES, "M4")
    _, fresh = seal(book, barn(), again)
    assert [each.at for each in fresh] == ["M4"]
    found = baseline_of(book, barn())
    assert found is not None
    assert found.values == (*first, again[-1])
    assert found.value("resistance", "M4") == again[-1]
    assert found.value("capacity", "M4") is None
    assert set(found.of("resistance")) == {*PLACES, "M4"}
    assert found.bank_digest == barn().digest


def test_a_replaced_module_begins_its_branch_anew_and_keeps_the_others(book: Logbook) -> None:
    old = measured(book, 1e-3)
    seal(book, barn(), old)
    book.event(ANEW, at="M3")
    found = baseline_of(book, barn())
    assert found is not None
    assert set(found.of("resistance")) == {"M2", "L2+"}
    assert set(found.anew) == anew_places(barn(), "M3") > {"M3", "L3+", "L3-", "L3+@M3+"}
    assert seal(book, barn(), old)[0] is None  # what was read before the replacement does not come back
    _, fresh = seal(book, barn(), measured(book, 2e-3))
    assert {each.at for each in fresh} == {"M3", "L3+", "L3-", "L3+@M3+"}
    after = baseline_of(book, barn())
    assert after is not None
    assert after.of("resistance")["M2"].value == 1e-3
    assert after.of("resistance")["M3"].value == 2e-3


def test_a_joint_that_was_remade_ends_its_link_and_not_the_module(book: Logbook) -> None:
    assert anew_places(barn(), "L3+@M3+") == {"L3+@M3+", "L3+"}


def test_a_seal_that_was_struck_does_not_stand(book: Logbook) -> None:
    receipt, _ = seal(book, barn(), measured(book, 1e-3))
    assert receipt is not None
    book.strike(receipt.seq, "the clamp was on the wrong side")
    assert baseline_of(book, barn()) is None


def test_the_export_holds_it_whole(book: Logbook) -> None:
    values = measured(book, 1e-3)
    seal(book, barn(), values)
    written = json.loads(json.dumps(as_json(book.entries())))
    (row,) = [entry for entry in written["entries"] if (entry["body"] or {}).get("kind") == "baseline"]
    assert [Measured(**each) for each in row["body"]["payload"]["values"]] == values
