"""The real wires: a pseudo-terminal and a loopback port, the pretend rack behind them; and an independent library."""

from __future__ import annotations

import os
import termios
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from bankwright.bus.exchange import Outcome, Patience, exchange
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.modbus.taken import FRAMING, PARITY
from bankwright.bus.poll import Policy, Poller
from bankwright.bus.pretend.loopback import Loopback
from bankwright.bus.pretend.terminal import Terminal
from bankwright.bus.timing import Framing, poll_limit
from bankwright.bus.wire.marks import Unmarker
from bankwright.bus.wire.serial_port import SerialPort, latency_timer
from bankwright.bus.wire.socket_tcp import TcpWire
from bankwright.bus.wire.wire import NotTunable, WireGone
from support.pretend_racks import NAMES, rack, register_map, targets

PATIENT = Patience(timeout=30.0)  # a loaded machine is no silent module


@contextmanager
def served(door: Terminal | Loopback) -> Iterator[None]:
    stop = threading.Event()
    thread = threading.Thread(target=door.serve, args=(lambda: not stop.is_set(),))
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(60)
        door.close()


def test_a_pseudo_terminal_carries_polls_in_their_time_and_with_their_silences() -> None:
    framing = Framing(115200)
    door = Terminal(rack(framing=framing).line)
    with served(door):
        port = SerialPort(door.path, framing)
        poller = Poller(port, register_map(serial=False), targets(), Policy(patience=PATIENT))
        poller.cycle()
        begun = time.monotonic()
        answered = [poller.cycle().answered for _ in range(5)]
        took = time.monotonic() - begun
        port.close()
    assert answered == [len(NAMES)] * 5
    assert took >= 5 * poll_limit(framing, len(NAMES), [b.count for b in poller.fast]) * 0.98
    assert door.line.counts.violations == 0
    assert door.line.counts.characters == 8 * door.line.counts.requests


def test_a_byte_ff_passes_although_bad_characters_are_marked() -> None:
    wire = rack("sentinel:M1", framing=Framing(115200))  # replies full of FF
    door = Terminal(wire.line)
    with served(door):
        port = SerialPort(door.path, Framing(115200))
        assert port.marks_errors
        done = exchange(port, Request(1, Function.INPUT, 9, 16), PATIENT)
        port.close()
    assert done.outcome is Outcome.ANSWER
    assert done.got.data.count(b"\xff") >= 32


def test_marks_are_taken_apart_also_when_torn() -> None:
    whole = b"\x01\xff\xff\xff\x00\x41\x02\xff\x00\x00"
    for cut in range(len(whole) + 1):
        taker = Unmarker()
        got = taker.take(whole[:cut]) + taker.take(whole[cut:])
        assert got.data == b"\x01\xff\x41\x02\x00"
        assert list(got.marks) == [0, 0, PARITY | FRAMING, 0, PARITY | FRAMING]


def test_a_port_that_is_not_there_or_goes_away_is_told(tmp_path: Path) -> None:
    with pytest.raises(WireGone, match="cannot be opened"):
        SerialPort(str(tmp_path / "none"), Framing(9600))
    with pytest.raises(WireGone, match="cannot be opened"):
        SerialPort(str(tmp_path), Framing(9600))
    master, slave = os.openpty()
    port = SerialPort(os.ttyname(slave), Framing(9600))
    os.close(slave)
    os.close(master)
    with pytest.raises(WireGone, match="went away"):
        exchange(port, Request(1, Function.HOLDING, 0, 1), Patience(0.2))
    port.close()


def test_a_speed_that_the_port_does_not_take_leaves_it_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    door = Terminal(rack(framing=Framing(9600, "none")).line)
    with served(door):
        port = SerialPort(door.path, Framing(9600, "none"))
        with monkeypatch.context() as patch:
            patch.setattr(termios, "tcsetattr", refusing)  # a pseudo-terminal takes no parity, on most kernels
            with pytest.raises(NotTunable, match="does not take 9600 8O1"):
                port.retune(Framing(9600, "odd"))
        assert port.framing == Framing(9600, "none")
        assert exchange(port, Request(1, Function.INPUT, 0, 2), PATIENT).outcome is Outcome.ANSWER
        port.close()


def refusing(*_: object) -> None:
    raise termios.error(22, "Invalid argument")


def test_a_port_that_another_program_holds_is_refused() -> None:
    master, slave = os.openpty()
    port = SerialPort(os.ttyname(slave), Framing(9600))
    with pytest.raises(WireGone, match="cannot be opened"):
        SerialPort(os.ttyname(slave), Framing(9600))
    port.close()
    os.close(slave)
    os.close(master)


def test_a_wire_counts_on_the_clock_of_the_logbook() -> None:
    from bankwright.logbook.clocks import SystemClock

    master, slave = os.openpty()
    port = SerialPort(os.ttyname(slave), Framing(9600))
    told = SystemClock().now().monotonic
    assert told is not None
    assert abs(port.now() - told) < 60.0  # of the same clock; a loaded machine may pause between the two
    port.close()
    os.close(slave)
    os.close(master)


def test_the_latency_timer_is_read_where_there_is_one(tmp_path: Path) -> None:
    (tmp_path / "ttyUSB0" / "device").mkdir(parents=True)
    (tmp_path / "ttyUSB0" / "device" / "latency_timer").write_text("16\n")
    assert latency_timer("/dev/ttyUSB0", tmp_path) == 0.016
    assert latency_timer("/dev/ttyS0", tmp_path) is None


def test_a_loopback_port_carries_polls() -> None:
    door = Loopback(rack("off:M3").line)
    with served(door):
        wire = TcpWire("127.0.0.1", door.port)
        cycle = Poller(wire, register_map(), targets(), Policy(patience=PATIENT)).cycle()
        wire.close()
    outcomes = {each.module: each.outcome for each in cycle.heard}
    assert outcomes["M1"] is Outcome.ANSWER
    assert outcomes["M3"] is Outcome.SILENCE  # by the word of the gateway


def test_tcp_that_nobody_listens_on_is_told() -> None:
    with pytest.raises(WireGone, match="cannot be reached"):
        TcpWire("127.0.0.1", 1, timeout=0.5)


# --- an independent implementation: pymodbus, a general-purpose library, on the other side of the wire


def test_another_master_reads_the_same_from_the_pretend_rack() -> None:
    client_module = pytest.importorskip("pymodbus.client")
    door = Terminal(rack(framing=Framing(19200)).line)
    with served(door):
        client = client_module.ModbusSerialClient(door.path, baudrate=19200, parity="N", timeout=30, retries=0)
        assert client.connect()
        read = client.read_input_registers(0, count=2, device_id=2)
        refused = client.read_holding_registers(0, count=2, device_id=2)
        written = client.write_register(0, 5, device_id=2)
        client.close()
    assert read.registers == [5261, 65536 - 30]  # 52.61 V; 3.0 A out of the module, charging counted positive
    assert refused.isError()
    assert refused.exception_code == 2
    assert written.isError()
    assert written.exception_code == 1


def test_another_servers_registers_are_read_over_tcp() -> None:
    pytest.importorskip("pymodbus.server")
    import asyncio

    from pymodbus.server import ModbusTcpServer
    from pymodbus.simulator import DataType, SimData, SimDevice

    ready, stop, port = threading.Event(), threading.Event(), []

    async def run() -> None:
        data = [SimData(0, values=[5261, 65506, 61, 4], datatype=DataType.REGISTERS)]
        server = ModbusTcpServer([SimDevice(1, simdata=data)], address=("127.0.0.1", 0))
        await server.serve_forever(background=True)
        port.append(server.transport.sockets[0].getsockname()[1])
        ready.set()
        while not stop.is_set():
            await asyncio.sleep(0.02)
        await server.shutdown()

    thread = threading.Thread(target=lambda: asyncio.run(run()))
    thread.start()
    assert ready.wait(60)
    try:
        wire = TcpWire("127.0.0.1", port[0])
        holding = exchange(wire, Request(1, Function.HOLDING, 0, 4), PATIENT)
        inputs = exchange(wire, Request(1, Function.INPUT, 1, 2), PATIENT)
        beyond = exchange(wire, Request(1, Function.HOLDING, 500, 2), PATIENT)
        wire.close()
    finally:
        stop.set()
        thread.join(60)
    assert holding.reply.values == (5261, 65506, 61, 4)  # type: ignore[union-attr]
    assert inputs.reply.values == (65506, 61)  # type: ignore[union-attr]
    assert beyond.outcome is Outcome.REFUSAL
