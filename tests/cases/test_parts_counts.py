"""Practice cases on counting parts and on the rack: what the list and the sheet answer."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.pieces_frame import bar_holes
from bankwright.bank.read import read_bank
from bankwright.build.sheet import build_sheet, sheet_findings
from bankwright.buy.parts import PartsList, parts
from bankwright.buy.stock import read_shopping

# All data invented but for the figures named at the tests.
TWO_PACKS = """
format = 1
title = "Two packs on common bars"

[kinds.module.pack]
cells = 16
capacity = "100 Ah"
mass = "45 kg"
posts = { pairs = 1, stud = "M8", lugs = 1, torque = "10 N m" }

[kinds.device.fuse-T]
type = "fuse"
class = "class T"
rating = "200 A"
terminals = { stud = "M8", lugs = 1, torque = "12 N m" }

[kinds.lug.ring]
hole = "8.4 mm"
stud = "M8"
cables = ["2/0 AWG"]
strands = ["fine"]

[kinds.inverter.box]
power = "5 kW"
terminals = { stud = "M8", lugs = 1, torque = "9 N m" }

[[modules]]
name = "M1"
kind = "pack"

[[modules]]
name = "M2"
kind = "pack"

[wiring]
pattern = "busbar"
feed = "same end"
link = { cable = "2/0 AWG", strands = "fine", length = "600 mm", lug = "ring" }
main = { cable = "2/0 AWG", strands = "fine", length = "1.5 m", lug = "ring" }

[[bars]]
name = "bar+"
pole = "+"
stud = "M8"

[[bars]]
name = "bar-"
pole = "-"
stud = "M8"

[[inverters]]
name = "I1"
kind = "box"
"""
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
    found = listing(tmp_path, TWO_PACKS + devices)
    assert count(found, "fuse/") == count(found, "fuse holder/") == fuses
    assert found.line("fuse/fuse-T").spares == 1


def test_leads_and_lugs_of_two_packs_with_fuses_on_their_posts(tmp_path: Path) -> None:
    # Both kinds of fuse, pack fuses on the posts: 4 positive leads with 8 lugs, 3 negative ones with 6.
    found = listing(tmp_path, TWO_PACKS + MAIN_FUSE + PACK_FUSES)
    red = [piece for piece in found.pieces if piece.item.startswith("cable/") and piece.colour == "red"]
    black = [piece for piece in found.pieces if piece.item.startswith("cable/") and piece.colour == "black"]
    assert (len(red), len(black)) == (4, 3)
    assert count(found, "lug/") == 14
    sleeves = [piece.colour for piece in found.pieces if piece.item.startswith("sleeve/")]
    assert (sleeves.count("red"), sleeves.count("black")) == (8, 6)


def twelve(studs: str) -> str:
    head = TWO_PACKS.replace('feed = "same end"\n', "")
    head = head.replace('[[modules]]\nname = "M1"\nkind = "pack"\n\n[[modules]]\nname = "M2"\nkind = "pack"\n', "")
    modules = "".join(f'[[modules]]\nname = "M{n}"\nkind = "pack"\n' for n in range(1, 13))
    wide = f'stud = "M8"\nwidth = "1 in"\nthickness = "0.25 in"\nspacing = "1.2 in"\nlugs_per_stud = 1\nstuds = {studs}'
    return (
        head.replace('stud = "M8"\n\n[[bars]]', f"{wide}\n\n[[bars]]").replace(
            'pole = "-"\nstud = "M8"', f'pole = "-"\n{wide}'
        )
        + modules
    )


def test_twelve_leads_do_not_fit_on_eight_places(tmp_path: Path) -> None:
    # One bar for each pole with 8 places for leads and one for the main; 12 batteries as branches of their own.
    pairs = [f'["M{n}", "M{n + 8}"]' if n <= 4 else f'"M{n}"' for n in range(1, 9)]
    found = listing(tmp_path, twelve(f'["main", {", ".join(pairs)}]'))
    failing = [f for f in found.findings if f.code == "B-STUDS"]
    assert [(f.verdict, f.at) for f in failing] == [("fail", ("bar+",)), ("fail", ("bar-",))]
    alone = listing(tmp_path, twelve("[" + ", ".join(f'"M{n}"' for n in range(1, 13)) + ', "main"]'))
    assert not [f for f in alone.findings if f.code == "B-STUDS"]


def test_holes_of_a_bar(tmp_path: Path) -> None:
    # 8 holes for leads, 1 for the main, 2 for mounting: 11 a bar, 44 in four, 22 drilled as stacked pairs.
    pairs = [f'["M{n}", "M{n + 8}"]' if n <= 4 else f'"M{n}"' for n in range(1, 9)]
    file = tmp_path / "bank.toml"
    file.write_text(twelve(f'["main", {", ".join(pairs)}]'), encoding="utf-8")
    bars = read_bank(file).bars
    assert [bar_holes(bar) for bar in bars] == [11, 11]
    assert 4 * bar_holes(bars[0]) == 44


def test_two_bars_do_not_come_out_of_a_length_that_the_saw_shortens(tmp_path: Path) -> None:
    # Bars of 9 studs 1.2 in apart are 10.8 in long; two of them and a cut of 1/8 in need 21.725 in.
    text = twelve("[" + ", ".join(f'"M{n}"' for n in range(1, 9)) + ', ["M9", "M10", "M11", "M12", "main"]]')
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
    head = TWO_PACKS.replace('mass = "45 kg"', 'mass = "45 kg"\nheight = "3 U"\ndepth = "480 mm"')
    for n in (1, 2):
        head = head.replace(
            f'name = "M{n}"\nkind = "pack"\n', f'name = "M{n}"\nkind = "pack"\nslot = {n}\nrack = "R1"\n'
        )
    more = "".join(f'[[modules]]\nname = "M{n}"\nkind = "pack"\nslot = {n}\nrack = "R1"\n' for n in range(3, 7))
    file = tmp_path / "bank.toml"
    file.write_text(head + more + RACK, encoding="utf-8")
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
