"""Wire sizes that a bank file may name are those of the handbook's tables, with their section and resistance."""

import pytest

from bankwright.bank.conductors import wire_resistance
from bankwright.bank.sizes import STUDS, WIRE_SIZES
from bankwright.handbook.tables import load
from bankwright.handbook.wires import labels, ohm_per_m, wire


def test_the_same_sizes():
    assert set(WIRE_SIZES) == set(labels("awg")) | set(labels("mm2"))


@pytest.mark.parametrize("label", labels("mm2"))
def test_metric_sizes_have_the_resistance_of_the_table(label):
    # IEC 60228:2004 table 3, class 5 (read).
    assert WIRE_SIZES[label] == pytest.approx(wire(label).area, rel=1e-9)
    assert wire_resistance(label) == pytest.approx(ohm_per_m(label).value, rel=1e-9)


@pytest.mark.parametrize("label", labels("awg"))
def test_gauge_sizes_stay_close_to_the_table(label):
    # NEC Chapter 9 Table 8 (copy): strands are some percent longer than the cable, so the bare section gives less.
    assert WIRE_SIZES[label] == pytest.approx(wire(label).area, rel=1e-9)
    assert 0.965 < wire_resistance(label) / ohm_per_m(label).value < 1.0


def test_studs_of_the_hole_table_are_studs_of_the_file():
    # ISO 273, ASME B18.2.8 (read).
    table = load("iso-273/holes")
    for row in table.rows:
        assert STUDS[row["stud"]] == pytest.approx(table.value(row, "diameter"), abs=0.001e-3)
