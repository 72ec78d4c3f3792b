"""What is mounted before it is wired, one earthing point after both poles read open, one nut for what shares a bolt."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from bankwright.bank.model import Bank, Earthing
from bankwright.bank.pieces.bolts import bolts
from bankwright.bank.pieces.fits import stud_card, stud_fit
from bankwright.bank.read import read_bank
from bankwright.build.labels import labels
from bankwright.build.pages import finding_words, lift_rows
from bankwright.build.rack.clearances import clearances
from bankwright.build.sheet import build_sheet
from bankwright.forms.sheets import Step
from support.banks.rack import busbar, chain

BARN = Path(__file__).parents[1] / "support" / "banks" / "two_inverters.toml"


def step(bank: Bank, name: str) -> Step:
    return next(s for s in build_sheet(bank).steps if s.id == name)


def earthed(bank: Bank, *at: str) -> Bank:
    return bank.replaced(site=dataclasses.replace(bank.site, earthing=Earthing("minus", at)))


def text(step: Step) -> str:
    return " ".join(act.text() for act in step.acts)


def test_an_inverter_is_locked_out_on_its_other_sides_before_any_cable_of_it_is_bolted() -> None:
    sheet = build_sheet(chain(2))
    ids = [s.id for s in sheet.steps]
    mount = step(chain(2), "build.mount")
    assert ids.index("build.mount") < ids.index("build.insulation") < ids.index("build.link.main+")
    assert "AC input, PV" in mount.cautions[0].words.text()
    assert {tick.id for tick in mount.ticks} == {"mounted/I1", "mounted/F1", "mounted/S1", "open/S1", "locked"}
    for name in ("build.link.main+", "build.link.main-"):
        assert "AC and PV of every inverter are open and locked" in step(chain(2), name).cautions[0].words.text()
    assert "without its fuse" in text(mount)


def test_a_pole_is_earthed_after_both_read_open_dead_and_live() -> None:
    ids = [s.id for s in build_sheet(earthed(chain(2), "M1-")).steps]
    order = ("build.poles", "build.fuses", "build.handover", "build.live", "build.earth", "build.earth.live")
    assert [name for name in ids if name in order] == list(order)
    poles = step(earthed(chain(2), "M1-"), "build.poles")
    assert [(w.quantity, w.low) for w in poles.readings] == [
        ("frame_voltage", -1.0), ("frame_voltage", -1.0),
        ("resistance", pytest.approx(5120)), ("resistance", pytest.approx(5120)),  # 100 ohm a volt
    ]  # fmt: skip
    assert "build.earth" not in [s.id for s in build_sheet(chain(2)).steps]


def test_the_earthing_lug_needs_room_on_its_post_and_two_points_are_one_too_many() -> None:
    one = busbar(2)
    crowded = step(earthed(one, "bar-3"), "build.earth")  # the main's stud, one lug a stud
    room = next(f for f in crowded.findings if f.code == "BLD-ROOM")
    assert (room.verdict, room.figure and room.figure.value) == ("fail", 2)
    assert "no room for the earthing lug" in text(crowded)
    roomy = step(earthed(chain(2), "M2-"), "build.earth")  # one of two lugs is there
    assert "M2-: open its nut once" in text(roomy)
    assert not [f for f in roomy.findings if f.code == "BLD-ROOM"]
    two = step(earthed(chain(2), "M1-", "M2-"), "build.earth")
    assert [f.verdict for f in two.findings if f.code == "BLD-EARTH"] == ["fail"]
    nowhere = step(earthed(chain(2)), "build.earth")
    assert [f.missing[0].key for f in nowhere.findings if f.code == "BLD-EARTH"] == ["site.earthing.at"]


def test_a_fuse_that_sits_on_a_post_shares_its_nut_and_both_torques_are_shown() -> None:
    bank = chain(2)
    seated = bank.replaced(devices=(dataclasses.replace(bank.devices[0], distance=0.0), bank.devices[1]))
    link = seated.link("main+")
    assert link.devices[0] == "F1"
    assert len(bolts(seated)) == len(bolts(bank)) - 1
    s = step(seated, "build.link.main+")
    assert "torque/main+@F1a" not in {tick.id for tick in s.ticks}
    assert f"{link.a} and F1a share one bolt" in text(s)
    odd = next(f for s in build_sheet(seated).steps for f in s.findings if f.code == "BLD-TORQUE-ODD")
    assert odd.verdict == "caution"  # 10 N m of the module, 12 N m of the fuse
    assert not [f for f in step(bank, "build.link.main+").findings if f.code == "BLD-TORQUE-ODD"]


def test_a_joint_is_torqued_before_the_next_one_is_bolted() -> None:
    ids = [tick.id for tick in step(busbar(2), "build.link.main+").ticks]
    assert ids[:4] == ["bolted/main+@I1+", "torque/main+@I1+", "bolted/main+@S1b", "torque/main+@S1b"]


def test_a_cable_that_a_device_parts_is_made_up_in_its_parts() -> None:
    ticks = {tick.id: tick.words for s in build_sheet(chain(2)).steps for tick in s.ticks}
    assert ticks["made/main+"] == "main+: 3 cables, 200 mm and 400 mm and 900 mm, red"
    assert ticks["made/L1+"] == "L1+: 320 mm, red"


def test_the_page_by_the_door_asks_for_its_number() -> None:
    found = [f for f in step(chain(2), "build.place").findings if f.code == "BLD-NUMBER"]
    assert [f.missing[0].key for f in found] == ["site.emergency_number"]
    told = chain(2).replaced(site=dataclasses.replace(chain(2).site, emergency_number="112"))
    assert not [f for f in step(told, "build.place").findings if f.code == "BLD-NUMBER"]


def test_a_switch_of_an_inverter_is_not_labelled_as_that_of_the_bank() -> None:
    heads = {label.at: label.lines[0] for label in labels(read_bank(BARN)) if label.at}
    assert heads["S1",] == "ENERGY STORAGE SYSTEM DISCONNECT"
    assert heads["S2-I1",] == "Inverter disconnect"


def test_distances_of_one_countrys_rules_are_not_given_to_another() -> None:
    assert not clearances(chain(2).replaced(book="iec-60364"))
    assert "local code" in text(step(chain(2).replaced(book="iec-60364"), "build.place"))
    assert clearances(chain(2).replaced(book="iec-60364", storage_rules="irc-2021"))


def test_modules_without_a_rack_are_bonded_all_the_same_and_are_not_screwed_to_one() -> None:
    bank = chain(2)
    loose = bank.replaced(
        racks=(), modules=tuple(dataclasses.replace(m, rack=None, unit=None, slot=None) for m in bank.modules)
    )
    ids = [s.id for s in build_sheet(loose).steps]
    assert ids.index("build.bond.frame") < ids.index("build.module.M1")
    assert "rails" not in step(loose, "build.module.M1").done.text()


def test_a_loose_lug_is_said_with_its_play_and_not_as_room_left() -> None:
    bank = chain(2)
    lug = dataclasses.replace(bank.joints[0].lug, hole=0.0105)  # type: ignore[type-var]
    joint = dataclasses.replace(bank.joints[0], lug=lug)
    found = stud_fit(bank, joint, stud_card("BLD-STUD"))
    assert found.verdict == "caution"
    assert "0.900 mm over" in finding_words(found, "metric")  # 10.5 - 8 = 2.5 mm, at most 1.6 mm


def test_a_slot_above_reach_keeps_the_lift_table_narrow() -> None:
    bank = chain(1)
    high = bank.replaced(modules=(dataclasses.replace(bank.modules[0], unit=45),))
    assert lift_rows(high)[0][5:] == ("-", "-", "-", "lift table")


def test_what_is_missing_of_a_bar_that_the_pattern_added_names_a_key_that_can_be_written(tmp_path: Path) -> None:
    file = tmp_path / "two.toml"
    source = BARN.read_text(encoding="utf-8")
    head, rest = source.split("[[bars]]", 1)
    file.write_text(head.replace('"busbar"', '"busbar"\nfeed = "same end"') + rest[rest.index("[[devices]]") :])
    keys = {m.key for s in build_sheet(read_bank(file)).steps for f in s.findings for m in f.missing}
    assert "bars" in keys
    assert not [
        key for key in keys if key.startswith("wiring.") and key.endswith((".stud", ".torque", "lugs_per_stud"))
    ]
