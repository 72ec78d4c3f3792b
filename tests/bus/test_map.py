"""A register map: every way a manual can mean its numbers, every fault with its place, requests that fit."""

from __future__ import annotations

import math
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.map.blocks import apart, blocks, worth_bridging
from bankwright.bus.map.decode import GOOD, MISSING, NOT_AVAILABLE, OUTSIDE, decoded
from bankwright.bus.map.read import MapError, map_from_text
from bankwright.bus.map.registers import Signal
from bankwright.bus.pretend.registers import encoded, registers_of
from bankwright.bus.timing import Framing
from support.pretend_racks import MAP, register_map

pytestmark = pytest.mark.quick

HEAD = 'format = 1\ncounts_from = 0\ntable = "holding"\nword_order = "high first"\n'


def one(keys: str, head: str = HEAD) -> Signal:
    made = map_from_text(f"{head}[[signals]]\n{keys}")
    return made.signals[0]


def value(keys: str, *words: int, head: str = HEAD) -> float:
    signal = one(keys, head)
    return decoded(signal, {signal.address + k: word for k, word in enumerate(words)}).value


CURRENT = 'name = "i"\nquantity = "current"\nunit = "A"\nregister = 1\n'


def test_the_sign_of_the_current_is_that_of_the_house() -> None:
    # inside, a current that leaves the module is positive
    for positive, sign in (("charging", -1), ("discharging", 1)):
        assert value(f'{CURRENT}type = "i16"\nscale = 0.1\npositive = "{positive}"\n', 123) == pytest.approx(
            sign * 12.3
        )
        assert value(f'{CURRENT}type = "i16"\nscale = 0.1\npositive = "{positive}"\n', 65413) == pytest.approx(
            sign * -12.3
        )


def test_a_current_with_an_offset_instead_of_a_sign() -> None:
    # 30000 stands for 0 A, as some modules have it
    assert value(f'{CURRENT}scale = 0.1\noffset = -3000\npositive = "discharging"\n', 30123) == pytest.approx(12.3)
    assert value(f'{CURRENT}scale = 0.1\noffset = -3000\npositive = "discharging"\n', 29877) == pytest.approx(-12.3)


VOLTAGE = 'name = "v"\nquantity = "voltage"\nunit = "mV"\nregister = 0\n'


@pytest.mark.parametrize(("order", "words"), [("high first", (0, 52734)), ("low first", (52734, 0))])
def test_word_order_of_long_values(order: str, words: tuple[int, int]) -> None:
    assert value(f'{VOLTAGE}type = "u32"\nword_order = "{order}"\n', *words) == pytest.approx(52.734)
    wrong = value(f'{VOLTAGE}type = "u32"\nword_order = "{order}"\n', *words[::-1])
    assert wrong == pytest.approx(52.734 * 65536)


def test_byte_order_floats_and_negative_long_values() -> None:
    assert value(f'{VOLTAGE}byte_order = "low first"\n', 0xFECD) == pytest.approx(52.734)
    high, low = struct.unpack(">HH", struct.pack(">f", 52734.0))
    assert value(f'{VOLTAGE}type = "f32"\n', high, low) == pytest.approx(52.734)
    assert value(f'{VOLTAGE}type = "f32"\nword_order = "low first"\n', low, high) == pytest.approx(52.734)
    assert value(f'{VOLTAGE}type = "i32"\n', 0xFFFF, 0xFFFE) == pytest.approx(-0.002)
    nan = struct.unpack(">HH", struct.pack(">f", math.nan))
    signal = one(f'{VOLTAGE}type = "f32"\n')
    assert decoded(signal, dict(enumerate(nan))).quality == NOT_AVAILABLE


def test_counting_from_zero_one_and_forty_thousand_and_one() -> None:
    # V1.1b3, 4.4: register 1 of a manual is address 0 on the wire; 40001 is holding register 0, 30001 input register 0
    signal = 'name = "v"\nquantity = "voltage"\nunit = "V"\nregister = '
    assert one(f"{signal}17\n").address == 17
    assert one(f"{signal}17\n", HEAD.replace("= 0", "= 1")).address == 16
    notation = 'format = 1\ncounts_from = "30001/40001"\n'
    for number, table, address in ((40001, "holding", 0), (30017, "input", 16), (400001, "holding", 0)):
        made = one(f"{signal}{number}\n", notation)
        assert (made.table, made.address) == (table, address)


def test_units_scales_and_temperatures() -> None:
    temperature = 'name = "t"\nquantity = "temperature_degc"\nregister = 0\n'
    assert value(f'{temperature}unit = "K"\nscale = 0.1\n', 2981) == pytest.approx(24.95)
    assert value(f'{temperature}unit = "degF"\n', 77) == pytest.approx(25.0)
    assert value(f'{temperature}unit = "degC"\nscale = 0.1\noffset = -40\n', 650) == pytest.approx(25.0)
    assert value('name = "s"\nquantity = "soc"\nunit = "%"\nscale = 0.1\nregister = 0\n', 874) == pytest.approx(0.874)


def test_sentinels_ranges_and_holes_in_what_was_read() -> None:
    signal = one(f'{VOLTAGE}not_available = [65535, 0]\nrange = "40 V to 60 V"\n')
    assert decoded(signal, {0: 52000}).quality == GOOD
    assert decoded(signal, {0: 65535}).quality == NOT_AVAILABLE
    assert decoded(signal, {0: 0}).quality == NOT_AVAILABLE
    assert math.isnan(decoded(signal, {0: 0}).value)
    low = decoded(signal, {0: 31000})
    assert (low.value, low.quality) == (31.0, OUTSIDE)
    assert decoded(signal, {1: 5}).quality == MISSING


def test_bits_and_fields_inside_a_register() -> None:
    flags = one('name = "alarms"\nquantity = "flags"\nregister = 0\nbits = { 0 = "too high", 9 = "too cold" }\n')
    assert decoded(flags, {0: 0b1000000001}).flags == ("too high", "too cold")
    assert decoded(flags, {0: 0}).flags == ()
    cells = 'name = "c"\nquantity = "count"\nregister = 0\nshift = 8\nwidth = 8\n'
    assert value(cells, 0x1007) == 16
    assert value(cells.replace("shift = 8", "shift = 0"), 0x1007) == 7
    signed = (
        'name = "t"\nquantity = "temperature_degc"\nunit = "degC"\ntype = "i16"\nregister = 0\nshift = 0\nwidth = 8\n'
    )
    assert value(signed, 0x07FB) == -5


def test_texts() -> None:
    signal = one('name = "sn"\nquantity = "serial"\ntype = "text"\nlength = 3\nregister = 0\n')
    assert decoded(signal, {0: 0x4142, 1: 0x3100, 2: 0xFFFF}).text == "AB1"
    assert decoded(signal, {0: 0, 1: 0, 2: 0}).quality == NOT_AVAILABLE
    turned = one(
        'name = "sn"\nquantity = "serial"\ntype = "text"\nlength = 2\nregister = 0\nbyte_order = "low first"\n'
    )
    assert decoded(turned, {0: 0x4241, 1: 0x3231}).text == "AB12"


FAULTS = {
    "no sign": ('positive = "charging"\n', "", "the sign is not said"),
    "wrong unit": ('unit = "A"', 'unit = "V"', 'Units here: "A"'),
    "no unit": ('unit = "mV"\n', "", "the unit is missing"),
    "unknown quantity": ('quantity = "soc"', 'quantity = "charge"', "quantity"),
    "before the first": ("register = 1\n", "register = 0\n", "counts from 1"),
    "nothing said of counting": ("counts_from = 1\n", "", '"counts_from" is missing'),
    "no table": ('table = "input"\n', "", "the table is not said"),
    "sentinel with sign": ("[65535]", "[-1]", "-1 is 65535"),
    "beyond the end": ("register = 10\n", "register = 65530\n", "65535"),
    "misspelt": ("scale = 0.01", "scael = 0.01", 'Did you mean "scale"?'),
    "word order": ('type = "i16"', 'type = "i32"', "word order"),
    "range of another kind": ('"40 V to 60 V"', '"40 A to 60 A"', "A"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_is_told_with_its_line(name: str) -> None:
    old, new, words = FAULTS[name]
    assert old in MAP
    text = MAP.replace(old, new, 1)
    with pytest.raises(MapError) as caught:
        map_from_text(text, "slab.toml")
    assert words in str(caught.value)
    if name != "beyond the end":
        assert "slab.toml:" in str(caught.value)


def test_all_faults_come_together() -> None:
    with pytest.raises(MapError) as caught:
        map_from_text(MAP.replace('positive = "charging"\n', "").replace('unit = "mV"\n', ""), "slab.toml")
    assert len(caught.value.faults) == 2


def test_a_hole_is_bridged_while_it_is_cheaper_than_a_request() -> None:
    # 2 g characters against 13 characters and two silences: 9, 9 and 24 registers (worked out by hand)
    assert [worth_bridging(Framing(baud)) for baud in (9600, 19200, 115200)] == [9, 9, 24]


def test_blocks_bridge_only_holes_that_may_be_read() -> None:
    bridged = blocks(map_from_text(MAP), Framing(9600))
    assert [(b.first, b.count) for b in bridged] == [(0, 25)]
    kept = blocks(map_from_text(MAP.replace("can be read", "are refused")), Framing(9600))
    assert [(b.first, b.count) for b in kept] == [(0, 3), (9, 16)]
    short = blocks(map_from_text(MAP.replace("[[signals]]", "most = 10\n[[signals]]", 1)), Framing(9600))
    assert all(b.count <= 10 for b in short)
    assert sum(len(b.signals) for b in short) == 19


def test_current_and_voltage_stay_in_one_request() -> None:
    # current at 11, voltage at 12, most 12 registers: cut by length alone they would part
    text = f"{HEAD}most = 12\n" + "".join(
        f'[[signals]]\nname = "c{k}"\nquantity = "cell_voltage"\nunit = "mV"\nregister = {k}\n' for k in range(11)
    )
    text += f'[[signals]]\n{CURRENT.replace("register = 1", "register = 11")}positive = "charging"\n'
    text += '[[signals]]\nname = "v"\nquantity = "voltage"\nunit = "V"\nregister = 12\n'
    made = blocks(map_from_text(text), Framing(9600))
    assert not apart(made)
    assert all(block.count <= 12 for block in made)
    assert {s.name for b in made for s in b.signals} == {*(f"c{k}" for k in range(11)), "i", "v"}
    assert {"i", "v"} <= {s.name for s in made[0].signals}


def test_where_the_map_parts_them_it_is_told() -> None:
    text = MAP.replace("register = 2\n", 'register = 2\ntable = "holding"\n', 1)
    assert apart(blocks(map_from_text(text), Framing(9600)))


@given(
    st.sampled_from(["u16", "i16", "u32", "i32", "f32"]),
    st.sampled_from(["high first", "low first"]),
    st.sampled_from(["high first", "low first"]),
    st.floats(-30, 30),
)
@settings(max_examples=150, deadline=None)
def test_what_is_encoded_is_decoded(kind: str, words: str, order: str, amperes: float) -> None:
    orders = f'word_order = "{words}"\nbyte_order = "{order}"\n'
    keys = f'{CURRENT}type = "{kind}"\n{orders}scale = 0.01\npositive = "charging"\n'
    signal = one(keys)
    got = decoded(signal, dict(enumerate(encoded(signal, amperes), signal.address)))
    expected = min(amperes, 0.0) if kind.startswith("u") else amperes
    assert got.value == pytest.approx(expected, abs=0.0051)


def test_a_pretend_module_shows_what_it_was_given() -> None:
    made = register_map()
    known = registers_of(made, {"voltage": 52.8, "current": -7.5, "soc": 0.61, "serial": "X1"})
    inputs = {address: word for (_, address), word in known.items()}
    assert decoded(made.named("current"), inputs).value == pytest.approx(-7.5)
    assert decoded(made.named("serial"), inputs).text == "X1"
    cells = [decoded(signal, inputs).value for signal in made.of("cell_voltage")]
    assert sum(cells) == pytest.approx(52.8, abs=0.02)
