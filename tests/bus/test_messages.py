"""Message maps: six layouts read back what was put in, every fault has its place, what does not fit is told."""

from __future__ import annotations

import math
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.ascii.others import piece_at
from bankwright.bus.ascii.request import Command, text_frame
from bankwright.bus.exchange import Patience, exchange
from bankwright.bus.map.read import MapError
from bankwright.bus.messages.asks import message_asks
from bankwright.bus.messages.decode import read_message
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.messages.read import messages_from_text
from bankwright.bus.poll import Poller, Target, columns
from bankwright.bus.pretend.information import information_of
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.troubles import trouble
from bankwright.bus.pretend.virtual import VirtualTcp, VirtualWire
from bankwright.bus.timing import Framing, cycle_time
from bankwright.forms.readings import GOOD, MISSING, NOT_AVAILABLE, OUTSIDE
from support.message_maps import COUNTED, GROUPS, HEAD, LAYOUTS, fields

LINE = Framing(9600, "none")
STATE = {"voltage": 52.8, "current": -12.3, "soc": 0.7, "temperature_degc": 21.0, "capacity_ah": 61.2, "count": 15.0}


def rack(text: str, *troubles: str, framing: Framing = LINE) -> VirtualWire:
    names = ("M1", "M2", "M3")
    told = [trouble(each, names) for each in troubles]
    places = [Place(name, number) for number, name in enumerate(names, 1)]
    return VirtualWire(pretend_line(places, messages_from_text(text), framing, lambda _: {"M1": STATE}, told))


TARGETS = [Target("M1", 1), Target("M2", 2), Target("M3", 3)]


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_layout_reads_back_what_was_put_in(name: str) -> None:
    known = messages_from_text(LAYOUTS[name])
    wire = rack(LAYOUTS[name])
    poller = Poller(wire, known, TARGETS)
    cycle = [poller.cycle() for _ in range(4)][-1]  # what is asked once is over then
    assert cycle.answered == 3
    heard = cycle.heard[0].values
    steps = {"voltage": 0.051, "current": 0.051, "soc": 0.0501, "temperature_degc": 0.51, "capacity_ah": 0.001}
    checked = 0
    for signal in known.signals:
        if signal.quantity in steps and signal.name in heard and heard[signal.name].quality == GOOD:
            assert heard[signal.name].value == pytest.approx(STATE[signal.quantity], abs=steps[signal.quantity])
            checked += 1
    assert checked >= 2
    cells = [heard[s.name].value for s in known.of("cell_voltage")]
    assert all(3.2 < value < 3.55 for value in cells)
    assert all(table.value.shape[0] == 1 for table in columns([cycle], known))
    asks = message_asks(known)
    line = cycle_time(LINE, 3, [each.characters for each in asks])
    assert cycle.took <= line + 1e-9
    for ask in asks:
        module = wire.line.modules[0]
        frame = module.reply(text_frame(ask.request(1)), 0.0)
        assert frame is not None
        text = frame[13:-5]
        assert read_message(ask.message, text).fits


def test_values_by_hand() -> None:
    """Bytes written out by hand for the first layout."""
    known = messages_from_text(COUNTED.replace("most = 16", "most = 3").replace("most = 6", "most = 2"))
    info = b"0001" + b"03" + b"0CE40CE50CE3" + b"02" + b"0BA50BB9" + b"FEBB" + b"CE40" + b"00EF10" + b"46"
    read = read_message(known.messages[0], info)
    assert read.fits
    got = {name: one.value for name, one in read.values.items()}
    assert got["cell 1"] == pytest.approx(3.300)
    assert got["cell 3"] == pytest.approx(3.299)
    assert got["sensor 1"] == pytest.approx((0x0BA5 - 2731) * 0.1)
    assert got["current"] == pytest.approx(3.25)  # FEBB is -325, charging is positive in the map: 3.25 A leave it
    assert got["voltage"] == pytest.approx(52.8)
    assert got["left"] == pytest.approx(61.2)
    assert got["soc"] == pytest.approx(0.7)


def one(row: str, info: bytes, head: str = HEAD) -> tuple[float, int, tuple[str, ...]]:
    known = messages_from_text(head + '[[messages]]\ncommand = "42"\n' + fields(row))
    read = read_message(known.messages[0], info)
    first = read.values[known.signals[0].name]
    return first.value, first.quality, first.flags


def test_every_way_to_write_a_number() -> None:
    volts = 'name = "v", quantity = "voltage", unit = "V", scale = 0.01'
    amps = 'name = "i", quantity = "current", unit = "A", positive = "discharging"'
    assert one(volts, b"14A0")[0] == pytest.approx(52.8)
    assert one(volts + ', byte_order = "low first"', b"A014")[0] == pytest.approx(52.8)
    assert one(amps + ', type = "signed"', b"FFFE")[0] == -2
    assert one(amps + ', type = "signed", bytes = 3', b"FFFFFE")[0] == -2
    assert one(amps + ', type = "sign bit"', b"8002")[0] == -2
    assert one(amps + ", zero = 30000, scale = 0.1", b"7530")[0] == 0
    assert one(amps + ", offset = -3000, scale = 0.1", b"7533")[0] == pytest.approx(0.3)
    low = struct.pack("<f", 52.75).hex().upper().encode()
    assert one(volts.replace("0.01", "1") + ', type = "float", byte_order = "low first"', low)[0] == 52.75
    warm = 'name = "t", quantity = "temperature_degc", zero = 2731, scale = 0.1, unit = "degC"'
    assert one(warm, b"0AAB")[0] == pytest.approx(0.0)
    assert one(warm.replace("zero = 2731, ", "").replace('degC"', 'K"'), b"0AAB")[0] == pytest.approx(-0.05)
    half = 'name = "s", quantity = "soc", bytes = 1, shift = 4, width = 4, scale = 10, unit = "%"'
    assert one(half, b"7F")[0] == pytest.approx(0.7)


def test_no_value_stays_no_value() -> None:
    volts = 'name = "v", quantity = "voltage", unit = "V", not_available = [65535], range = "40 V to 60 V"'
    assert one(volts, b"FFFF")[1] == NOT_AVAILABLE
    assert one(volts, b"    ")[1] == NOT_AVAILABLE
    assert one(volts, b"")[1] == MISSING
    assert one(volts, b"00")[1] == MISSING
    value, quality, _ = one(volts, b"0064")
    assert (value, quality) == (100, OUTSIDE)
    assert math.isnan(one(volts, b"FFFF")[0])


def test_bits_and_words() -> None:
    bits = 'name = "f", quantity = "flags", bytes = 1, bits = { 0 = "a", 7 = "h" }'
    assert one(bits, b"81")[2] == ("a", "h")
    words = 'name = "f", quantity = "flags", bytes = 1, words = { 1 = "low", 240 = "other" }'
    assert [one(words, said)[2] for said in (b"00", b"01", b"F0", b"07")] == [(), ("low",), ("other",), ("code 07",)]


def test_a_list_moves_what_follows_and_a_lying_count_ends_it() -> None:
    known = messages_from_text(COUNTED)
    message = known.messages[0]
    short = b"0001" + b"02" + b"0CE4" * 2 + b"01" + b"0BA5" + b"FEBB" + b"CE40" + b"00EF10" + b"46"
    read = read_message(message, short)
    assert read.values["voltage"].value == pytest.approx(52.8)
    assert read.values["cell 3"].quality == MISSING
    assert read.fits
    long = b"0001" + b"11" + b"0CE4" * 17 + short[14:]
    read = read_message(message, long)
    assert read.over == {"cell": 17}
    assert not read.fits
    assert read.values["voltage"].value == pytest.approx(52.8)
    lying = read_message(message, b"0001" + b"FF" + short[6:])
    assert lying.short
    assert lying.values["voltage"].quality == MISSING
    assert not read_message(message, short + b"00").fits


def test_a_record_that_is_not_kept_still_says_how_long_it_is() -> None:
    text = GROUPS.replace('"skip = 1"', "").replace(
        "] },\n]", '] },\n  { name = "soc", quantity = "soc", bytes = 1, unit = "%" },\n]'
    )
    known = messages_from_text(text)
    group = b"02" + b"0CE4" * 2 + b"00"
    longer = b"03" + b"0CE5" * 3 + b"00"
    read = read_message(known.messages[0], b"0000CE40" + b"FFFFFC18" + b"03" + group + group + longer + b"46")
    assert read.over == {"group": 3}
    assert not read.short
    assert read.values["soc"].value == pytest.approx(0.7)
    assert read.values["current"].value == pytest.approx(1.0)
    assert read.values["group 2 cell 2"].value == pytest.approx(3.3)


@given(st.text("0123456789ABCDEF ", max_size=200).filter(lambda t: len(t) % 2 == 0), st.sampled_from(sorted(LAYOUTS)))
@settings(max_examples=60, deadline=None)
def test_no_answer_breaks_the_reader(text: str, name: str) -> None:
    known = messages_from_text(LAYOUTS[name])
    for message in known.messages:
        said = "".join(text[k : k + 2] if " " not in text[k : k + 2] else "  " for k in range(0, len(text), 2))
        read = read_message(message, said.encode())
        assert set(read.values) == {signal.name for signal in message.signals}


def test_a_sentinel_module_has_no_values() -> None:
    known: MessageMap = messages_from_text(COUNTED)
    read = read_message(known.messages[0], information_of(known.messages[0], {}, sentinel=True))
    assert {one.quality for one in read.values.values()} == {NOT_AVAILABLE}
    assert read.fits


WRONG = [
    ('command = "42"', 'command = "45"', "reading are 41"),
    ('command = "42"', "command = 42", "reading are 41"),
    ('version = "20"', "version = 20", "two hexadecimal characters"),
    ('ask = "address"', 'ask = "adress"', "the word address"),
    ('ask = "address"', f'ask = "{"00 " * 9}"', "at most 8 bytes"),
    ('count = "before", most = 16', 'count = "before"', "how many are kept is not said"),
    ('count = "before", most = 16', 'count = "before", most = 900', "255"),
    ('count = "before", most = 16', 'count = "cells", most = 16', 'found "cells"'),
    ("zero = 2731", 'zero = "2731"', "write a number"),
    (', unit = "mV", count', ", count", "the unit is missing"),
    (', positive = "charging"', "", "the sign is not said"),
    ('quantity = "soc"', 'quantity = "sok"', "soc"),
    ('bytes = 1, unit = "%"', 'bytes = 9, unit = "%"', "at most 8 bytes"),
    ("skip = 2", 'skip = 2, unit = "V"', "not read"),
    ('name = "voltage"', 'name = "current"', "twice"),
    ('name = "voltage", quantity', 'at = "same", quantity', "the name is missing"),
    ('type = "text"', 'type = "signed"', "for serial"),
    ('every = "once"', 'every = "never"', "once"),
    ("format = 1", "format = 1\ninclude = ['/etc/passwd']", ""),
    ('bytes = 3, unit = "mAh"', 'bytes = 3, shift = 20, width = 8, unit = "mAh"', "beyond bit 23"),
    ('scale = 0.01, unit = "A"', 'scale = 0, unit = "A"', "scale of 0"),
    ('scale = 0.01, unit = "A"', 'scale = 1e400, unit = "A"', "write a number"),
    ('scale = 0.01, unit = "A"', f'scale = 1{"0" * 400}, unit = "A"', "write a number"),
    ('scale = 0.01, unit = "A"', 'scale = nan, unit = "A"', "write a number"),
]


@pytest.mark.parametrize(("old", "new", "words"), WRONG, ids=range(len(WRONG)))
def test_each_fault_has_its_place_and_says_what_would_be_right(old: str, new: str, words: str) -> None:
    assert old in COUNTED
    with pytest.raises(MapError) as raised:
        messages_from_text(COUNTED.replace(old, new, 1))
    faults = raised.value.faults
    assert any(words.lower() in f"{f.found} {f.hint} {f.expected}".lower() for f in faults), [str(f) for f in faults]
    assert all(fault.place is not None and fault.place.line > 0 for fault in faults)


HEX = st.integers(0, 255).map(lambda value: f"{value:02X}")
TOKEN = st.one_of(HEX, st.just("address"), st.text("GZ~\r 45", min_size=1, max_size=3))


READING = st.sampled_from([f"{each.value:02X}" for each in Command])


@given(st.one_of(READING, READING, HEX), HEX, HEX, st.lists(TOKEN, max_size=10), st.integers(0, 254))
@settings(max_examples=120, deadline=None)
def test_hostile_maps_read_or_are_refused_and_every_character_is_counted(
    command: str, version: str, group: str, ask: list[str], unit: int
) -> None:
    """Whatever the codes and the information of a map: over a line and a serial server only reading commands leave."""
    spoilt = COUNTED.replace('"42"', f'"{command}"').replace(
        'version = "20"', f'version = "{version}"\ngroup = "{group}"'
    )
    spoilt = spoilt.replace('ask = "address"', f"ask = {' '.join(ask)!r}")
    try:
        known = messages_from_text(spoilt)
    except MapError:
        return
    wire, sent = rack(COUNTED), 0
    tcp = VirtualTcp(wire.line.modules)
    for each in message_asks(known, ("fast", "slow", "once")):
        request = each.request(unit)
        exchange(wire, request, Patience(0.01))
        exchange(tcp, request, Patience(0.01))
        sent += request.length
    assert wire.line.counts.characters == sent
    for frame in wire.line.counts.frames:
        piece = piece_at(frame, 0)
        assert piece.state == "whole"
        assert piece.end == len(frame)
        assert piece.code in {each.value for each in Command}
    assert not any(module.written for module in wire.line.modules)


def test_a_map_without_messages_and_one_too_long_are_refused() -> None:
    with pytest.raises(MapError, match="no messages"):
        messages_from_text(HEAD)
    huge = 'name = "c", quantity = "cell_voltage", unit = "mV", bytes = 8, count = 255'
    with pytest.raises(MapError, match="bytes"):
        messages_from_text(HEAD + '[[messages]]\ncommand = "42"\n' + fields(huge, "skip = 2047"))


def test_troubles_of_a_text_line_are_polled_through() -> None:
    for troubles in (("damage=30 %",), ("noise=50 %", "echo"), ("late:M2=0.2 s",), ("cut=20 %",)):
        poller = Poller(rack(COUNTED, *troubles), messages_from_text(COUNTED), TARGETS)
        answered = [poller.cycle().answered for _ in range(6)]
        assert sum(answered) >= 12, (troubles, answered)


def test_through_a_serial_server_they_are_polled_too() -> None:
    known = messages_from_text(COUNTED)
    tcp = VirtualTcp(rack(COUNTED).line.modules[:2])
    cycle = Poller(tcp, known, TARGETS).cycle()
    assert cycle.answered == 2
    assert cycle.heard[0].values["voltage"].value == pytest.approx(52.8)
    assert cycle.heard[2].outcome is not None
    assert cycle.heard[2].values == {}
