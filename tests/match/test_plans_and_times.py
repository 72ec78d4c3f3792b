"""Plans with times: charging alone, through a resistor, extending; each against a figure that can be written down."""

import pytest

from bankwright.forms.faults import QuestionError
from bankwright.match.charge_range import ChargeRange
from bankwright.match.extend import bank_charge, extension, extension_findings, is_unlike
from bankwright.match.timed import Tools, charger_for, hours_to_full, through_resistor, tools_of
from bankwright.match.uneven import uneven_sharing
from bankwright.match.verdicts import match_of
from support.match_banks import bank, readings


def test_time_to_full_is_charge_over_current_and_a_tail():
    module = bank("A").modules[0]
    found = ChargeRange("M1", 0.3, 0.5, (), (52.0, 52.6), False)
    charger = charger_for(module, 20.0, 56.0)
    hours = hours_to_full(module, found, charger)
    assert hours.low == pytest.approx(0.5 * 100 / 20, rel=0.06)
    assert hours.high == pytest.approx(0.7 * 100 / 20, rel=0.06)


def test_the_charger_never_goes_above_what_the_sheet_calls_full():
    module = bank("A").modules[0]
    assert charger_for(module, 20.0, 60.0).ceiling <= 3.65 * 16
    assert charger_for(module).current == pytest.approx(20.0)
    assert charger_for(module).assumed


def test_a_resistor_plan_gives_value_power_time_and_stop():
    two = bank("AA")
    high, low = readings(two, {"M1": "53.4 V", "M2": "52.4 V"})
    plan = through_resistor(two, high, low)
    assert plan.first_current == pytest.approx(5.0, rel=0.25)
    assert plan.first_power < plan.rating
    assert plan.hours.high is None or plan.hours.high >= plan.hours.low > 0
    assert plan.moved_ah[1] >= plan.moved_ah[0] > 0


def test_options_of_the_hand_are_read():
    assert tools_of("20 A, 56.8 V", "10 ohm, 0.5 W") == Tools(20.0, 56.8, 10.0, 0.5)
    with pytest.raises(QuestionError, match="20"):
        tools_of("20", None)


@pytest.mark.slow
def test_plans_follow_from_the_two_verdicts():
    three = bank()
    near = match_of(three, readings(three, {"M1": "52.60 V", "M2": "52.62 V", "M3": "52.58 V"}))
    titles = [sheet.title for sheet in near.plans]
    assert any("full, one by one" in title for title in titles)
    far = match_of(three, readings(three, {"M1": "50.40 V", "M2": "53.40 V", "M3": "53.30 V"}))
    titles = [sheet.title for sheet in far.plans]
    assert not any("in this order" in title for title in titles)
    assert any(title.startswith("Charge M1") for title in titles)
    assert any("resistor" in title for title in titles)
    for sheet in far.plans:
        assert all(step.cautions for step in sheet.steps)
        assert all(step.done.text() for step in sheet.steps)


def test_an_old_module_beside_a_new_one():
    mixed = bank("AB")
    assert is_unlike(mixed.modules)
    assert not is_unlike(bank("AAA").modules)
    found = extension(mixed)
    shares = dict(zip(found.names, found.first_share, strict=True))
    assert shares["M2"] == pytest.approx(2 / 3, abs=0.02)
    assert found.first_limit_time is not None
    codes = {finding.code for finding in extension_findings(mixed, found)}
    assert {"M-OLD-1", "M-OLD-3"} <= codes
    assert found.allowed is not None
    assert found.allowed > 0


def test_power_that_is_allowed_keeps_every_module_inside_its_limit():
    mixed = bank("AB", gives=30)
    found = extension(mixed)
    checked = extension(mixed, power=0.98 * found.allowed)
    limits = [module.kind.discharge.continuous for module in mixed.modules]
    end = (
        len(checked.discharge.time)
        if checked.first_limit_time is None
        else checked.discharge.at(checked.first_limit_time)
    )
    assert (abs(checked.discharge.module_current[:end]) <= limits).all()
    over = extension(mixed, power=1.1 * found.allowed)
    assert (abs(over.discharge.module_current) > limits).any()


def test_the_charge_of_a_bank_is_weighed_by_capacity():
    assert bank_charge([0.4, 0.7], [100, 200]) == pytest.approx(0.6)


def test_even_currents_are_nothing_to_speak_of():
    assert uneven_sharing({"A": 20.0, "B": 19.0, "C": 21.0}) is None


def test_heat_without_cooling_is_a_bound_and_a_finding():
    from dataclasses import replace

    two = bank("AA", ambient="5 degC to 20 degC")
    warm = two.replaced(modules=tuple(replace(m, kind=replace(m.kind, heat_capacity=4e4)) for m in two.modules))
    found = extension(warm)
    finding = next(f for f in extension_findings(warm, found) if f.code == "M-OLD-4")
    assert 21.0 < finding.figure.value < 45.0
    assert not [f for f in extension_findings(two, extension(two)) if f.code == "M-OLD-4"]
