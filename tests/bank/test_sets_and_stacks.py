"""Cables in parallel as one set, bars stacked on each other."""

import pytest

from bankwright.bank.pieces.every import pieces
from bankwright.bank.read import BankFileError
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import edited

BY_CODE = {check.code: check for check in CHECKS}
LEAD = {"cable": "2/0 AWG", "strands": "fine", "length": "1 m", "lug": "ring", "joint": "20 uohm", "method": "free air"}
TWO = {"+inverters": {"name": "I2", "kind": "inv"}, "wiring.branch": LEAD}  # two inverters at J+


def test_a_set_is_alike_cables_between_the_same_posts():
    bank = edited({**TWO, "wiring.branch": {**LEAD, "parallel": 3}})
    own = [link for link in bank.links if link.name.startswith("I1+lead")]
    assert [link.name for link in own] == ["I1+lead", "I1+lead.2", "I1+lead.3"]
    assert {(link.a, link.b, link.length, link.cable) for link in own} == {(own[0].a, own[0].b, 1.0, own[0].cable)}
    assert len({joint for link in own for joint in link.joints}) == 6


def test_each_of_a_set_carries_its_part():
    bank = edited({**TWO, "wiring.branch": {**LEAD, "parallel": 2}})
    case = plan_of(bank).steady.case("full discharge at lowest voltage")
    parts = [float(case.current(name)) for name in ("I1+lead", "I1+lead.2")]
    assert parts[0] == pytest.approx(parts[1])
    whole = 5000 / 0.92 / 48.0  # P / (eta V)
    assert sum(parts) == pytest.approx(whole, rel=1e-6)


def test_a_set_under_1_0_awg_fails_under_the_nec_book():
    thin = {**TWO, "wiring.branch": {**LEAD, "cable": "4 AWG", "parallel": 2}}
    found = [f for f in BY_CODE["P-CABLE-4"].function(plan_of(edited(thin))) if f.at == ("I1+lead",)]
    assert [f.verdict for f in found] == ["fail"]


def test_mains_at_both_ends_may_each_be_a_set():
    bare = {"devices[3]": None, "devices[2]": None, "devices[1]": None}
    bank = edited(
        {**bare, "wiring.feed": "both ends", "wiring.main.parallel": 2, "bars[0].studs": None, "bars[1].studs": None}
    )
    assert {link.name for link in bank.links if link.pole == "+" and link.role == "main"} == {
        "main+", "main+.2", "main+b", "main+b.2",
    }  # fmt: skip


def test_a_device_sits_in_no_set():
    with pytest.raises(BankFileError) as error:
        edited({"wiring.main.parallel": 2})  # F1, X1 and S1 sit in the mains
    assert {fault.code for fault in error.value.faults} == {"in-a-set"}
    assert "is a set of 2 cables" in str(error.value)


def test_a_stack_counts_as_thick_as_it_is_and_is_bought_as_it_is():
    single, stacked = edited({}), edited({"bars[0].layers": 2})
    assert stacked.bars[0].thickness == 2 * single.bars[0].thickness
    one, two = (next(p for p in b.pieces if p.name == "bar+[1-2]").resistance.nominal for b in (single, stacked))
    assert two == pytest.approx(one / 2)
    words = next(piece.words for piece in pieces(stacked) if piece.id == "bar/bar+")
    assert "30 x 10 mm, 2 of them stacked" in words
