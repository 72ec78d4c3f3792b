"""Shares, charge ranges, cut plan, settling currents: every figure with its unit, bands and limits in their place."""

import math
import xml.etree.ElementTree as ET

import pytest

from bankwright.draw.charts import ChargeRange, Cut, charge_ranges, cut_plan, shares
from bankwright.draw.settle import Curve, settle
from support.banks.drawn import Plan, drawn_bank, invented_currents
from support.collisions import collisions

SVG = "{http://www.w3.org/2000/svg}"


def _boxes(text: str, cls: str) -> list[tuple[float, float]]:
    return [
        (float(e.get("x", "0")), float(e.get("width", "0")))
        for e in ET.fromstring(text).iter(f"{SVG}rect")
        if e.get("class") == cls
    ]


def test_shares_have_one_stop_through_all_lines_and_one_scale() -> None:
    bank = drawn_bank(Plan(3))
    drawn = shares(bank, {"M1": 50.0, "M2": 100.0, "M3": 25.0}).text
    assert drawn.count('class="stop"') == 1
    (_, third), (_, second), (_, first) = _boxes(drawn, "fill")
    assert second == pytest.approx(2 * first, abs=0.2)
    assert second == pytest.approx(4 * third, abs=0.2)
    assert all(f">{said}</text>" in drawn for said in ("50 A", "100 A", "25 A", "limit 100 A"))


def test_a_share_over_the_limit_is_told_apart() -> None:
    bank = drawn_bank(Plan(2))
    drawn = shares(bank, {"M1": 130.0, "M2": 40.0}).text
    assert len(_boxes(drawn, "fill over")) == 1


def test_charging_shares_go_against_the_charge_limit() -> None:
    drawn = shares(drawn_bank(Plan(2)), {"M1": -30.0, "M2": -20.0}).text
    assert ">limit 50 A</text>" in drawn
    assert "M1 takes 30 A" in drawn


def test_modules_without_limit_get_an_empty_frame() -> None:
    import dataclasses

    bank = drawn_bank(Plan(2))
    kind = dataclasses.replace(
        bank.modules[0].kind, discharge=dataclasses.replace(bank.modules[0].kind.discharge, continuous=None)
    )
    mixed = bank.replaced(modules=(dataclasses.replace(bank.modules[0], kind=kind), bank.modules[1]))
    drawn = shares(mixed, {"M1": 30.0, "M2": 20.0}).text
    assert len(_boxes(drawn, "gapbox")) == 1
    assert "M1: 30 A, limit not given" in drawn
    assert drawn.count('class="stop2"') == 1


def test_a_reading_that_allows_nothing_is_an_empty_frame() -> None:
    rows = [ChargeRange("M1", 0.2, 0.6, "20 to 60 %"), ChargeRange("M2", None, None, "not read yet")]
    drawn = charge_ranges(rows).text
    ((_, wide),) = _boxes(drawn, "may")
    ((_, whole),) = _boxes(drawn, "gapbox")
    assert wide == pytest.approx(0.4 * whole, abs=0.2)


def test_pieces_are_cut_to_one_scale() -> None:
    drawn = cut_plan([Cut("reel", 5.0, (("main+", 1.5), ("L1+", 0.5))), Cut("rest", 2.5, (("L2+", 1.0),))]).text
    widths = [w for _, w in _boxes(drawn, "face")]
    assert widths == pytest.approx([3 * widths[1], widths[1], 2 * widths[1]], abs=0.3)
    assert "reel, 5.00 m, 3.00 m left over" in drawn


def _curves() -> tuple[list[float], list[Curve]]:
    times = [10 ** (-1 + 5 * k / 40) for k in range(41)]
    fade = [0.6 * math.exp(-t / 40) + 0.4 * math.exp(-t / 900) for t in times]
    made = [
        Curve(name, tuple(a * f for f in fade), tuple((a - 9) * f for f in fade), tuple((a + 9) * f for f in fade))
        for name, a in (("M1", 62.0), ("M2", 10.0), ("M3", -20.0), ("M4", -52.0))
    ]
    return times, made


def test_settling_names_who_gives_and_who_takes() -> None:
    times, curves = _curves()
    drawn = settle(times, curves, (-100.0, 110.0)).text
    assert all(f">{said}</text>" in drawn for said in ("M1 gives 62 A", "M4 takes 52 A", "+110 A", "−100 A", "1 min"))
    assert drawn.count('class="stop"') == 2
    assert drawn.count('class="band"') == 4
    assert {f"curve c{k}" for k in range(4)} <= {e.get("class") for e in ET.fromstring(drawn).iter()}


def test_charts_letters_lie_on_nothing() -> None:
    times, curves = _curves()
    bank = drawn_bank(Plan(16, inverters=3))
    rows = [ChargeRange(f"M{k}", 0.2, 0.6, "20 to 60 %") for k in range(1, 9)]
    cuts = [Cut("4/0 AWG, 1", 6.0, tuple((f"L{k}+", 0.33) for k in range(1, 17)))]
    for drawing in (
        shares(bank, invented_currents(bank)),
        settle(times, curves, (-100.0, 110.0)),
        charge_ranges(rows),
        cut_plan(cuts),
    ):
        found = collisions(drawing.text, "phone")
        assert not found.text_text
        assert not found.outside
