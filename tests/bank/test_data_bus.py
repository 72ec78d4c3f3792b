"""The [bus] of a bank file: faults with their place, and what the line plan says of pins, ends, lengths, rest level."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.data_line import cable_order, line_plan, ohm_words
from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from_text, faults_in
from bankwright.bus.of_bank import START, expected_of, framing_of, map_of, poll_plan, targets_of
from bankwright.bus.timing import Framing
from bankwright.forms.faults import QuestionError

DEMO = Path(__file__).parents[2] / "demo"
BARN = (DEMO / "barn.toml").read_text("utf-8")


def bank(*changes: tuple[str, str]) -> Bank:
    return bank_from_text(changed(*changes), DEMO / "barn.toml")


def changed(*changes: tuple[str, str]) -> str:
    text = BARN
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def remarks(*changes: tuple[str, str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for each in line_plan(bank(*changes)).remarks:
        found.setdefault(each.verdict, []).append(each.says.text())
    return found


FAULTS = {
    "unknown module in order": ('order = ["M5", ', 'order = ["M9", ', "bus.order", "M9"),
    "module twice": ('order = ["M5", "M4"', 'order = ["M5", "M5"', "bus.order", "twice"),
    "terminator nowhere": ('terminators = ["computer", "M1"]', 'terminators = ["attic"]', "bus.terminators", "attic"),
    "host on a serial line": ('port = "/dev/ttyUSB0"', 'host = "10.0.0.1"', "bus.host", 'wire = "serial"'),
    "one pin for two": (
        "module_pins = { D1 = 4, D0 = 5",
        "module_pins = { D1 = 4, D0 = 4",
        "bus.module_pins",
        "one pin",
    ),
    "map outside": ('map = "barn-map.toml"', 'map = "../barn-map.toml"', "bus.map", "folder"),
    "odd speed": ("baud = 9600", "baud = 9601", "bus.baud", "9601"),
    "speed as text": ("baud = 9600", 'baud = "9600"', "bus.baud", "9600"),
    "misspelt": ("parity =", "partiy =", "bus.partiy", 'Did you mean "parity"?'),
    "no unit": ('length = "3 m"', "length = 3", "bus.length", "unit"),
    "address of a broadcast": ('name = "M1"\n', 'name = "M1"\naddress = 0\n', "modules[0].address", "1 to 247"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_at_its_place(name: str) -> None:
    old, new, path, words = FAULTS[name]
    faults = faults_in(changed((old, new)), DEMO / "barn.toml")
    assert path in {fault.path for fault in faults}, faults
    said = " ".join(str(fault) for fault in faults)
    assert words in said
    assert all(fault.place is not None for fault in faults)


def test_the_demo_line_is_right_in_every_point() -> None:
    assert set(remarks()) == {"pass"}
    plan = line_plan(bank())
    assert plan.order == ("M5", "M4", "M3", "M2", "M1")
    assert [(cable.a, cable.b) for cable in plan.cables][:2] == [("computer", "M5"), ("M5", "M4")]
    assert ohm_words(plan) == "60 Ω"


@pytest.mark.parametrize(
    ("old", "new", "verdict", "words"),
    [
        ('["computer", "M1"]', '["computer", "M1", "M3"]', "fail", "40.0 Ω between the wires"),
        ('["computer", "M1"]', '["computer", "M3"]', "fail", "two ends only"),
        ('["computer", "M1"]', "[]", "pass", "optional at 9600"),
        ('terminators = ["computer", "M1"]\n', "", "unknown", "not given"),
        ('bias = "560 ohm"', 'bias = "900 ohm"', "fail", "At rest"),
        ('polarised_at = "computer"', 'polarised_at = "none"', "caution", "noise"),
        ('length = "3 m"', 'length = "1100 m"', "fail", "1100 m"),
        ('length = "3 m"', 'length = "700 m"', "caution", "too thin"),
        ('stub = "300 mm"', 'stub = "25 m"', "fail", "25.0 m"),
        ("module_pins = { D1 = 4, D0 = 5", "module_pins = { D1 = 4, D0 = 6", "caution", "twist"),
        ("computer_pins = { D1 = 4, D0 = 5", "computer_pins = { D1 = 5, D0 = 4", "caution", "D1: pin 4 to pin 5"),
        (
            "computer_pins = { D1 = 4, D0 = 5, common = 8 }",
            "computer_pins = { D1 = 1, D0 = 2, supply = 4 }",
            "fail",
            "supply",
        ),
        ("isolated = true\nfed_from", "isolated = false\nfed_from", "caution", "earthing point"),
        ("isolated = true\nfed_from", "fed_from", "unknown", "does not say"),
        ('fed_from = "own battery"', 'fed_from = "bank"', "pass", "0.0960 kWh a day"),
        ('draw = "4 W"\n', "", "unknown", "what it takes"),
        ("baud = 9600\n", "", "unknown", "tries the others"),
        ("baud = 9600", "baud = 19200", "pass", "Modbus RTU at 19200 bit/s, no parity"),
    ],
)
def test_the_line_plan_says_it(old: str, new: str, verdict: str, words: str) -> None:
    assert any(words in each for each in remarks((old, new)).get(verdict, [])), remarks((old, new))


def test_what_the_bus_takes_from_the_file() -> None:
    demo = bank()
    assert framing_of(demo) == Framing(9600, "none")
    assert [(t.name, t.unit) for t in targets_of(demo)] == [("M5", 5), ("M4", 4), ("M3", 3), ("M2", 2), ("M1", 1)]
    register_map = map_of(demo, DEMO)
    assert register_map is not None
    expected = expected_of(demo, register_map)
    assert (expected.terminators, expected.isolated, expected.polarised) == (2, True, True)
    plan = poll_plan(demo, register_map)
    # 5 modules x ((13 + 2 x 24) characters of 10 bits + 2 x 3.5 of them) at 9600 bit/s
    assert plan.cycle == pytest.approx(5 * (61 + 7) * 10 / 9600)
    assert plan.fits is True
    assert poll_plan(bank(('every = "2 s"', 'every = "300 ms"')), register_map).fits is False


def test_a_bank_without_a_bus_is_a_bank() -> None:
    text = BARN[: BARN.index("[bus]")]
    bare = bank_from_text(text, DEMO / "barn.toml")
    assert bare.bus is None
    assert framing_of(bare) == START
    assert line_plan(bare).remarks[0].verdict == "unknown"
    assert cable_order(bare) == ("M1", "M2", "M3", "M4", "M5")
    with pytest.raises(QuestionError, match="no map is named"):
        map_of(bare, DEMO, needed=True)


def test_over_tcp_the_line_is_the_gateways_affair() -> None:
    text = BARN[: BARN.index("[bus]")] + '[bus]\nwire = "tcp"\nhost = "192.168.1.20:1502"\nmap = "barn-map.toml"\n'
    made = bank_from_text(text, DEMO / "barn.toml")
    assert framing_of(made) is None
    assert {each.key for each in line_plan(made).remarks} == {"bus.fed_from"}
    assert faults_in(text.replace(":1502", ":port"), DEMO / "barn.toml")[0].path == "bus.host"
