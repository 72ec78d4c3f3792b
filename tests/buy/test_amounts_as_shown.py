"""Amounts go out and come in in the unit that is shown; what is not settled is never there."""

import csv
import io
from dataclasses import replace

import pytest

from bankwright.bank.file.quantity_text import QuantityFault
from bankwright.buy.pages import amount, bare, order_words, parts_csv, shown_unit, typed_amount
from bankwright.buy.parts import parts
from support.banks import sample

BANK = sample("five")


def cable():
    return next(line for line in parts(BANK).lines if line.unit == "m")


@pytest.mark.parametrize(("units", "text", "metres"), [
    ("metric", "2", 2.0), ("us", "2", 0.6096), ("us", "2 ft", 0.6096), ("us", "1 m", 1.0), ("metric", "24 in", 0.6096),
])  # fmt: skip
def test_a_bare_number_is_in_the_unit_shown(units: str, text: str, metres: float) -> None:
    line = replace(cable(), have=metres)
    assert typed_amount(text, line, units) == pytest.approx(metres)
    assert typed_amount(bare(line.have, line, units), line, units) == pytest.approx(metres, rel=1e-5)
    assert shown_unit(line, units) == ("ft" if units == "us" else "m")


def test_pieces_are_plain_numbers() -> None:
    lug = next(line for line in parts(BANK).lines if line.group == "lugs")
    assert typed_amount("12", lug, "us") == 12
    with pytest.raises(ValueError):
        typed_amount("12 ft", lug, "us")
    with pytest.raises(QuantityFault):
        typed_amount("2 kg", cable(), "us")


def test_what_is_not_settled_is_a_question_mark_everywhere() -> None:
    none = replace(cable(), need=0.0, order=0.0, unmeasured=2)
    some = replace(cable(), need=3.0, order=3.15, unmeasured=1)
    assert order_words(none, "metric") == ("?", "?")
    assert order_words(some, "metric") == (f"at least {amount(3.15, some)}", f"at least {amount(3.0, some)}")
    listing = parts(BANK)
    rows = list(csv.reader(io.StringIO(parts_csv(replace(listing, lines=(none,)), "us"))))
    assert rows[1][0] == "?"
    assert rows[1][4] == "ft"
