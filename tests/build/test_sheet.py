"""The sheet: order of work, caution before the act, what is wrong stands where it would hurt."""

from __future__ import annotations

import dataclasses
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bank.model import Bank, Rack
from bankwright.bank.model_kinds import PostSpec
from bankwright.bank.pieces.every import pieces
from bankwright.build.joints.order import unterminated
from bankwright.build.sheet import build_sheet, sheet_findings
from bankwright.forms.sheets import Step
from support.banks.rack import KIND, RACK, busbar, chain

BANKS = st.builds(
    lambda make, n: make(n), st.sampled_from([chain, busbar, lambda n: chain(n, "same end")]), st.integers(1, 9)
)


def step(bank: Bank, name: str) -> Step:
    return next(s for s in build_sheet(bank).steps if s.id == name)


def number(bank: Bank, start: str) -> list[int]:
    return [n for n, s in enumerate(build_sheet(bank).steps) if s.id.startswith(start)]


@settings(max_examples=30)
@given(BANKS)
def test_after_no_step_hangs_a_live_conductor(bank: Bank) -> None:
    bolted: set[str] = set()
    for s in build_sheet(bank).steps:
        bolted |= {tick.id.removeprefix("bolted/") for tick in s.ticks if tick.id.startswith("bolted/")}
        assert unterminated(bank, bolted) == ()
    assert bolted == {joint.name for joint in bank.joints}


@settings(max_examples=30)
@given(BANKS)
def test_every_step_is_whole(bank: Bank) -> None:
    sheet = build_sheet(bank)
    ids = [s.id for s in sheet.steps]
    known = {piece.id for piece in pieces(bank)}
    assert len(set(ids)) == len(ids)
    for place, s in enumerate(sheet.steps):
        assert s.acts
        assert s.done.text()
        assert s.cautions, s.id
        assert s.ticks, s.id
        assert s.digest
        assert s.source is not None
        assert set(s.pieces) <= known
        assert all(name in bank for name in s.at), s.id
        assert all(before in ids[:place] for before in s.after), s.id
        assert all(wanted.at in bank for wanted in s.readings)
        for words in (*s.acts, s.done, *(c.words for c in s.cautions)):
            assert "safe" not in words.text().lower()


@settings(max_examples=20)
@given(BANKS)
def test_every_bolt_is_torqued_once(bank: Bank) -> None:
    torqued = [t.id for s in build_sheet(bank).steps for t in s.ticks if t.id.startswith("torque/")]
    used = {joint.post or joint.name for joint in bank.joints}
    assert len(torqued) == len(set(torqued)) == len(used)


def test_order_of_the_work() -> None:
    bank = busbar(3)
    order = [
        "build.place", "build.people", "build.frame", "build.anchor", "build.bond", "build.nuts", "build.module",
        "build.read", "build.addresses", "build.data", "build.proof", "build.make", "build.bars", "build.mount",
        "build.insulation", "build.link",
        "build.covers", "build.poles", "build.fuses", "build.signs", "build.handover",
    ]  # fmt: skip
    places = [number(bank, start) for start in order]
    assert all(places)
    for before, after in pairwise(places):
        assert max(before) < min(after)


def test_modules_go_in_from_the_bottom_each_screwed_before_the_next() -> None:
    bank = chain(4)
    shuffled = bank.replaced(modules=tuple(reversed(bank.modules)))
    names = [s.id for s in build_sheet(shuffled).steps if s.id.startswith("build.module.")]
    assert names == [f"build.module.M{n}" for n in (1, 2, 3, 4)]
    assert step(shuffled, "build.module.M3").after == ("build.module.M2",)
    assert "screwed" in step(bank, "build.module.M1").ticks[0].words


def test_nothing_is_switched_on() -> None:
    last = build_sheet(chain(3)).steps[-1]
    text = " ".join(act.text() for act in last.acts)
    assert "Open, locked and tagged: S1. Every module is off" in text
    assert "bankwright match" in text


def test_torque_comes_from_the_kind_of_each_posts_owner() -> None:
    words = {t.id: t.words for s in build_sheet(busbar(2)).steps for t in s.ticks}
    assert words["torque/L1+@M1+"].startswith("M1+: 10.0 N·m")
    assert words["torque/main+@I1+"].startswith("I1+: 9.00 N·m")
    assert words["torque/main+@S1a"].startswith("S1a: 12.0 N·m")


def test_a_missing_torque_is_unknown_at_its_step_and_is_never_filled_in() -> None:
    bank = chain(2)
    joints = tuple(dataclasses.replace(j, torque=None) if j.post == "M1+" else j for j in bank.joints)
    bank = bank.replaced(joints=joints)
    s = step(bank, "build.link.L1+")
    finding = next(f for f in s.findings if f.code == "BLD-TORQUE")
    assert finding.verdict == "unknown"
    assert finding.missing[0].key == "kinds.module.M100.posts.torque"
    assert "torque" in finding.missing[0].question
    assert any(t.words.startswith("M1+: torque not known") for t in s.ticks)
    assert not [f for f in step(chain(2), "build.link.L1+").findings if f.code == "BLD-TORQUE"]


def test_without_a_main_switch_the_inverter_cable_says_so() -> None:
    bank = chain(2)
    shunt = dataclasses.replace(bank.devices[1].kind, type="shunt")
    bank = bank.replaced(devices=(bank.devices[0], dataclasses.replace(bank.devices[1], kind=shunt)))
    for name in ("build.link.main+", "build.handover"):
        assert [f.verdict for f in step(bank, name).findings if f.code == "BLD-SWITCH"] == ["unknown"]
    assert not [f for f in step(bank, "build.link.L1+").findings if f.code == "BLD-SWITCH"]


def test_a_steel_torque_on_a_terminal_is_questioned() -> None:
    bank = chain(2)
    joints = tuple(dataclasses.replace(j, torque=24.4) if j.post == "M1+" else j for j in bank.joints)
    found = [f for f in step(bank.replaced(joints=joints), "build.link.L1+").findings if f.code == "BLD-TORQUE-ODD"]
    assert [f.verdict for f in found] == ["caution"]


def test_a_lug_that_does_not_fit_shows_before_it_is_crimped_and_where_it_is_bolted() -> None:
    bank = chain(2)
    lug = bank.joints[0].lug
    assert lug is not None
    wrong = dataclasses.replace(lug, hole=0.0064)
    joints = (dataclasses.replace(bank.joints[0], lug=wrong), *bank.joints[1:])
    bank = bank.replaced(joints=joints)
    for name in ("build.make.4/0 AWG", "build.link.L1+"):
        assert [f.verdict for f in step(bank, name).findings if f.code == "BLD-STUD"] == ["fail"]


def test_too_many_lugs_on_a_post_show_where_the_nut_goes_on() -> None:
    kind = dataclasses.replace(KIND, posts=PostSpec(stud="M8", lugs=1, torque=10.0))
    bank = chain(3)
    posts = tuple(
        dataclasses.replace(p, spec=kind.posts) if p.owner_kind == "module" else p for p in bank.posts
    )  # fmt: skip
    found = [f for f in step(bank.replaced(posts=posts), "build.link.L1+").findings if f.code == "BLD-ROOM"]
    assert found
    assert found[0].verdict == "fail"


def test_a_slot_above_reach_is_a_fail_at_its_module() -> None:
    bank = chain(1)
    high = (dataclasses.replace(bank.modules[0], unit=40),)
    found = [f for f in step(bank.replaced(modules=high), "build.module.M1").findings if f.code == "BLD-LIFT"]
    assert [f.verdict for f in found] == ["fail"]


def test_a_rack_on_wheels_fails_where_a_fixed_one_cautions() -> None:
    bank = chain(2)
    high = tuple(dataclasses.replace(m, unit=18 + 3 * n) for n, m in enumerate(bank.modules))
    narrow = dataclasses.replace(RACK, foot_width=0.24, foot_depth=0.24)
    fixed = bank.replaced(modules=high, racks=(Rack("R1", narrow, bank.racks[0].origin),))
    rolling = dataclasses.replace(narrow, on="wheels", wheels=4, wheel_load=60.0)
    moved = fixed.replaced(racks=(Rack("R1", rolling, bank.racks[0].origin),))
    worst = [{f.verdict for f in sheet_findings(build_sheet(b)) if f.code == "BLD-TILT"} for b in (fixed, moved)]
    assert worst == [{"caution"}, {"fail"}]
    codes = {f.code: f.verdict for f in sheet_findings(build_sheet(moved))}
    assert codes["BLD-STOP"] == "fail"
    assert codes["BLD-ANCHOR"] == "caution"


def test_insulation_test_stands_before_anything_is_connected() -> None:
    s = step(busbar(2), "build.insulation")
    # IEC 60364-6 table 6.1: above 50 V up to 500 V nominal, 500 V and at least 1 Mohm (numbers read).
    assert [(w.at, w.low) for w in s.readings] == [("bar+", 1e6), ("bar-", 1e6)]
    assert "500 V" in s.acts[1].text()
    assert max(number(busbar(2), "build.insulation")) < min(number(busbar(2), "build.link"))


def test_stack_on_a_post_is_said_from_the_post_outward() -> None:
    text = " ".join(act.text() for act in step(chain(3), "build.link.L2+").acts)
    assert "M3+: from the post outward main+, L2+, then the washers" in text


def test_solved_currents_turn_the_stack_round() -> None:
    currents = {link.name: 1.0 for link in chain(3).links} | {"L2+": 90.0}
    sheet = build_sheet(chain(3), currents)
    order = [s.id for s in sheet.steps if s.id.startswith("build.link")]
    assert order.index("build.link.L2+") < order.index("build.link.main+")


def test_figures_fill_the_labels() -> None:
    from bankwright.forms.wording import Figure

    bank = chain(2)
    open_step = step(bank, "build.signs")
    assert [f.code for f in open_step.findings] == ["BLD-LABEL"]
    filled = build_sheet(bank, None, {"fault current": Figure(7200.0, "current")})
    text = " ".join(a.text() for s in filled.steps if s.id == "build.signs" for a in s.acts)
    assert "Largest fault current at the disconnect: 7.20 kA" in text


def test_without_a_rack_the_modules_still_have_their_steps() -> None:
    bank = chain(2)
    loose = tuple(dataclasses.replace(m, rack=None, unit=None, slot=None) for m in bank.modules)
    sheet = build_sheet(bank.replaced(racks=(), modules=loose))
    assert [s.id for s in sheet.steps][:2] == ["build.place", "build.people"]


@pytest.mark.parametrize("change", ["length", "torque", "slot"])
def test_the_digest_changes_with_what_the_step_rests_on_and_only_there(change: str) -> None:
    bank = chain(3)
    if change == "length":
        other = bank.replaced(
            links=tuple(dataclasses.replace(k, length=0.4) if k.name == "L1+" else k for k in bank.links)
        )
        touched = {"build.make.4/0 AWG", "build.link.L1+"}
    elif change == "torque":
        other = bank.replaced(
            joints=tuple(dataclasses.replace(j, torque=9.0) if j.name == "L1+@M1+" else j for j in bank.joints)
        )
        touched = {"build.link.L1+"}
    else:
        modules = (*bank.modules[:2], dataclasses.replace(bank.modules[2], unit=10))
        other = bank.replaced(modules=modules)
        touched = {"build.place", "build.nuts.R1", "build.module.M3"}
    before = {s.id: s.digest for s in build_sheet(bank).steps}
    after = {s.id: s.digest for s in build_sheet(other).steps}
    changed = {name for name in before if before[name] != after[name]}
    assert touched <= changed
    assert changed <= touched | {"build.frame.R1", "build.anchor.R1"}
