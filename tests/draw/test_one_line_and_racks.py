"""The one-line diagram and the front of the racks."""

import dataclasses
import re
import xml.etree.ElementTree as ET

import pytest

from bankwright.bank.model_kinds import DeviceKind, RackKind
from bankwright.draw.one_line import one_line
from bankwright.draw.rack import rack
from support.banks.drawn import Plan, drawn_bank
from support.collisions import collisions

pytestmark = pytest.mark.quick

SVG = "{http://www.w3.org/2000/svg}"
PLANS = {
    "one": Plan(1),
    "five": Plan(5, inverters=2, on_branches=("breaker",)),
    "sixteen, both ends": Plan(16, inverters=3, feed="both ends"),
    "busbar with leads": Plan(8, pattern="busbar", pairs=1, on_leads=("fuse", "disconnect"), inverters=2),
    "own mains": Plan(5, inverters=2, chargers=1, loads=1, meet=False),
}


def _places(text: str) -> list[str]:
    return [e.get("data-place", "") for e in ET.fromstring(text).iter() if e.get("data-place")]


@pytest.mark.parametrize("name", PLANS)
def test_one_line_letters_lie_on_nothing(name: str) -> None:
    found = collisions(one_line(drawn_bank(PLANS[name])).text, "phone")
    assert not found.text_text
    assert not found.outside
    assert not found.plus_minus


def test_up_to_six_modules_are_all_drawn() -> None:
    assert [p for p in _places(one_line(drawn_bank(Plan(6))).text) if p.startswith("M")] == [
        f"M{k}" for k in range(1, 7)
    ]


def test_over_six_modules_the_middle_is_said_in_words() -> None:
    drawn = one_line(drawn_bank(Plan(16))).text
    assert [p for p in _places(drawn) if p.startswith("M")] == ["M1", "M2", "M16"]
    assert "… 13 more …" in drawn
    assert "16 modules of 16 cells" in drawn


def test_devices_stand_where_they_are_wired() -> None:
    """Main devices once in the rail, devices of inverter leads in the column of that inverter."""
    found = _places(one_line(drawn_bank(Plan(5, inverters=2, on_branches=("breaker",)))).text)
    assert sorted(p for p in found if p[0] in "FSQX") == ["F1", "Q1", "Q2", "S1", "X1"]
    root = ET.fromstring(one_line(drawn_bank(Plan(5, inverters=2, on_branches=("breaker",)))).text)
    inside = {e.get("data-place"): _places(ET.tostring(e, "unicode")) for e in root.iter() if e.get("data-place")}
    assert "Q2" in inside["I2"]
    assert "Q2" not in inside["I1"]
    assert not any(p[0] in "FSQX" for p in inside["M1"])


def test_no_conductor_between_the_plates_of_a_cell() -> None:
    """The upright of a module is cut where its cells are."""
    root = ET.fromstring(one_line(drawn_bank(Plan(1))).text)
    module = next(e for e in root.iter(f"{SVG}g") if e.get("data-place") == "M1")
    uprights = [
        (float(a[1]), float(a[3]))
        for e in module.findall(f"{SVG}path")
        if (a := re.findall(r"-?[\d.]+", e.get("d", ""))) and a[0] == a[2] and e.get("class") == "thin"
    ]
    cells = next(e for e in module if e.get("class") == "cells")
    plates = [
        float(re.findall(r"[\d.]+", e.get("d", ""))[1])
        for e in cells.findall(f"{SVG}path")
        if "dash" not in (e.get("class") or "")
    ]
    assert len(uprights) == 2
    assert uprights[0][1] <= min(plates)
    assert uprights[1][0] >= max(plates)


def test_the_breaker_of_a_module_is_drawn_in_it() -> None:
    bank = drawn_bank(Plan(2))
    kind = dataclasses.replace(
        bank.modules[0].kind, breaker=DeviceKind("b", "kinds.module.M100.breaker", "breaker", 125.0)
    )
    bank = bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))
    drawn = one_line(bank).text
    assert drawn.count('class="dev breaker"') == 2
    assert drawn.count(">125 A</text>") == 2


def test_modules_stand_at_their_units_to_scale() -> None:
    bank = drawn_bank(Plan(4))
    modules = tuple(dataclasses.replace(m, unit=1 + 4 * i) for i, m in enumerate(bank.modules))
    root = ET.fromstring(rack(bank.replaced(modules=modules)).text)
    edges = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "module":
            face = group.find(f"{SVG}rect")
            assert face is not None
            edges[group.get("data-place")] = float(face.get("y", "0")) + float(face.get("height", "0"))
            assert float(face.get("height", "0")) == pytest.approx(3 * 22 - 3)
    assert edges["M1"] - edges["M2"] == pytest.approx(4 * 22)
    assert edges["M1"] > edges["M4"]


def test_a_module_without_height_is_dashed_and_says_so() -> None:
    bank = drawn_bank(Plan(2))
    kind = dataclasses.replace(bank.modules[0].kind, height=None, mass=None)
    drawn = rack(bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))).text
    assert drawn.count('class="face free"') == 2
    assert "unit or height not given" in drawn
    assert "2 of 2 masses not given" in drawn


def test_masses_and_heights_follow_the_units_of_the_file() -> None:
    bank = drawn_bank(Plan(4, racks=(4,)))
    frame = RackKind("frame", "kinds.rack.frame", units=20, mass=28.0, first_unit_height=0.12)
    bank = bank.replaced(racks=tuple(dataclasses.replace(r, kind=frame) for r in bank.racks), units="us")
    drawn = rack(bank).text
    assert "modules 406 lb, frame 61.7 lb" in drawn
    assert "unit 1 is 4.72 in above the floor" in drawn


@pytest.mark.parametrize("plan", [Plan(5), Plan(8, racks=(4, 4)), Plan(16)])
def test_rack_letters_lie_on_nothing(plan: Plan) -> None:
    found = collisions(rack(drawn_bank(plan)).text, "phone")
    assert not found.text_text
    assert not found.outside
