"""A lug that nobody named: where one kind fits stud and cable it is named, to be confirmed; else it is open."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.lug_choice import hole_fits, lug_or_fit
from bankwright.bank.model import Bank
from bankwright.bank.read import read_bank
from bankwright.build.sheet import build_sheet
from bankwright.buy.parts import parts

BARN = Path(__file__).parents[1] / "support" / "banks" / "two_inverters.toml"


def barn(tmp_path: Path, *changes: tuple[str, str]) -> Bank:
    text = BARN.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / "barn.toml"
    file.write_text(text, encoding="utf-8")
    return read_bank(file)


def chosen(bank: Bank, joint: str) -> tuple[str | None, bool]:
    lug, fits = lug_or_fit(bank, next(j for j in bank.joints if j.name == joint))
    return (lug.name if lug else None, fits)


def test_the_one_kind_that_fits_is_named_for_each_stud(tmp_path: Path) -> None:
    bank = barn(tmp_path)
    assert chosen(bank, "I1+lead@F2-I1a") == ("ring-8", True)  # stud M8
    assert chosen(bank, "I1+lead@S2-I1a") == ("ring-10", True)  # stud M10
    assert chosen(bank, "I1+lead@I1+") == ("ring-8", False)  # named in the file
    listing = parts(bank)
    line = listing.line("lug/ring-8 to confirm/2/0 AWG")
    assert line.words == "Lug ring-8 for 2/0 AWG fine, stud M8: fits; confirm"
    assert (line.need, line.assumed, line.open) == (4, True, ())
    said = [f for f in listing.findings if f.code == "B-LUG-STUD" and "ring-8 is the one that fits" in f.text.text()]  # type: ignore[union-attr]
    assert [(f.verdict, len(f.at) + len(f.more)) for f in said] == [("caution", 4)]
    acts = [act.text() for s in build_sheet(bank).steps if s.id == "build.proof" for act in s.acts]
    assert not [act for act in acts if "not given" in act]


TWIN = (
    '[kinds.lug.ring-8b]\nhole = "8.5 mm"\nstud = "M8"\ncables = ["2/0 AWG"]\nstrands = ["fine"]\n\n[kinds.lug.ring-10]'
)


@pytest.mark.parametrize(
    "change",
    [
        ("[kinds.lug.ring-10]", TWIN),  # two fit: nothing is chosen
        ('hole = "8.4 mm"', 'hole = "9.9 mm"'),  # too loose
        ('hole = "8.4 mm"', 'hole = "8.1 mm"'),  # too tight
        ('"1/0 AWG", "2/0 AWG", "4/0 AWG"]\nstrands = ["fine"]\nrating = "90 degC"\nbarrel = "24 mm"', '"1/0 AWG"]'),
        ('branch = { cable = "2/0 AWG", strands = "fine",', 'branch = { cable = "2/0 AWG",'),  # strands not known
    ],
    ids=["two fit", "loose", "tight", "cable not listed", "strands unknown"],
)
def test_what_is_truly_open_stays_open(tmp_path: Path, change: tuple[str, str]) -> None:
    bank = barn(tmp_path, change)
    assert chosen(bank, "I1+lead@F2-I1a") == (None, False)
    open_lines = [line for line in parts(bank).lines if line.item.startswith("lug/unknown/2/0 AWG")]
    assert open_lines
    assert all(line.open for line in open_lines)


def test_play_between_hole_and_stud_has_both_ends() -> None:
    # 0.2 to 1.6 mm: common practice, no source.
    assert hole_fits(0.0082, "M8")
    assert hole_fits(0.0096, "M8")
    assert not hole_fits(0.0081, "M8")
    assert not hole_fits(0.0097, "M8")


def test_a_sign_for_each_switch_and_a_label_for_each_fuse(tmp_path: Path) -> None:
    listing = parts(barn(tmp_path))
    assert listing.line("sign/disconnect").need == 3
    assert listing.line("label/fuse").need == 3


def test_fifteen_centimetres_of_each_cable_are_ordered_for_the_trial_crimp(tmp_path: Path) -> None:
    line = parts(barn(tmp_path)).line("cable/1 AWG fine strands/red")
    assert line.need == pytest.approx(5 * 0.71)
    assert line.spares == pytest.approx(0.15)
    assert line.order == pytest.approx(3.7)


def test_lengths_of_sleeves_and_bars_follow_the_units_of_the_file(tmp_path: Path) -> None:
    words = [line.words for line in parts(barn(tmp_path, ('units = "metric"', 'units = "us"'))).lines]
    assert not [w for w in words if w.startswith("Bar,") and " mm" in w]
    sleeves = [
        w for w in words if w.startswith("Heat-shrink")
    ]  # sold by their metric size everywhere: inches beside it
    assert sleeves
    assert all(" in long" in w and " in)" in w for w in sleeves)
