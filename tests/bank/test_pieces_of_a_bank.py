"""Every piece has its place, and the counts follow from the wiring."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.bank.model import Bank
from bankwright.bank.pieces.bolts import cable_lengths
from bankwright.bank.pieces.every import pieces
from bankwright.bank.pieces.frame import bar_length
from bankwright.bank.pieces.sleeves import outer_diameter, sleeve_for
from support.banks.rack import busbar, chain

BANKS = st.builds(
    lambda make, n: make(n), st.sampled_from([chain, busbar, lambda n: chain(n, "same end")]), st.integers(2, 16)
)


def count(bank: Bank, start: str) -> int:
    return sum(piece.item.startswith(start) for piece in pieces(bank))


@given(BANKS)
def test_ids_are_unique_and_places_are_in_the_bank(bank: Bank) -> None:
    found = pieces(bank)
    assert len({piece.id for piece in found}) == len(found)
    for piece in found:
        assert piece.origin.path
        assert all(name in bank for name in piece.at), piece


@given(BANKS)
def test_one_lug_and_one_sleeve_a_joint_and_one_nut_a_used_post(bank: Bank) -> None:
    assert count(bank, "lug/") == count(bank, "sleeve/") == len(bank.joints)
    used = {joint.post or joint.name for joint in bank.joints}
    assert count(bank, "nut/") == count(bank, "spring washer/") == len(used)


def test_parts_of_a_chain_of_four_counted_by_hand() -> None:
    # 3 links a pole and 2 mains; main+ has a fuse and a switch (3 parts), main- a switch (2 parts): 11 cables.
    # Lugs: 2 a part: 22. Posts used: 8 of modules, 2 of the inverter, terminals of F1 2, of S1 2 a pole: 16 nuts.
    bank = chain(4)
    assert count(bank, "cable/") == 11
    assert count(bank, "lug/") == 22
    assert count(bank, "nut/") == 16
    assert count(bank, "cage nut/") == count(bank, "rack screw/") == 16
    assert count(bank, "data cable/module") == 3
    assert count(bank, "data cable/reader") == 1
    assert count(bank, "terminator") == 2
    assert count(bank, "fuse/") == count(bank, "fuse holder/") == 1
    assert count(bank, "disconnect/") == 1


def test_a_cable_is_cut_at_its_devices() -> None:
    bank = chain(3)
    assert cable_lengths(bank, bank.link("main+")) == pytest.approx((0.2, 0.4, 0.9))
    assert cable_lengths(bank, bank.link("main-")) == pytest.approx((0.6, 0.9))
    assert cable_lengths(bank, bank.link("L1+")) == (0.32,)


def test_a_device_whose_place_is_not_given_leaves_the_parts_open() -> None:
    bank = chain(2)
    lost = tuple(dataclasses.replace(device, distance=None) for device in bank.devices)
    found = [p for p in pieces(bank.replaced(devices=lost)) if p.at == ("main+",) and p.group == "cable"]
    assert all(piece.length is None and piece.open is not None for piece in found)


def test_a_fuse_on_the_post_needs_no_cable_to_it() -> None:
    bank = busbar(2)
    near = tuple(dataclasses.replace(d, distance=0.0) if d.name != "S1" else d for d in bank.devices)
    moved = bank.replaced(devices=near)
    assert count(bank, "lug/") - count(moved, "lug/") == 4
    assert count(bank, "cable/") - count(moved, "cable/") == 2


def test_sleeve_slips_over_and_shrinks_on() -> None:
    cable = chain(2).links[0].cable
    assert cable is not None
    sleeve = sleeve_for(cable, None)
    assert sleeve is not None
    assert sleeve.shrunk < 0.0175 < sleeve.supplied
    assert not sleeve.assumed
    guessed, estimated = outer_diameter(dataclasses.replace(cable, outer_diameter=None))
    assert estimated
    assert 0.013 < guessed < 0.025
    assert sleeve_for(None, None) is None


def test_bar_length_follows_from_its_studs() -> None:
    # 5 studs 40 mm apart are 160 mm; beyond the last hole 20 mm (half the spacing) at each end: 200 mm.
    bar = busbar(4).bars[0]
    assert bar_length(bar) == pytest.approx(0.2)
    assert bar_length(dataclasses.replace(bar, spacing=None)) is None
