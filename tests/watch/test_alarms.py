"""Alarms: when they are raised and cleared, that limits are the maker's or tighter, and that they reach somebody."""

from __future__ import annotations

import ast
import json
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path
from urllib.request import urlopen

import pytest

import bankwright.watch.alarms.ways as ways_module
from bankwright.bank.model_watch import Broker as BrokerPlace
from bankwright.bank.model_watch import Mail, Watch
from bankwright.bank.read import bank_from_text, faults_in, read_bank
from bankwright.bank.rules.watch import overlaps
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.alarms.limits import limits_of
from bankwright.watch.alarms.metrics import Metrics, metrics_text
from bankwright.watch.alarms.post import Post
from bankwright.watch.alarms.rules import RULES, Judgement, Seen, judge
from bankwright.watch.alarms.watchman import Alarm, Watchman, alarms_of, bytes_of
from bankwright.watch.alarms.ways import Message, NotDelivered, Way, ways_of
from bankwright.watch.listen import Listener
from bankwright.watch.report import watching
from bankwright.watch.service import Service
from support.loopback_ways import Broker, MailServer, WebServer
from support.pretend_racks import rack, register_map, targets

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
BANK = read_bank(BARN)
LIMITS = {module.name: limits_of(BANK, module) for module in BANK.modules}
MESSAGE = Message("Barn", "2026-11-27T20:00:00+00:00", "raised", "hot", "M1", "M1: too warm", 56.0, 52.0)


def seen(name: str = "M1", **given: object) -> Seen:
    usual = {"age": 1.0, "volts": 52.8, "amps": 10.0, "cells": (3.30,) * 16, "warmth": (20.0,)}
    return Seen(name, **{**usual, **given})  # type: ignore[arg-type]


def over(*modules: Seen) -> set[tuple[str, str]]:
    return {(j.rule, j.at) for j in judge(modules, LIMITS) if j.over}


# --- rules


def test_a_bank_at_ease_rings_no_alarm() -> None:
    assert over(*(seen(f"M{k}") for k in range(1, 6))) == set()


@pytest.mark.parametrize(
    ("rule", "given"),
    [
        ("cell-high", {"cells": (3.30,) * 15 + (3.71,), "volts": 53.21}),
        ("cell-low", {"cells": (3.30,) * 15 + (2.54,), "volts": 52.04}),
        ("cell-spread", {"cells": (3.30,) * 15 + (3.25,)}),
        ("hot", {"warmth": (20.0, 53.0)}),
        ("cold", {"warmth": (-18.0,)}),
        ("cold", {"warmth": (-1.0,), "amps": -5.0}),  # no charging in the cold (data sheet)
        ("current", {"amps": 101.0}),
        ("current", {"amps": -61.0}),
        ("silent", {"age": 600.0}),
        ("contradiction", {"volts": 53.5}),  # its cells add up to 52.8
    ],
)
def test_each_rule_rings_at_its_limit(rule: str, given: dict[str, object]) -> None:
    assert (rule, "M1") in over(seen(**given))


def test_spread_is_judged_by_zone_and_current() -> None:
    # cases H01: 58 mV at 3.475 V is usual near full; the same on the plateau is not
    full = (3.475,) * 15 + (3.533,)
    assert ("cell-spread", "M1") not in over(seen(cells=full, volts=sum(full)))
    plateau = (3.30,) * 15 + (3.358,)
    assert ("cell-spread", "M1") in over(seen(cells=plateau, volts=sum(plateau)))
    near = (3.30,) * 15 + (3.332,)
    assert ("cell-spread", "M1") in over(seen(cells=near, amps=0.0))
    assert ("cell-spread", "M1") not in over(seen(cells=near, amps=90.0))


def test_what_was_not_heard_is_judged_by_silence_alone() -> None:
    assert over(Seen("M1", 1.0)) == set()
    assert over(seen(age=600.0, warmth=(90.0,), cells=(4.0,) * 16)) == {("silent", "M1")}
    assert over(seen(amps=float("nan"), cells=(float("nan"),) * 16)) == set()


def test_a_share_is_judged_where_the_bank_carries_something() -> None:
    rest = [seen(f"M{k}") for k in range(2, 6)]
    assert ("share", "M1") in over(seen(amps=3.0), *rest)
    small = [replace(each, amps=1.0) for each in rest]
    assert ("share", "M1") not in over(seen(amps=0.1), *small)


def test_a_voltage_that_all_others_contradict_rings() -> None:
    rest = [seen(f"M{k}", cells=()) for k in range(2, 6)]
    assert over(seen(volts=54.5, cells=()), *rest) == {("contradiction", "M1")}


# --- hold and hysteresis


def judged(value: float) -> list[Judgement]:
    return [Judgement("hot", "M1", value, 52.0, value >= 52.0, value <= 50.0)]


def test_an_alarm_waits_its_hold_time_and_clears_well_behind_the_limit() -> None:
    man = Watchman(30.0)
    assert man.look(0.0, judged(53.0)) == []
    assert man.look(20.0, judged(51.9)) == []  # back before its time: begins anew
    assert man.look(29.0, judged(53.0)) == []
    (raised,) = man.look(59.0, judged(54.0))
    assert (raised.raised, raised.value) == (True, 54.0)
    assert man.look(100.0, judged(51.0)) == []  # inside the hysteresis
    assert man.look(200.0, judged(51.0)) == []
    assert man.look(210.0, judged(49.0)) == []
    (cleared,) = man.look(240.0, judged(49.0))
    assert not cleared.raised
    assert man.standing == {}


def test_what_stands_survives_a_restart_and_damage_of_it_is_nothing() -> None:
    man = Watchman(0.0)
    man.look(0.0, judged(60.0))
    again = Watchman(0.0, alarms_of(*bytes_of(man)))
    assert again.look(1.0, judged(60.0)) == []  # not raised twice
    assert again.look(2.0, judged(40.0))[0].raised is False
    for blob in (b"", b"{", b'[["no-such-rule", "M1", 1, 2]]', b"[[1]]"):
        assert alarms_of(1, blob) == {}


# --- limits


def test_limits_of_the_file_may_be_tighter_never_looser_than_the_maker() -> None:
    text = BARN.read_text("utf-8")
    tight = bank_from_text(text + '\n[watch]\ncell_high = "3.6 V"\nhold = "5 s"\n', BARN)
    assert limits_of(tight, tight.modules[0]).cell_high.value == 3.6  # type: ignore[union-attr]
    assert LIMITS["M1"].cell_high.value == pytest.approx(3.70)  # type: ignore[union-attr]
    for line in (
        'cell_high = "3.8 V"',
        'cell_low = "2.3 V"',
        'temperature_high = "60 degC"',
        'temperature_low = "-30 degC"',
    ):
        (fault,) = faults_in(f"{text}\n[watch]\n{line}\n", BARN)
        assert fault.code == "looser-than-maker", line


@pytest.mark.parametrize(
    ("root", "read", "clash"),
    [
        ("bankwright", "house/bms/#", False),
        ("house", "house/bms/1", True),
        ("house/bms/1/x", "house/bms/#", True),
        ("house/bms", "house/+/1", True),
        ("house/bms", "house/bms", True),
        ("house/bm", "house/bms", False),
        ("a", "#", True),
    ],
)
def test_a_root_keeps_clear_of_every_topic_that_is_read(root: str, read: str, clash: bool) -> None:
    assert overlaps(root, read) == clash
    text = BARN.read_text("utf-8") + f'\n[watch]\nmqtt = {{ host = "h", root = "{root}", reads = ["{read}"] }}\n'
    assert ("topic-read" in {fault.code for fault in faults_in(text, BARN)}) == clash


# --- ways out


def way(name: str, **given: object) -> Way:
    bank = replace(BANK, watch=Watch(**given))  # type: ignore[arg-type]
    (found,) = ways_of(bank)
    assert found.name == name
    return found


def test_nothing_is_told_to_anybody_unless_the_file_says_so() -> None:
    assert ways_of(BANK) == ()


def test_a_broker_gets_plain_json_under_our_root_not_retained() -> None:
    broker = Broker()
    way("mqtt", broker=BrokerPlace("127.0.0.1", broker.port, "garage/bank")).deliver(MESSAGE)
    broker.close()
    ((topic, payload, qos, retain),) = broker.got
    assert (topic, qos, retain) == ("garage/bank/alarm/hot", 1, 0)
    document = json.loads(payload)
    assert document["format"] == "bankwright.alarm/1"
    assert (document["at"], document["what"], document["value"]) == ("M1", "raised", 56.0)


def test_nothing_is_published_where_something_is_read_even_if_a_bank_says_so() -> None:
    broker = Broker()
    place = BrokerPlace("127.0.0.1", broker.port, "house/bank", ("house/#",))
    with pytest.raises(NotDelivered, match="read from"):
        way("mqtt", broker=place).deliver(MESSAGE)
    broker.close()
    assert broker.got == []


def test_a_web_address_gets_one_document_and_no_turning_is_followed() -> None:
    other = WebServer()
    for status, turn in ((200, ""), (500, ""), (302, f"http://127.0.0.1:{other.port}/else")):
        server = WebServer(status, turn)
        address = f"http://127.0.0.1:{server.port}/bank"
        if status == 200:
            way("post", post=address).deliver(MESSAGE)
        else:
            with pytest.raises(NotDelivered):
                way("post", post=address).deliver(MESSAGE)
        server.close()
        assert [path for path, _ in server.got] == ["/bank"]
    other.close()
    assert other.got == []


def test_a_mail_carries_the_sentence_and_no_line_breaks_into_its_head() -> None:
    server = MailServer()
    place = Mail("127.0.0.1", "bank@home", ("kim@home",), server.port, encrypted=False)
    way("mail", mail=place).deliver(replace(MESSAGE, words="M1: too warm\nBcc: x@y"))
    server.close()
    (text,) = server.got
    assert "Subject: Barn: M1: too warm Bcc: x@y" in text
    assert "\nBcc:" not in text.split("\n\n")[0]


def test_a_program_gets_its_words_as_they_stand_and_no_shell(tmp_path: Path) -> None:
    out = tmp_path / "got"
    script = "import sys, pathlib; pathlib.Path(sys.argv[1]).write_text('|'.join(sys.argv[2:]) + sys.stdin.read())"
    words = (sys.executable, "-c", script, str(out), "; touch pwned", "$(id)", "`id`")
    way("command", command=words).deliver(MESSAGE)
    assert out.read_text().startswith('; touch pwned|$(id)|`id`{"format"')
    for bad in (("/no/such/program",), (sys.executable, "-c", "raise SystemExit(3)")):
        with pytest.raises(NotDelivered):
            way("command", command=bad).deliver(MESSAGE)


def test_no_program_is_ever_started_through_a_shell() -> None:
    tree = ast.parse(Path(ways_module.__file__).read_text("utf-8"))
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    started = [c for c in calls if ast.unparse(c.func).startswith(("subprocess.", "os.system", "os.popen", "os.exec"))]
    assert [ast.unparse(call.func) for call in started] == ["subprocess.run"]
    assert not [word for call in calls for word in call.keywords if word.arg == "shell"]
    assert ast.unparse(started[0].args[0]) == "list(words)"


def test_a_password_stands_in_the_environment_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_SUCH", raising=False)
    with pytest.raises(NotDelivered, match="NO_SUCH"):
        way("mqtt", broker=BrokerPlace("127.0.0.1", 1, user="kim", password_in="NO_SUCH")).deliver(MESSAGE)


# --- the post


def waited(done: Callable[[], bool], seconds: float = 60.0) -> bool:
    end = time.monotonic() + seconds
    while not done() and time.monotonic() < end:
        time.sleep(0.01)
    return done()


def test_a_way_that_fails_is_tried_again_and_then_it_is_said() -> None:
    tries, lost = [], []

    def deliver(message: Message) -> None:
        tries.append(message)
        if message.at == "M1" or len(tries) < 3:
            raise NotDelivered("nobody there")

    post = Post([Way("x", deliver)], lambda *told: lost.append(told), waits=(0.01,))
    post.send(replace(MESSAGE, at="M2"))
    assert waited(lambda: len(tries) == 3)
    assert lost == []
    post.send(MESSAGE)
    assert waited(lambda: len(lost) == 1)
    assert len(tries) == 7
    assert lost[0] == ("x", MESSAGE, "nobody there")
    post.close()


def test_no_more_than_so_many_an_hour_and_what_is_left_out_is_said() -> None:
    got, lost = [], []
    post = Post([Way("x", got.append)], lambda *told: lost.append(told), most=3)
    for _ in range(10):
        post.send(MESSAGE)
    post.close()
    assert (len(got), len(lost)) == (3, 7)


def test_one_broken_way_does_not_stop_another() -> None:
    got, lost = [], []

    def broken(message: Message) -> None:
        raise ZeroDivisionError

    post = Post([Way("a", broken), Way("b", got.append)], lambda *told: lost.append(told), waits=(0.0,))
    post.send(MESSAGE)
    assert waited(lambda: bool(lost and got))
    assert "ZeroDivisionError" in lost[0][2]
    post.close()


# --- figures to be fetched


def test_figures_are_fetched_on_the_loopback_address_and_the_names_are_ours() -> None:
    text = metrics_text([seen(), Seen("M2", 300.0)], [Alarm("silent", "M2", 300.0, 120.0, True)])
    names = {line.split("{")[0] for line in text.splitlines() if not line.startswith("#")}
    assert all(name.startswith("bankwright_") for name in names)
    assert 'bankwright_module_volts{module="M1"} 52.8' in text
    assert 'bankwright_alarm_stands{module="M2",rule="silent"} 1' in text
    assert "nan" not in text
    server = Metrics("127.0.0.1:0", lambda: text)
    with urlopen(f"http://127.0.0.1:{server.port}/metrics") as answer:
        assert answer.read().decode() == text
    with pytest.raises(OSError, match="404"):
        urlopen(f"http://127.0.0.1:{server.port}/other")
    server.close()


# --- all of it together


def test_the_service_raises_tells_keeps_and_does_not_raise_twice(tmp_path: Path) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    bank = replace(BANK, watch=Watch(hold=0.001, cell_high=0.001))  # every cell is above that
    got: list[Message] = []

    def failing(message: Message) -> None:
        raise NotDelivered("by hand")

    for number, ways in enumerate(((Way("good", got.append),), (Way("bad", failing),))):
        with open_telemetry(file) as telemetry:
            listener = Listener(lambda: rack(), register_map(), targets(), 1.0, telemetry)
            run = Service(bank, register_map(), listener, telemetry, ways).run(lambda _: None)
            told = list(islice(run, 4))
            run.close()
            assert all(each.cycle for each in told)
            raised = [(event.detail["rule"], event.at) for event in telemetry.events("alarm-raised")]
            assert len(raised) == len(set(raised)), number  # the second listener raises nothing twice
            assert {("cell-high", f"M{k}") for k in range(1, 6)} <= set(raised)
            found = watching(bank, telemetry)
    assert found.listener.stopped
    standing = {f.at for f in found.findings if f.code == "W-ALARM-1"}
    assert standing
    assert {m.rule for m in got} <= set(RULES)
    assert {m.at for m in got if m.rule == "cell-high"} == {f"M{k}" for k in range(1, 6)}


def test_an_alarm_that_reaches_nobody_is_an_event_and_a_caution(tmp_path: Path) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    bank = replace(BANK, watch=Watch(hold=0.0, cell_high=0.001))

    def failing(message: Message) -> None:
        raise NotDelivered("by hand")

    with open_telemetry(file) as telemetry:
        listener = Listener(lambda: rack(), register_map(), targets(), 1.0, telemetry)
        service = Service(bank, register_map(), listener, telemetry, (Way("bad", failing),))
        service._post._waits = (0.0,)
        run = service.run(lambda _: None)
        list(islice(run, 3))
        run.close()
        assert waited(lambda: bool(telemetry.events("alarm-undelivered")))
        found = watching(bank, telemetry)
    untold = next(f for f in found.findings if f.code == "W-ALARM-2")
    assert untold.verdict == "caution"
    assert "by hand" in (untold.text.text() if untold.text else "")
