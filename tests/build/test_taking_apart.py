"""Taking apart: the bank is dead and proved before a cover is off; cables come off in the reverse of their bolting."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest

from bankwright.bank.model import Bank, Earthing
from bankwright.build.apart.sheet import apart_sheet
from bankwright.build.frame_voltage import frame_words
from bankwright.build.joints.order import unterminated
from bankwright.build.sheet import build_sheet
from bankwright.build.steps.make import LIVE
from bankwright.forms.faults import QuestionError
from support.banks.rack import busbar, chain

pytestmark = pytest.mark.quick

BANKS = [chain(4), chain(1), busbar(6), busbar(2), chain(3, "same end")]
DEAD = ["apart.people", "apart.loads", "apart.sources", "apart.main", "apart.modules", "apart.proved"]


def earthed(bank: Bank, pole: str, *at: str) -> Bank:
    return bank.replaced(site=dataclasses.replace(bank.site, earthing=Earthing(pole, at)))  # type: ignore[arg-type]


def off(sheet) -> list[list[str]]:  # type: ignore[no-untyped-def]
    """Joints that each cable step takes off, in order."""
    steps = [s for s in sheet.steps if s.id.startswith("apart.link.")]
    return [[tick.id.removeprefix("off/") for tick in s.ticks] for s in steps]


@pytest.mark.parametrize("bank", BANKS)
@pytest.mark.parametrize("pole", ["none", "minus", "plus"])
def test_dead_first_then_one_pole_whole_and_nothing_live_hangs(bank: Bank, pole: str) -> None:
    bank = earthed(bank, pole)
    sheet = apart_sheet(bank)
    ids = [s.id for s in sheet.steps]
    assert ids[: len(DEAD)] == DEAD
    assert all(s.after for s in sheet.steps[1:])
    gone = off(sheet)
    assert {name for names in gone for name in names} == {joint.name for joint in bank.joints}
    poles = [bank.link(names[0].split("@")[0]).pole for names in gone]
    changes = sum(a != b for a, b in pairwise(poles))
    assert changes == 1
    assert poles[0] == {"minus": "+", "plus": "-", "none": "+"}[pole]  # the unearthed one first
    left = {joint.name for joint in bank.joints}
    for names in gone:
        left -= set(names)
        assert unterminated(bank, left) == ()
    assert [i for i in ids if i.startswith("apart.module.")] == [
        f"apart.module.{m.name}" for m in reversed(bank.modules)
    ]


@pytest.mark.parametrize("bank", BANKS)
def test_the_end_at_the_modules_comes_off_first_and_stacks_from_the_top(bank: Bank) -> None:
    built = [s for s in build_sheet(bank).steps if s.id.startswith("build.link.")]
    bolted = {s.id[11:]: [t.id[7:] for t in s.ticks if t.id.startswith("bolted/")] for s in built}
    turns = list(bolted)
    for names in off(apart_sheet(bank)):
        assert names == bolted[names[0].split("@")[0]][::-1]
    came = [names[0].split("@")[0] for names in off(apart_sheet(bank))]
    for post in {j.post for j in bank.joints if j.post}:
        here = [j.link for j in bank.joints if j.post == post]
        assert sorted(here, key=came.index) == sorted(here, key=turns.index, reverse=True)


def test_every_step_with_hands_on_posts_is_two_people_and_says_live() -> None:
    for step in apart_sheet(chain(3)).steps:
        if step.id.startswith(("apart.link", "apart.modules", "apart.proved")):
            assert step.hands == "two people"
            assert LIVE in step.cautions
        assert step.ticks


def test_one_module_one_joint_one_device() -> None:
    bank = busbar(4)
    module = apart_sheet(bank, "M2")
    assert [s.id for s in module.steps][len(DEAD) :] == [
        "apart.link.L2+", "apart.link.L2-", "apart.module.M2", "apart.back"
    ]  # fmt: skip
    words = " ".join(act.text() for act in module.steps[-1].acts)
    assert "Match" in words
    assert "baseline begins anew" in words
    joint = apart_sheet(bank, "L3-@M3-")
    assert [s.id for s in joint.steps][len(DEAD) :] == ["apart.link.L3-", "apart.back"]
    device = bank.devices[0]
    assert f"apart.link.{device.on}" in [s.id for s in apart_sheet(bank, device.name).steps]


def test_of_a_cable_that_lies_above_only_the_one_lug_comes_off() -> None:
    """On a chain's inner post two lugs lie under one nut: the upper one is lifted, its cable stays at its other end."""
    bank = chain(4)
    posts = [joint.post for joint in bank.joints if joint.post]
    shared = next(post for post in posts if posts.count(post) > 1)
    lugs = [s for s in build_sheet(bank).steps if s.id.startswith("build.link.")]
    order = [s.id.removeprefix("build.link.") for s in lugs]
    low, high = sorted((j.link for j in bank.joints if j.post == shared), key=order.index)[:2]
    gone = off(apart_sheet(bank, low))
    assert [names for names in gone if names[0].startswith(f"{high}@")] == [[f"{high}@{shared}"]]
    assert [len(names) for names in gone if names[0].startswith(f"{low}@")] == [len(bank.joints_of(low))]
    assert len(off(apart_sheet(bank, high))) <= len(gone)


def test_what_does_not_exist_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(QuestionError) as refused:
        apart_sheet(chain(3), "M33")
    assert "M3" in refused.value.faults[0].hint


def test_modules_that_cannot_be_switched_off_are_joined_after_match() -> None:
    bank = busbar(3)
    kind = dataclasses.replace(bank.modules[0].kind, breaker=None)
    bare = bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))
    ids = [s.id for s in build_sheet(bare).steps]
    first = next(i for i in ids if i.startswith("build.link.L") and bank.link(i[11:]).pole == "+")
    assert ids.index("build.joining") < ids.index(first)
    step = next(s for s in build_sheet(bare).steps if s.id == "build.joining")
    assert [(f.code, f.verdict) for f in step.findings] == [("BLD-OFF", "unknown")]
    assert "build.joining" not in [s.id for s in build_sheet(with_breaker(bank)).steps]
    assert "live" in " ".join(a.text() for s in apart_sheet(bare).steps if s.id == "apart.modules" for a in s.acts)


def with_breaker(bank: Bank) -> Bank:
    kind = dataclasses.replace(bank.modules[0].kind, breaker=bank.modules[0].kind.breaker or bank.devices[0].kind)
    return bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))


def test_hands_locks_covers_and_resistor_of_the_building_sheet() -> None:
    sheet = build_sheet(earthed(chain(3), "minus", "M1-"))
    steps = {s.id: s for s in sheet.steps}
    assert all(s.hands != "one person" for s in sheet.steps if LIVE in s.cautions)
    for name in ("build.earth", "build.fuses"):
        assert "covered" in {tick.id for tick in steps[name].ticks}
    ids = list(steps)
    assert "open/S1" in {tick.id for tick in steps["build.mount"].ticks}
    assert ids.index("build.mount") < next(n for n, i in enumerate(ids) if i.startswith("build.link."))
    for step in sheet.steps:
        if step.id.startswith("build.link.L"):
            assert "Every module is off" in " ".join(c.words.text() for c in step.cautions)
    assert "--apart" in " ".join(note.text() for note in sheet.notes)


@pytest.mark.parametrize(
    ("pole", "at", "volts", "verdict"),
    [("none", "+", 0.2, "pass"), ("none", "+", 26.1, "caution"), ("none", "+", 52.6, "fail"),
     ("none", "-", -52.4, "fail"),
     ("minus", "+", 52.6, "pass"), ("minus", "-", -22.0, "fail"), ("minus", "+", 26.0, "fail"),
     ("minus", "-", -0.01, "pass"),
     ("plus", "-", -52.6, "pass"), ("none", "-", 22.0, "fail"), (None, "+", 26.1, "unknown")],
)  # fmt: skip
def test_a_pole_against_the_frame_is_judged_by_what_the_file_says_of_earthing(pole, at, volts, verdict) -> None:  # type: ignore[no-untyped-def]
    assert frame_words(earthed(chain(3), pole), at, volts)[0] == verdict
