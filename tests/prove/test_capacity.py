"""The capacity test: a worked example and a case that were computed elsewhere, band, weakest cell, wrong entries."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.forms.faults import QuestionError
from bankwright.physics.capacity import counted_capacity, sensor_offset, shift_between
from bankwright.prove.capacity.judged import CapacityTest, capacity_test
from bankwright.prove.capacity.read import CapacityTyped, capacity_read
from support.proved import barn

pytestmark = pytest.mark.quick

BOTH = CapacityTyped("496.0 Ah", "5 h", "500.5 Ah", "5.5 h", temperature=("21 degC",))


def judged(given: CapacityTyped = BOTH, bank: Bank | None = None) -> CapacityTest:
    return capacity_test(capacity_read(bank or barn(), given))


def verdicts(found: CapacityTest, code: str) -> dict[tuple[str, str | None], str]:
    return {(f.at[0], f.case): f.verdict for f in found.findings if f.code == code}


def test_both_ways_give_the_offset_and_the_capacity() -> None:
    # A_dis 496.0 in 5.0 h, A_cha 500.5 in 5.5 h: offset -0.429 A, 498.1 Ah (99.6 %, band +-2 %)
    assert sensor_offset(496.0, 500.5, 5.0, 5.5) == pytest.approx(-0.429, abs=0.001)
    assert counted_capacity(496.0, sensor_offset(496.0, 500.5, 5.0, 5.5), 5.0) == pytest.approx(498.1, abs=0.1)
    found = judged(replace(BOTH, temperature=("25 degC",)))
    assert found.offset == pytest.approx(-0.429, abs=0.001)
    (bank,) = found.told
    assert bank.counted.value == pytest.approx(498.1, abs=0.1)
    assert bank.counted.low == pytest.approx(0.98 * bank.counted.value)
    assert bank.counted.high == pytest.approx(1.02 * bank.counted.value)
    assert found.whole
    assert {f.verdict for f in found.findings} == {"pass"}


def test_capacity_short_and_cold_one_way_is_no_claim() -> None:
    """500 Ah, 100 A, 8 degC, stopped at 462 Ah by M4; M4 counted 86, others 94; one way, zero -0.3 A at the end."""
    modules = tuple(f"M{k}={86 if k == 4 else 94} Ah" for k in range(1, 6))
    given = CapacityTyped(
        "462 Ah", "4.62 h", module=modules, zero=("-0.3 A",), temperature=("8 degC",),
        low=("M4.c7=2.80 V",), high=("M4.c7=3.52 V", "M4.c3=3.44 V"),
    )  # fmt: skip
    found = judged(given)
    told = {each.at: each.counted.value for each in found.told}
    assert told["M4"] == pytest.approx(88, abs=2.0)  # each +-2 of 100
    assert told["M1"] == pytest.approx(96, abs=2.0)
    assert found.offset == pytest.approx(-0.3)
    assert verdicts(found, "V-CAPACITY-1") == {("bank", None): "caution"}  # never "fails": 462 of 500 is no verdict
    assert verdicts(found, "V-CAPACITY-2")["M4", "a module beside the others"] == "caution"
    assert verdicts(found, "V-CAPACITY-2")["M1", "a module beside the others"] == "pass"
    assert verdicts(found, "V-CAPACITY-3")["bank", "temperature"] == "caution"
    cell = next(f for f in found.findings if f.code == "V-CAPACITY-5")
    assert cell.at == ("M4.c7",)
    assert cell.text is not None
    assert "capacity, not balance" in cell.text.text()
    bank = next(f for f in found.findings if f.code == "V-CAPACITY-1")
    assert "before any claim" in bank.do.text()


@pytest.mark.parametrize(
    ("highs", "words", "verdict"),
    [
        (("M4.c7=3.52 V", "M4.c3=3.44 V"), "capacity, not balance", "pass"),
        (("M4.c7=3.36 V", "M4.c3=3.44 V"), "charge: balance", "pass"),
        (("M4.c7=3.45 V", "M4.c3=3.44 V", "M4.c1=3.5 V"), "resistance", "pass"),
        ((), "was not read", "unknown"),
        (("M1.c7=3.52 V",), "was not read", "unknown"),
    ],
)
def test_the_weakest_cell_and_why(highs: tuple[str, ...], words: str, verdict: str) -> None:
    found = judged(replace(BOTH, low=("M4.c7=2.81 V", "M1.c2=2.95 V"), high=highs))
    cell = next(f for f in found.findings if f.code == "V-CAPACITY-5")
    assert (cell.at, cell.verdict) == (("M4.c7",), verdict)
    assert cell.text is not None
    assert words in cell.text.text()


def test_a_cell_below_two_and_a_half_volts_fails_and_says_what_to_do_at_once() -> None:
    found = judged(replace(BOTH, low=("M4.c7=2.41 V", "M1.c2=2.49 V", "M2.c1=2.52 V")))
    cell = next(f for f in found.findings if f.code == "V-CAPACITY-5")
    assert cell.verdict == "fail"
    do = cell.do.text()
    assert do.startswith("Stop at once: loads off, switch M1 and M4 off, and do not charge")
    assert "Read M1.c2, M4.c7 again" in do
    assert "ask the maker" in do
    fine = judged(replace(BOTH, low=("M4.c7=2.52 V",)))
    assert "Stop" not in next(f for f in fine.findings if f.code == "V-CAPACITY-5").do.text()


@pytest.mark.parametrize(
    ("out", "back", "verdict"),
    [
        ("496 Ah", "500.5 Ah", "pass"),
        ("480 Ah", "484 Ah", "pass"),
        ("468 Ah", "468 Ah", "caution"),
        ("440 Ah", "441 Ah", "fail"),
    ],
)
def test_a_whole_test_may_fail_a_bank(out: str, back: str, verdict: str) -> None:
    found = judged(replace(BOTH, out=out, back=back))
    assert verdicts(found, "V-CAPACITY-1") == {("bank", None): verdict}


def test_ways_that_do_not_meet_at_the_same_full_settle_nothing() -> None:
    found = judged(replace(BOTH, back="450 Ah"))
    assert verdicts(found, "V-CAPACITY-4") == {("bank", None): "unknown"}
    assert not found.whole
    short = judged(replace(BOTH, out="430 Ah", back="400 Ah"))
    assert verdicts(short, "V-CAPACITY-1")["bank", None] == "caution"
    apart = judged(replace(BOTH, zero=("0.4 A", "0.4 A")))  # the zero says +0.4, both ways -0.43
    assert verdicts(apart, "V-CAPACITY-4") == {("bank", None): "unknown"}


def test_the_band_grows_where_the_test_is_worse() -> None:
    one_way = judged(CapacityTyped("496 Ah", "5 h", temperature=("21 degC",)))
    cold = judged(replace(BOTH, temperature=("2 degC",)))
    fast = judged(CapacityTyped("490 Ah", "2 h", "492 Ah", "2.1 h", temperature=("21 degC",)))
    assert judged().band == 0.02
    assert one_way.band == pytest.approx(1.96 * 0.0132, rel=0.02)
    assert cold.band > 0.02
    assert fast.band > 0.02
    assert verdicts(one_way, "V-CAPACITY-3")["bank", "how it was counted"] == "caution"
    assert verdicts(fast, "V-CAPACITY-3")["bank", "rate"] == "caution"


def test_the_stated_band_is_kept_over_many_tests() -> None:
    """+-2 % hold 95 % of the truths: offset, gain of 0.6 %, ends of 0.5 % each, correction known to 30 %."""
    luck, inside = np.random.default_rng(4), 0
    for _ in range(400):
        true, offset, gain = luck.normal(500.0, 10.0), luck.uniform(-0.5, 0.5), 1.0 + luck.normal(0.0, 0.006)
        degc = luck.uniform(16.0, 28.0)
        shift = 0.009 + (0.007 * (25.0 - degc) / 20.0 if degc < 25.0 else 0.0)
        went = true * (1.0 - (shift * luck.normal(1.0, 0.3) - 0.009)) * (1.0 + luck.normal(0.0, 0.005))
        came = went * (1.0 + luck.normal(0.0, 0.005))
        hours, back = went / 100.0, came / 95.0
        out, charge = gain * went + offset * hours, gain * came - offset * back
        given = CapacityTyped(
            f"{out:.1f} Ah", f"{hours:.3f} h", f"{charge:.1f} Ah", f"{back:.3f} h", temperature=(f"{degc:.0f} degC",)
        )
        told = judged(given).told[0].counted
        assert told.low is not None
        assert told.high is not None
        inside += told.low <= true <= told.high
    assert 0.93 <= inside / 400 <= 1.0


def test_modules_of_unequal_size_are_held_against_their_own_names() -> None:
    bank = barn()
    small = tuple(replace(m, kind=replace(m.kind, capacity_ah=50.0)) if m.name == "M2" else m for m in bank.modules)
    given = replace(BOTH, out="446 Ah", back="448 Ah", module=("M1=99 Ah", "M2=49.5 Ah"))
    found = judged(given, bank.replaced(modules=small))
    assert verdicts(found, "V-CAPACITY-1") == {("bank", None): "pass"}
    assert set(verdicts(found, "V-CAPACITY-2").values()) == {"pass"}
    unnamed = tuple(replace(m, kind=replace(m.kind, capacity_ah=None)) for m in bank.modules)
    found = judged(given, bank.replaced(modules=unnamed))
    assert verdicts(found, "V-CAPACITY-1") == {("bank", None): "unknown"}
    assert found.told[0].name is None


def test_a_rate_is_taken_straight_between_those_of_the_table() -> None:
    points = ((0.1, 0.004), (0.2, 0.009), (0.5, 0.022))
    assert [shift_between(rate, points) for rate in (0.0, 0.05, 0.2, 0.35, 1.0)] == pytest.approx(
        [0.0, 0.002, 0.009, 0.0155, 0.022 + 0.5 * 0.013 / 0.3]
    )


@pytest.mark.parametrize(
    ("given", "code"),
    [
        (CapacityTyped(), "no-readings"),
        (CapacityTyped("496 Ah"), "half-given"),
        (CapacityTyped("496 A", "5 h"), "wrong-dimension"),
        (CapacityTyped("0 Ah", "5 h"), "out-of-range"),
        (replace(BOTH, module=("M9=94 Ah",)), "which-place"),
        (replace(BOTH, low=("M4=2.8 V",)), "which-place"),
        (replace(BOTH, low=("M4.c17=2.8 V",)), "which-place"),
        (replace(BOTH, temperature=("warm",)), "not-a-quantity"),
    ],
)
def test_wrong_entries_are_named(given: CapacityTyped, code: str) -> None:
    with pytest.raises(QuestionError) as refused:
        capacity_read(barn(), given)
    assert code in {fault.code for fault in refused.value.faults}, refused.value.faults
