"""The promise on the wire, seen in the code itself: who sends, who opens, and who builds anything to be sent."""

from __future__ import annotations

import ast
import functools
from pathlib import Path

import pytest

from support import source

pytestmark = pytest.mark.xdist_group("source")

SRC = Path(__file__).parents[2] / "src" / "bankwright"
BUS = SRC / "bus"
PRETEND = BUS / "pretend"
WIRES = {BUS / "wire" / "serial_port.py": "serial_frame", BUS / "wire" / "socket_tcp.py": "tcp_bytes"}
SPELLERS = {"serial_frame": {"text_frame", "rtu_frame"}, "tcp_bytes": {"text_frame", "tcp_frame"}}
SENDING = frozenset(
    ["write", "writelines", "send", "sendall", "sendto", "sendmsg", "sendfile", "write_bytes", "write_text", "ioctl"]
    + ["send_periodic", "Message", "encode_message", "publish", "will_set"]
)
HEAVY = {  # what can send, and the one room outside the pretend rack that may import it
    "serial": {BUS / "wire" / "serial_port.py"},
    "socket": {BUS / "wire" / "socket_tcp.py"},
    "subprocess": {BUS / "can" / "link.py"},
    "can": {BUS / "can" / "port.py"},
    "cantools": {BUS / "can" / "dbc.py"},
    "paho": {BUS / "mqtt" / "client.py"},
    "fcntl": set[Path](),
}
ASKS_THE_SYSTEM = "[program, '-details', '-statistics', '-json', 'link', 'show', 'dev', name]"
OPENING = frozenset(
    [
        "connect",
        "connect_ex",
        "create_connection",
        "open",
        "Serial",
        "openpty",
        "create_server",
        "popen",
        "Popen",
        "run",
    ]
)
MADE_ITSELF = {"os.openpty", "socket.socket"}


def calls(tree: ast.AST) -> list[tuple[str, ast.Call]]:
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            found.append((name, node))
    return found


def imports(tree: ast.AST) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
    return found


@functools.cache
def parsed(path: Path) -> ast.Module:
    return source.parsed(path.read_text("utf-8"))


def faults_outside(path: Path, tree: ast.Module) -> list[str]:
    """What a room of the bus other than the pretend rack must not hold."""
    wrong = []
    spelled = WIRES.get(path)
    for name, call in calls(tree):
        if name in SENDING and not (spelled and sends_only(spelled, call, tree)):
            wrong.append(f"{path.name}:{call.lineno} {name}()")
        if name in OPENING and spelled is None and not only_looks(path, call, tree):
            wrong.append(f"{path.name}:{call.lineno} {name}()")
    wrong += [
        f"{path.name}:{call.lineno} encode()" for name, call in calls(tree) if name == "encode" and makes_a_frame(call)
    ]
    heavy = [name for name in tops(tree) & HEAVY.keys() if path not in HEAVY[name]]
    return wrong + [f"{path.name} imports {name}" for name in heavy] + more_than_hearing(path, tree)


SUBSCRIBES = frozenset(
    ["suppress_exceptions", "on_connect", "on_subscribe", "on_message", "connect_timeout", "connect", "subscribe"]
    + ["username_pw_set", "tls_set", "loop", "disconnect"]
)


def makes_a_frame(call: ast.Call) -> bool:
    """An encoding of anything but text: that of a DBC takes values, by place or with keywords of its own."""
    return bool(call.keywords) or any(not isinstance(each, ast.Constant) for each in call.args)


def tops(tree: ast.AST) -> set[str]:
    """Top names of all that is imported."""
    return {name.partition(".")[0] for name in imports(tree)}


def only_looks(path: Path, call: ast.Call, tree: ast.Module) -> bool:
    """A file opened for reading bytes; the one program that tells of an interface, with words that only show."""
    if path == BUS / "can" / "dbc.py":
        return ast.unparse(call) == "path.open('rb')"
    if path == BUS / "mqtt" / "of_bank.py":
        return ast.unparse(call) == "(folder / own.password_file).open(encoding='utf-8')"
    if path == BUS / "mqtt" / "client.py":
        return ast.unparse(call.func) == "self._client.connect"
    if path != BUS / "can" / "link.py" or ast.unparse(call.func) != "subprocess.run":
        return False
    said = [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "words"
    ]
    keys = {each.arg for each in call.keywords}
    return [ast.unparse(each) for each in said] == [ASKS_THE_SYSTEM] and "shell" not in keys and "input" not in keys


def more_than_hearing(path: Path, tree: ast.Module) -> list[str]:
    """The room that opens a CAN bus takes of it how to receive and how to close, and nothing else; that of a broker
    connects, subscribes and turns."""
    if path == BUS / "mqtt" / "client.py":
        used = {ast.unparse(node) for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
        return [
            f"{path.name} uses {each}"
            for each in used
            if each.startswith("self._client.") and each[13:] not in SUBSCRIBES
        ]
    if path != BUS / "can" / "port.py":
        return []
    taken = {
        ast.unparse(node)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and ast.unparse(node.value) == "bus"
    }
    wrong = [f"{path.name} takes {each}" for each in taken - {"bus.recv", "bus.shutdown"}]
    return wrong + [
        f"{path.name}:{call.lineno} {name}()" for name, call in calls(tree) if name in ("getattr", "eval", "exec")
    ]


def sends_only(spelled: str, call: ast.Call, tree: ast.Module) -> bool:
    """The bytes that are sent are made by this function of a request, on the spot."""
    said = call.args[-1]
    if isinstance(said, ast.Name):
        made = [
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == said.id for t in node.targets)
        ]
        return len(made) == 1 and is_call_of(made[0], spelled)
    return is_call_of(said, spelled)


def is_call_of(node: ast.AST, name: str) -> bool:
    return isinstance(node, ast.Call) and getattr(node.func, "id", "") == name


OPENERS = ("bankwright.bus.wire", "bankwright.bus.can.port", "bankwright.bus.can.link", "bankwright.bus.can.of_bank")
OPENERS += ("bankwright.bus.mqtt.client", "bankwright.bus.mqtt.of_bank")


def made_inside(call: ast.Call) -> bool:
    """A CAN bus inside the machine: no hop away from it, at a place that no file or argument names."""
    said = {each.arg: ast.unparse(each.value) for each in call.keywords}
    return (said.get("interface"), said.get("channel"), said.get("hop_limit")) == ("'udp_multicast'", "GROUP", "0")


def faults_inside(path: Path, tree: ast.Module) -> list[str]:
    """What the pretend rack must not hold: anything that opens what it has not made itself."""
    wrong = [f"{path.name} imports {name}" for name in imports(tree) & {"serial", "subprocess", "fcntl"}]
    wrong += [f"{path.name} imports {name}" for name in imports(tree) if name.startswith(OPENERS)]
    for name, call in calls(tree):
        if name in OPENING and ast.unparse(call.func) not in MADE_ITSELF:
            wrong.append(f"{path.name}:{call.lineno} {ast.unparse(call)}")
        if name == "Bus" and not made_inside(call):
            wrong.append(f"{path.name}:{call.lineno} {ast.unparse(call)}")
        if name == "bind" and ast.unparse(call.args[0]) != "('127.0.0.1', 0)":
            wrong.append(f"{path.name}:{call.lineno} {ast.unparse(call)}")
    return wrong


def test_only_the_two_wires_send_and_only_what_is_spelled_of_a_request() -> None:
    rooms = [path for path in BUS.rglob("*.py") if PRETEND not in path.parents]
    assert len(rooms) > 20
    assert [fault for path in rooms for fault in faults_outside(path, parsed(path))] == []
    for path, maker in WIRES.items():
        assert maker in path.read_text("utf-8")


def spelled_by(tree: ast.Module, name: str) -> set[str]:
    """What a speller gives back: names of the functions called, or the whole expression where it is no call."""
    made = next(node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == name)
    given = [node.value for node in ast.walk(made) if isinstance(node, ast.Return) and node.value is not None]
    given = [
        each for value in given for each in ((value.body, value.orelse) if isinstance(value, ast.IfExp) else (value,))
    ]
    return {each.func.id if isinstance(each, ast.Call) and isinstance(each.func, ast.Name) else ast.unparse(each)
            for each in given}  # fmt: skip


def test_what_the_wires_send_is_spelled_by_the_two_closed_lists_alone() -> None:
    tree = parsed(BUS / "spell.py")
    assert {name: spelled_by(tree, name) for name in SPELLERS} == SPELLERS
    sly = ast.parse("def serial_frame(request):\n    return request.raw if request.raw else rtu_frame(request)")
    assert spelled_by(sly, "serial_frame") == {"request.raw", "rtu_frame"}


def test_the_pretend_rack_opens_only_what_it_makes_itself() -> None:
    rooms = list(PRETEND.rglob("*.py"))
    assert len(rooms) > 5
    assert [fault for path in rooms for fault in faults_inside(path, parsed(path))] == []


def test_no_other_room_of_the_house_touches_a_serial_port() -> None:
    using = [path for path in SRC.rglob("*.py") if "serial" in imports(parsed(path))]
    assert using == [BUS / "wire" / "serial_port.py"]


@pytest.mark.parametrize(
    "line",
    [
        "port.write(b'x')",
        "sock.sendall(frame)",
        "os.write(fd, bytes(8))",
        "import serial",
        "serial.Serial('x')",
        "fcntl.ioctl(1, 2)",
        "bus.send(frame)",
        "bus.send_periodic(frame, 0.1)",
        "can.Message(arbitration_id=1)",
        "route.message.source.encode(raw)",
        "message.encode({}, strict=False)",
        "import can",
        "import cantools.database",
        "client.publish('a', 'b')",
    ],
)
def test_the_guard_outside_would_notice(line: str) -> None:
    assert faults_outside(BUS / "poll.py", ast.parse(line)) != []


@pytest.mark.parametrize(
    "line",
    [
        "os.open(path, 2)",
        "open('/dev/ttyUSB0')",
        "door.bind((host, 502))",
        "socket.create_connection(a)",
        "import serial",
        "can.Bus(interface='socketcan', channel='can0')",
        "can.Bus(interface='udp_multicast', channel=GROUP, hop_limit=1)",
        "from bankwright.bus.can.port import open_can",
    ],
)
def test_the_guard_inside_would_notice(line: str) -> None:
    assert faults_inside(PRETEND / "line.py", ast.parse(line)) != []


def test_a_wire_that_sends_something_else_would_be_noticed() -> None:
    path = BUS / "wire" / "serial_port.py"
    text = path.read_text("utf-8").replace("frame = serial_frame(request)", "frame = request.raw")
    assert faults_outside(path, ast.parse(text)) != []


@pytest.mark.parametrize(
    ("room", "old", "new"),
    [
        ("can/link.py", '"show"', '"set"'),
        ("can/link.py", "capture_output=True", "capture_output=True, shell=True"),
        ("can/port.py", "bus.recv, bus.shutdown", "bus.recv, bus.send"),
        ("can/port.py", "contextlib.suppress(Exception)", "getattr(bus, name)"),
        ("can/dbc.py", 'path.open("rb")', 'path.open("wb")'),
        ("mqtt/client.py", "self._client.disconnect()", "self._client.publish('a')"),
        ("mqtt/client.py", "self._client.disconnect()", "self._client.will_set('a')"),
        ("mqtt/client.py", "self._client.disconnect()", "self._client.reconnect()"),
        ("mqtt/of_bank.py", 'open(encoding="utf-8")', 'open("w")'),
    ],
)
def test_a_listening_room_that_does_more_would_be_noticed(room: str, old: str, new: str) -> None:
    path = BUS / room
    text = path.read_text("utf-8")
    assert faults_outside(path, ast.parse(text)) == []
    assert old in text
    assert faults_outside(path, ast.parse(text.replace(old, new))) != []


def test_no_other_room_of_the_house_touches_can() -> None:
    using = {path for path in SRC.rglob("*.py") if tops(parsed(path)) & {"can", "cantools"}}
    assert using == {BUS / "can" / "port.py", BUS / "can" / "dbc.py", PRETEND / "can_bus.py"}


def test_only_alarms_and_the_subscriber_know_a_broker() -> None:
    using = {path for path in SRC.rglob("*.py") if "paho" in tops(parsed(path))}
    assert using == {BUS / "mqtt" / "client.py", SRC / "watch" / "alarms" / "ways.py"}
