"""Days that a listener takes as they close: killed, interrupted, with a clock set back, a full disk, a second taker."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.model_watch import Watch
from bankwright.bank.read import faults_in, read_bank
from bankwright.cli.main import main
from bankwright.forms.readings import Columns, Instant
from bankwright.logbook.errors import LogbookDiskFull
from bankwright.logbook.hold import held
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.watch.alarms.ways import Message, Way
from bankwright.watch.charge import daily as charge
from bankwright.watch.days import keep_days, look_again, may_take, waiting
from bankwright.watch.joints.daily import _kept_open, day_of, keep_open_day, open_day, rebuilt
from bankwright.watch.joints.hours import packed
from bankwright.watch.listen import Listener
from bankwright.watch.listening import beat
from bankwright.watch.looker import Looker
from bankwright.watch.report import lasting, pending
from bankwright.watch.say.weekly import TOLD, Weekly
from bankwright.watch.service import Service
from support.pretend_racks import rack, register_map, targets

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
BANK = read_bank(BARN)
NAMES = tuple(module.name for module in BANK.modules)
DAY, DAYS = 86400.0, 3
START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
END = START + DAYS * DAY + 7200.0


class At:
    """A clock that stands."""

    def __init__(self, seconds: float) -> None:
        self.seconds, self.mono = seconds, 0.0

    def now(self) -> Instant:
        self.mono += 1.0
        return Instant(datetime.fromtimestamp(self.seconds, UTC).isoformat(), "pretend", self.mono, True)


def heard(file: Path) -> None:
    time_, draw = np.arange(START, END, 300.0), np.random.default_rng(1)
    amps = 12 * np.sin(2 * np.pi * time_ / DAY)[:, None] + draw.normal(0, 3, (len(time_), 5))
    with open_telemetry(file) as telemetry:
        for quantity, value in (("current", amps), ("voltage", 52.8 - 0.012 * amps)):
            good = np.zeros(value.shape, np.uint8)
            telemetry.append_dated(Columns(quantity, NAMES, time_, value, good), source="pretend")


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("days") / "barn.toml"
    made.write_text(BARN.read_text("utf-8"), "utf-8")
    heard(made)
    return made


@pytest.fixture
def file(tmp_path: Path, days: Path) -> Path:
    """A copy of its own."""
    for each in days.parent.iterdir():
        shutil.copy(each, tmp_path)
    return tmp_path / days.name


def kept(file: Path) -> dict[str, bytes]:
    with open_telemetry(file, write=False) as telemetry:
        names = [n for n in telemetry.states() if n == "charge" or n.startswith("joints/")]
        return {n: state.blob for n in names if (state := telemetry.state(n)) is not None}


@pytest.fixture(scope="module")
def straight(tmp_path_factory: pytest.TempPathFactory, days: Path) -> dict[str, bytes]:
    """What is kept where nothing came between."""
    other = tmp_path_factory.mktemp("straight") / "days" / days.name
    shutil.copytree(days.parent, other.parent)
    with open_telemetry(other) as telemetry:
        assert sum(1 for _ in keep_days(BANK, telemetry, END)) == 2 * DAYS
    return kept(other)


def killed(file: Path, step: int) -> bool:
    """Take days in a program that dies inside the engine; whether it came to that."""
    child = os.fork()
    if child == 0:
        try:
            charge.KEEP_EVERY = 0.0
            with open_telemetry(file) as telemetry:
                left = [step]

                def count() -> int:
                    left[0] -= 1
                    if left[0] <= 0:
                        os.kill(os.getpid(), signal.SIGKILL)
                    return 0

                telemetry._connection.set_progress_handler(count, 1)
                for _ in keep_days(BANK, telemetry, END):
                    pass
        finally:
            os._exit(3)
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status)


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_killed_in_the_middle_of_the_days_nothing_is_lost_and_nothing_is_double(
    straight: dict[str, bytes], file: Path
) -> None:
    draw = random.Random(4)
    died = sum(killed(file, draw.randrange(300, 8_000)) for _ in range(8))
    assert died >= 4
    with open_telemetry(file) as telemetry:
        list(keep_days(BANK, telemetry, END))
        assert waiting(BANK, telemetry, END) == 0
    assert kept(file) == straight


@pytest.mark.slow
def test_a_run_that_is_stopped_goes_on_and_a_look_again_makes_the_same(straight: dict[str, bytes], file: Path) -> None:
    with open_telemetry(file) as telemetry:
        assert waiting(BANK, telemetry, END) == DAYS
        run = keep_days(BANK, telemetry, END)
        assert [step.room for step in islice(run, DAYS + 2)] == ["joints"] * DAYS + ["state of charge"] * 2
        run.close()
        assert waiting(BANK, telemetry, END) == DAYS - 2, "what was done is kept, though no second of work passed"
        assert [(step.done, step.of) for step in keep_days(BANK, telemetry, END)] == [(1, 1)]
    assert kept(file) == straight
    with open_telemetry(file) as telemetry:
        for stop in (2, 2):  # once among the joints, once in the state of charge
            run = look_again(BANK, telemetry, END)
            list(islice(run, stop))
            run.close()
        left = [(step.room, step.done) for step in look_again(BANK, telemetry, END)]
    assert left == [("state of charge", 1), ("state of charge", 2)]
    assert kept(file) == straight


def test_days_are_taken_by_one_program_at_a_time_and_left_to_a_listener(file: Path) -> None:
    clock = At(END)
    with open_telemetry(file) as telemetry:
        with may_take(telemetry) as free:
            assert free
            assert list(pending(BANK, telemetry, clock)) == []
            assert lasting(BANK, telemetry, clock).by == "another program takes them now"
        assert (lasting(BANK, telemetry, clock).days, lasting(BANK, telemetry, clock).by) == (DAYS, "")
        beat(telemetry, clock.now(), 2.0)
        assert lasting(BANK, telemetry, clock).by == "", "so many were not left by a listener that works"
        list(keep_days(BANK, telemetry, END - DAY))
        assert lasting(BANK, telemetry, clock).days == 1
        assert "listener" in lasting(BANK, telemetry, clock).by


def test_a_clock_set_back_costs_nothing_and_the_days_go_on_when_it_is_right(
    straight: dict[str, bytes], file: Path
) -> None:
    for at in (END - DAY, END - 3 * DAY, END - 3 * DAY, END):
        looker = Looker(BANK, file.with_suffix(".logbook"), At(at))
        looker.look(())
        assert looker.wait(60.0)
        looker.close()
    with open_telemetry(file, write=False) as telemetry:
        assert not telemetry.events("look-broken")
    assert kept(file) == straight


# --- the listener


def service(telemetry: Telemetry, got: list[Message], **given: object) -> Service:
    bank = replace(BANK, watch=Watch(hold=0.0, **given.pop("watch", {})))  # type: ignore[arg-type]
    listener = Listener(rack, register_map(), targets(), 1.0, telemetry)
    return Service(bank, register_map(), listener, telemetry, (Way("by hand", got.append),), **given)  # type: ignore[arg-type]


def waited(done: Callable[[], bool]) -> bool:
    end = time.monotonic() + 60.0
    while not done() and time.monotonic() < end:
        time.sleep(0.01)
    return done()


def test_a_full_disk_stops_neither_polls_nor_alarms(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    got: list[Message] = []
    full = [False]
    write = Telemetry._write

    def writes(self: Telemetry, *given: object, **more: object) -> object:
        if full[0]:
            raise LogbookDiskFull(self.path, "the disk is full", "Nothing was stored")
        return write(self, *given, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Telemetry, "_write", writes)
    with open_telemetry(file) as telemetry:
        run = service(telemetry, got, watch={"cell_high": 0.001}).run(lambda _: None)
        stored = next(run).stored
        assert stored > 0
        full[0] = True
        told = list(islice(run, 4))
        assert [one.stored for one in told if one.cycle] == [0, 0, 0]
        assert "full" in next(one.words for one in told if one.cycle is None)
        full[0] = False
        assert next(one for one in run if one.cycle).stored == stored
        run.close()
        (lost,) = telemetry.events("not-stored")
    assert lost.detail["times"] >= 3
    assert waited(lambda: {"store", "cell-high"} <= {message.rule for message in got})
    assert len([message for message in got if message.rule == "store"]) == 1


def test_a_second_listener_of_one_logbook_is_refused(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (file.parent / "barn-map.toml").write_text(BARN.with_name("barn-map.toml").read_text("utf-8"), "utf-8")
    with held(file.with_suffix(".logbook"), "listen") as free:
        assert free
        with pytest.raises(SystemExit) as end:
            main(["listen", str(file), "--polls", "1"])
    assert end.value.code == 2
    assert "another listener writes into barn.logbook" in capsys.readouterr().err


# --- the week


def on(day: int, hour: float) -> At:
    """An hour of March 2026, which begins with a Sunday."""
    return At(datetime(2026, 3, day, tzinfo=UTC).timestamp() + hour * 3600.0)


def test_the_week_is_told_once_after_its_moment_and_not_again_after_a_restart(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "barn.toml") as telemetry:

        def told(clock: At) -> str:
            return Weekly(8 * 60, lambda: f"week {clock.seconds:.0f}").tell(telemetry, clock.now())

        assert told(on(4, 9.0)) == "", "the first ever waits for its first moment"
        assert told(on(9, 7.9)) == ""
        assert told(on(9, 8.5)) != ""
        assert told(on(9, 8.6)) == told(on(15, 23.9)) == ""
        assert told(on(9, 7.0)) == told(on(9, 8.5)) == "", "a clock set back tells nothing twice"
        assert told(on(31, 1.0)) != "", "a moment without a listener is made up for, once"
        assert told(on(31, 2.0)) == ""
        assert len(telemetry.events(TOLD)) == 2
        telemetry.put_state("week-told", 1, b"{")
        assert told(on(31, 3.0)) == ""


def test_a_moment_of_the_week_is_a_day_and_a_time() -> None:
    text = BARN.read_text("utf-8")
    for words, right in (
        ("Monday 08:00", True),
        ("sunday 7:30", True),
        ("Monday", False),
        ("Moonday 08:00", False),
        ("Monday 24:00", False),
    ):
        assert bool(faults_in(f'{text}\n[watch]\nweek = "{words}"\n', BARN)) != right, words


def test_the_listener_sends_the_week_within_the_limit_of_messages(tmp_path: Path) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    got: list[Message] = []
    with open_telemetry(file) as telemetry:
        telemetry.put_state("week-told", 1, b"0.0")
        for watch in ({"week": 0}, {"week": 0, "messages": 1, "cell_high": 0.001}):
            before = len(got)
            one = service(telemetry, got, week=lambda: "All is well.", watch=watch)
            run = one.run(lambda _: None)
            next(run)
            assert one._looker.wait(60.0)
            list(islice(run, 2))
            run.close()
        week = [message for message in got if message.what == "week"]
        assert [(message.rule, message.words) for message in week] == [("week", "All is well.")]
        assert len(got) == before + 1, "the second listener has told it already, and may send one message only"


def test_the_day_that_is_not_over_is_kept_for_an_hour_as_it_was_reduced(file: Path) -> None:
    with open_telemetry(file) as telemetry:
        fresh = open_day(BANK, telemetry, END)
        assert fresh is not None
        keep_open_day(BANK, telemetry, END - 1800)
        read, telemetry.reads = telemetry.reads, None  # type: ignore[method-assign, assignment]
        kept_ = open_day(BANK, telemetry, END)
        telemetry.reads = read  # type: ignore[method-assign]
        assert kept_ is not None
        assert packed(kept_) == packed(day_of(BANK, telemetry, int(END // DAY)))
        telemetry.put_state("joints-open", 2, b"x" * 20)
        assert packed(open_day(BANK, telemetry, END) or kept_) == packed(fresh)
        keep_open_day(BANK, telemetry, END)
        lasts = {-1: False, 0: True, 3900: True, 3901: False}  # before: the clock was set back meanwhile
        assert {s: _kept_open(BANK, telemetry, END + s) is not None for s in lasts} == lasts
        assert _kept_open(replace(BANK, modules=BANK.modules[1:]), telemetry, END) is None
        next(rebuilt(BANK, telemetry, END))
        assert _kept_open(BANK, telemetry, END) is None, "all is made anew, this day too"
        keep_open_day(BANK, telemetry, START + DAYS * DAY - 1)
        assert _kept_open(BANK, telemetry, START + DAYS * DAY) is None, "of the day before"


def test_a_full_disk_keeps_no_day_and_joints_are_judged_all_the_same(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Telemetry, name: str, *_: object) -> None:
        tried.append(name)
        raise LogbookDiskFull(self.path, "the disk is full", "Nothing was stored")

    tried: list[str] = []
    monkeypatch.setattr(Telemetry, "put_state", full)
    monkeypatch.setattr("bankwright.watch.looker.joint_judgements", lambda *_: ["judged"])
    looker = Looker(BANK, file.with_suffix(".logbook"), At(END))
    looker.look(())
    assert looker.wait(60.0)
    looker.close()
    assert looker.judgements == ("judged",)
    assert len(tried) == 2, "a day that is over, and the one that is not"
