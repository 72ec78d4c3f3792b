"""What a survey says of every trouble that the pretend rack can have, and of two at once."""

from __future__ import annotations

import pytest

from bankwright.bus.pretend.troubles import TROUBLES, TroubleFault, trouble
from bankwright.bus.survey.ask import How
from support.pretend_racks import NAMES, rack, surveyed

# troubles -> code that must be there, names that it must speak of, words that it must use
EXPECTED = {
    ("off:M3",): ("BUS-SILENT", ("M3",), "No answer at 3"),
    ("swapped:M3",): ("BUS-SILENT", ("M3",), "pair swapped"),
    ("unplug:M3",): ("BUS-BEHIND", ("M3", "M4", "M5"), "behind M2"),
    ("unplug:M2",): ("BUS-ONE", ("M2", "M3", "M4", "M5"), "Only M1 answers"),
    ("leader:M1",): ("BUS-ONE", ("M2", "M3", "M4", "M5"), "group leader"),
    ("doubled:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "wrong check sum"),
    ("follower:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "followed by another whole reply"),
    ("polite:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "PRETEND-M3, PRETEND-M4"),
    ("late:M3=0.7 s",): ("BUS-LATE", ("M3",), "M3"),
    ("speed:M3=19200",): ("BUS-SPEED", ("M3",), "19200 8N1"),
    ("speed=19200",): ("BUS-SPEED", ("M1",), "baud = 19200"),
    ("parity=even",): ("BUS-SPEED", ("M1",), 'parity = "even"'),
    ("swapped",): ("BUS-NOBODY", (), "swap the two data wires"),
    ("off:M1", "off:M2", "off:M3", "off:M4", "off:M5"): ("BUS-NOBODY", (), "not one character"),
    ("text",): ("BUS-PROTOCOL", (), "begin with ~"),
    ("echo",): ("BUS-ECHO", (), "came back"),
    ("floating",): ("BUS-REST", (), "00 or FF before"),
    ("stuck",): ("BUS-STUCK", (), "held"),
    ("stuck", "echo"): ("BUS-STUCK", (), "zeros"),
    ("babble",): ("BUS-BABBLE", (), "no whole frame"),
    ("master=0.5 s",): ("BUS-MASTER", (), "did not send"),
    ("master=0.5 s", "speed=19200"): ("BUS-SPEED", (), "19200 8N1"),
    ("master=0.5 s", "swapped"): ("BUS-SWAPPED", (), "swap"),
    ("refuse",): ("BUS-MAP", NAMES, "no such register"),
    ("refuse:M2",): ("BUS-MAP", ("M2",), "M2 refused"),
    ("shifted",): ("BUS-VALUES", NAMES, "same at every module"),
    ("shifted:M2",): ("BUS-VALUES", ("M2",), "M2:"),
    ("sentinel:M2",): ("BUS-EMPTY", ("M2",), "no value"),
    ("noise=60 %",): ("BUS-NOISE", (), "stray characters"),
    ("damage=15 %",): ("BUS-NOISE", (), "came broken"),
    ("cut=15 %",): ("BUS-CUT", (), "ended early"),
    ("cut=90 %",): ("BUS-CUT", (), "ended early"),
    ("damage=60 %",): ("BUS-NOISE", (), "came broken"),
    ("damage=95 %",): ("BUS-NOISE", (), "came broken"),
    ("other",): ("BUS-PROTOCOL", NAMES[:4], "answered to ASCII frames"),
    ("other:M3",): ("BUS-PROTOCOL", ("M3",), "answered to ASCII frames"),
    ("text:M3",): ("BUS-PROTOCOL", ("M3",), "beside the Modbus frames"),
    ("serial:M2=PRETEND-M1",): ("BUS-SERIAL", ("M1", "M2"), "one serial number"),
    ("speed:M3=19200", "speed:M4=4800"): ("BUS-SPEED", ("M4",), "4800 8N1"),
    ("doubled:M2=M1", "doubled:M4=M3"): ("BUS-DOUBLED", ("M2", "M4"), "More than one"),
    ("late=0.8 s",): ("BUS-LATE", ("M5",), "after"),
    ("unplug:M1",): ("BUS-NOBODY", (), "not one character"),
    ("drop=15 %",): ("BUS-GAPS", (), "brought no answer"),
    ("doubled:M2=M1", "doubled:M3=M1", "doubled:M4=M1", "doubled:M5=M1"): ("BUS-DOUBLED", NAMES, "More than one"),
    ("polite:M2=M1", "polite:M3=M1", "polite:M4=M1", "polite:M5=M1"): ("BUS-DOUBLED", NAMES, "serial numbers"),
    ("serial:M3=ODD-1", "off:M5"): ("BUS-SILENT", ("M5",), "No answer at 5"),
    ("unplug:M4", "doubled:M2=M1"): ("BUS-DOUBLED", ("M1",), "address 1"),
    ("echo", "doubled:M4=M3"): ("BUS-DOUBLED", ("M3", "M4"), "wrong check sum"),
}
HARMLESS = {"BUS-ALL", "BUS-ECHO", "BUS-ENDS", "BUS-EARTH"}


@pytest.mark.parametrize("troubles", EXPECTED, ids="+".join)
def test_each_trouble_is_told_by_its_own_explanation(troubles: tuple[str, ...]) -> None:
    code, names, words = EXPECTED[troubles]
    _, told = surveyed(*troubles)
    assert code in told, list(told)
    found = told[code]
    said = " ".join((found.title, found.observed.text(), found.why, found.test.text() if found.test else ""))
    assert set(names) <= set(found.at) | {name for name in names if name in said}
    assert words in said
    assert found.verdict == "pass" or found.test is not None
    others = {c for c, each in told.items() if each.verdict == "fail"} - {code}
    assert not others, f"{troubles} is also told as {others}"


def test_every_trouble_of_the_rack_is_tried() -> None:
    tried = {word.split(":")[0].split("=")[0] for troubles in EXPECTED for word in troubles}
    assert set(TROUBLES) - tried == {"frozen", "reboot"}  # seen in polls over time, not in one survey (test_poll)


def test_a_healthy_line_is_told_as_healthy_and_as_nothing_else() -> None:
    facts, told = surveyed()
    assert set(told) == {"BUS-ALL"}
    assert told["BUS-ALL"].sure == "certain"
    assert facts.found == (1, 2, 3, 4, 5)


def test_without_serial_numbers_it_is_less_sure() -> None:
    _, told = surveyed(serial=False)
    assert told["BUS-ALL"].sure == "nearly certain"


def test_a_clean_reply_at_a_doubled_address_is_not_called_clean_without_serial_numbers() -> None:
    # one gives way to the other, values are alike but for the state of charge: 0.7 and 0.8
    facts, told = surveyed("polite:M4=M3", serial=False)
    assert 3 in facts.found
    assert "BUS-ALL" not in told
    assert told.keys() & {"BUS-DOUBLED", "BUS-SILENT"}
    said = " ".join(each.observed.text() + each.why for each in told.values())
    assert "does not prove" in said or "jumped" in said


def test_a_second_master_is_not_disturbed() -> None:
    wire = rack("master=0.5 s")
    facts, told = surveyed("master=0.5 s", masters=("I1",))
    assert facts.held_back
    assert facts.requests == 0
    assert facts.found == (1,)
    assert told["BUS-MASTER"].at == ("I1",)
    assert wire.line.counts.requests == 0


def test_a_second_master_at_another_speed_is_not_disturbed_either() -> None:
    facts, _ = surveyed("master=0.5 s", "speed=19200")
    assert facts.held_back
    assert facts.requests == 0


def test_one_who_wants_to_may_ask_beside_a_second_master() -> None:
    facts, told = surveyed("master=2 s", how=How(ask_anyway=True))
    assert facts.requests > 0
    assert "BUS-MASTER" in told


def test_switches_read_from_the_other_end_are_recognised() -> None:
    # four switches: 1 becomes 8, 3 becomes 12 (a plan of 12 modules that shows 1 to 8 and 12 suggests it)
    from bankwright.bus.survey.ask import survey
    from bankwright.bus.survey.explain.every import explain
    from bankwright.bus.survey.facts import Expected
    from support.pretend_racks import register_map, targets

    names = ("M1", "M2", "X12")
    wire = rack(names=names)
    wire.line.modules[2].unit = 12
    wanted = Expected(targets(("M1", "M2", "M3")), register_map(), dict.fromkeys(("M1", "M2", "M3"), 4), isolated=True)
    told = {each.code: each for each in explain(survey(wire, wanted, How()))}
    assert told["BUS-TURNED"].at == ("M3",)
    assert "12" in told["BUS-TURNED"].observed.text()


def test_too_many_terminators_by_the_file() -> None:
    # six of 120 ohm: 20 ohm, where a driver is specified for 54 (TIA-485, from memory)
    _, told = surveyed(terminators=6)
    assert told["BUS-ENDS"].verdict == "fail"
    assert "20.0 Ω" in told["BUS-ENDS"].observed.text()
    assert "54.0 Ω" in told["BUS-ENDS"].observed.text()
    _, short = surveyed(terminators=0, length=3.0)
    assert short["BUS-ENDS"].verdict == "pass"
    _, unknown = surveyed(terminators=None)
    assert unknown["BUS-ENDS"].verdict == "unknown"


@pytest.mark.parametrize(("isolated", "verdict"), [(None, "unknown"), (False, "caution")])
def test_an_adapter_that_is_not_isolated_is_told(isolated: bool | None, verdict: str) -> None:
    _, told = surveyed(isolated=isolated)
    assert told["BUS-EARTH"].verdict == verdict
    assert "earthing point" in told["BUS-EARTH"].why


def test_an_adapter_that_holds_bytes_back_is_told_with_its_cost() -> None:
    _, told = surveyed(adapter_holds=0.016)
    assert "16.0 ms" in told["BUS-HELD"].observed.text()
    assert "80.0 ms" in told["BUS-HELD"].observed.text()


def test_a_survey_keeps_the_silences() -> None:
    for troubles in ((), ("off:M3",), ("doubled:M4=M3",), ("follower:M4=M3",), ("late:M3=0.7 s",), ("echo",)):
        wire = rack(*troubles)
        from bankwright.bus.survey.ask import survey
        from bankwright.bus.survey.facts import Expected
        from support.pretend_racks import register_map, targets

        survey(wire, Expected(targets(), register_map()), How())
        assert wire.line.counts.violations == 0, troubles


@pytest.mark.parametrize(
    "text",
    ["dro", "late:M3", "late:M9=1 s", "late:M3=1 m", "echo:M1", "off", "off:M1=2", "doubled:M3=M3", "speed=9601", ""],
)
def test_a_trouble_that_does_not_exist_is_told(text: str) -> None:
    with pytest.raises(TroubleFault):
        trouble(text, NAMES)


def test_over_tcp_who_is_absent_by_the_gateways_word_is_not_there() -> None:
    from bankwright.bus.pretend.virtual import VirtualTcp
    from bankwright.bus.survey.ask import survey
    from bankwright.bus.survey.explain.every import explain
    from bankwright.bus.survey.facts import Expected
    from support.pretend_racks import register_map, targets

    modules = rack().line.modules
    wanted = Expected(targets(), register_map())
    facts = survey(VirtualTcp(modules), wanted, How())
    assert facts.found == (1, 2, 3, 4, 5)
    assert {each.code for each in explain(facts)} == {"BUS-ALL"}
    short = survey(VirtualTcp(tuple(m for m in modules if m.unit != 2)), wanted, How())
    assert short.found == (1, 3, 4, 5)
    told = {each.code: each for each in explain(short)}
    assert set(told) == {"BUS-GATEWAY", "BUS-SILENT"}
    assert told["BUS-GATEWAY"].at == ("M2",)


def test_a_map_that_is_one_register_off_is_told_by_how_much() -> None:
    _, told = surveyed("shifted")
    test = told["BUS-VALUES"].test
    assert test is not None
    assert "every register taken one higher" in test.text()


def test_a_map_with_the_wrong_word_order_is_told_so() -> None:
    from bankwright.bus.map.read import map_from_text
    from bankwright.bus.survey.ask import survey
    from bankwright.bus.survey.explain.every import explain
    from bankwright.bus.survey.facts import Expected
    from support.pretend_racks import MAP, targets

    wide = MAP.replace("register = 1\n", 'register = 200\ntype = "u32"\nword_order = "ORDER"\n', 1)
    true, wrong = (map_from_text(wide.replace("ORDER", order)) for order in ("low first", "high first"))
    wire = rack()
    for module in wire.line.modules:
        module.register_map = true
    told = {each.code: each for each in explain(survey(wire, Expected(targets(), wrong, isolated=True), How()))}
    assert told["BUS-VALUES"].test is not None
    assert "the other way round" in told["BUS-VALUES"].test.text()
