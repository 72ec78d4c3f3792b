"""Terminals after an hour: rise scaled with the square of the current, and like beside like.

By hand: two inverters of 5 kW, 93 %, 46 V draw 233.8 A; hottest day 38 degC, terminals of an inverter 75 degC: 37 K at
full load, 9.25 K at half of it; bar and lug 90 degC: 13 K.
Columns of 3 and 15 K between like joints: ANSI/NETA ATS-2003 100.18.
"""

from __future__ import annotations

from types import MappingProxyType

import pytest

from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.proved import barn

FULL = 2 * 5000.0 / 0.93 / 46.0


def at(amps: float | None, **rises: float) -> StepNow:
    taken = {("E4", "temperature_difference", name): rise for name, rise in rises.items()}
    taken |= {} if amps is None else {("E4", "current", "main+"): amps}
    found = prove_sheet(Facts(barn(), MappingProxyType(taken), may_join=True), {})
    return next(now for now in found.steps if now.step.id == "E4")


def test_the_limit_is_scaled_to_full_load_and_the_hottest_day() -> None:
    assert pytest.approx(233.8, abs=0.1) == FULL
    now = at(FULL / 2.0)
    most = {each.due.at: each.due.window[1] for each in now.readings}
    # after an hour a bar of 40 x 10 mm has 0.79 of its final rise, a 2/0 cable all but 0.2 % of it
    assert most["main+@bar+1"] == pytest.approx(0.79 * (90.0 - 38.0) / 4.0, rel=0.003)
    assert most["I1+lead@I1+"] == pytest.approx((75.0 - 38.0) / 4.0, rel=0.005)


@pytest.mark.parametrize(("rise", "verdict"), [(5.0, "pass"), (10.2, "pass"), (10.4, "fail"), (40.0, "fail")])
def test_a_terminal_past_its_rating_stops(rise: float, verdict: str) -> None:
    now = at(FULL / 2.0, **{"main+@bar+1": rise})
    assert [f.verdict for f in now.findings if f.code == "V-WARM-1"] == [verdict]
    assert now.state == ("stopped" if verdict == "fail" else "begun")


@pytest.mark.parametrize("amps", [None, 0.39 * FULL])
def test_too_little_load_or_none_read_settles_nothing(amps: float | None) -> None:
    now = at(amps, **{"main+@bar+1": 30.0, "main-@bar-1": 3.0})
    assert {f.verdict for f in now.findings} == {"unknown"}


def test_the_odd_one_of_its_like_is_named_and_its_other_kind_is_not() -> None:
    now = at(FULL * 0.8, **{"main+@bar+1": 16.0, "main-@bar-1": 9.0, "I1+lead@I1+": 20.0, "I2+lead@I2+": 19.0})
    found = {f.at: f for f in now.findings if f.code == "V-WARM-2"}
    assert {at for at, f in found.items() if f.verdict == "caution"} == {("main+@bar+1",)}
    assert "when it can be" in found["main+@bar+1",].do.text()
    hot = at(FULL, **{"main+@bar+1": 26.0, "main-@bar-1": 9.0})
    assert "at once" in next(f for f in hot.findings if f.verdict == "caution").do.text()
