"""The commands of the data bus on buses that speak by themselves: a CAN bus of this program, a broker of its own."""

from __future__ import annotations

import json
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import can
import pytest
from click.testing import CliRunner, Result

from bankwright.bus.can.port import open_can
from bankwright.bus.can.read import read_can_map
from bankwright.bus.mqtt.read import read_mqtt_map
from bankwright.bus.pretend.broker import BrokerDoor
from bankwright.bus.pretend.can_bus import CanDoor
from bankwright.bus.pretend.can_frames import CanRack
from bankwright.bus.pretend.messages import MqttRack
from bankwright.cli.main import group
from bankwright.logbook.telemetry.store import open_telemetry
from support import can_buses, topics
from support.schemas import wrong

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
WHOSE = {k: f"M{k}" for k in range(1, 6)}
TEXTS = {str(k): name for k, name in WHOSE.items()}


def values(now: float) -> dict[str, dict[str, float | str]]:
    return {name: {"voltage": 52.0 + k / 10, "current": 1.0 * k, "soc": 0.5} for k, name in WHOSE.items()}


def run(*args: str) -> Result:
    return CliRunner().invoke(group, list(args))


def bank(folder: Path, keys: str) -> Path:
    head, tail = BARN.read_text("utf-8").split("[bus]\n")
    after = tail.split('draw = "4 W"\n', 1)[1]
    every = 'every = "200 ms"\nfed_from = "mains"\ndraw = "4 W"\n'
    (folder / "barn.toml").write_text(f"{head}[bus]\n{keys}{every}{after}", "utf-8")
    return folder / "barn.toml"


@contextmanager
def going(step: Callable[[], None]) -> Iterator[None]:
    stop = threading.Event()

    def turn() -> None:
        while not stop.is_set():
            step()

    thread = threading.Thread(target=turn)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(60)


@pytest.fixture
def on_can(tmp_path: Path) -> Path:
    can_buses.made(tmp_path, can_buses.BY_ID)
    return bank(tmp_path, 'wire = "can"\nport = "can0"\ncan = { bit_rate = "250 kbit/s" }\nmap = "map.toml"\n')


@pytest.fixture
def on_topics(tmp_path: Path) -> Path:
    topics.made(tmp_path, topics.PLAIN)
    return bank(tmp_path, 'wire = "mqtt"\nhost = "127.0.0.1:9"\nmap = "topics.toml"\n')


@contextmanager
def speaking(folder: Path) -> Iterator[str]:
    """Modules on a virtual bus of this program, and one that counts every frame of others."""
    name = uuid.uuid4().hex
    bus, counter = can.Bus(interface="virtual", channel=name), can.Bus(interface="virtual", channel=name)
    rack, begun, sent = CanRack(read_can_map(folder / "map.toml"), WHOSE, values), time.monotonic(), []

    def step() -> None:
        for each in rack.frames(time.monotonic() - begun):
            bus.send(can.Message(arbitration_id=each.id, is_extended_id=each.extended, data=each.data))
            sent.append(each)
        time.sleep(0.01)

    with going(step):
        yield f"virtual:{name}"
    assert sum(1 for _ in iter(lambda: counter.recv(0), None)) == len(sent), "nobody else sent a frame"
    bus.shutdown()
    counter.shutdown()


@contextmanager
def telling(folder: Path) -> Iterator[str]:
    door = BrokerDoor(MqttRack(read_mqtt_map(folder / "topics.toml"), TEXTS, values))
    stop = threading.Event()
    thread = threading.Thread(target=door.serve, args=(lambda: not stop.is_set(),))
    thread.start()
    try:
        yield f"127.0.0.1:{door.port}"
    finally:
        stop.set()
        thread.join(60)
        door.close()
    assert set(door.broker.counts) <= {"CONNECT", "SUBSCRIBE", "PINGREQ", "DISCONNECT"}


def test_a_can_bus_is_surveyed_listened_to_and_stored(on_can: Path) -> None:
    with speaking(on_can.parent) as port:
        told = run("survey", str(on_can), "--port", port, "--listen", "1.5", "--watch", "0", "--json", "--no-log")
        document = json.loads(told.stdout)
        heard = run("listen", str(on_can), "--port", port, "--polls", "10")
    assert wrong("survey-1", document) == []
    assert "BUS-HEARD" in [each["code"] for each in document["told"]]
    assert document["requests"] == 0
    assert told.exit_code == 0
    assert "5 of 5 heard" in heard.stdout
    with open_telemetry(on_can, write=False) as telemetry:
        found = telemetry.read("voltage", ("M1", "M5"), 0.0, time.time() + 60)
    assert {round(float(each), 2) for each in found.value[:, 0] if each == each} == {52.1}
    assert {round(float(each), 2) for each in found.value[:, 1] if each == each} == {52.5}


def test_topics_are_surveyed_listened_to_and_stored(on_topics: Path) -> None:
    with telling(on_topics.parent) as host:
        told = run("survey", str(on_topics), "--host", host, "--listen", "2.5", "--watch", "0", "--no-log")
        heard = run("listen", str(on_topics), "--host", host, "--polls", "15")
    assert told.exit_code == 0, told.output
    assert "All modules are heard" in told.stdout
    assert "5 of 5 heard" in heard.stdout
    with open_telemetry(on_topics, write=False) as telemetry:
        found = telemetry.read("current", ("M3",), 0.0, time.time() + 60)
        cells = telemetry.read("cell_voltage", ("M3.c1", "M3.c4"), 0.0, time.time() + 60)
    assert {round(float(each), 2) for each in found.value[:, 0]} == {3.0}
    assert cells.value.shape[1] == 2


def test_an_interface_that_is_not_there_and_a_broker_that_is_not_there(on_can: Path, on_topics: Path) -> None:
    keys = on_topics.read_text("utf-8")
    told = run("survey", str(on_topics), "--no-log")
    assert told.exit_code == 2
    assert "127.0.0.1:9" in told.output
    on_can.write_text(keys.replace('wire = "mqtt"\nhost = "127.0.0.1:9"\nmap = "topics.toml"',
                                   'wire = "can"\nport = "can9"\nmap = "map.toml"'), "utf-8")  # fmt: skip
    told = run("survey", str(on_can), "--no-log")
    assert told.exit_code == 2
    assert "can9 is not opened" in " ".join(told.output.split())


def test_the_address_sheet_says_what_is_heard(on_can: Path) -> None:
    told = run("address", str(on_can))
    words = " ".join(told.stdout.split())
    assert "9 values of each module are heard; nothing is ever asked" in words
    assert "1 is M1, 2 is M2" in words
    assert "CAN at 250 000 bit/s; only listened to." in words
    document = json.loads(run("address", str(on_can), "--json").stdout)
    assert wrong("address-1", document) == []
    assert document["poll"] is None


def test_pretend_says_what_it_does_not_do(on_can: Path) -> None:
    told = run("pretend", str(on_can), "--minute")
    assert told.exit_code == 2
    told = run("pretend", str(on_can), "--trouble", "echo", "--seconds", "0.2")
    assert "not on a bus that speaks by itself" in " ".join(told.output.split())


def test_pretend_serves_topics_and_counts_what_it_hears(on_topics: Path) -> None:
    told = run("pretend", str(on_topics), "--seconds", "0.2")
    assert told.exit_code == 0, told.output
    assert "heard of listeners: nothing. A listener publishes nothing." in " ".join(told.stdout.split())


def test_the_bus_inside_the_machine_carries_from_end_to_end(on_can: Path) -> None:
    rack = CanRack(read_can_map(on_can.parent / "map.toml"), WHOSE, values)
    try:
        door = CanDoor(rack)
        door.serve_once(0.0)
    except OSError as error:
        pytest.skip(f"this machine has no group addresses: {error}")
    port = open_can(door.port)
    with going(lambda: door.serve_once(0.02)):
        frame = port.hear(port.now() + 20)
    port.close()
    door.close()
    assert frame is not None
    assert frame.extended
    assert door.of_others == 0
