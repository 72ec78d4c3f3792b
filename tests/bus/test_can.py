"""CAN by the user's DBC: maps that are right and wrong, frames decoded, interfaces refused, nothing ever sent."""

from __future__ import annotations

import dataclasses
import json
import sys
import uuid
from collections.abc import Iterator
from pathlib import Path

import can
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.can.dbc import NotDecoded, read_dbc
from bankwright.bus.can.decode import CanFrame, Kind, read_frame
from bankwright.bus.can.link import read_status
from bankwright.bus.can.port import CanPort, open_can
from bankwright.bus.can.signals import CanMap
from bankwright.bus.can.source import CanSource
from bankwright.bus.can.status import LinkStatus, NotRead, status_of
from bankwright.bus.can.survey import explain_can, survey_can
from bankwright.bus.can.tally import MOST
from bankwright.bus.exchange import Outcome
from bankwright.bus.map.read import MapError
from bankwright.bus.poll import Target, columns
from bankwright.bus.pretend.can_frames import CanRack
from bankwright.bus.pretend.troubles import TroubleFault, trouble
from bankwright.bus.wire.wire import WireGone
from bankwright.forms.readings import GOOD, NOT_AVAILABLE, OUTSIDE
from support import can_buses
from support.can_buses import BY_ID, BY_MUX, BY_NAME, BY_STEP, MODULES, made

TARGETS = tuple(Target(name, number) for number, name in MODULES.items())


def values(now: float) -> dict[str, dict[str, float | str]]:
    return {
        name: {"voltage": 52.0 + k / 10, "current": 5.0 * k, "soc": 0.5 + k / 10, "temperature_degc": 20.0 + k,
               "capacity_ah": 90.0 + k, "state": "working", "cell": 3.25 + k / 100}
        for k, name in MODULES.items()
    }  # fmt: skip


def whose(can_map: CanMap) -> dict[int, str]:
    return {number - can_map.offset: name for number, name in MODULES.items()}


@pytest.mark.parametrize(("bus", "cells"), [(BY_ID, 4), (BY_STEP, 0), (BY_MUX, 8), (BY_NAME, 0)])
def test_what_a_pretend_module_says_is_what_is_read(tmp_path: Path, bus: tuple[str, str], cells: int) -> None:
    can_map = made(tmp_path, bus)
    heard: dict[tuple[str, str], object] = {}
    for each in CanRack(can_map, whose(can_map), values).frames(0.0):
        assert each.data is not None
        said = read_frame(can_map, whose(can_map), CanFrame(0.0, each.id, each.extended, each.data))
        heard |= {(module, name): value for module, name, value in said.values}
    for module in MODULES.values():
        for value in can_map.signals:
            found = heard[module, value.name]
            if value.quantity == "text":
                assert found.text == "working"  # type: ignore[attr-defined]
            elif value.quantity in values(0.0)[module]:
                expected = values(0.0)[module][value.quantity]
                assert found.value == pytest.approx(expected, abs=0.06)  # type: ignore[attr-defined]
    assert len(can_map.of("cell_voltage")) == cells


def test_frames_out_of_a_hand_written_table(tmp_path: Path) -> None:
    # bytes put together by hand from the layouts in support/can_buses.py: low byte first there, high byte first here
    by_id, by_step = made(tmp_path, BY_ID), None
    said = read_frame(by_id, MODULES, CanFrame(0.0, 0x18FD0002, True, bytes.fromhex("7014ceff783d0200")))
    assert {module for module, _, _ in said.values} == {"M2"}
    assert [(name, value.value) for _, name, value in said.values][:4] == [
        ("voltage", 52.32), ("current", 5.0), ("soc", 0.6), ("temperature", 21.0),
    ]  # fmt: skip
    assert said.values[4][2].text == "working"
    by_step = made(tmp_path, BY_STEP)
    said = read_frame(by_step, MODULES, CanFrame(0.0, 0x310, False, bytes.fromhex("1478ff9cb7d081")))
    found = {name: value for _, name, value in said.values}
    assert (found["voltage"].value, found["current"].value) == (52.4, -5.0)
    assert found["temperature"].value == pytest.approx(2941 * 0.1 - 273.15)
    assert found["alarms"].flags == ("cell too high", "too cold")


def test_sentinels_limits_and_the_sign(tmp_path: Path) -> None:
    can_map = made(tmp_path, BY_ID)
    said = read_frame(can_map, MODULES, CanFrame(0.0, 0x18FD0001, True, bytes.fromhex("ffff0a00ffff0000")))
    quality = {name: value.quality for _, name, value in said.values}
    assert (quality["voltage"], quality["soc"], quality["temperature"]) == (NOT_AVAILABLE, NOT_AVAILABLE, OUTSIDE)
    assert {name: value.value for _, name, value in said.values}["current"] == -1.0, "charging is entering"
    assert quality["current"] == GOOD


RVC = (  # a frame laid out as the freely downloadable RV-C specification has DC_SOURCE_STATUS_2 (steps from memory)
    can_buses.HEAD
    + """BO_ 2583690368 Status2: 8 Rack
 SG_ Instance : 0|8@1+ (1,0) [0|0] "" Rack
 SG_ Priority : 8|8@1+ (1,0) [0|0] "" Rack
 SG_ Warmth : 16|16@1+ (0.03125,-273) [0|0] "degC" Rack
 SG_ Charge : 32|8@1+ (0.5,0) [0|0] "%" Rack
""",
    """format = 1
dbc = "bus.dbc"
ignore = 0xFF
module = { by = "signal", signal = "Instance" }

[[signals]]
name = "soc"
quantity = "soc"
message = "Status2"
signal = "Charge"
not_available = [255]

[[signals]]
name = "temperature"
quantity = "temperature_degc"
message = "Status2"
signal = "Warmth"
not_available = [65535]
""",
)


def test_a_captured_frame_of_an_open_standard(tmp_path: Path) -> None:
    # captured in public code: 01 64 FF FF C8 FF FF FF = instance 1, priority 100, no temperature, charge 100.0 %
    can_map = made(tmp_path, RVC)
    for sender in (0x80, 0x46):
        said = read_frame(can_map, MODULES, CanFrame(0.0, 0x19FFFC00 | sender, True, bytes.fromhex("0164ffffc8ffffff")))
        assert [(module, name, value.value, value.quality) for module, name, value in said.values][:1] == [
            ("M1", "soc", 1.0, GOOD)
        ]
        assert said.values[1][2].quality == NOT_AVAILABLE


DEEP = (
    can_buses.HEAD
    + """BO_ 2147484648 Deep: 8 Rack
 SG_ Mod M : 0|8@1+ (1,0) [0|0] "" Rack
 SG_ Grp m1M : 8|8@1+ (1,0) [0|0] "" Rack
 SG_ CellA m0 : 16|16@1+ (0.1,0) [0|0] "mV" Rack
 SG_ Warm m2 : 16|32@1- (1,0) [0|0] "degF" Rack

SIG_VALTYPE_ 2147484648 Warm : 1;
SG_MUL_VAL_ 2147484648 Grp Mod 1-16;
SG_MUL_VAL_ 2147484648 CellA Grp 0-0;
SG_MUL_VAL_ 2147484648 Warm Grp 2-2;
""",
    """format = 1
dbc = "bus.dbc"
module = { by = "signal", signal = "Mod" }

[[signals]]
name = "first cell"
quantity = "cell_voltage"
message = "Deep"
signal = "CellA"

[[signals]]
name = "warmth"
quantity = "temperature_degc"
message = "Deep"
signal = "Warm"
""",
)


def test_a_multiplexer_inside_a_multiplexer_and_a_float(tmp_path: Path) -> None:
    can_map = made(tmp_path, DEEP)
    heard = {}
    for text in ("0200e88000000000", "030200008c420000", "03020000c07f0000", "0207000000000000"):
        said = read_frame(can_map, MODULES, CanFrame(0.0, 0x3E8, True, bytes.fromhex(text)))
        heard |= {(text[:4], module, name): (value.value, value.quality) for module, name, value in said.values}
        if text.startswith("0302"):
            heard[text] = heard.pop(("0302", "M3", "warmth"))
    assert heard["0200", "M2", "first cell"] == (3.3, GOOD)
    assert heard["030200008c420000"][0] == pytest.approx((70 - 32) * 5 / 9)  # 428C0000 is 70.0 by IEEE 754
    assert heard["03020000c07f0000"][1] == NOT_AVAILABLE  # 7FC00000 is no number
    assert len(heard) == 3


@pytest.mark.parametrize(
    ("frame", "outcome"),
    [
        (CanFrame(0.0, 0x18FD0002, False, bytes(8)), "not in the map"),
        (CanFrame(0.0, 0x18FE0002, True, bytes(8)), "not in the map"),
        (CanFrame(0.0, 0x18FD0002, True, bytes(7)), "short"),
        (CanFrame(0.0, 0x18FD0102, True, b"\x09" + bytes(7)), "not decoded"),
        (CanFrame(0.0, 0x18FD0009, True, bytes(8)), "no module"),
        (CanFrame(0.0, 0x18FD0002, True, bytes(12)), "values"),
    ],
)
def test_a_frame_that_does_not_fit_is_named_and_not_guessed(tmp_path: Path, frame: CanFrame, outcome: str) -> None:
    said = read_frame(made(tmp_path, BY_ID), MODULES, frame)
    assert said.outcome == outcome
    assert bool(said.values) == (outcome == "values")


WRONG = [
    (BY_ID, 'signal = "PackVolt"', 'signal = "PackVolts"', r'14  signals\[0\].signal.*Did you mean "PackVolt"'),
    (BY_ID, 'message = "PackCells"', 'message = "Cells"', r'no message "Cells"'),
    (BY_ID, 'positive = "charging"\n', "", r"signals\[1\].positive.*sign is not said"),
    (BY_ID, "repeat = 4", "repeat = 5", r'has no signal "Cell5"'),
    (BY_ID, 'signal = "Cell{n}"', 'signal = "Cell1"', r"told apart by nothing"),
    (BY_ID, "shift = 0\n", "", r"module.by.*shift and width"),
    (BY_ID, "width = 8", "width = 8\nstep = 1", r"module.by.*not said once"),
    (BY_ID, "not_available = [65535]", "not_available = [70000]", r"PackVolt has 16 bits, 0 to 65535"),
    (BY_ID, 'dbc = "bus.dbc"', 'dbc = "../bus.dbc"', r"in the folder of the map or below it"),
    (BY_ID, 'dbc = "bus.dbc"', 'dbc = "none.dbc"', r"none.dbc cannot be read"),
    (BY_ID, 'dbc = "bus.dbc"', 'dbc = "map.toml"', r"map.toml is no DBC file that can be read"),
    (BY_STEP, 'unit = "Ah"\n', "", r'gives it the unit "ampere hours".*Write the unit.*"Ah"'),
    (BY_STEP, "step = 16", "step = 256", r"Gauge and Strip share the identifier"),
    (BY_MUX, 'signal = "Which"\noffset', "offset", r"which signal says the module is not given"),
    (BY_MUX, 'signal = "Which"\noffset', 'signal = "Who"\noffset', r'no signal "Who"'),
    (BY_MUX, 'number_in = "Number"', 'number_in = "Nr"', r'no signal "Nr"'),
    (BY_NAME, 'message = "Box{module:02}"\nsignal = "BoxU"', 'message = "Box01"\nsignal = "BoxU"', "stands in no name"),
    (BY_NAME, "Level_{module}", "Level_{number}", r'found "\{number\}" in a name'),
    (BY_NAME, '1 = "M1"', 'one = "M1"', r'module.names  found "one"'),
]  # fmt: skip


@pytest.mark.parametrize(("bus", "old", "new", "words"), WRONG)
def test_a_wrong_map_says_where_and_what_would_be_right(
    tmp_path: Path, bus: tuple[str, str], old: str, new: str, words: str
) -> None:
    assert old in bus[1]
    with pytest.raises(MapError, match=words):
        made(tmp_path, (bus[0], bus[1].replace(old, new, 1)))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\n", r'the key "dbc" is missing(.|\n)*the key "module" is missing'),
        ('format = 1\ndbc = "bus.dbc"\nmodule = { by = "colour" }\n', r'module.by.*"id"'),
        ('format = 1\ndbc = 5\nmodule = "id"\n', r"dbc(.|\n)*module"),
        ("counts_from = 1\n[[signals]]\nname = 'x'\nregister = 1\n", r"register"),
        ("format = 2\n", r"format"),
        ("dbc = [", r"map.toml"),
    ],
)
def test_a_map_of_another_kind_is_told_key_by_key(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(MapError, match=words):
        made(tmp_path, (BY_ID[0], text))


@given(st.binary(max_size=300), st.integers(0, 3000), st.text(max_size=30))
@settings(max_examples=15, deadline=None)
def test_a_spoilt_dbc_is_refused_or_read(
    tmp_path_factory: pytest.TempPathFactory, raw: bytes, at: int, word: str
) -> None:
    folder = tmp_path_factory.mktemp("dbc")
    text = BY_ID[0][:at] + word + BY_ID[0][at:]
    for content in (raw, text.encode("cp1252", "replace")):
        (folder / "bus.dbc").write_bytes(content)
        (folder / "map.toml").write_text(BY_ID[1], "utf-8")
        try:
            can_map = made_of(folder)
        except MapError:
            continue
        read_frame(can_map, MODULES, CanFrame(0.0, 0x18FD0002, True, bytes(8)))


def made_of(folder: Path) -> CanMap:
    from bankwright.bus.can.read import read_can_map

    return read_can_map(folder / "map.toml")


def link(
    modes: list[str] | None, kind: str = "can", flags: tuple[str, ...] = ("NOARP", "UP", "LOWER_UP", "ECHO")
) -> str:
    """Words of `ip -details -json link show dev can0`, as iproute2 prints them; shape from memory, figures invented."""
    data = {"state": "ERROR-ACTIVE", "berr_counter": {"tx": 0, "rx": 0}, "bittiming": {"bitrate": 250000}}
    found = {
        "ifindex": 4, "ifname": "can0", "flags": list(flags), "mtu": 16, "link_type": "can",
        "linkinfo": {"info_kind": kind, "info_data": data | ({} if modes is None else {"ctrlmode": modes})},
    }  # fmt: skip
    return json.dumps([found])


@pytest.mark.parametrize(
    ("words", "only_listens"),
    [
        (link(["LISTEN-ONLY"]), True),
        (link(["BERR-REPORTING", "LISTEN-ONLY"]), True),
        (link([]), False),
        (link(None), False),
        (link(["LOOPBACK"]), False),
        (link(["listen-only "]), False),
        (link(["LISTEN-ONLY"]).replace('"ctrlmode"', '"ctrlmode_supported"'), False),
        (link(["LISTEN-ONLY"]).replace('["LISTEN-ONLY"]', '"LISTEN-ONLY"'), False),
    ],
)
def test_listen_only_is_what_the_system_says(words: str, only_listens: bool) -> None:
    assert status_of(words, "can0").only_listens is only_listens


@pytest.mark.parametrize(
    "words",
    ["", "[]", "{}", "[1]", "null", "[" * 5000, link(["LISTEN-ONLY"]).replace("can0", "can1"), "[{}, {}]", "\0"],
)
def test_words_of_something_else_are_not_believed(words: str) -> None:
    with pytest.raises(NotRead):
        status_of(words, "can0")


@pytest.mark.parametrize("name", ["-x", "can0 up", "can0;ls", "a" * 16, "", "../can0", "can0\n"])
def test_only_a_name_is_asked_for(name: str) -> None:
    with pytest.raises(NotRead):
        read_status(name)


def test_an_interface_that_does_not_exist_or_is_none_of_can_is_refused() -> None:
    for name in ("can77", "lo"):
        with pytest.raises(WireGone, match=f"{name} is not opened"):
            open_can(name)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (link([]), "sudo ip link set can0 type can bitrate 500000 listen-only on; sudo ip link set can0 up"),
        (link(None), "does not say LISTEN-ONLY"),
        (link(["LISTEN-ONLY"], flags=("NOARP",)), "can0 is down"),
        (link(["LISTEN-ONLY"], kind="slcan"), "it is slcan"),
        (link(["LISTEN-ONLY"], kind="vlan"), "it is vlan"),
        ("", "could not be read back"),
    ],
)
def test_a_bus_on_wires_is_refused_unless_it_only_listens(
    monkeypatch: pytest.MonkeyPatch, words: str, why: str
) -> None:
    opened: list[object] = []
    monkeypatch.setattr(can, "Bus", lambda **given: opened.append(given))
    with pytest.raises(WireGone, match=why.replace("(", r"\(")):
        open_can("can0", 500000.0, lambda name: status_of(words, name))
    assert opened == [], "it was not even opened"


class Still:
    """A bus of the library that has nothing to say, and can do no more than that."""

    def __init__(self) -> None:
        self.closed = False

    def recv(self, timeout: float) -> None:
        return None

    def shutdown(self) -> None:
        self.closed = True


def test_a_bus_that_stops_to_only_listen_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    bus, said = Still(), [link(["LISTEN-ONLY"]), link(["LISTEN-ONLY"]), link([])]
    given: list[dict[str, object]] = []
    monkeypatch.setattr(can, "Bus", lambda **words: given.append(words) or bus)  # type: ignore[func-returns-value]
    port = open_can("can0", None, lambda name: status_of(said.pop(0), name))
    assert given == [{"ignore_config": True, "interface": "socketcan", "channel": "can0", "fd": False}]
    assert len(said) == 1, "looked before it was opened and after"
    assert port.hear(port.now()) is None
    monkeypatch.setattr(CanPort, "now", lambda self: 1e12)
    with pytest.raises(WireGone, match="LISTEN-ONLY"):
        port.hear(0.0)
    port.close()
    assert bus.closed


def test_one_that_changed_while_it_was_opened_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    bus, said = Still(), [link(["LISTEN-ONLY"]), link([])]
    monkeypatch.setattr(can, "Bus", lambda **words: bus)
    with pytest.raises(WireGone, match="LISTEN-ONLY"):
        open_can("can0", None, lambda name: status_of(said.pop(0), name))
    assert bus.closed


class Rig:
    """A virtual bus of this program: the rack's end, the listener's, and one that counts every frame on it."""

    def __init__(self, folder: Path, bus: tuple[str, str], *troubles: str) -> None:
        name = uuid.uuid4().hex
        self.can_map = made(folder, bus)
        wrong = [trouble(text, tuple(MODULES.values())) for text in troubles]
        self.rack = CanRack(self.can_map, whose(self.can_map), values, wrong)
        self.speaker = can.Bus(interface="virtual", channel=name)
        self.counter = can.Bus(interface="virtual", channel=name)
        self.port = open_can(f"virtual:{name}")
        self.source = CanSource(self.port, self.can_map, whose(self.can_map), 0.2)
        self.sent = 0

    def speak(self, now: float) -> None:
        for each in self.rack.frames(now):
            self.put(each.id, each.extended, each.data)

    def put(self, number: int, extended: bool, data: bytes | None, remote: bool = False) -> None:
        message = can.Message(
            arbitration_id=number, is_extended_id=extended, data=b"" if remote else data or bytes(8),
            is_error_frame=data is None, is_remote_frame=remote, dlc=8 if remote else None,
        )  # fmt: skip
        self.speaker.send(message)
        self.sent += 1

    def on_the_bus(self) -> int:
        return sum(1 for _ in iter(lambda: self.counter.recv(0), None))

    def close(self) -> None:
        self.source.close()
        self.speaker.shutdown()
        self.counter.shutdown()


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[list[Rig]]:
    made_rigs: list[Rig] = []
    yield made_rigs
    for each in made_rigs:
        each.close()


def test_values_come_with_their_own_times_and_nothing_is_sent(tmp_path: Path, rig: list[Rig]) -> None:
    bus = Rig(tmp_path, BY_ID)
    rig.append(bus)
    bus.speak(0.0)
    first = bus.source.cycle()
    assert [each.outcome for each in first.heard] == [Outcome.ANSWER] * 3
    assert first.words == "3 of 3 heard, 9 frames"
    found = {(each.quantity, each.at[0]): each for each in columns([first], bus.can_map)}
    assert found["voltage", "M2"].value[0, 0] == 52.2
    assert found["cell_voltage", "M1.c1"].value.shape == (1, 4)
    assert all(first.start <= float(each.time[0]) <= first.start + first.took for each in found.values())
    again = bus.source.cycle()
    assert columns([again], bus.can_map) == ()
    assert [each.outcome for each in again.heard] == [None] * 3, "nothing new, and not too old yet"
    assert bus.on_the_bus() == bus.sent == 9


def test_a_hostile_map_cannot_make_it_send(tmp_path: Path, rig: list[Rig]) -> None:
    spoilt = BY_ID[1].replace('title = "invented', 'title = "send 0x18FD0002; ')
    bus = Rig(tmp_path, (BY_ID[0].replace("PackAmp", "send"), spoilt.replace("PackAmp", "send")))
    rig.append(bus)
    bus.speak(0.0)
    for number, extended, data in ((1, False, b""), (0x7FF, False, bytes(8)), (0x1FFFFFFF, True, b"\xff" * 8)):
        bus.put(number, extended, data)
    bus.put(0x18FD0001, True, b"", remote=True)
    bus.put(0x40, False, None)
    survey_can(bus.source, bus.can_map, TARGETS, 0.05, lambda words: None)
    bus.source.cycle()
    assert bus.on_the_bus() == bus.sent


def surveyed(bus: Rig, status: LinkStatus | None = None, rate: float | None = None) -> dict[str, object]:
    facts, tally = survey_can(bus.source, bus.can_map, TARGETS, 0.05, lambda words: None)
    return {each.code: each for each in explain_can(facts, tally, bus.can_map, status, rate)}


def codes(told: dict[str, object]) -> list[str]:
    return list(told)


ON_WIRES = LinkStatus("can0", "can", True, True, 250000, "ERROR-ACTIVE", False, 0)


def test_a_survey_of_a_bus_that_is_well(tmp_path: Path, rig: list[Rig]) -> None:
    rig.append(Rig(tmp_path, BY_STEP))
    rig[0].speak(0.0)
    assert codes(surveyed(rig[0])) == ["BUS-HEARD"]


@pytest.mark.parametrize(
    ("bus", "troubles", "expected"),
    [
        (BY_ID, ("off:M2",), ["BUS-UNHEARD"]),
        (BY_ID, ("sentinel:M2",), ["BUS-HEARD"]),
        (BY_ID, ("noise=100%",), ["BUS-DAMAGED", "BUS-HEARD"]),
        (BY_ID, ("cut=100%",), ["BUS-UNHEARD", "BUS-SHORT"]),
        (BY_NAME, ("unplug:M1",), ["BUS-NOTHING"]),
    ],
)
def test_a_survey_names_what_is_wrong(
    tmp_path: Path, rig: list[Rig], bus: tuple[str, str], troubles: tuple[str, ...], expected: list[str]
) -> None:
    rig.append(Rig(tmp_path, bus, *troubles))
    rig[0].speak(0.0)
    assert codes(surveyed(rig[0])) == expected


def test_all_modules_under_numbers_that_nobody_has(tmp_path: Path, rig: list[Rig]) -> None:
    rig.append(Rig(tmp_path, BY_ID))
    for number in (11, 12, 13):
        rig[0].put(0x18FD0000 | number, True, bytes.fromhex("7014ceff783d0200"))
    assert codes(surveyed(rig[0])) == ["BUS-UNHEARD", "BUS-STRANGERS"]


def test_a_survey_of_nothing_of_damage_and_of_others(tmp_path: Path, rig: list[Rig]) -> None:
    for _ in range(4):
        rig.append(Rig(tmp_path, BY_ID))
    silent, broken, foreign, remote = rig
    told = surveyed(silent, ON_WIRES)
    assert codes(told) == ["BUS-NOTHING"]
    assert "acknowledged" in told["BUS-NOTHING"].test.text()  # type: ignore[attr-defined]
    broken.put(0x8, False, None)
    told = surveyed(broken, dataclasses.replace(ON_WIRES, state="ERROR-PASSIVE"), 500000.0)
    assert codes(told) == ["BUS-RATE", "BUS-OFF", "BUS-DAMAGED"]
    foreign.put(0x123, False, bytes(8))
    assert codes(surveyed(foreign)) == ["BUS-FOREIGN"]
    remote.speak(0.0)
    remote.put(0x18FD0001, True, b"", remote=True)
    remote.put(0x18FD0007, True, bytes.fromhex("7014ceff783d0200"))
    remote.put(0x111, False, bytes(8))
    assert codes(surveyed(remote)) == ["BUS-STRANGERS", "BUS-FOREIGN", "BUS-REMOTE", "BUS-HEARD"]


def test_a_doubled_number_and_values_that_stand_still(tmp_path: Path, rig: list[Rig]) -> None:
    rig.append(Rig(tmp_path, BY_ID, "doubled:M3=M2"))
    for tick in range(12):
        rig[0].speak(0.2 * tick)
    facts, tally = survey_can(rig[0].source, rig[0].can_map, TARGETS, 0.05, lambda words: None)
    slow = dataclasses.replace(facts, seconds=2.4)
    told = {each.code: each for each in explain_can(slow, tally, rig[0].can_map, None, None)}
    assert list(told) == ["BUS-UNHEARD", "BUS-DOUBLED"]
    assert (told["BUS-UNHEARD"].at, told["BUS-DOUBLED"].at) == (("M3",), ("M2",))
    usual = dataclasses.replace(facts, seconds=4.8)
    assert "BUS-DOUBLED" not in {each.code for each in explain_can(usual, tally, rig[0].can_map, None, None)}
    rig.append(Rig(tmp_path, BY_STEP, "frozen:M2"))
    rig[1].rack._values = lambda now: {name: {**own, "voltage": 50.0 + now} for name, own in values(now).items()}
    for tick in range(6):
        rig[1].speak(float(tick))
    assert codes(surveyed(rig[1])) == ["BUS-FROZEN", "BUS-HEARD"]


def test_without_the_extra_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "can", None)
    with pytest.raises(WireGone, match=r"pip install 'bankwright\[can\]'"):
        open_can("virtual:x")
    monkeypatch.setitem(sys.modules, "cantools.database", None)
    with pytest.raises(MapError, match=r"pip install 'bankwright\[can\]'"):
        made(tmp_path, BY_ID)


def test_an_interface_that_goes_down_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    class Down(Still):
        def recv(self, timeout: float) -> None:
            raise can.CanOperationError("Network is down")

    monkeypatch.setattr(can, "Bus", lambda **words: Down())
    port = open_can("can0", None, lambda name: status_of(link(["LISTEN-ONLY"]), name))
    with pytest.raises(WireGone, match=r"can0 went away.*Network is down"):
        port.hear(port.now() + 1)


def test_ten_thousand_identifiers_cost_no_memory(tmp_path: Path, rig: list[Rig]) -> None:
    rig.append(Rig(tmp_path, BY_ID))
    tally = rig[0].source.tally
    for number in range(3 * MOST):
        frame = CanFrame(0.0, number, True, bytes(8), Kind.DATA)
        tally.count(frame)
        tally.judge(frame, read_frame(rig[0].can_map, MODULES, frame))
    assert len(tally.ids) == len(tally.foreign) == MOST
    assert tally.frames == 3 * MOST


def test_the_rack_says_which_troubles_it_knows(tmp_path: Path) -> None:
    with pytest.raises(TroubleFault, match="not on a bus that speaks by itself"):
        Rig(tmp_path, BY_ID, "echo")


def test_bytes_that_the_dbc_does_not_know_are_an_error_of_ours(tmp_path: Path) -> None:
    (tmp_path / "bus.dbc").write_text(BY_ID[0], "cp1252")
    message = read_dbc(tmp_path / "bus.dbc").messages["PackCells"]
    with pytest.raises(NotDecoded):
        message.decode(b"\x07" + bytes(7))
    assert message.decode(b"\x01" + bytes(7)).keys() == {"Group", "Cell3", "Cell4"}
