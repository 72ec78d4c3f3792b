"""Nothing but reading can be asked, whatever a map or a caller holds: tried over every wire, counted on the wire."""

from __future__ import annotations

import os
import re
import socket
import threading
import tty
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bank.read import bank_from_text
from bankwright.bus.exchange import Patience, exchange
from bankwright.bus.map.blocks import blocks
from bankwright.bus.map.read import MapError, map_from_text
from bankwright.bus.modbus.crc import holds
from bankwright.bus.modbus.request import Function, NotReading, Request, rtu_frame, spelled, tcp_frame
from bankwright.bus.of_bank import expected_of, map_of
from bankwright.bus.pretend.virtual import VirtualTcp
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.timing import Framing
from bankwright.bus.wire.serial_port import SerialPort
from bankwright.bus.wire.socket_tcp import TcpWire
from bankwright.forms.faults import QuestionError
from support.pretend_racks import LINE, MAP, rack

ANYTHING: st.SearchStrategy[Any] = st.one_of(
    st.integers(-(2**40), 2**40), st.binary(max_size=8), st.text(max_size=8), st.floats(), st.booleans(), st.none()
)
READING = {3, 4}
DEMO = Path(__file__).parents[2] / "demo"


def is_reading(function_and_data: bytes) -> bool:
    if function_and_data[0] in READING:
        return len(function_and_data) == 5 and 1 <= int.from_bytes(function_and_data[3:5], "big") <= 125
    return function_and_data == b"\x2b\x0e\x01\x00"


def test_the_functions_are_a_closed_list_of_three() -> None:
    assert {each.code for each in Function} == {0x03, 0x04, 0x2B}
    with pytest.raises(TypeError):
        Function("write", "06")  # type: ignore[call-arg]
    with pytest.raises(TypeError):

        class More(Function):  # type: ignore[misc]
            WRITE = "write single register"


@given(ANYTHING, st.one_of(st.sampled_from(Function), ANYTHING), ANYTHING, ANYTHING)
@settings(max_examples=300, deadline=None)
def test_a_request_of_anything_is_reading_or_refused(unit: Any, function: Any, first: Any, count: Any) -> None:
    try:
        request = Request(unit, function, first, count)
    except NotReading:
        return
    assert is_reading(spelled(request))
    assert 1 <= rtu_frame(request)[0] <= 247


@pytest.mark.parametrize("field", ["unit", "function", "first", "count"])
@pytest.mark.parametrize("value", [0, 6, 16, 10**9, -1, "06", b"\x06", True])
def test_a_request_that_was_tampered_with_is_not_spelled(field: str, value: Any) -> None:
    request = Request(1, Function.HOLDING, 0, 1)
    object.__setattr__(request, field, value)
    for make in (rtu_frame, lambda each: tcp_frame(each, 1)):
        try:
            frame = make(request)
        except NotReading:
            continue
        body = frame[1:-2] if holds(frame) else frame[7:]
        assert is_reading(body)


def test_something_that_only_looks_like_a_request_is_not_spelled() -> None:
    class Sly(Request):
        pass

    with pytest.raises(NotReading):
        spelled(Sly(1, Function.HOLDING, 0, 1))
    with pytest.raises(NotReading):
        spelled(b"\x01\x06\x00\x01\x00\x01")  # type: ignore[arg-type]


HOSTILE = [
    ("register = 1\n", "register = 1\nfunction = 6\n"),
    ('table = "input"', 'table = "coils"'),
    ('table = "input"', "table = 16"),
    ("register = 2\n", "register = 65600\n"),
    ("repeat = 16", "repeat = 100000"),
    ("scale = 0.01", "scale = nan"),
    ('name = "voltage"', 'name = "\\u0001\\u0006"'),
    ('type = "i16"', 'type = "write"'),
    ("counts_from = 1", "counts_from = -5"),
    ("format = 1", "format = 1\ninclude = ['/etc/passwd']"),
]


@given(
    st.lists(st.tuples(st.sampled_from(HOSTILE), st.booleans()), max_size=4), st.integers(0, 70000), st.integers(1, 300)
)
@settings(max_examples=150, deadline=None)
def test_hostile_maps_read_or_are_refused_over_a_line(
    spoilt: list[tuple[tuple[str, str], bool]], register: int, repeat: int
) -> None:
    text = MAP.replace("register = 10\n", f"register = {register}\n").replace("repeat = 16", f"repeat = {repeat}")
    for (old, new), use in spoilt:
        text = text.replace(old, new) if use else text
    try:
        made = map_from_text(text)
    except MapError:
        return
    wire = rack()
    tcp = VirtualTcp(wire.line.modules)
    for block in blocks(made, LINE, ("fast", "slow", "once")):
        exchange(wire, block.request(1), Patience(0.01))
        exchange(tcp, block.request(1), Patience(0.01))
    assert wire.line.counts.characters == 8 * wire.line.counts.requests
    assert all(holds(frame) and is_reading(frame[1:-2]) for frame in wire.line.counts.frames)
    assert not any(module.written for module in wire.line.modules)


def test_every_byte_over_tcp_is_a_reading_request() -> None:
    heard, door = bytearray(), socket.socket()
    door.bind(("127.0.0.1", 0))
    door.listen(1)

    def listen() -> None:
        caller, _ = door.accept()
        with caller:
            while part := caller.recv(4096):
                heard.extend(part)

    thread = threading.Thread(target=listen)
    thread.start()
    wire = TcpWire("127.0.0.1", door.getsockname()[1])
    sent = 0
    for block in blocks(map_from_text(MAP), None):
        exchange(wire, block.request(3), Patience(0.01))
        sent += 1
    wire.close()
    thread.join(60)
    door.close()
    assert len(heard) == 12 * sent
    assert all(is_reading(bytes(heard[at + 7 : at + 12])) for at in range(0, len(heard), 12))


def test_every_byte_on_a_serial_port_is_a_reading_request() -> None:
    master, slave = os.openpty()
    tty.setraw(master)
    port = SerialPort(os.ttyname(slave), Framing(115200, "none"))
    heard, sent = b"", 0
    for register in (10, 4000, 65519):
        made = map_from_text(MAP.replace("register = 10\n", f"register = {register}\n"))
        for block in blocks(made, LINE):
            exchange(port, block.request(247), Patience(0.005))
            sent += 1
            heard += os.read(master, 4096)
    exchange(port, Request(9, Function.IDENTITY), Patience(0.005))
    named = os.read(master, 4096)
    port.close()
    os.close(slave)
    os.close(master)
    assert sent >= 5
    assert len(heard) == 8 * sent
    frames = [heard[at : at + 8] for at in range(0, len(heard), 8)]
    assert all(holds(frame) and is_reading(frame[1:-2]) for frame in frames)
    assert holds(named)
    assert named[1:-2] == b"\x2b\x0e\x01\x00"


BUS_LINES = [
    'masters = ["writes 06 to everybody"]',
    'map = "/etc/passwd"',
    'map = "../../evil.toml"',
    'port = "/dev/sda"',
    "rts = true",
    'protocol = "write"',
    "function = 6",
    'order = ["M5", "M5"]',
    'host = "10.0.0.1:502"',
    'timeout = "1 ms"',
]


@given(st.lists(st.sampled_from(BUS_LINES), max_size=4, unique=True), st.integers(-3, 300))
@settings(max_examples=40, deadline=None)
def test_hostile_bank_files_read_or_are_refused(lines: list[str], address: int) -> None:
    text = (DEMO / "barn.toml").read_text("utf-8").replace('name = "M1"\n', f'name = "M1"\naddress = {address}\n', 1)
    head, tail = text.split("[bus]\n")
    for line in lines:
        tail = re.sub(rf"(?m)^{line.split(' = ')[0]} = .*\n", "", tail) + line + "\n"
    try:
        bank = bank_from_text(f"{head}[bus]\n{tail}", DEMO / "barn.toml")
        register_map = map_of(bank, DEMO)
    except QuestionError:
        return
    wire = rack()
    survey(wire, expected_of(bank, register_map), How(listen=0.2, up_to=3, other_speeds=False))
    assert all(holds(frame) and is_reading(frame[1:-2]) for frame in wire.line.counts.frames)
    assert not any(module.written for module in wire.line.modules)
