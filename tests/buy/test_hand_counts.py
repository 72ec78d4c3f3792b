"""The list against a count by hand, written out: a chain of four, bars of six with an earthing stud."""

from __future__ import annotations

from collections import Counter

import pytest

from bankwright.bank.model import Bank
from bankwright.build.sheet import build_sheet
from bankwright.buy.parts import parts
from support.banks import Keys, bank_with, only

KINDS = {
    "kinds.device.fuse-T": {
        "type": "fuse",
        "class": "class T",
        "rating": "200 A",
        "terminals": {"stud": "M10", "lugs": 1, "torque": "12 N m"},
    },
    "kinds.device.switch": {
        "type": "disconnect",
        "rating": "300 A",
        "terminals": {"stud": "M10", "lugs": 1, "torque": "12 N m"},
    },
    "kinds.lug.ring": {"hole": "8.4 mm", "stud": "M8", "cables": ["2/0 AWG"], "strands": ["fine"]},
}
DEVICES = [
    {"name": "F1", "kind": "fuse-T", "on": "main+", "at": "200 mm"},
    {"name": "S1", "kind": "switch", "on": "main+", "at": "600 mm"},
]
BOX = {"power": "5 kW", "terminals": {"stud": "M8", "lugs": 1, "torque": "9 N m"}}
CABLE = {"cable": "2/0 AWG", "strands": "fine"}
BAR = {
    "width": "40 mm",
    "thickness": "10 mm",
    "hole": "10.5 mm",
    "spacing": "60 mm",
    "stud": "M10",
    "torque": "18 N m",
}
STUDS = ["main", "M1", "M2", "M3", "M4", "M5", "M6"]


def made(count: int, pairs: int, earthing: Keys, pattern: Keys, bars: list[Keys] | None = None) -> Bank:
    """A bank of invented modules with the devices above."""
    link, main = {**CABLE, "length": "400 mm", "lug": "ring"}, {**CABLE, "length": "1.5 m", "lug": "ring"}
    posts = {"pairs": pairs, "stud": "M8", "lugs": 1, "torque": "10 N m"}
    return bank_with(
        count,
        only("cells", "capacity", mass="45 kg", posts=posts),
        kind="A",
        head={"title": "Counted by hand, invented", "site": {"earthing": {**earthing, "bond": "4 AWG"}}},
        inverter=BOX,
        box="box",
        wiring={**pattern, "link": link, "main": main},
        more={**KINDS, "devices": DEVICES, "bars": bars},
    )


def chain_of_four() -> Bank:
    return made(4, 2, {"pole": "none"}, {"pattern": "chain", "feed": "opposite ends"})


def bars_of_six(at: str | None = "bar-8", minus: tuple[str, ...] = (*STUDS, "")) -> Bank:
    earthing = {"pole": "none"} if at is None else {"pole": "minus", "at": [at]}
    bars = [{"name": f"bar{p}", "pole": p, **BAR, "studs": s} for p, s in (("+", STUDS), ("-", minus))]
    return made(6, 1, earthing, {"pattern": "busbar"}, bars)


def counted(bank: Bank) -> Counter[str]:
    return Counter(
        {
            group: sum(int(line.need) for line in parts(bank).lines if line.item.startswith(group))
            for group in ("lug/", "sleeve/", "nut/", "flat washer/", "spring washer/", "cover/post", "cover/bar",
                          "bar/", "bar support", "label/cable end", "fuse/", "fuse holder/", "disconnect/",
                          "earthing lug")
        }
    )  # fmt: skip


def test_a_chain_of_four_agrees_with_the_hand() -> None:
    """By hand. Four modules, two posts a pole each: 16 posts. Links: 3 a pole, 6 in all, a lug at each end: 12 lugs.

    main+ is cut at F1 and at S1: 3 cables, 6 lugs; main- is 1 cable, 2 lugs. Lugs: 12 + 6 + 2 = 20; sleeves and cable
    labels the same. Bolts: one a lug, for every lug has a post or terminal of its own: 14 posts of modules, 2 + 2
    terminals of F1 and S1, 2 of I1: 20 nuts, 20 flat and 20 spring washers. Covers: those 20, and the 2 posts at the
    ends of the chain where nothing is bolted (16 - 14): 22.
    """
    assert counted(chain_of_four()) == {
        "lug/": 20, "sleeve/": 20, "label/cable end": 20, "nut/": 20, "flat washer/": 20, "spring washer/": 20,
        "cover/post": 22, "cover/bar": 0, "bar/": 0, "bar support": 0, "fuse/": 1, "fuse holder/": 1, "disconnect/": 1,
        "earthing lug": 0,
    }  # fmt: skip


def test_bars_of_six_agree_with_the_hand() -> None:
    """By hand. Six modules, a lead a pole: 12 cables, 24 lugs. main+ cut twice: 3 cables, 6 lugs; main-: 2 lugs: 32.

    Bolts: 12 posts of modules, 12 studs of leads, 2 studs of the mains, 4 terminals of F1 and S1, 2 of I1: 32; the
    earthing conductor has a stud of its own: 33 nuts, 33 of each washer, 33 covers, and a cover over each bar. The
    earthing conductor has 2 lugs of its own. bar+ has 7 studs, 2 supports: 9 holes; bar- 8 studs: 10 holes. Lengths: 6
    and 7 spaces of 60 mm and 30 mm beyond each last hole: 420 and 480 mm.
    """
    bank = bars_of_six()
    assert counted(bank) == {
        "lug/": 32, "sleeve/": 32, "label/cable end": 32, "nut/": 33, "flat washer/": 33, "spring washer/": 33,
        "cover/post": 33, "cover/bar": 2, "bar/": 2, "bar support": 4, "fuse/": 1, "fuse holder/": 1, "disconnect/": 1,
        "earthing lug": 2,
    }  # fmt: skip
    bars = next(line for line in parts(bank).lines if line.item.startswith("bar/"))
    assert "bar+: Bar, copper 40 x 10 mm, 7 studs, 9 holes, 420 mm long" in bars.words
    assert "bar-: Bar, copper 40 x 10 mm, 8 studs, 10 holes, 480 mm long" in bars.words


def test_bars_that_are_alike_stay_one_line_of_plain_words() -> None:
    bank = bars_of_six(None, tuple(STUDS))
    bars = next(line for line in parts(bank).lines if line.item.startswith("bar/"))
    assert bars.words.count("Bar") == 1
    assert bars.need == 2


def test_an_earthing_lug_on_a_post_that_is_bolted_anyway_shares_its_nut() -> None:
    assert counted(bars_of_six("bar-1"))["nut/"] == 32


@pytest.mark.parametrize("bank", [chain_of_four(), bars_of_six()])
def test_every_piece_has_its_step(bank: Bank) -> None:
    listed = Counter(piece for step in build_sheet(bank).steps for piece in step.pieces)
    assert {piece.id for piece in parts(bank).pieces} <= set(listed)
