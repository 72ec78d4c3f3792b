"""Practice cases on faults and bars, as physics figures; arithmetic beside each."""

import numpy as np
import pytest

from bankwright.handbook.tables import look_up
from bankwright.physics.conductor import resistance
from bankwright.physics.joint import density, heat
from outside.closed_forms import backfeed, bank_fault

pytestmark = pytest.mark.quick


def test_f01_source_resistance_of_a_published_short():
    # C. Freitas, Home Power 27 (1992) p. 26: 12 V bank of four batteries, short measured 6,960 A.
    assert bank_fault(12.6, 1.81e-3, 1) == pytest.approx(6960, rel=0.01)


def test_f02_parallel_adds_and_series_does_not():
    # Worked example that quotes a boat standard: six 6 V batteries of 2,400 A, pairs in series, three strings: 7,200 A.
    battery = 6.0 / 2400.0
    assert bank_fault(12.0, 2 * battery, 3) == pytest.approx(7200)


def test_f04_branch_fuse_of_three_and_four_modules():
    # marinehowto.com, short-circuit current of LFP: 16 cells of 0.25 mohm, 16 joints of 0.05, 53.6 V, 3 m of 2/0 AWG.
    module = 16 * (0.25e-3 + 0.05e-3)
    branch = module + resistance(3.0, 67.4e-6)
    assert bank_fault(53.6, module, 1) == pytest.approx(11.2e3, rel=0.01)
    assert branch == pytest.approx(5.57e-3, rel=0.01)
    assert bank_fault(53.6, branch, 1) == pytest.approx(9.6e3, rel=0.01)
    assert bank_fault(53.6, branch, 4) == pytest.approx(38.5e3, rel=0.01)
    assert backfeed(53.6, branch, 3) == pytest.approx(19.3e3, rel=0.01)
    assert backfeed(53.6, branch, 4) == pytest.approx(28.9e3, rel=0.01)


def test_t02_flattened_pipe_as_a_bar():
    # A forum thread on half-inch copper pipe: outer 15.8 mm, wall 0.7 mm, hammered flat, 120 mm long; prints 34.27 mm2.
    section = np.pi * 15.8e-3 / 2 * 1.4e-3
    assert section == pytest.approx(34.7e-6, rel=0.01)
    ohms = resistance(0.120, section)
    assert ohms == pytest.approx(0.060e-3, rel=0.01)
    assert heat(200.0, ohms) == pytest.approx(2.4, rel=0.01)
    caution_to = look_up("busbar/density", "caution to, up to 100 mm2", "density").value
    assert density(200.0, section) == pytest.approx(5.8e6, rel=0.01)
    assert density(200.0, section) > caution_to > density(120.0, section)
    assert density(200.0, 2 * section) == pytest.approx(2.9e6, rel=0.01)
