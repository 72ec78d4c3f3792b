"""Rack units, hole heights, bend paths."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.bank.places import (
    HOLES,
    RACK_UNIT,
    hole_heights,
    least_length,
    panel_height,
    path_length,
    screw_holes,
    seats,
    spots,
)
from bankwright.handbook.tables import look_up
from support.banks.rack import chain


def test_holes_of_units_one_and_five() -> None:
    # EIA-310-D: 6.35, 22.225, 38.1 mm above the lower edge of each unit of 44.45 mm. Arithmetic for unit 5.
    assert [h * 1e3 for h in hole_heights(1)] == pytest.approx([6.35, 22.225, 38.1], abs=1e-6)
    assert [h * 1e3 for h in hole_heights(5)] == pytest.approx([184.15, 200.025, 215.9], abs=1e-6)


def test_panel_of_three_units_and_height_of_twelve() -> None:
    # 3 U = 132.55 mm, read in an open CAD file that quotes IEC 60297-3-100/-101; 12 U = 533.4 mm, arithmetic.
    assert panel_height(3) * 1e3 == pytest.approx(132.55, abs=0.01)
    assert pytest.approx(533.4, abs=0.01) == 12 * RACK_UNIT * 1e3


def test_constants_agree_with_the_handbook() -> None:
    assert look_up("eia-310/holes", "rack unit", "value").value == pytest.approx(RACK_UNIT)
    for name, hole in zip(("first hole", "second hole", "third hole"), HOLES, strict=True):
        assert look_up("eia-310/holes", name, "value").value == pytest.approx(hole)


def test_holes_repeat_over_the_unit_boundary() -> None:
    # The pitch 15.875, 15.875, 12.7 mm repeats: the two holes 12.7 mm apart lie on either side of a boundary.
    low, high = hole_heights(4), hole_heights(5)
    gaps = [low[1] - low[0], low[2] - low[1], high[0] - low[2]]
    assert [g * 1e3 for g in gaps] == pytest.approx([15.875, 15.875, 12.7])


def test_modules_stand_on_their_units() -> None:
    found = seats(chain(3))
    assert [(s.module, s.unit, s.units) for s in found] == [("M1", 1, 3), ("M2", 4, 3), ("M3", 7, 3)]
    assert found[0].bottom == pytest.approx(0.1)
    assert found[1].bottom == pytest.approx(0.1 + 3 * RACK_UNIT)
    assert all(s.from_floor for s in found)
    assert screw_holes(4, 3) == ((4, 1), (6, 3))


def test_posts_of_one_pole_stand_above_each_other() -> None:
    at = spots(chain(2))
    assert at["M1+"].across == at["M2+"].across != at["M1-"].across
    assert at["M2+"].up - at["M1+"].up == pytest.approx(3 * RACK_UNIT)
    assert not at["M1+"].measured


def test_two_quarter_bends() -> None:
    # Radius 50 mm, posts 300 mm apart: 200 mm straight and pi x 50 mm = 357.1 mm. Geometry.
    assert path_length(0.3, 0.05) == pytest.approx(0.2 + math.pi * 0.05)


@given(st.floats(0.0, 3.0), st.floats(0.0, 0.3))
def test_a_path_is_never_shorter_than_the_distance(distance: float, radius: float) -> None:
    assert path_length(distance, radius) >= distance - 1e-12


def test_a_link_of_the_chain_reaches_and_a_main_is_not_judged() -> None:
    bank = chain(3)
    least = least_length(bank, bank.link("L1+"), 0.07)
    assert least == pytest.approx(math.pi * 0.07)
    assert least_length(bank, bank.link("main+"), 0.07) is None
