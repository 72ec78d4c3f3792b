"""A device that sits straight on a post is held against its stud, and no lug is named where there is none."""

from __future__ import annotations

import dataclasses

import pytest

from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import LugKind
from bankwright.bank.pieces.bolts import bolt_of, direct_seats
from bankwright.bank.pieces.fits import barrel_fit, stud_fit
from bankwright.build import cards
from bankwright.build.joints.torque import shared_bolt_findings
from support.banks.rack import busbar


def seated(stud: str | None, torque: float = 20.0) -> Bank:
    """The main fuse straight on its post (M8), its own terminals of another thread."""
    bank = busbar(2)
    device = next(d for d in bank.devices if d.kind.type == "fuse")
    devices = tuple(dataclasses.replace(d, distance=0.0) if d.name == device.name else d for d in bank.devices)
    joints = tuple(
        dataclasses.replace(j, stud=stud, torque=torque) if j.device == device.name else j for j in bank.joints
    )
    return bank.replaced(devices=devices, joints=joints)


def pair(bank: Bank):  # type: ignore[no-untyped-def]
    return next(p for link in bank.links for p in direct_seats(bank, link))


@pytest.mark.parametrize(
    ("stud", "verdict"), [("M8", "pass"), ("5/16 in", "pass"), ("M10", "fail"), ("M6", "fail"), (None, "unknown")]
)
def test_thread_is_held_against_thread(stud: str | None, verdict: str) -> None:
    bank = seated(stud)
    for joint in pair(bank):
        found = stud_fit(bank, joint, cards.STUD)
        assert found.verdict == verdict
        assert "lug" not in (found.text.text() if found.text else "")
        assert barrel_fit(bank, joint, cards.LUG) is None


def test_lugs_named_end_by_end_say_that_one_lies_between() -> None:
    bank = seated("M10")
    post = next(joint for joint in pair(bank) if joint.post is not None)
    own = LugKind("own", "kinds.lug.own", hole=8.4e-3, stud="M8")
    links = tuple(
        dataclasses.replace(link, lug_a=own, lug_b=dataclasses.replace(own, name="other"))
        if link.name == post.link
        else link
        for link in bank.links
    )
    joints = tuple(dataclasses.replace(j, lug=own) if j.name == post.name else j for j in bank.joints)
    found = stud_fit(bank.replaced(links=links, joints=joints), post, cards.STUD)
    assert found.verdict == "caution"
    assert "short cable lies between" in found.text.text()  # type: ignore[union-attr]


def test_two_torques_under_one_nut_are_told_without_a_margin() -> None:
    bank = seated("M8")
    bolt = bolt_of(bank)[pair(bank)[0].name]
    (found,) = shared_bolt_findings(bolt)
    assert (found.verdict, found.figure, found.limits) == ("caution", None, (None, None))
    assert "20" in found.text.text()  # type: ignore[union-attr]
