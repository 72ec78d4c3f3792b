"""Conduits, classes of fuses, sets of fuses, water, height, places for more: what the checks say word by word."""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.checks.limiting import limits_current
from bankwright.plan.context import plan_of
from bankwright.plan.lists.not_checked import NOT_CHECKED, SILENT, not_checked
from support.plan_cases import CHAIN, RACEWAY, TWIN, WET, F, K, S, edited

BY_CODE = {check.code: check for check in CHECKS}
BRANCH = "kinds.device.branch"


def found(code, edits):
    return list(BY_CODE[code].function(plan_of(edited(edits))))


def verdicts(code, edits):
    return {each.verdict for each in found(code, edits)}


def test_three_cables_that_jam_are_a_caution():
    # 3.0 times the diameter: 3 x (1/3)^2 = 33 % is allowed, but three of that size jam (chapter 9 table 1, note)
    three = {**RACEWAY, "wiring.main.bundled": 3}
    assert verdicts("P-CABLE-5", {**three, "wiring.main.conduit": "48 mm"}) == {"caution"}
    assert verdicts("P-CABLE-5", {**three, "wiring.main.conduit": "52 mm"}) == {"pass"}


def test_a_short_piece_of_conduit_may_be_fuller():
    full = {**RACEWAY, "wiring.main.conduit": "35 mm", "wiring.main.length": "600 mm"}  # 42 %
    assert verdicts("P-CABLE-5", full) == {"pass"}
    assert verdicts("P-CABLE-5", {**full, "wiring.main.length": "610 mm"}) == {"fail"}


def test_under_the_iec_book_a_full_conduit_is_a_caution():
    iec = {**RACEWAY, "rules": "iec-60364", "wiring.main.conduit": "35 mm"}
    assert verdicts("P-CABLE-5", iec) == {"caution"}


def test_cables_in_free_air_have_no_conduit():
    assert found("P-CABLE-5", {}) == []


@pytest.mark.parametrize(
    ("what", "limits"),
    [("class T", True), ("J", True), ("RK5", True), ("K", False), ("H", False), ("CC", None), ("gG", None)],
)
def test_classes_of_fuses_that_limit(what, limits):
    fuse = edited({f"{F}.class": what}).device_kinds["main"]
    assert limits_current(fuse) is limits


def test_one_limiting_device_on_every_way_is_enough():
    slow = {f"{F}.current_limiting": False}
    assert verdicts("P-DEVICE-6", slow) == {"pass"}  # each module's fuse is of class T
    assert verdicts("P-DEVICE-6", {f"{BRANCH}.current_limiting": False}) == {"pass"}  # the main one is
    assert verdicts("P-DEVICE-6", {**slow, f"{BRANCH}.class": "CC"}) == {"unknown"}
    silent = {f"{F}.class": None, f"{BRANCH}.class": None}
    (finding,) = found("P-DEVICE-6", silent)
    assert {item.key for item in finding.missing} == {f"{F}.class", f"{BRANCH}.class"}


def test_the_check_of_the_bank_s_device_belongs_to_one_book():
    assert BY_CODE["P-DEVICE-6"].books == BY_CODE["P-DEVICE-7"].books == ("nec-2023",)


def test_one_fuse_for_a_set_is_not_side_by_side():
    (finding,) = found("P-DEVICE-7", {"+links": TWIN})
    assert finding.verdict == "pass"


@pytest.mark.parametrize(
    ("enclosure", "verdict"),
    [("IP65", "pass"), ("IP54", "pass"), ("IP23", "caution"), ("IP20", "fail"), ("IPX4", "pass"), ("IP2X", "unknown"),
     ("type 3R", "pass"), ("NEMA 4X", "pass"), ("type 1", "fail"), ("NEMA 12", "fail"), ("a tin box", "unknown")],
)  # fmt: skip
def test_enclosures_in_the_wet(enclosure, verdict):
    edits = {**WET, f"{K}.enclosure": enclosure}
    assert {each.verdict for each in found("P-PLACE-6", edits) if each.at == ("M1",)} == {verdict}


def test_outdoors_has_to_say_whether_it_is_wet():
    (finding,) = found("P-PLACE-6", {"site.place": "outdoors"})
    assert [item.key for item in finding.missing] == ["site.wet"]
    assert found("P-PLACE-6", {"site.place": "outdoors", "site.wet": False}) == []
    assert found("P-PLACE-6", {"site.place": "detached garage"}) == []


def test_at_the_usual_height_nothing_is_asked():
    assert found("P-PLACE-5", {}) == []
    assert verdicts("P-PLACE-5", {"site.altitude": "300 m"}) == {"pass"}
    assert verdicts("P-PLACE-5", {"site.altitude": "0 m"}) == {"pass"}


def test_a_place_that_an_earthing_point_takes_is_none_for_a_module():
    five = {"site.extension": 1, "bars[1].studs": ["M1", "M2", "M3", "", "main"]}
    free = {each.at[0]: each.figure.value for each in found("P-NUMBER-2", five)}
    assert free == {"bar+": 0, "bar-": 0}  # the earthing point is on bar-4
    earthed = {**five, "site.earthing.at": ["bar-5"]}
    assert {each.at[0]: each.figure.value for each in found("P-NUMBER-2", earthed)} == {"bar+": 0, "bar-": 1}


@pytest.mark.parametrize(("feed", "free"), [("same end", (1, 1)), ("opposite ends", (0, 1))])
def test_the_last_module_of_a_chain_needs_a_post_for_the_link_on(feed, free):
    row = {**CHAIN, "wiring.feed": feed, f"{K}.posts.pairs": 2, "site.extension": 1, "site.earthing.at": ["M1-"]}
    told = {each.at[0]: (each.figure.value, each.verdict) for each in found("P-NUMBER-2", row)}
    assert told == {f"M3{s}b": (n, "pass" if n else "caution") for s, n in zip("+-", free, strict=True)}


def test_racks_are_counted_in_whole_units():
    rack = {"kinds.rack.R": {"units": 12}, "+racks": {"name": "R1", "kind": "R"}, f"{K}.height": "3 U"}
    room = [each for each in found("P-NUMBER-2", {**rack, "site.extension": 1}) if each.at == ("R1",)]
    assert [(each.verdict, each.figure.value) for each in room] == [("pass", 3)]
    room = [each for each in found("P-NUMBER-2", {**rack, "site.extension": 2}) if each.at == ("R1",)]
    assert [each.verdict for each in room] == ["caution"]


def test_what_a_file_says_leaves_the_list_of_what_is_not_checked():
    silent = not_checked(CHECKS, edited({}))
    assert set(NOT_CHECKED) < set(silent)
    device = {f"{S}.withstands": "50 kA", f"{F}.time_constant": "3 ms", f"{BRANCH}.time_constant": "3 ms"}
    site = {"site.altitude": "300 m", "site.wet": False, "site.earthing.bond_length": "2 m"}
    told = not_checked(CHECKS, edited({**device, **site}))
    assert set(silent) - set(told) == set(SILENT) - {"lowest voltage of a direct load that gives none"}


def test_the_low_end_of_the_resistance_decides_what_a_device_must_interrupt():
    """Three modules of 4.4 to 5.6 mohm: the largest short is that of 4.4 mohm, or a little more, since the
    warmth of the cells takes the share that they have of 5 mohm."""
    band, low, middle = ({f"{K}.resistance.ohmic": each} for each in ("5 mohm +- 0.6 mohm", "4.4 mohm", "5 mohm"))
    for code in ("P-FAULT-1", "P-FAULT-2"):
        rows = ([f.figure.value for f in found(code, each) if f.figure] for each in (band, low, middle))
        for wide, exact, usual in zip(*rows, strict=True):
            assert exact <= wide <= 1.02 * exact
            assert wide > 1.05 * usual
    most = max(f.figure.value for f in found("P-FAULT-1", band))
    assert not [
        f for f in found("P-FAULT-1", {**band, f"{F}.interrupts": f"{most * 1.06:.0f} A"}) if f.verdict != "pass"
    ]
    assert [f for f in found("P-FAULT-1", {**band, f"{F}.interrupts": f"{most * 0.999:.0f} A"}) if f.verdict == "fail"]


@pytest.mark.parametrize(("held", "told"), [(True, "there are 3 breakers to open"), (False, "names no breaker inside")])
def test_breakers_that_the_file_does_not_have_are_not_counted(held, told):
    no_switch = {"devices[2]": None, **({} if held else {f"{K}.breaker": None})}
    (finding,) = found("P-SWITCH-1", no_switch)
    assert finding.verdict == "fail"
    assert told in finding.text.text()
