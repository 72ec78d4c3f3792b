"""Topics of a broker: maps right and wrong, payloads of every kind, and a subscriber that publishes nothing."""

from __future__ import annotations

import json
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bank.model_bus import MqttBus
from bankwright.bank.read import bank_from_text
from bankwright.bus.exchange import Outcome
from bankwright.bus.map.read import MapError
from bankwright.bus.mqtt.client import MOST_PACKET, BrokerPort
from bankwright.bus.mqtt.decode import MqttMessage, read_message
from bankwright.bus.mqtt.login import Login
from bankwright.bus.mqtt.of_bank import _password, topics_read
from bankwright.bus.mqtt.path import NOTHING, PathFault, looked_up, parsed_path
from bankwright.bus.mqtt.payload import MOST_PAYLOAD, moment_of, number_of
from bankwright.bus.mqtt.signals import MqttMap
from bankwright.bus.mqtt.source import MqttSource
from bankwright.bus.mqtt.survey import explain_mqtt, survey_mqtt
from bankwright.bus.poll import Target, columns
from bankwright.bus.pretend.broker import Broker, Caller
from bankwright.bus.pretend.messages import MqttRack
from bankwright.bus.speaking import speaking_of
from bankwright.bus.wire.wire import WireGone
from bankwright.forms.faults import QuestionError
from bankwright.forms.readings import GOOD, NOT_AVAILABLE, OUTSIDE, TIME_UNSURE
from bankwright.watch.alarms.ways import Message, NotDelivered, ways_of
from support.topics import BY_KEY, LIST, ONE_JSON, PLAIN, TEXTS, made

NAMES = ("M1", "M2", "M3")
TARGETS = tuple(Target(name, place) for place, name in enumerate(NAMES, 1))
BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


def values(now: float) -> dict[str, dict[str, float | str]]:
    return {
        f"M{k}": {"voltage": 52.0 + k / 10, "current": 5.0 * k, "soc": 0.5 + k / 10, "temperature_degc": 20.0 + k,
                  "capacity_ah": 90.0 + k, "serial": f"S-{k}", "alarms": 9.0}
        for k in (1, 2, 3)
    }  # fmt: skip


def texts(mqtt_map: MqttMap) -> dict[str, str]:
    return dict(mqtt_map.names) or TEXTS


@pytest.mark.parametrize("text", [PLAIN, ONE_JSON, LIST, BY_KEY])
def test_what_a_pretend_module_says_is_what_is_read(tmp_path: Path, text: str) -> None:
    mqtt_map = made(tmp_path, text)
    heard = {}
    for told in MqttRack(mqtt_map, texts(mqtt_map), values).messages(0.0, 1.8e9):
        said = read_message(mqtt_map, texts(mqtt_map), MqttMessage(0.0, told.topic, told.payload))
        assert (said.faults, said.strangers) == ((), ())
        heard |= {(each.module, each.name): each for each in said.values}
    wanted = {(m, v.name) for m in NAMES for v in mqtt_map.signals if v.quantity != "capacity_ah" or m == "M1"}
    assert heard.keys() == wanted
    for (module, name), each in heard.items():
        expected = values(0.0)[module].get(next(v.quantity for v in mqtt_map.signals if v.name == name))
        if isinstance(expected, float):
            assert each.value.value == pytest.approx(expected, abs=0.05)
    if text is LIST:
        assert heard["M2", "serial"].value.text == "S-2"
        assert heard["M2", "alarms"].value.flags == ("cell too high", "too cold")
    if text is ONE_JSON:
        assert heard["M3", "voltage"].stamp == 1.8e9


def said_of(mqtt_map: MqttMap, topic: str, payload: bytes) -> dict[str, tuple[float, int]]:
    said = read_message(mqtt_map, TEXTS, MqttMessage(0.0, topic, payload))
    return {f"{each.module} {each.name}": (each.value.value, each.value.quality) for each in said.values}


def test_sign_unit_range_and_what_stands_for_no_value(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, PLAIN)
    assert said_of(mqtt_map, "shed/rack/pack02/amps", b" 2500 ") == {"M2 current": (-2.5, GOOD)}
    assert said_of(mqtt_map, "shed/rack/pack2/volts", b"61.5") == {"M2 voltage": (61.5, OUTSIDE)}
    for none in (b"-1", b"-1.0", b"n/a"):
        ((_, quality),) = said_of(mqtt_map, "shed/rack/pack02/volts", none).values()
        assert quality == NOT_AVAILABLE
    assert said_of(mqtt_map, "shed/rack/pack02/cell/4", b"3301") == {"M2 cell 4": (3.301, GOOD)}
    for other in ("shed/rack/pack02/cell/5", "shed/rack/pack02/cell/0", "shed/rack/pack02/cell/x", "shed/rack/pack02"):
        assert said_of(mqtt_map, other, b"3301") == {}


@pytest.mark.parametrize(
    "payload", [b"53,1", b"NaN", b"inf", b"1e999", b"", b"53.1 V", b"0x35", b"1_0", b"\xff\xfe", b"{}"]
)
def test_a_payload_that_is_no_number_is_named(tmp_path: Path, payload: bytes) -> None:
    said = read_message(made(tmp_path, PLAIN), TEXTS, MqttMessage(0.0, "shed/rack/pack01/volts", payload))
    assert said.values == ()
    assert said.faults[0] in ("no number where the map says one", "not text in UTF-8")


HOSTILE = [
    b"[" * 60000, b'{"packs":' * 6000, b"NaN", b'{"packs": [{"id": 1, "u": NaN}]}', b'{"packs": 5}', b"\x80abc", b"",
    b'{"packs": [' + b"{}," * 5000 + b"{}]}", b"9" * 5000, b"x" * (MOST_PAYLOAD + 1),
    b'{"packs": [{"id": {}, "u": 1}]}', b'{"packs": [{"id": 1, "u": [1]}]}', b'{"packs": [null, 1, "a"]}',
    b'{"packs": [{"id": 1, "u": 1e400, "t": [true, null], "bits": 1e300, "plate": {"a": 1}}]}',
]  # fmt: skip


@pytest.mark.parametrize("payload", HOSTILE)
def test_a_hostile_payload_is_named_and_leaves_no_value(tmp_path: Path, payload: bytes) -> None:
    said = read_message(made(tmp_path, LIST), TEXTS, MqttMessage(0.0, "bank", payload))
    assert [each for each in said.values if each.value.quality == GOOD and each.name != "alarms"] == []
    assert said.faults


PARTS = st.none() | st.booleans() | st.floats() | st.text(max_size=9)
KEYS = st.sampled_from(["packs", "id", "u", "t", "bits", "plate"])
TREES = st.recursive(PARTS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner), max_leaves=12)


@given(st.binary(max_size=200) | TREES.map(lambda value: json.dumps(value).encode()))
@settings(max_examples=60, deadline=None)
def test_no_payload_breaks_the_reader(payload: bytes) -> None:
    read_message(LISTED, TEXTS, MqttMessage(0.0, "bank", payload))


@pytest.fixture(scope="module", autouse=True)
def _listed(tmp_path_factory: pytest.TempPathFactory) -> None:
    global LISTED
    LISTED = made(tmp_path_factory.mktemp("listed"), LIST)


LISTED: MqttMap


def test_paths() -> None:
    document = {"a": {"b c": [1, {"d": None}]}, "7": 2, "x.y": 3}
    for text, found in (("a", document["a"]), ('$.a["b c"][1].d', None), ("$[7]", 2), ('["x.y"]', 3), ("a.q", NOTHING),
                        ('a["b c"][9]', NOTHING), ("a.b", NOTHING)):  # fmt: skip
        assert looked_up(document, parsed_path(text)) == found
    for wrong in ("", "$", "a..b", "a[", "a[-1]", "a.*", "a[*]", "a b", "a[1]b", ".a", "a.", '["a', "a[1:2]"):
        with pytest.raises(PathFault):
            parsed_path(wrong)


def test_numbers_and_moments() -> None:
    assert [number_of(each) for each in (3, "3.5", " -2e1 ", True, None, [], "3,5", "nan", 10**400, float("nan"))] == [
        3.0, 3.5, -20.0, None, None, None, None, None, None, None,
    ]  # fmt: skip
    assert moment_of(1.8e9) == moment_of(1.8e12) == moment_of("1800000000") == 1.8e9
    assert moment_of("2027-01-15T08:00:00+00:00") == moment_of("2027-01-15T09:00:00+01:00") == 1.8e9
    assert [moment_of(each) for each in ("2027-01-15T08:00:00", "noon", None, {}, "9" * 50)] == [None] * 5


WRONG = [
    (PLAIN, 'unit = "mA"', 'unit = "mAh"', r'17  signals\[1\].unit.*found "mAh"'),
    (PLAIN, 'positive = "charging"\n', "", r"sign is not said"),
    (PLAIN, "pack{module:02}/volts", "#", r"topic  found #; name each level"),
    (PLAIN, "pack{module:02}/volts", "pack+/volts", r"found \+ inside a level"),
    (PLAIN, "pack{module:02}/volts", "pack{modul}/volts", r'found "\{modul\}"'),
    (PLAIN, "pack{module:02}/volts", "{module}/{module}", r"twice"),
    (PLAIN, "/cell/{n}", "/cell", r"told apart by nothing"),
    (PLAIN, "repeat = 4\n", "", r"how many of them is not said"),
    (ONE_JSON, 'value = "$.pack.volts"', 'value = "$.pack.*"', r"write names and places"),
    (ONE_JSON, 'value = "$.pack.volts"\n', "", r"time needs a JSON payload"),
    (ONE_JSON, 'time = "$.at"', 'time = "at[{n}]"', r"stand in topic or value, not in time"),
    (LIST, 'module_at = "id"\nvalue = "u"', 'value = "u"', r"whose each entry is, is not said"),
    (LIST, 'module_at = "id"\nvalue = "u"', 'module_at = "id"\nmodule = "M1"\nvalue = "u"', r"said twice"),
    (BY_KEY, "offset = 0.5", "offset = 0.5\nscale = 0", r"every value alike"),
    (BY_KEY, 'value = "rack.pack_{module}.v"\n', "", r"is a value itself, and JSON here"),
    (BY_KEY, "format = 1", "format = 1\npassword = 'x'", r"unknown key"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "old", "new", "words"), WRONG)
def test_a_wrong_map_says_where_and_what_would_be_right(
    tmp_path: Path, text: str, old: str, new: str, words: str
) -> None:
    assert old in text
    with pytest.raises(MapError, match=words):
        made(tmp_path, text.replace(old, new, 1))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\n", "the map has no signals"),
        ("counts_from = 1\n[[signals]]\nname = 'x'\nregister = 1\n", "register"),
        ("format = 1\nmodules = 5\nsignals = 3\n", "modules"),
        ("format = 1\n[[signals]]\nname = 'x'\nquantity = 'voltage'\ntopic = 5\n", "topic"),
    ],
)
def test_a_map_of_another_kind_is_told_key_by_key(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(MapError, match=words):
        made(tmp_path, text)


# --- the connection


class Serving:
    """A broker of the pretend rack in a thread of its own."""

    def __init__(self, login: tuple[str, str] | None = None) -> None:
        self.broker, self._goes_on = Broker(login), True
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        while self._goes_on:
            self.broker.serve_once(0.02)

    def stop(self) -> None:
        self._goes_on = False
        self._thread.join(60)
        self.broker.close()


@contextmanager
def serving(login: tuple[str, str] | None = None) -> Iterator[Broker]:
    served = Serving(login)
    try:
        yield served.broker
    finally:
        served.stop()


def source_of(broker: Broker, mqtt_map: MqttMap, login: Login = Login()) -> MqttSource:  # noqa: B008
    port = BrokerPort("127.0.0.1", broker.port, mqtt_map.filters, login)
    return MqttSource(port, mqtt_map, texts(mqtt_map), 0.1)


def until(source: MqttSource, messages: int) -> None:
    """Listen until so many came, however busy the machine is."""
    end = time.monotonic() + 60
    while source.tally.messages < messages and time.monotonic() < end:
        source.listen(source.now() + 0.02)


def test_it_subscribes_and_publishes_nothing(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, ONE_JSON)
    with serving() as broker:
        source = source_of(broker, mqtt_map)
        for told in MqttRack(mqtt_map, texts(mqtt_map), values).messages(0.0, time.time()):
            assert broker.publish(told.topic, told.payload) == 1
        broker.publish("house/any/left/other", b"1")
        broker.publish("house/any/attic/state", b"{}")
        until(source, 4)
        cycle = source.cycle()
        source.close()
        end = time.monotonic() + 60
        while not broker.counts["DISCONNECT"] and time.monotonic() < end:
            time.sleep(0.01)
    assert [each.outcome for each in cycle.heard] == [Outcome.ANSWER] * 3
    assert "4 messages" in cycle.words
    assert "1 of modules that the bank does not have" in cycle.words
    assert broker.counts == {"CONNECT": 1, "SUBSCRIBE": 1, "DISCONNECT": 1}
    assert [flags & 0b00111100 for flags in broker.flags] == [0], "no will: the broker publishes nothing for us either"
    found = {each.at[0]: each for each in columns([cycle], mqtt_map) if each.quantity == "cell_voltage"}
    assert found["M1.c1"].value.shape == (1, 4)


def test_what_the_broker_kept_has_no_time(tmp_path: Path) -> None:
    plain, timed, told = made(tmp_path, PLAIN), made(tmp_path, ONE_JSON), time.time() - 5
    with serving() as broker:
        broker.publish("shed/rack/pack01/volts", b"53.1", kept=True)
        broker.publish("house/a/left/state", json.dumps({"pack": {"volts": 53.0}, "at": told}).encode(), kept=True)
        broker.publish("house/a/right/state", json.dumps({"pack": {"volts": 53.0}, "at": 1.0e9}).encode(), kept=True)
        source = source_of(broker, plain)
        until(source, 1)
        facts, tally = survey_mqtt(source, plain, TARGETS, 0.01, lambda words: None)
        cycle = source.cycle()
        source.close()
        other = source_of(broker, timed)
        until(other, 2)
        old = other.tally.old
        timed_cycle = other.cycle()
        ago = time.time() - told
        own = other.now() - ago  # the same moment on the clock of the bus
        other.close()
    assert source.standing.values("M1", source.now())["voltage"].value.quality == TIME_UNSURE
    assert cycle.heard[0].outcome is Outcome.SILENCE
    assert columns([cycle], plain) == ()
    assert [each.code for each in explain_mqtt(facts, tally, plain)] == ["BUS-KEPT"]
    assert [each.outcome for each in timed_cycle.heard] == [Outcome.ANSWER, Outcome.SILENCE, Outcome.SILENCE]
    (table,) = columns([timed_cycle], timed)
    assert float(table.time[0]) == pytest.approx(own, abs=1)
    assert table.time[0] < timed_cycle.start - 4
    assert old == 1


def test_a_time_of_its_own_is_taken_once_and_not_from_the_future(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, ONE_JSON)

    class Line:
        name = "line"

        def __init__(self) -> None:
            self.left: list[MqttMessage] = []

        def now(self) -> float:
            return 1000.0

        def hear(self, until: float) -> MqttMessage | None:
            return self.left.pop(0) if self.left else None

        def close(self) -> None:
            pass

    line = Line()
    source = MqttSource(line, mqtt_map, texts(mqtt_map), 1.0, wall=lambda: 2e9)

    def tell(at: object, volts: float, kept: bool = False) -> float:
        payload = json.dumps({"pack": {"volts": volts}, "at": at}).encode()
        line.left.append(MqttMessage(1000.0, "house/x/left/state", payload, kept))
        source.listen(999.0)
        return source.standing.values("M1", 1000.0)["voltage"].time

    assert tell(2e9 - 20, 53.0) == 980.0
    assert tell(2e9 - 20, 54.0) == 980.0
    assert source.tally.again == 1
    assert tell(2e9 - 61, 55.0) == 980.0
    assert source.tally.old == 1
    assert tell("2033-05-18T03:33:10+00:00", 53.5) == 990.0
    assert tell(2e9 + 600, 56.0) == 1000.0, "the device's clock is ahead: the time at which it came"
    assert source.tally.faults == {}
    tell("soon", 57.0)
    assert source.tally.faults == {"no time where the map says one": 1}


def test_a_password_is_asked_for_and_a_wrong_one_refused(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, PLAIN)
    with serving(("kim", "secret")) as broker:
        for login in (Login(), Login("kim", "wrong")):
            with pytest.raises(WireGone, match="refuses the connection"):
                source_of(broker, mqtt_map, login)
        source_of(broker, mqtt_map, Login("kim", "secret")).close()
    assert "secret" not in repr(Login("kim", "secret"))


def test_where_a_password_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "word").write_text("pass word\nmore\n", "utf-8")
    (tmp_path / "empty").write_text("", "utf-8")
    assert _password(MqttBus(user="k", password_file="word"), tmp_path) == "pass word"
    monkeypatch.setenv("RACK_WORD", "abc")
    assert _password(MqttBus(user="k", password_in="RACK_WORD"), tmp_path) == "abc"
    for wrong in (MqttBus(password_file="none"), MqttBus(password_file="empty"), MqttBus(password_in="NO_SUCH")):
        with pytest.raises(QuestionError):
            _password(wrong, tmp_path)


def test_a_broker_that_goes_away_is_told_and_nobody_there_too(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, PLAIN)
    with serving() as broker:
        source = source_of(broker, mqtt_map)
    with pytest.raises(WireGone, match="went away"):
        source.listen(source.now() + 20)
    source.close()
    with pytest.raises(WireGone):
        source_of(broker, mqtt_map)


def packet(head: int, body: bytes, length: bytes | None = None) -> bytes:
    size, found = len(body), bytearray()
    while True:
        size, low = divmod(size, 128)
        found.append(low | (128 if size else 0))
        if not size:
            return bytes((head,)) + (length or bytes(found)) + body


@pytest.mark.parametrize(
    "raw",
    [
        packet(0x30, b"\0\x01a", b"\xff\xff\xff\x7f"),  # says that 256 MB follow
        packet(0x30, b"\0\x01a" + bytes(MOST_PACKET)),
        packet(0x34, b"\0\x01a\0\x01x"),  # QoS 2, which would be kept until it is released
        packet(0x32, b"\0\x01a\0\x01x"),  # QoS 1, which would be acknowledged
        packet(0x30, b"\xff\xffa"),
        b"\x00\x00",
        b"\xf0\x00",
    ],
)
def test_a_hostile_broker_is_let_go_before_it_fills_the_memory(tmp_path: Path, raw: bytes) -> None:
    mqtt_map = made(tmp_path, PLAIN)
    with serving() as broker:
        source = source_of(broker, mqtt_map)
        caller: Caller = broker.callers[0]
        threading.Thread(target=broker.raw, args=(caller, raw), daemon=True).start()
        with pytest.raises(WireGone):
            source.listen(source.now() + 20)
        source.close()
    assert set(broker.counts) <= {"CONNECT", "SUBSCRIBE", "DISCONNECT"}


def test_topics_without_end_cost_no_memory(tmp_path: Path) -> None:
    mqtt_map = made(tmp_path, PLAIN)

    class Flood:
        name = "flood"
        told = 0

        def now(self) -> float:
            return float(self.told >= 20000)

        def hear(self, until: float) -> MqttMessage | None:
            self.told += 1
            return MqttMessage(0.0, f"shed/rack/pack{self.told * 7}/volts", b"53") if self.told < 20000 else None

        def close(self) -> None:
            pass

    source = MqttSource(Flood(), mqtt_map, TEXTS, 1.0)
    source.listen(1.0)
    assert source.tally.messages == 19999
    assert len(source.tally.strangers) == 1000
    assert sum(len(source.standing.values(name, 0.0)) for name in NAMES) == 0


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # the library leaves a failed one open
def test_only_a_certificate_that_is_right_is_spoken_to(tmp_path: Path) -> None:
    made_by = [
        "openssl",
        "req",
        "-x509",
        "-newkey",
        "ec",
        "-pkeyopt",
        "ec_paramgen_curve:prime256v1",
        "-nodes",
        "-days",
        "2",
    ]
    try:
        subprocess.run([*made_by, "-keyout", "key.pem", "-out", "cert.pem", "-subj", "/CN=localhost",
                        "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"],
                       cwd=tmp_path, check=True, capture_output=True, timeout=60)  # fmt: skip
    except (OSError, subprocess.SubprocessError):
        pytest.skip("no openssl to make a certificate with")
    mqtt_map = made(tmp_path, PLAIN)
    with serving() as broker:
        inside = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        inside.load_cert_chain(tmp_path / "cert.pem", tmp_path / "key.pem")
        broker.wrap(inside)
        broker.publish("shed/rack/pack01/volts", b"53.1", kept=True)  # handed out by the broker's own thread
        source = source_of(broker, mqtt_map, Login(tls=True, ca=str(tmp_path / "cert.pem")))
        until(source, 1)
        assert source.standing.values("M1", source.now())["voltage"].value.value == 53.1
        source.close()
        for wrong in (Login(tls=True), Login(tls=True, ca=str(tmp_path / "none.pem"))):
            with pytest.raises(WireGone):
                source_of(broker, mqtt_map, wrong)


# --- the bank file


def bank_text(root: str, mqtt: str = "") -> str:
    head, tail = BARN.read_text("utf-8").split("[bus]\n")
    after = tail.split('draw = "4 W"\n', 1)[1]
    bus = f'wire = "mqtt"\nhost = "192.168.1.5"\nmap = "topics.toml"\n{mqtt}'
    return f'{head}[bus]\n{bus}\n{after}\n[watch]\nmqtt = {{ host = "h", root = "{root}" }}\n'


@pytest.mark.parametrize(
    ("root", "fits"),
    [
        ("bankwright", True),
        ("shed", False),
        ("shed/rack", False),
        ("shed/rack/pack01/volts", False),
        ("shed/alarms", True),
    ],
)
def test_alarms_keep_clear_of_what_the_bus_reads(tmp_path: Path, root: str, fits: bool) -> None:
    (tmp_path / "barn.toml").write_text(bank_text(root), "utf-8")
    made(tmp_path, PLAIN)
    bank = bank_from_text(bank_text(root), tmp_path / "barn.toml")
    if fits:
        assert speaking_of(bank, tmp_path) is not None
        return
    with pytest.raises(QuestionError, match=r"watch.mqtt.root.*topics.toml reads from"):
        speaking_of(bank, tmp_path)
    (way,) = ways_of(bank, topics_read(bank, tmp_path))
    with pytest.raises(NotDelivered, match="read from"):
        way.deliver(Message("b", "t", "test", "test", "", "w"))


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ('mqtt = { password = "x" }', "unknown key"),
        ('mqtt = { user = "k", password_in = "A", password_file = "b" }', "the password has two places"),
        ('mqtt = { password_in = "A" }', "a password, and no user"),
        ('mqtt = { ca = "ca.pem" }', "ca without tls"),
        ('mqtt = { tls = true, certificate = "c.pem" }', "go together"),
        ("baud = 9600", "baud is given for wire"),
        ('port = "can0"', "port is given for wire"),
    ],
)
def test_keys_of_a_broker_that_cannot_be_meant(keys: str, words: str) -> None:
    with pytest.raises(QuestionError, match=words):
        bank_from_text(bank_text("bankwright", keys), BARN)


def test_a_map_of_other_modules_or_of_nobody_is_refused(tmp_path: Path) -> None:
    bank = bank_from_text(bank_text("bankwright"), tmp_path / "barn.toml")
    made(tmp_path, ONE_JSON.replace('left = "M1"', 'left = "X1"'))
    with pytest.raises(QuestionError, match='names "X1", which the bank does not have'):
        speaking_of(bank, tmp_path)
    made(tmp_path, PLAIN.replace("pack{module:02}/volts", "volts"))
    with pytest.raises(QuestionError, match='whose "voltage" is, is not said'):
        speaking_of(bank, tmp_path)
    one = replace(bank, modules=bank.modules[:1])
    assert speaking_of(one, tmp_path) is not None
