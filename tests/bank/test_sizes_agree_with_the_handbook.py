"""Wire sizes, studs and metals of a bank file are those of the handbook's tables, and of nothing else."""

import ast
from pathlib import Path

import pytest

from bankwright.bank.sizes import stud_diameter, stud_sizes, wire_sizes
from bankwright.bank.unfold.conductors import metal_resistivity, wire_resistance

FOOT = 0.3048
BANK = Path(__file__).parents[2] / "src" / "bankwright" / "bank"


def test_all_sizes_of_the_tables_may_be_written():
    assert len(wire_sizes()) == 20 + 16
    assert {"14 AWG", "4/0 AWG", "750 kcmil", "1.5 mm2", "300 mm2"} <= set(wire_sizes())


@pytest.mark.parametrize(
    ("label", "ohm_per_kft", "last_digit"),
    [("4/0 AWG", 0.0608, 1e-4), ("2/0 AWG", 0.0967, 1e-4), ("2 AWG", 0.194, 1e-3)],
)
def test_gauge_sizes_have_the_resistance_of_the_printed_table(label, ohm_per_kft, last_digit):
    # NEC Chapter 9 Table 8, stranded uncoated copper, at 75 degC [copy]; its note: R2 = R1 (1 + 0.00323 (T2 - 75)).
    at_75 = wire_resistance(label) / (1 - 0.00323 * 55) * 1000 * FOOT
    assert abs(at_75 - ohm_per_kft) <= last_digit / 2


@pytest.mark.parametrize(
    ("label", "strands", "ohm_per_km"),
    [("70 mm2", None, 0.272), ("70 mm2", "fine", 0.272), ("70 mm2", "class 2", 0.268), ("35 mm2", "class 5", 0.554)],
)
def test_metric_sizes_have_the_resistance_of_their_class(label, strands, ohm_per_km):
    # IEC 60228:2004, tables 2 and 3 (read).
    assert wire_resistance(label, strands) * 1e3 == pytest.approx(ohm_per_km)


def test_a_gauge_cable_resists_more_than_its_bare_section():
    # strands run round the cable: Table 8 is 1 to 3.5 % above annealed copper (1.7241e-8 ohm m) over the section
    for label, area in wire_sizes().items():
        if not label.endswith("mm2"):
            assert 1.005 < wire_resistance(label) * area / 1.7241e-8 < 1.035, label


def test_a_link_of_320_mm_of_4_0_has_52_micro_ohm():
    # NEC Chapter 9 Table 8 [copy]: 0.0608 ohm/kft at 75 degC, x (1 - 0.00323 x 55) = 0.0500 at 20 degC; 320 mm: 52.5
    assert wire_resistance("4/0 AWG") * 0.320 == pytest.approx(52.5e-6, abs=0.05e-6)


def test_studs_have_the_diameter_in_their_name():
    assert {"M4", "M16", "1/4 in", "1/2 in"} <= set(stud_sizes())
    for label in stud_sizes():
        top, _, bottom = label.removesuffix(" in").partition("/")
        named = float(label[1:]) * 1e-3 if label[0] == "M" else float(top) / float(bottom) * 0.0254
        assert stud_diameter(label) == pytest.approx(named, abs=0.001e-3)


def test_metals_of_bars():
    # IEC 60028:1925 (read): annealed copper 1/58 ohm mm2/m; brass C260 28 % of it (read); aluminium 61 % (copy).
    assert metal_resistivity("copper") == pytest.approx(1e-6 / 58, rel=1e-4)
    assert metal_resistivity("tinned copper") == metal_resistivity("copper")
    assert metal_resistivity("copper") / metal_resistivity("brass") == pytest.approx(0.28, abs=0.005)
    assert metal_resistivity("copper") / metal_resistivity("aluminium") == pytest.approx(0.61, abs=0.005)


@pytest.mark.parametrize("name", ["sizes.py", "unfold/conductors.py"])
def test_no_second_table_in_code(name):
    tree = ast.parse((BANK / name).read_text("utf-8"))
    tables = [node for node in ast.walk(tree) if isinstance(node, ast.Dict | ast.List | ast.Tuple | ast.Set)]
    held = [node.value for table in tables for node in ast.iter_child_nodes(table) if isinstance(node, ast.Constant)]
    assert not [value for value in held if isinstance(value, int | float)], f"{name} holds figures of its own"
