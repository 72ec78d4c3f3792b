"""A flat strap in a cable's place, and a module's post bolted straight on a bar: file, circuit, checks, parts, sheet.

The numbers expected are worked by hand beside each test; density of bars: NEC 366.23, 1000 A a square inch of copper,
700 of aluminium [read]; IEC 60364-5-54 table A.54, 226 and 148 for copper and aluminium [from memory].
"""

import math

import pytest

from bankwright.bank.pieces.every import pieces
from bankwright.bank.read import BankFileError
from bankwright.circuit.of_bank.network import network_of
from bankwright.draw.paint.look import link_words
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import edited

BY_CODE = {check.code: check for check in CHECKS}
JOINT = "20 uohm +- 10 uohm"
FLAT = {"width": "20 mm", "thickness": "5 mm", "hole": "9 mm"}
INCH2 = 645.16  # mm2


def strapped(more=None, **link):
    own = {"strap": {**FLAT, **(more or {})}, "insulation": "105 degC", "length": "500 mm", "joint": JOINT, **link}
    return edited({"wiring.link": own})


def straight(**edits):
    return edited({"wiring.link": {"straight": True, "joint": JOINT}, "devices[0]": None, **edits})


def found(code, bank, at=""):
    return [f for f in BY_CODE[code].function(plan_of(bank)) if not at or at in (*f.at, *f.more)]


def test_a_strap_has_the_resistance_of_its_section():
    bank = strapped()
    cable = bank.link("L1+").cable
    assert cable.size == "strap 20 x 5 mm, copper"
    assert cable.ohm_per_m == pytest.approx(1 / 58 / 100, rel=0.01)  # ohm mm2/m over 100 mm2
    assert strapped({"layers": 2}).link("L1+").cable.ohm_per_m == pytest.approx(cable.ohm_per_m / 2)
    assert strapped({"material": "aluminium"}).link("L1+").cable.ohm_per_m > 1.5 * cable.ohm_per_m


@pytest.mark.parametrize(("thickness", "verdict"), [("5 mm", "pass"), ("3 mm", "caution"), ("2 mm", "fail")])
def test_a_strap_is_judged_as_a_bar_is(thickness, verdict):
    """Some 83 A of heating current over 11 mm net of width: 1.5, 2.5 and 3.8 A/mm2; steps 1.55 and 3.5."""
    told = found("P-BAR-1", strapped({"thickness": thickness}), "L3+")
    assert [each.verdict for each in told] == [verdict]
    assert told[0].figure.value == pytest.approx(83e6 / (11 * float(thickness[0])), rel=0.02)


def test_its_rating_takes_the_place_of_the_density():
    assert found("P-BAR-1", strapped({"thickness": "1 mm", "rating": "90 A"}), "L3+")[0].verdict == "pass"
    assert found("P-BAR-1", strapped({"rating": "80 A"}), "L3+")[0].verdict == "fail"


@pytest.mark.parametrize("code", ["P-CABLE-1", "P-CABLE-2", "P-CABLE-3", "P-POST-2", "P-JOINT-2"])
@pytest.mark.parametrize("make", [strapped, straight])
def test_rules_of_cables_do_not_look_at_it(code, make):
    assert not [f for f in found(code, make()) if any(place.startswith("L1+") for place in (*f.at, *f.more))]


def test_a_device_ahead_of_it_is_held_against_density_or_rating():
    wide = strapped({"width": "40 mm"})
    (told,) = found("P-DEVICE-2", wide, "L1+")
    assert told.verdict == "pass"
    assert told.limits[1] == pytest.approx(1000 / INCH2 * (40 - 9) * 5, rel=0.01)  # A
    (told,) = found("P-DEVICE-2", strapped(), "L1+")
    assert (told.verdict, told.missing[0].key) == ("unknown", "wiring.link.strap.rating")
    brass = strapped({"width": "40 mm", "material": "brass"})
    assert found("P-DEVICE-2", brass, "L1+")[0].verdict == "unknown"


def test_the_short_is_held_against_the_metal_s_own_figure():
    """(k S)^2, k from 105 to 250 degC: copper 134.6 (ICEA form of the same law); aluminium 148/226 of it."""
    copper, aluminium = (
        next(i for i in found("P-CLEAR-1", strapped({"material": m}), "L1+")[0].inputs if i.symbol == "k").name
        for m in ("copper", "aluminium")
    )
    values = [float(text.split()[2]) for text in (copper, aluminium)]
    assert values[0] == pytest.approx(134.6, rel=0.01)
    assert values[1] / values[0] == pytest.approx(148 / 226, abs=1e-3)


@pytest.mark.parametrize(
    ("hole", "verdict"),
    [("9 mm", "pass"), ("8 mm", "fail"), ("10 mm", "caution"), ("11 mm", "fail"), (None, "unknown")],
)
def test_its_hole_is_held_against_the_stud(hole, verdict):
    flat = {k: v for k, v in {**FLAT, "hole": hole}.items() if v is not None}
    bank = edited({"wiring.link": {"strap": flat, "length": "500 mm", "joint": JOINT}})
    assert {f.verdict for f in found("P-JOINT-1", bank, "L1+@bar+1")} == {verdict}


def test_straps_are_bought_cut_and_drilled_without_lugs():
    listed = [piece for piece in pieces(strapped({"layers": 2})) if "L1+" in piece.id]
    groups = {piece.group for piece in listed}
    assert "lugs" not in groups and "sleeves" not in groups and "cable" not in groups  # noqa: PT018
    own = [piece for piece in listed if piece.id.startswith("strap/")]
    assert len(own) == 2 * 1  # two layers
    assert own[0].length == pytest.approx(0.5 + 0.02)
    assert "20 x 5 mm" in own[0].words


def test_a_post_on_the_bar_is_one_joint_and_no_length():
    bank = straight()
    link = bank.link("L1+")
    assert (link.straight, link.length, link.cable) == (True, 0.0, None)
    assert [joint.post for joint in bank.joints_of("L1+")] == ["M1+"]
    network = network_of(bank)
    ohm = dict(zip((e.name for e in network.edges), network.resistances() @ network.series, strict=True))["L1+"]
    assert ohm == pytest.approx(20e-6)


def test_a_post_on_the_bar_needs_no_cable_and_one_bolt():
    ids = [piece.id for piece in pieces(straight())]
    assert not [i for i in ids if "L1+" in i and i.split("/")[0] in ("cable", "lug", "sleeve", "strap", "label")]
    assert "nut/M1+" in ids
    assert "nut/bar+1" not in ids


@pytest.mark.parametrize(("hole", "verdict"), [("9 mm", "pass"), ("8 mm", "fail"), ("10 mm", "caution")])
def test_the_bar_s_hole_takes_the_module_s_stud(hole, verdict):
    (told,) = found("P-JOINT-1", straight(**{"bars[0].hole": hole}), "L1+@M1+")
    assert told.verdict == verdict


def test_the_modules_stay_joined_without_a_device_and_that_is_said():
    told = found("P-FAULT-2", straight())
    assert {f.verdict for f in told} == {"fail"}
    assert not math.isnan(told[0].figure.value)


@pytest.mark.parametrize(
    ("edits", "path"),
    [
        ({"wiring.link.strap": FLAT}, "wiring.link.cable"),
        ({"wiring.link.straight": True}, "wiring.link.cable"),
        ({"wiring.link": {"strap": FLAT, "lug": "ring"}}, "wiring.link.lug"),
        ({"wiring.link": {"strap": FLAT, "method": "raceway"}}, "wiring.link.method"),
        ({"wiring.link": {"straight": True, "length": "1 m"}}, "wiring.link.length"),
        ({"wiring.link": {"strap": {"width": "20 mm"}}}, "wiring.link.strap"),
        ({"wiring.main": {"straight": True}}, "wiring.main.straight"),
        ({"wiring.link": {"straight": True}}, "wiring.link.straight"),  # a fuse sits in each lead
    ],
)
def test_what_cannot_be_is_a_fault_at_its_key(edits, path):
    with pytest.raises(BankFileError) as told:
        edited(edits)
    assert any(each.path.startswith(path) for each in told.value.faults), str(told.value)


def test_one_lead_may_be_a_strap_and_another_a_cable():
    bank = edited({"+links": {"name": "L2+", "strap": FLAT}})
    assert bank.link("L2+").cable.strap is not None
    assert bank.link("L1+").cable.strap is None
    back = edited(
        {"wiring.link": {"strap": FLAT, "length": "1 m"}, "+links": {"name": "L2+", "cable": "2/0 AWG", "lug": "ring"}}
    )
    assert back.link("L2+").cable.size == "2/0 AWG"


def test_the_drawing_says_what_is_no_cable():
    assert link_words(straight().link("L1-")) == "L1\N{MINUS SIGN} bolted"
    assert link_words(strapped().link("L1+")) == "L1+ strap"
    assert link_words(strapped().link("main+")) == "main+"
