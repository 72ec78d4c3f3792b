"""What a survey says on a line of ASCII frames: the same troubles, the other language, a map that does not fit."""

from __future__ import annotations

import pytest

from bankwright.bus.ascii.others import piece_at
from bankwright.bus.asks import Known
from bankwright.bus.map.read import map_from_text
from bankwright.bus.messages.read import messages_from_text
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.troubles import trouble
from bankwright.bus.pretend.virtual import VirtualWire
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.explain.every import explain
from bankwright.bus.survey.explain.told import Explanation
from bankwright.bus.survey.facts import Expected, Facts
from support.message_maps import COUNTED, FIXED
from support.pretend_racks import LINE, MAP, NAMES, targets, values

# troubles -> code that must be there, names that it must speak of, words that it must use
EXPECTED = {
    (): ("BUS-ALL", (), "each at its own address"),
    ("off:M3",): ("BUS-SILENT", ("M3",), "No answer at 3"),
    ("unplug:M3",): ("BUS-BEHIND", ("M3", "M4", "M5"), "behind M2"),
    ("doubled:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "wrong check sum"),
    ("follower:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "followed by another whole reply"),
    ("polite:M4=M3",): ("BUS-DOUBLED", ("M3", "M4"), "PRETEND-M3, PRETEND-M4"),
    ("late:M3=0.7 s",): ("BUS-LATE", ("M3",), "M3"),
    ("speed=19200",): ("BUS-SPEED", ("M1",), "baud = 19200"),
    ("swapped",): ("BUS-NOBODY", (), "swap the two data wires"),
    ("echo",): ("BUS-ECHO", (), "came back"),
    ("other",): ("BUS-PROTOCOL", NAMES[:4], "answered to Modbus RTU"),
    ("other:M3",): ("BUS-PROTOCOL", ("M3",), "answered to Modbus RTU"),
    ("master=0.5 s",): ("BUS-MASTER", (), "did not send"),
    ("refuse",): ("BUS-MAP", NAMES, "return code 06"),
    ("shifted",): ("BUS-MAP", NAMES, "has "),
    ("sentinel:M2",): ("BUS-EMPTY", ("M2",), "no value"),
    ("cut=90 %",): ("BUS-CUT", (), "ended early"),
    ("damage=60 %",): ("BUS-NOISE", (), "came broken"),
    ("noise=60 %",): ("BUS-NOISE", (), "stray characters"),
}


def surveyed(known: Known, rack: Known, *troubles: str) -> tuple[Facts, dict[str, Explanation]]:
    """Ask by one map a rack that answers by another."""
    places = [Place(name, number) for number, name in enumerate(NAMES, 1)]
    wire = VirtualWire(pretend_line(places, rack, LINE, values, [trouble(t, NAMES) for t in troubles]))
    wanted = Expected(targets(), known, dict.fromkeys(NAMES, 4), isolated=True, terminators=2, length=3.0)
    facts = survey(wire, wanted, How())
    assert not any(module.written for module in wire.line.modules)
    return facts, {each.code: each for each in explain(facts)}


@pytest.mark.parametrize("troubles", EXPECTED, ids=lambda each: "+".join(each) or "none")
def test_each_trouble_is_told_by_its_own_explanation(troubles: tuple[str, ...]) -> None:
    code, names, words = EXPECTED[troubles]
    _, told = surveyed(messages_from_text(COUNTED), messages_from_text(COUNTED), *troubles)
    assert code in told, list(told)
    found = told[code]
    said = " ".join((found.title, found.observed.text(), found.why, found.test.text() if found.test else ""))
    assert set(names) <= set(found.at) | {name for name in names if name in said}
    assert words in said
    others = {c for c, each in told.items() if each.verdict == "fail"} - {code}
    assert others <= ({"BUS-VALUES"} if troubles == ("shifted",) else set()), f"{troubles}: also {others}"


def test_a_map_of_another_version_and_group_is_told_by_return_codes() -> None:
    _, told = surveyed(messages_from_text(COUNTED.replace('"42"', '"44"')), messages_from_text(COUNTED))
    assert "04" in told["BUS-MAP"].observed.text()
    assert "CID2" in told["BUS-MAP"].test.text()  # type: ignore[union-attr]


def test_a_list_longer_than_the_map_keeps_is_told() -> None:
    _, told = surveyed(messages_from_text(COUNTED.replace("most = 16", "most = 15")), messages_from_text(COUNTED))
    assert "16 of cell are counted" in told["BUS-MAP"].observed.text()


def test_another_message_map_does_not_fit() -> None:
    _, told = surveyed(messages_from_text(FIXED), messages_from_text(COUNTED))
    assert {"BUS-MAP", "BUS-NOBODY", "BUS-PROTOCOL"} & set(told)


def test_modbus_asked_on_a_text_line_and_the_reverse() -> None:
    text, registers = messages_from_text(COUNTED), map_from_text(MAP)
    facts, told = surveyed(registers, text)
    assert told["BUS-PROTOCOL"].observed.text().startswith("M1, M2, M3 and M4 did not answer to Modbus RTU")
    assert 'protocol = "ascii frames"' in told["BUS-PROTOCOL"].test.text()  # type: ignore[union-attr]
    assert [each.unit for each in facts.spoken] == [1, 2, 3, 4]
    _, told = surveyed(text, registers)
    assert 'protocol = "modbus"' in told["BUS-PROTOCOL"].test.text()  # type: ignore[union-attr]
    _, told = surveyed(text, registers, "speed=19200")
    assert "BUS-PROTOCOL" in told
    assert "19200" in told["BUS-PROTOCOL"].observed.text()


def test_hostile_maps_ask_nothing_but_reading() -> None:
    for change in (('ask = "address"', 'ask = "FF FE FD 45"'), ('command = "42"', 'command = "4F"'), ('"20"', '"45"')):
        known = messages_from_text(COUNTED.replace(*change, 1))
        places = [Place(name, number) for number, name in enumerate(NAMES, 1)]
        line = pretend_line(places, messages_from_text(COUNTED), LINE, values)
        survey(VirtualWire(line), Expected(targets(), known), How(listen=0.2, up_to=3, other_speeds=False))
        text = [frame for frame in line.counts.frames if frame[:1] == b"~"]
        assert len(text) > 10
        assert all(piece_at(each, 0).code in {0x42, 0x4F, 0x51} for each in text)
        assert all(each[1] in (3, 4) for each in line.counts.frames if each[:1] != b"~")
