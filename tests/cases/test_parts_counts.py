"""Practice cases on counting parts and on the rack: what the list and the sheet answer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bankwright.bank.pieces.frame import bar_holes
from bankwright.bank.read import read_bank
from bankwright.build.sheet import build_sheet, sheet_findings
from bankwright.buy.lines import PartsList
from bankwright.buy.parts import parts
from bankwright.buy.stock import read_shopping
from support.banks import Keys, bank_text, only

# All data invented but for the figures named at the tests.
PACK = only("cells", "capacity", mass="45 kg", posts={"pairs": 1, "stud": "M8", "lugs": 1, "torque": "10 N m"})
KINDS = {
    "kinds.device.fuse-T": {
        "type": "fuse",
        "class": "class T",
        "rating": "200 A",
        "terminals": {"stud": "M8", "lugs": 1, "torque": "12 N m"},
    },
    "kinds.lug.ring": {"hole": "8.4 mm", "stud": "M8", "cables": ["2/0 AWG"], "strands": ["fine"]},
}
BOX = {"power": "5 kW", "terminals": {"stud": "M8", "lugs": 1, "torque": "9 N m"}}
CABLE = {"cable": "2/0 AWG", "strands": "fine"}


def packs(count: int = 2, pack: Keys = PACK, feed: str | None = "same end", **bar: Any) -> str:
    """Packs on common bars with one inverter."""
    link, main = {**CABLE, "length": "600 mm", "lug": "ring"}, {**CABLE, "length": "1.5 m", "lug": "ring"}
    bars = [{"name": f"bar{pole}", "pole": pole, "stud": "M8", **bar} for pole in "+-"]
    return bank_text(
        count,
        pack,
        kind="pack",
        head={"title": "Packs on common bars"},
        inverter=BOX,
        box="box",
        wiring={"pattern": "busbar", "feed": feed, "link": link, "main": main},
        more={**KINDS, "bars": bars},
    )


MAIN_FUSE = '[[devices]]\nname = "F"\nkind = "fuse-T"\non = "main+"\nat = "300 mm"\n'
PACK_FUSES = '[[devices]]\nname = "P"\nkind = "fuse-T"\non = "each module +"\nat = "module end"\n'


def listing(tmp_path: Path, text: str, shopping: str = "") -> PartsList:
    file = tmp_path / "bank.toml"
    file.write_text(text, encoding="utf-8")
    return parts(read_bank(file), read_shopping(shopping))


def count(found: PartsList, start: str) -> int:
    return sum(piece.item.startswith(start) for piece in found.pieces)


@pytest.mark.parametrize(
    ("devices", "fuses"), [(MAIN_FUSE, 1), (PACK_FUSES, 2), (MAIN_FUSE + PACK_FUSES, 3)], ids=["main", "packs", "both"]
)
def test_fuses_of_two_packs(tmp_path: Path, devices: str, fuses: int) -> None:
    # Discussed in practice: one main fuse, a fuse on each pack, or both. One spare of the type in each variant.
    found = listing(tmp_path, packs() + devices)
    assert count(found, "fuse/") == count(found, "fuse holder/") == fuses
    assert found.line("fuse/fuse-T").spares == 1


def test_leads_and_lugs_of_two_packs_with_fuses_on_their_posts(tmp_path: Path) -> None:
    # Both kinds of fuse, pack fuses on the posts: 4 positive leads with 8 lugs, 3 negative ones with 6.
    found = listing(tmp_path, packs() + MAIN_FUSE + PACK_FUSES)
    red = [piece for piece in found.pieces if piece.item.startswith("cable/") and piece.colour == "red"]
    black = [piece for piece in found.pieces if piece.item.startswith("cable/") and piece.colour == "black"]
    assert (len(red), len(black)) == (4, 3)
    assert count(found, "lug/") == 14
    sleeves = [piece.colour for piece in found.pieces if piece.item.startswith("sleeve/")]
    assert (sleeves.count("red"), sleeves.count("black")) == (8, 6)


def twelve(studs: list[str | list[str]]) -> str:
    return packs(12, feed=None, width="1 in", thickness="0.25 in", spacing="1.2 in", lugs_per_stud=1, studs=studs)


def test_twelve_leads_do_not_fit_on_eight_places(tmp_path: Path) -> None:
    # One bar for each pole with 8 places for leads and one for the main; 12 batteries as branches of their own.
    pairs = [[f"M{n}", f"M{n + 8}"] if n <= 4 else f"M{n}" for n in range(1, 9)]
    found = listing(tmp_path, twelve(["main", *pairs]))
    failing = [f for f in found.findings if f.code == "B-STUDS"]
    assert [(f.verdict, *f.at, *f.more) for f in failing] == [("fail", "bar+", "bar-")]  # one finding, both bars
    alone = listing(tmp_path, twelve([*(f"M{n}" for n in range(1, 13)), "main"]))
    assert not [f for f in alone.findings if f.code == "B-STUDS"]


def test_holes_of_a_bar(tmp_path: Path) -> None:
    # 8 holes for leads, 1 for the main, 2 for mounting: 11 a bar, 44 in four, 22 drilled as stacked pairs.
    pairs = [[f"M{n}", f"M{n + 8}"] if n <= 4 else f"M{n}" for n in range(1, 9)]
    file = tmp_path / "bank.toml"
    file.write_text(twelve(["main", *pairs]), encoding="utf-8")
    bars = read_bank(file).bars
    assert [bar_holes(bar) for bar in bars] == [11, 11]
    assert 4 * bar_holes(bars[0]) == 44


def test_two_bars_do_not_come_out_of_a_length_that_the_saw_shortens(tmp_path: Path) -> None:
    # Bars of 9 studs 1.2 in apart are 10.8 in long; two of them and a cut of 1/8 in need 21.725 in.
    text = twelve([*(f"M{n}" for n in range(1, 9)), ["M9", "M10", "M11", "M12", "main"]])
    item = next(p.item for p in listing(tmp_path, text).pieces if p.item.startswith("bar/"))
    reel = 'kerf = "0.125 in"\n[[reel]]\nitem = "{item}"\nlength = "{length} in"\ncount = 1\n'
    short = listing(tmp_path, text, reel.format(item=item, length=21.7))
    cut = next(f for f in short.findings if f.code == "B-CUT")
    assert cut.verdict == "fail"
    assert cut.figure is not None
    assert cut.figure.value == pytest.approx((2 * 10.8 + 0.125) * 0.0254)
    enough = listing(tmp_path, text, reel.format(item=item, length=21.75))
    assert not [f for f in enough.findings if f.code == "B-CUT"]


RACK = """
[kinds.rack.frame]
mass = "25 kg"
width = "600 mm"
depth = "600 mm"
height = "1.5 m"
first_unit_height = "100 mm"
footprint = "0.36 m2"
on = "floor"
anchors = 4

[[racks]]
name = "R1"
kind = "frame"
"""


def test_rack_of_earthquake_guidance(tmp_path: Path) -> None:
    # Rack 25 kg, six modules of 45 kg on 0.6 x 0.6 m: 295 kg, 8.0 kN/m2 on the footprint (arithmetic).
    text = packs(6, {**PACK, "height": "3 U", "depth": "480 mm"})
    for n in range(1, 7):
        text = text.replace(f'name = "M{n}"\n', f'name = "M{n}"\nslot = {n}\nrack = "R1"\n')
    file = tmp_path / "bank.toml"
    file.write_text(text + RACK, encoding="utf-8")
    sheet = build_sheet(read_bank(file))
    floor = next(f for f in sheet_findings(sheet) if f.code == "BLD-FLOOR")
    assert floor.figure is not None
    assert floor.figure.value == pytest.approx(8.0e3, rel=0.01)
    anchor = next(step for step in sheet.steps if step.id == "build.anchor.R1")
    words = " ".join(act.text() for act in anchor.acts)
    assert "into studs" in words
    assert "never into plasterboard alone" in words
    assert "1/2 in" in words
    modules = [step.id for step in sheet.steps if step.id.startswith("build.module")]
    assert modules == [f"build.module.M{n}" for n in range(1, 7)]
