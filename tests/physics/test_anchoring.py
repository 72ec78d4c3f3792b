"""Seismic anchorage against filed calculations and a published set."""

from __future__ import annotations

import pytest

from bankwright.physics.anchoring import (
    bounded,
    force_7_16,
    overturning,
    resisting,
    shear,
    tension,
)


def test_filed_permit_calculation_7_16() -> None:
    # Building-permit calculation filed with the city of Santa Ana, ASCE 7-16 13.3 (read): Wp 2.7 psf, SDS 1.027,
    # z 11.46 ft of 20 ft, ap 1, Rp 2.5: Fp 0.95 psf, upper bound 4.44, lower 0.83. The height is printed as
    # 11.458333 ft.
    force = force_7_16(2.7, 1.027, 1.0, 2.5, 1.0, height_ratio=11.458333 / 20)
    assert force == pytest.approx(0.95, abs=0.005)
    assert bounded(99, 2.7, 1.027) == pytest.approx(4.44, abs=0.005)
    assert bounded(0, 2.7, 1.027) == pytest.approx(0.83, abs=0.005)
    assert bounded(force, 2.7, 1.027) == pytest.approx(0.95, abs=0.005)


def test_filed_permit_calculation_with_anchors() -> None:
    # Calculation filed with the city of Everett, ASCE 7-10 (read): 204 lb, SDS 0.876, ap 2.5, Rp 6. The page takes
    # z/h = 1.17 and prints 99.3 lb; the standard allows 1.0: 89.4 lb. Bounds 285.9 and 53.6.
    assert force_7_16(204, 0.876, 2.5, 6.0, 1.0, height_ratio=14 / 12) == pytest.approx(89.4, rel=0.005)
    assert bounded(1e9, 204, 0.876) == pytest.approx(285.9, rel=0.005)
    assert bounded(0.0, 204, 0.876) == pytest.approx(53.6, rel=0.005)
    # ASD: 0.7 Fp = 69.5 lb at 2.5 ft: 175 ft lb (printed, the force rounded up to 70); 0.6 W b = 122.4 ft lb;
    # 2 ft spacing: 26.3 lb (printed -27, uplift).
    tipping, holding = overturning(0.7 * 99.3, 2.5), resisting(204, 1.0, 0.876, "ASD")
    assert tipping == pytest.approx(175, rel=0.01)
    assert holding == pytest.approx(122.4, rel=0.005)
    assert tension(175, holding, 2.0) == pytest.approx(26.3, abs=1)


def test_published_calculation_example() -> None:
    # Published example page of the equations (read): 250 lb at grade, SDS 0.85, ap = Rp = 1: 85, 340, 63.8 lb.
    assert force_7_16(250, 0.85, 1, 1) == pytest.approx(85, abs=0.1)
    assert bounded(1e9, 250, 0.85) == pytest.approx(340, abs=0.1)
    assert bounded(0, 250, 0.85) == pytest.approx(63.8, abs=0.1)


def test_at_grade_the_lower_bound_governs() -> None:
    # 416 kg (4079.6 N), SDS 1.0; coefficients of batteries from memory (ASCE 7-16 table 13.6-1). Arithmetic.
    old = force_7_16(4079.6, 1.0, 1.0, 2.5)
    assert old == pytest.approx(652.7, rel=0.005)
    assert bounded(old, 4079.6, 1.0) == pytest.approx(1223.9, rel=0.005)


@pytest.mark.parametrize(
    ("omega", "moment", "side", "each", "across"),
    [(1.0, 771.3, 114.7, 57.3, 306.0), (2.0, 1542.5, 1657.2, 828.6, 611.9)],
)
def test_overstrength_decides_the_anchors(omega: float, moment: float, side: float, each: float, across: float) -> None:
    # The same rack, centre 0.6302 m high, edge 0.25 m, rows 0.5 m apart, two anchors a side. LRFD from memory;
    # arithmetic, 1 %.
    tipping, holding = overturning(1223.9, 0.6302, omega), resisting(4079.6, 0.25, 1.0)
    assert tipping == pytest.approx(moment, rel=0.01)
    assert holding == pytest.approx(713.9, rel=0.01)
    assert tension(tipping, holding, 0.5) == pytest.approx(side, rel=0.01)
    assert tension(tipping, holding, 0.5, 2) == pytest.approx(each, rel=0.01)
    assert shear(1223.9, 4, omega) == pytest.approx(across, rel=0.01)


def test_a_heavy_low_rack_needs_no_tension() -> None:
    assert tension(100.0, 200.0, 0.5, 2) == 0.0
