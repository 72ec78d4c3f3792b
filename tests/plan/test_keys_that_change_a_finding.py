"""Keys of the bank file that change what a check finds: with them, without them, and at their limit."""

import pytest

from bankwright.circuit.cases import case_of
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.ends.stand_in import stood_in
from support.plan_cases import INV, K, edited

BY_CODE = {check.code: check for check in CHECKS}
CHARGER = f"{INV}.charger"


def found(code, bank):
    return list(BY_CODE[code].function(plan_of(bank)))


def charging(**edits):
    """Three modules charged with 120 A; two carry more than 50 A each where one is away."""
    return found("P-CHARGE-1", edited({f"{CHARGER}.current": "120 A", **edits}))


def test_without_a_word_on_the_message_the_largest_current_counts():
    for edits in ({}, {f"{CHARGER}.without_message": "60 A"}):
        findings = charging(**edits)
        assert {each.verdict for each in findings} == {"fail"}
        assert all("120 A" in each.text.text() for each in findings)


def test_a_lost_message_lets_the_chargers_give_their_own_setting():
    # 60 A over two modules of one resistance is 30 A each; what tolerances add stays under 50 A
    findings = charging(**{"site.control_message": True, f"{CHARGER}.without_message": "60 A"})
    assert {each.verdict for each in findings} == {"caution"}
    assert findings[0].figure.value == pytest.approx(30.0, abs=0.5)
    assert all("a limit that exists only as a message" in each.text.text() for each in findings)
    assert any(item.origin.path.endswith("without_message") for item in findings[0].inputs if item.symbol == "I")


def test_a_charger_that_says_nothing_of_the_lost_message_gives_its_largest_current():
    findings = charging(**{"site.control_message": True})
    assert {each.verdict for each in findings} == {"fail"}
    assert all("a limit that exists only as a message" in each.text.text() for each in findings)


def test_a_lost_message_that_lets_too_much_through_fails():
    findings = charging(**{"site.control_message": True, f"{CHARGER}.without_message": "110 A"})
    assert {each.verdict for each in findings} == {"fail"}


@pytest.mark.parametrize(
    ("reach", "verdict"),
    [("48 V to 58.3 V", "caution"), ("48 V to 58.4 V", "pass"), ("58.4 V to 60 V", "pass"), ("58.5 V to 60 V", "fail")],
)
def test_the_range_of_a_charger_holds_the_end_of_charge(reach, verdict):
    # 16 cells x 3.65 V = 58.4 V
    (finding,) = found("P-CHARGE-4", edited({f"{CHARGER}.voltage": reach}))
    assert finding.verdict == verdict


def test_an_end_of_charge_from_published_sheets_is_assumed():
    (finding,) = found("P-CHARGE-4", edited({f"{K}.charge.cell_full": None}))
    assert finding.verdict == "caution"
    assert finding.assumed


@pytest.mark.parametrize(("lowest", "verdict"), [("8 degC", "fail"), ("4 degC", "caution"), ("3 degC", "pass")])
def test_cells_too_cold_to_discharge(lowest, verdict):
    # the room falls to 8 degC; a physical test by difference: fails at 0 K, cautions below 5 K
    findings = found("P-CHARGE-2", edited({f"{K}.discharge.lowest": lowest}))
    (finding,) = [each for each in findings if "discharged" in each.text.text()]
    assert finding.verdict == verdict


def test_no_lowest_discharge_temperature_no_finding_of_it():
    assert not [each for each in found("P-CHARGE-2", edited({})) if "discharged" in each.text.text()]
    (finding,) = found("P-CHARGE-2", edited({f"{K}.discharge.lowest": "-20 degC", "site.ambient": None}))
    assert finding.verdict == "unknown"
    assert {item.key for item in finding.missing} == {"site.ambient"}


def surge(**edits):
    """Three modules, 9 kW for 5 s at 92 %."""
    bank = edited({"site.ambient": "25 degC to 25 degC", **edits})
    return bank, next(each for each in found("P-TRIP-1", bank) if "surge" in each.text.text())


def resistance(**values):
    written = {"dc": "14 mohm", "surge": "9 mohm", "surge_after": "10 s", "ohmic": "6 mohm", **values}
    return {f"{K}.resistance": {key: value for key, value in written.items() if value is not None}}


@pytest.mark.parametrize(("lasts", "ohm"), [("5 s", 9e-3), ("10 s", 9e-3), ("10.5 s", 14e-3)])
def test_a_surge_that_lasts_longer_than_its_value_holds_meets_that_of_later(lasts, ohm):
    bank, finding = surge(**resistance(), **{f"{INV}.surge_time": lasts})
    network = plan_of(bank).steady.solved(case_of(bank, "surge")).network
    assert [e.resistance.nominal for e in network.elements if e.kind == "module"] == [ohm] * 3
    told = [item for item in finding.inputs if item.symbol == "R_t"]
    assert len(told) == (ohm == 14e-3)
    assert all(item.origin.path.endswith("resistance.surge_after") for item in told)


def test_a_longer_surge_is_never_better():
    short, long = (surge(**resistance(), **{f"{INV}.surge_time": time})[1] for time in ("10 s", "11 s"))
    assert long.figure.value > short.figure.value


def test_a_longer_surge_without_a_later_value_takes_its_published_range():
    _, finding = surge(**resistance(dc=None), **{f"{INV}.surge_time": "11 s"})
    assert finding.assumed
    assert finding.verdict == "assumed"


@pytest.mark.parametrize(
    ("how", "words", "verdict"),
    [
        ("by hand", "by hand", "pass"),
        ("by itself", "by themselves", "pass"),
        ("by charger", "only when a charger", "pass"),
        (None, "", "unknown"),
    ],
)
def test_waking_from_black_says_how_modules_start_again(how, words, verdict):
    (finding,) = found("P-START-1", edited({f"{K}.trips.restart": how}))
    assert finding.verdict == verdict
    assert words in finding.text.text()
    assert [item.key for item in finding.missing] == ([f"{K}.trips.restart"] if how is None else [])


def test_modules_that_wait_for_a_charger_that_is_not_there_are_a_caution():
    (finding,) = found("P-START-1", edited({f"{K}.trips.restart": "by charger", CHARGER: None}))
    assert finding.verdict == "caution"
    assert "no charger" in finding.text.text()


LEAD = {
    "kinds.charger.pv": {"current": "40 A", "voltage": "48 V to 60 V", "one_way": True},
    "+chargers": {"name": "C1", "kind": "pv"},
    "kinds.device.magnets": {"type": "breaker", "rating": "63 A", "polarised": True},
    "+devices": {"name": "Q1", "kind": "magnets", "on": "C1+lead", "at": "J+", "reversed": False},
}


@pytest.mark.parametrize(("one_way", "verdict"), [(True, "caution"), (False, "fail"), (None, "unknown")])
def test_a_polarised_device_in_the_leads_of_a_charger(one_way, verdict):
    pv = {key: value for key, value in LEAD["kinds.charger.pv"].items() if key != "one_way"}
    pv |= {} if one_way is None else {"one_way": one_way}
    (finding,) = [each for each in found("P-DEVICE-5", edited({**LEAD, "kinds.charger.pv": pv})) if each.at == ("Q1",)]
    assert finding.verdict == verdict
    assert [item.key for item in finding.missing] == (["kinds.charger.pv.one_way"] if one_way is None else [])


def test_the_wrong_way_round_fails_whatever_the_charger():
    turned = {**LEAD["+devices"], "reversed": True}
    (finding,) = [each for each in found("P-DEVICE-5", edited({**LEAD, "+devices": turned})) if each.at == ("Q1",)]
    assert finding.verdict == "fail"


def test_the_end_of_discharge_bounds_the_voltage_of_an_inverter_that_gives_none():
    # 16 cells x 2.8 V = 44.8 V; without the key 16 x 2.5 V [published range]; the inverter's cut-out goes before both
    silent = {f"{INV}.lowest_voltage": None, f"{INV}.cut_out": None}
    for edits, low in (({f"{K}.discharge.cell_empty": "2.8 V"}, 44.8), ({}, 40.0)):
        (item,) = stood_in(edited({**silent, **edits})).voltages
        assert item.figure.low == pytest.approx(low)
    (item,) = stood_in(edited({f"{INV}.lowest_voltage": None, f"{K}.discharge.cell_empty": "2.8 V"})).voltages
    assert item.figure.low == pytest.approx(42.0)
