"""Determinism, structure, the ear, and what a page and a file need of a drawing."""

import re
import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path

import pytest

from bankwright.draw.paint.places import marks
from bankwright.draw.wiring import wiring
from bankwright.forms.grouping import numbered
from support.banks.drawn import Plan, drawn_bank, invented_currents
from support.drawn_findings import finding_at

SVG = "{http://www.w3.org/2000/svg}"


def _places(text: str) -> Counter[str]:
    return Counter(e.get("data-place", "") for e in ET.fromstring(text).iter() if e.get("data-place"))


def test_the_same_bank_gives_the_same_text() -> None:
    first, second = (drawn_bank(Plan(8, feed="both ends", inverters=2)) for _ in range(2))
    amps = invented_currents(first)
    assert wiring(first, amps).text == wiring(second, dict(reversed(amps.items()))).text


def test_structure_of_a_small_drawing_unchanged() -> None:
    """Golden structure of two modules, chain, one inverter: classes and counts, not places."""
    drawn = wiring(drawn_bank(Plan(2)), None).text
    found = Counter(
        " ".join((e.get("class") or "").split()[:2])
        for e in ET.fromstring(drawn).iter()
        if e.tag in (f"{SVG}path", f"{SVG}circle")
    )
    expected = {"wire pos": 2, "wire neg": 2, "core": 2, "post pos": 5, "post neg": 5, "rail": 2, "floor": 1}
    assert {name: found[name] for name in expected} == expected


@pytest.mark.parametrize("pattern", ["chain", "busbar"])
def test_everything_in_the_bank_is_drawn_once_and_nothing_else(pattern: str) -> None:
    bank = drawn_bank(Plan(6, pattern=pattern, pairs=1, inverters=2, on_branches=("breaker",)))
    wanted = {t.name for t in (*bank.modules, *bank.links, *bank.devices, *bank.bars, *bank.inverters)} | {"J+", "J-"}
    found = _places(wiring(bank).text)
    assert set(found) == wanted
    assert set(found.values()) == {1}


def test_each_place_has_a_title_for_the_ear() -> None:
    bank = drawn_bank(Plan(5))
    root = ET.fromstring(wiring(bank, invented_currents(bank)).text)
    titles = {e.get("data-place"): e.findtext(f"{SVG}title") for e in root.iter() if e.get("data-place")}
    assert titles["L1+"] is not None
    assert re.fullmatch(r"L1\+: \d+ A", titles["L1+"])
    assert titles["M1"] is not None
    assert re.fullmatch(r"M1, slot 1: gives \d+ A, limit 100 A", titles["M1"])
    assert all(titles.values())
    desc = root.findtext(f"{SVG}desc") or ""
    assert "5 modules" in desc
    assert "carries most" in desc
    assert root.get("role") == "group"
    assert root.get("aria-labelledby") == "w-t w-d"


def test_ids_carry_the_prefix() -> None:
    bank = drawn_bank(Plan(3))
    text = wiring(bank, invented_currents(bank), prefix="k7").text
    ids = re.findall(r' id="([^"]*)"', text)
    assert ids
    assert all(name.startswith("k7-") for name in ids)
    assert set(re.findall(r"url\(#([^)]*)\)", text)) <= set(ids)


def test_no_style_attribute_and_only_the_file_carries_a_style_sheet() -> None:
    bank = drawn_bank(Plan(3))
    alone, inside = wiring(bank).text, wiring(bank, embedded=True).text
    assert " style=" not in alone + inside
    assert alone.count("<style>") == 1
    assert "prefers-color-scheme: dark" in alone
    assert "var(" not in alone
    assert "<style" not in inside
    assert 'class="paper"' not in inside


def test_balloons_lead_to_the_finding_on_the_page_only() -> None:
    bank = drawn_bank(Plan(3))
    found = (finding_at("M1", "fail"), finding_at("L1+", "pass"), finding_at("F1", "caution"))
    assert 'href="#f1"' in wiring(bank, None, found, embedded=True).text
    assert "href=" not in wiring(bank, None, found).text
    assert wiring(bank, None, found).text.count('class="balloon"') == 2


def test_numbers_run_worst_first_and_a_place_shows_its_worst() -> None:
    bank = drawn_bank(Plan(3))
    found = (finding_at("M1", "caution"), finding_at("M1", "fail", "T-PLACE-2"), finding_at("M2", "unknown"))
    assert [f.verdict for _, f in numbered(found)] == ["fail", "unknown", "caution"]
    mark = marks(bank, found)["M1"]
    assert (mark.number, mark.verdict, mark.others) == (1, "fail", (3,))
    assert "also here: 3" in mark.title


def test_posts_lead_to_what_shows_them() -> None:
    bank = drawn_bank(Plan(3))
    assert set(marks(bank, (finding_at("M2+b", "fail"),))) == {"M2"}
    assert marks(bank, (finding_at("nowhere", "fail"),)) == {}


def test_made_links_are_whole_the_others_dashed() -> None:
    bank = drawn_bank(Plan(3))
    drawn = wiring(bank, None, made={"L1+"}, marked={"L2+"}).text
    assert drawn.count('class="planned') == len(bank.links) - 2
    assert "<title>L1+: made</title>" in drawn
    assert "<title>L1−: to be made</title>" in drawn


def test_modules_say_readings_instead_of_currents() -> None:
    drawn = wiring(drawn_bank(Plan(2)), None, texts={"M1": "52.61 V"}).text
    assert ">52.61 V</text>" in drawn
    assert "M1, slot 1: 52.61 V" in drawn


def test_positions_do_not_move_from_stage_to_stage() -> None:
    bank = drawn_bank(Plan(5, inverters=2))
    drawings = [
        wiring(bank, invented_currents(bank), (finding_at("M1", "fail"),), case="surge"),
        wiring(bank, None, made=set()),
        wiring(bank, None, texts={"M1": "52.6 V"}, marked={"M1"}),
    ]
    faces = {tuple(re.findall(r'<rect x="([\d.]+)" y="([\d.]+)"[^>]*class="face', d.text)) for d in drawings}
    assert len(faces) == 1


def test_charging_currents_are_told_as_taken() -> None:
    bank = drawn_bank(Plan(2))
    drawn = wiring(bank, {"M1": -60.0, "M2": -40.0, "L1+": -40.0}).text
    assert "M1, slot 1: takes 60 A, limit 50 A" in drawn
    assert ">−60 A</text>" in drawn
    assert "fill over" in drawn


def test_names_from_the_file_cannot_break_the_drawing() -> None:
    import dataclasses

    bank = drawn_bank(Plan(2))
    modules = tuple(dataclasses.replace(m, rack=None) for m in bank.modules)
    bank = bank.replaced(modules=modules)
    drawn = wiring(bank, None, case='<script>"&', texts={"M1": "</text><script>"}).text
    assert "<script" not in drawn
    ET.fromstring(drawn)


def test_a_drawing_is_saved_as_it_is(tmp_path: Path) -> None:
    drawn = wiring(drawn_bank(Plan(2)))
    saved = drawn.save(tmp_path / "wiring.svg")
    assert saved.read_text("utf-8") == drawn.text + "\n"
    assert (drawn.width, drawn.height) == tuple(
        float(ET.fromstring(drawn.text).get(k, "0")) for k in ("width", "height")
    )


@pytest.mark.parametrize("count", [7, 12, 31, 33])
def test_any_number_of_modules_is_drawn(count: int) -> None:
    for pattern in ("chain", "busbar"):
        bank = drawn_bank(Plan(count, pattern=pattern, pairs=1))
        for size in ("desk", "phone"):
            found = _places(wiring(bank, None, (), size).text)  # type: ignore[arg-type]
            assert sum(name.startswith("M") for name in found) == count
