"""Two verdicts, never merged: what joins quietly may be unequal, what is equal may be joined badly."""

from dataclasses import replace

import pytest

from bankwright.forms.faults import QuestionError
from bankwright.forms.finding import Finding
from bankwright.match.verdicts import Match, match_of
from support.match_banks import bank, readings

THREE = {"M1": "52.61 V", "M2": "52.60 V", "M3": "52.70 V"}


def of(found: Match, code: str) -> Finding:
    return next(finding for finding in found.findings if finding.code == code)


def test_near_on_the_plateau_joins_quietly_and_says_nothing_of_charge():
    three = bank()
    found = match_of(three, readings(three, THREE))
    assert found.may_join == "unknown"  # nobody has given the window of the maker; all else passes
    assert {f.code for f in found.joining if f.verdict != "pass"} == {"M-JOIN-5"}
    assert found.equally_charged == "unknown"
    assert of(found, "M-CHARGE-1").figure.high > 0.3
    assert {f.code for f in found.joining}.isdisjoint({f.code for f in found.charge})


def test_near_full_the_voltage_does_tell():
    three = bank()
    found = match_of(three, readings(three, {"M1": "56.02 V", "M2": "56.05 V", "M3": "56.00 V"}, last="charged"))
    assert of(found, "M-CHARGE-1").verdict == "pass"
    assert found.equally_charged == "assumed"  # how long they level rests on published curves (M-EVEN-1)


def test_far_apart_fails_and_names_the_largest_difference():
    three = bank()
    found = match_of(three, readings(three, {"M1": "50.40 V", "M2": "53.40 V", "M3": "53.30 V"}))
    assert found.may_join == "fail"
    worst = of(found, "M-JOIN-1")
    assert worst.verdict == "fail"
    assert worst.at == ("M1",)
    most = of(found, "M-MOST-1")
    assert most.verdict == "fail"
    assert 0 < found.largest_difference < most.figure.value
    assert found.order == ("M2", "M3", "M1")  # the two that lie near each other first


def test_the_current_at_once_is_ohms_law_on_the_low_resistances():
    two = bank("AA")
    volts = {"M1": "52.00 V", "M2": "53.00 V"}
    found = match_of(two, readings(two, volts, meter="0 % + 0 digits", temperature_degc=25.0))
    figure = of(found, "M-JOIN-2").figure
    # two modules of 10 mohm at 25 degC, two links of 0.32 m 4/0 AWG (IEC 60028 copper, ASTM B258 area), two joints each
    loop = 20e-3 + 2 * (0.32 / 58e6 / 107.219e-6 + 2 * 20e-6)
    assert figure.value == pytest.approx(1.0 / loop, rel=2e-3)
    assert figure.high > 1.0 / (18e-3 + 2e-4)


def test_a_cold_module_is_not_charged_by_its_neighbours():
    three = bank()
    given = [replace(r, temperature_degc=-2.0 if r.module == "M2" else 15.0) for r in readings(three, THREE)]
    found = match_of(three, given)
    cold = of(found, "M-JOIN-4")
    assert (cold.verdict, cold.at) == ("fail", ("M2",))
    assert found.may_join == "fail"


@pytest.mark.slow
def test_an_unknown_temperature_is_asked_for_and_the_room_of_the_file_serves():
    three = bank()
    found = match_of(three, readings(three, THREE, temperature_degc=None))
    assert of(found, "M-JOIN-4").verdict == "unknown"
    assert "temperature" in of(found, "M-JOIN-4").missing[0].key
    warm = bank(ambient="5 degC to 30 degC")
    assert of(match_of(warm, readings(warm, THREE, temperature_degc=None)), "M-JOIN-4").verdict == "pass"


@pytest.mark.slow
def test_missing_rest_is_named():
    three = bank()
    given = readings(three, THREE)
    found = match_of(three, [replace(given[0], rested=None), *given[1:]])
    rest = of(found, "M-REST-1")
    assert rest.verdict == "unknown"
    assert rest.missing[0].key == "readings.M1.rested"
    short = match_of(three, [replace(r, rested=600.0) for r in given])
    assert of(short, "M-REST-1").verdict == "caution"


@pytest.mark.slow
def test_a_gain_error_cancels_between_readings_of_one_meter_but_not_on_the_curve():
    three = bank()
    good = match_of(three, readings(three, THREE, meter="0.01 % + 1 digits"))
    poor = match_of(three, readings(three, THREE, meter="1 % + 1 digits"))
    assert of(poor, "M-MOST-1").figure.high == pytest.approx(of(good, "M-MOST-1").figure.high, abs=2e-3)
    assert of(poor, "M-CHARGE-1").figure.high > of(good, "M-CHARGE-1").figure.high + 0.05
    given = readings(three, THREE, meter="1 % + 1 digits")
    mixed = match_of(three, [replace(given[0], meter="another"), *given[1:]])
    assert of(mixed, "M-MOST-1").figure.high > of(poor, "M-MOST-1").figure.high + 0.5


def test_a_module_that_was_not_read_is_no_yes():
    three = bank()
    found = match_of(three, readings(three, {"M1": "52.6 V", "M2": "52.6 V"}))
    assert found.may_join == "unknown"
    assert of(found, "M-READ-1").missing[0].key == "readings.M3.voltage"


def test_unlike_counts_of_cells_fail():
    two = bank("AA")
    other = replace(two.modules[1], kind=replace(two.modules[1].kind, cells=15))
    found = match_of(two.replaced(modules=(two.modules[0], other)), readings(two, {"M1": "52.6 V", "M2": "49.3 V"}))
    assert of(found, "M-JOIN-6").verdict == "fail"


def test_the_display_of_a_module_is_held_against_its_voltage():
    three = bank()
    given = readings(three, THREE)
    found = match_of(three, [replace(given[0], soc=0.95), *given[1:]])
    assert of(found, "M-BMS-1").verdict == "caution"


def test_one_cell_less_is_asked_about():
    four = bank("AAAA")
    volts = {"M1": "52.70 V", "M2": "52.72 V", "M3": "49.41 V", "M4": "52.71 V"}
    found = match_of(four, readings(four, volts))
    odd = of(found, "M-ODD-1")
    assert (odd.verdict, odd.at) == ("unknown", ("M3",))
    assert "15 cells" in odd.text.text()


BAD = [
    ("13.2 V", "reading-of-another-battery", "4 cells"),
    ("26.4 V", "reading-of-another-battery", "8 cells"),
    ("52.6 mV", "millivolts-for-volts", "52.6 V"),
    ("52600 V", "volts-for-millivolts", "mV"),
    ("0.4 V", "posts-dead", "switch it on"),
    ("105 V", "reading-of-another-battery", "16 LFP cells"),
]


@pytest.mark.parametrize(("text", "code", "words"), BAD)
def test_what_cannot_be_is_named_and_asked_for(text, code, words):
    three = bank()
    with pytest.raises(QuestionError, match=words) as raised:
        match_of(three, readings(three, {**THREE, "M2": text}))
    assert [fault.code for fault in raised.value.faults] == [code]


def test_stops_reversed_far_low_sagging():
    three = bank()
    found = match_of(three, readings(three, {**THREE, "M1": "-52.6 V"}))
    assert of(found, "M-STOP-1").verdict == "fail"
    assert found.may_join == "fail"
    assert not found.plans
    low = match_of(three, readings(three, {**THREE, "M1": "38.0 V"}))
    assert of(low, "M-STOP-2").verdict == "fail"
    given = readings(three, THREE)
    sagging = replace(given[0], rested=2 * 86400.0, earlier=((86400.0, 52.95),))
    falls = match_of(three, [sagging, *given[1:]])
    assert of(falls, "M-STOP-3").verdict == "fail"
    relaxing = replace(given[0], rested=7200.0, earlier=((6600.0, 52.95),))
    assert not [f for f in match_of(three, [relaxing, *given[1:]]).findings if f.code == "M-STOP-3"]


@pytest.mark.slow
def test_every_order_is_looked_at_and_a_good_one_beyond():
    six = bank("AAAAAA")
    volts = {f"M{i}": f"{v} V" for i, v in enumerate(("52.60", "53.00", "52.55", "52.58", "52.62", "52.57"), 1)}
    found = match_of(six, readings(six, volts))
    best = min(order.ratio for order in found.inrush.joinings["low"].orders())
    assert found.inrush.order.ratio == pytest.approx(best, rel=1e-9)
    assert len(list(found.inrush.joinings["low"].orders())) == 360
    assert found.order[-1] == "M2"
    eight = bank("AAAAAAAA")
    more = {**volts, "M7": "52.60 V", "M8": "52.61 V"}
    good = match_of(eight, readings(eight, more))
    assert good.order[-1] == "M2"


def test_currents_after_joining_fall_and_their_band_holds_the_middle():
    three = bank()
    found = match_of(three, readings(three, {**THREE, "M3": "53.0 V"}))
    settled = found.settled
    assert (settled.current[0] <= settled.current[1] + 1e-9).all()
    assert (settled.current[1] <= settled.current[2] + 1e-9).all()
    assert abs(settled.at(3600.0)[1]).max() < 0.5 * abs(settled.at(0.001)[1]).max()
    assert settled.current[1, 0] == pytest.approx(found.inrush.currents(found.inrush.joined(3))[1], rel=0.02)


@pytest.mark.slow
def test_no_finding_says_safe_and_each_reads_well():
    three = bank()
    found = match_of(
        three, readings(three, {"M1": "50.40 V", "M2": "53.40 V", "M3": "53.30 V"}, rested=None), cycle=True
    )
    for finding in found.findings:
        words = f"{finding.title} {finding.text.text() if finding.text else ''} {finding.do.text()}"
        assert "safe" not in words.casefold()
        assert all(name in three for name in (*finding.at, *finding.more))


def test_limits_that_no_sheet_gives_are_asked_of_the_maker():
    three = bank()
    kind = three.modules[0].kind
    bare = replace(
        kind, charge=replace(kind.charge, continuous=None), discharge=replace(kind.discharge, continuous=None)
    )
    asked = three.replaced(modules=tuple(replace(module, kind=bare) for module in three.modules))
    found = match_of(asked, readings(asked, THREE))
    for code in ("M-JOIN-1", "M-JOIN-2", "M-MOST-1"):
        finding = of(found, code)
        assert finding.verdict == "unknown"
        assert finding.missing[0].ask == "maker"
    assert found.may_join == "unknown"


def test_python_face_takes_texts():
    from bankwright.match.face import match, reading

    three = bank()
    given = [reading(name, text, rested="6 h", temperature="20 degC") for name, text in THREE.items()]
    found = match(three, given, meter="0.5 % + 2 digits")
    assert found.equally_charged == "unknown"
    assert found.order
    with pytest.raises(QuestionError, match="M9"):
        match(three, [reading("M9", "52 V")])
