"""Polling a line of pretend modules, wire time emulated on a pseudo-terminal: share of the line's own limit.

Modules in a process of their own; 60 registers each in one request. Beside it a general-purpose library on the same
line (it keeps no silence before requests: the violations are counted).
"""

from __future__ import annotations

import multiprocessing
import sys
import time
from multiprocessing.connection import Connection
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

from bankwright.bus.map.read import map_from_text
from bankwright.bus.poll import Poller, Target, columns
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.terminal import Terminal
from bankwright.bus.timing import Framing, poll_limit
from bankwright.bus.wire.serial_port import SerialPort

MAP = """
format = 1
counts_from = 0
table = "holding"
[[signals]]
name = "cell"
quantity = "cell_voltage"
unit = "mV"
register = 0
repeat = 60
"""
SECONDS = 2.0
ASKED = {9600: 95, 19200: 95, 115200: 88}


def names(modules: int) -> list[str]:
    return [f"M{number}" for number in range(1, modules + 1)]


def rack(modules: int, baud: int, pipe: Connection) -> None:
    """The rack's own process: serves until told to stop, then tells its counts."""
    places = [Place(name, number) for number, name in enumerate(names(modules), 1)]
    door = Terminal(pretend_line(places, map_from_text(MAP), Framing(baud), lambda _: {}))
    pipe.send(door.path)
    door.serve(lambda: not pipe.poll())
    pipe.send((door.line.counts.requests, door.line.counts.violations))


def polled(path: str, modules: int, baud: int) -> float:
    """Mean time of a cycle of our own."""
    port = SerialPort(path, Framing(baud))
    poller = Poller(port, map_from_text(MAP), [Target(name, number) for number, name in enumerate(names(modules), 1)])
    poller.cycle()
    count, begun = 0, time.monotonic()
    while time.monotonic() - begun < SECONDS or count < 2:
        assert poller.cycle().answered == modules
        count += 1
    took = (time.monotonic() - begun) / count
    port.close()
    return took


def listened(path: str, modules: int, baud: int) -> float:
    """Share of one core that polling, decoding and tabling once a second takes."""
    port, register_map = SerialPort(path, Framing(baud)), map_from_text(MAP.replace("repeat = 60", "repeat = 23"))
    poller = Poller(port, register_map, [Target(name, number) for number, name in enumerate(names(modules), 1)])
    poller.cycle()
    count, begun = 0, time.process_time()
    while count < 5:
        columns([poller.cycle()], register_map)
        count += 1
    used = (time.process_time() - begun) / count
    port.close()
    return used


def library(path: str, modules: int, baud: int) -> float:
    """Mean time of a cycle of the library."""
    from pymodbus.client import ModbusSerialClient

    client = ModbusSerialClient(path, baudrate=baud, parity="N", timeout=1, retries=0)
    assert client.connect()
    count, begun = 0, time.monotonic()
    while time.monotonic() - begun < SECONDS or count < 2:
        for unit in range(1, modules + 1):
            assert not client.read_holding_registers(0, count=60, device_id=unit).isError()
        count += 1
    took = (time.monotonic() - begun) / count
    client.close()
    return took


def measured(read, modules: int, baud: int) -> tuple[float, int, int]:
    ours, theirs = multiprocessing.Pipe()
    process = multiprocessing.Process(target=rack, args=(modules, baud, theirs))
    process.start()
    took = read(ours.recv(), modules, baud)
    ours.send("stop")
    requests, violations = ours.recv()
    process.join(5)
    return took, requests, violations


def main() -> None:
    print("Poll cycle, 60 registers a module, wire time emulated on a pseudo-terminal; ms")
    print(f"{'modules':>8} {'baud':>7} {'limit':>9} {'ours':>9} {'of limit':>9} {'asked':>6} {'silences broken':>9}")
    for baud in ASKED:
        for modules in (4, 8, 16):
            took, requests, violations = measured(polled, modules, baud)
            limit = poll_limit(Framing(baud), modules, [60])
            share = f"{limit / took * 100:8.1f}%"
            row = f"{modules:8d} {baud:7d} {limit * 1e3:9.1f} {took * 1e3:9.1f} {share:>9} {ASKED[baud]:5d}%"
            print(f"{row} {violations:6d} of {requests}")
    used, _, _ = measured(listened, 16, 19200)
    print(f"polling and decoding 16 modules of 23 signals once a second: {used * 100:.1f} % of a core (asked: 5 %)")
    took, requests, violations = measured(library, 16, 115200)
    limit = poll_limit(Framing(115200), 16, [60])
    print(f"library, 16 at 115200: {took * 1e3:.1f} ms ({limit / took * 100:.1f} %), {violations} of {requests} broken")


if __name__ == "__main__":
    main()
