"""What is bought is put somewhere, and what a step takes into the hand was bought: for any bank."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bank.model import Bank, Earthing
from bankwright.bank.pieces.bolts import bolts
from bankwright.bank.pieces.every import pieces
from bankwright.bank.read import read_bank
from bankwright.build.sheet import build_sheet
from support.banks.rack import busbar, chain

ROOT = Path(__file__).parents[2]
FILES = [ROOT / "demo" / "barn.toml", *sorted((ROOT / "tests" / "support" / "banks").glob("*.toml"))]


def earthed(bank: Bank, pole: str) -> Bank:
    at = ("M1-",) if pole == "minus" else ("M1+",) if pole == "plus" else ()
    return bank.replaced(site=dataclasses.replace(bank.site, earthing=Earthing(pole, at)))  # type: ignore[arg-type]


def without_rack(bank: Bank) -> Bank:
    loose = tuple(dataclasses.replace(m, rack=None, unit=None, slot=None) for m in bank.modules)
    return bank.replaced(racks=(), modules=loose)


def seated(bank: Bank) -> Bank:
    """Every first device of a cable sits straight on the cable's first post."""
    first = {link.devices[0] for link in bank.links if link.devices}
    moved = (dataclasses.replace(d, distance=0.0) if d.name in first else d for d in bank.devices)
    return bank.replaced(devices=tuple(moved))


BANKS = st.builds(
    lambda make, n, pole, changes: _changed(earthed(make(n), pole), changes),
    st.sampled_from([chain, busbar, lambda n: chain(n, "same end")]),
    st.integers(1, 6),
    st.sampled_from(["none", "minus", "plus"]),
    st.sets(st.sampled_from([without_rack, seated])),
)


def _changed(bank: Bank, changes) -> Bank:  # type: ignore[no-untyped-def]
    for change in changes:
        bank = change(bank)
    return bank


def agree(bank: Bank) -> None:
    bought = {piece.id for piece in pieces(bank)}
    used: dict[str, list[str]] = {}
    for step in build_sheet(bank).steps:
        assert len(set(step.pieces)) == len(step.pieces), step.id
        for name in step.pieces:
            used.setdefault(name, []).append(step.id)
    assert used.keys() <= bought
    assert sorted(bought - used.keys()) == []
    for name, steps in used.items():  # nothing is put on twice; covers of posts are looked at once more at the end
        if not name.startswith(("cover/", "lug/", "sleeve/", "cable/")):
            assert len(steps) == 1, (name, steps)


@settings(max_examples=30)
@given(BANKS)
def test_every_piece_has_its_step_and_every_step_its_pieces(bank: Bank) -> None:
    agree(bank)


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_pieces_and_steps_of_a_file_agree(file: Path) -> None:
    agree(read_bank(file))


@settings(max_examples=30)
@given(BANKS)
def test_every_tool_of_a_step_is_on_the_list(bank: Bank) -> None:
    tools = {piece.id.removeprefix("tools/") for piece in pieces(bank) if piece.group == "tools"}
    for step in build_sheet(bank).steps:
        assert set(step.tools) <= tools, step.id


@settings(max_examples=30)
@given(BANKS)
def test_one_nut_and_two_washers_a_bolt_one_lug_and_one_label_a_cable_end(bank: Bank) -> None:
    found = [piece.id for piece in pieces(bank)]

    def count(start: str) -> int:
        return sum(name.startswith(start) for name in found)

    places = len(bolts(bank))
    assert count("nut/") == count("flat washer/") == count("spring washer/") == places
    ends = 2 * count("cable/")
    assert count("lug/") == count("sleeve/") == ends
    assert sum(name.startswith("label/") and "@" in name for name in found) == ends
    torqued = [t.id for s in build_sheet(bank).steps for t in s.ticks if t.id.startswith("torque/")]
    assert len(torqued) == len(set(torqued)) == places


def test_the_die_of_each_lug_stands_in_the_step_that_crimps_it() -> None:
    bank = busbar(2)
    (made,) = (step for step in build_sheet(bank).steps if step.id.startswith("build.make."))
    assert "Crimp lug-M8 with: die 107." in [act.text() for act in made.acts]
    assert made.rests["die for lug-M8"] == "die 107"  # a new die asks for the step again
    silent = tuple(
        dataclasses.replace(joint, lug=None if joint.lug is None else dataclasses.replace(joint.lug, crimp=None))
        for joint in bank.joints
    )
    (made,) = (step for step in build_sheet(bank.replaced(joints=silent)).steps if step.id.startswith("build.make."))
    assert any("Crimp lug-M8 with" in act.text() and "not given" in act.text() for act in made.acts)
