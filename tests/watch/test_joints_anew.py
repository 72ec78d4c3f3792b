"""What was begun anew: one module replaced in the middle of a record, the others keep their baseline; and alarms of it.

Pretend telemetry of tests/support/joints; polls of 20 s, so that growths are larger than what faster polls would find.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.model_watch import Watch
from bankwright.circuit.run.bank import parts_of
from bankwright.forms.readings import Columns, Instant
from bankwright.job.joints import begin_anew
from bankwright.logbook.baseline import anew_places
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.watch.alarms.ways import Message, Way
from bankwright.watch.joints.anew import beside, held_by, turns_of
from bankwright.watch.joints.daily import day_name
from bankwright.watch.joints.hours import FORM, Day, packed, reduced
from bankwright.watch.joints.judged import Judged, judged
from bankwright.watch.joints.wiring import wiring_of
from bankwright.watch.listen import Told
from bankwright.watch.renewals import SERIAL, Renewal, renewals_of
from bankwright.watch.report import watching
from bankwright.watch.service import Service
from support.joints.files import bank_of
from support.joints.pretend import Fault, PretendBank, Sensors
from support.pretend_racks import register_map

FIRST, EXCHANGE = 20500, 20.4  # days since 1970 of the first day; days after it that M2 is another module
SLOW = Sensors(period=20.0)
ANOTHER = (  # another module: its sensors, its cells, and the joints that were undone for it
    Fault("volts gain", 1, 0.004, EXCHANGE),
    Fault("volts zero", 1, 0.03, EXCHANGE),
    Fault("amps gain", 1, 0.015, EXCHANGE),
    Fault("cells", 1, 0.6e-3, EXCHANGE),
    Fault("element", "L2+@M2+", 0.3e-3, EXCHANGE),
)
BANK = bank_of(4, "bars")
WIRING = wiring_of(BANK)


@cache
def days(*faults: Fault, count: int) -> tuple[Day, ...]:
    made = PretendBank(BANK, 11, SLOW, faults)
    told = [reduced(WIRING.modules, cycles, warm, k) for k, (cycles, warm) in enumerate(made.days(count))]
    return tuple(replace(day, hour=day.hour + FIRST * 24) for day in told)


def exchange(place: str = "M2", day: float = EXCHANGE) -> Renewal:
    return Renewal((FIRST + day) * 86400, place, anew_places(BANK, place), place if place in WIRING.modules else None)


def seen(found: tuple[Day, ...], *renewals: Renewal) -> Judged:
    parts = [parts_of(module) for module in BANK.modules]
    return judged(WIRING, parts, found, (FIRST + 15) * 24, turns_of(WIRING, renewals))


def named(found: Judged) -> tuple[str, ...]:
    return () if found.grown is None or not found.grown.alarm else WIRING.groups[found.grown.group].modules


# --- which baseline is whose (linear algebra: what is left free takes nothing from what is orthogonal to it)


def test_what_was_remade_is_free_and_all_others_keep_what_they_hear_beside_it() -> None:
    (turn,) = turns_of(WIRING, [exchange()])
    left = beside(WIRING, [turn]).strength()
    for strength, group in zip(left, WIRING.groups, strict=True):
        if group.modules == ("M2",):
            assert strength == pytest.approx(0.0, abs=1e-9)
        elif len(group.modules) == 1:
            assert strength == pytest.approx(1 - 1 / 3)  # of three modules instead of four
    assert [epoch == 1 for epoch in held_by(WIRING, [turn])] == [g.modules == ("M2",) for g in WIRING.groups]


def test_a_joint_that_was_remade_begins_its_own_branch_anew_and_no_other() -> None:
    chain = wiring_of(bank_of(8, "chain same end"))
    renewal = Renewal(FIRST * 86400.0, "L6+@M7+", anew_places(bank_of(8, "chain same end"), "L6+@M7+"), None)
    (turn,) = turns_of(chain, [renewal])
    assert [names for names, epoch in zip(chain.groups, held_by(chain, [turn]), strict=True) if epoch] == [
        next(group for group in chain.groups if "L6+" in group.names)
    ]


def test_after_three_exchanges_each_module_is_held_against_those_that_stayed() -> None:
    turns = turns_of(WIRING, [exchange(f"M{k}", k) for k in (1, 2, 3)])
    own = {g.modules[0]: int(epoch) for g, epoch in zip(WIRING.groups, held_by(WIRING, turns), strict=True)
           if len(g.modules) == 1}  # fmt: skip
    assert own["M3"] == 3
    assert own["M2"] == 2  # against M1 and M4, which are the same since then
    assert own["M4"] == 1  # against M1, which is the same since the first exchange


# --- an exchange in the middle


@pytest.mark.slow
def test_a_replaced_module_waits_for_its_own_baseline_while_the_others_still_find_growth() -> None:
    found = days(*ANOTHER, Fault("element", "L3+@M3+", 0.6e-3, 25.2), count=28)
    assert named(seen(found[:25])) == ("M2",)  # nobody said that it was replaced
    told = seen(found[:25], exchange())
    assert (told.grown, told.inside, told.strays) == (None, (), ())
    assert {(WIRING.groups[each.group].modules, each.days) for each in told.waiting} == {(("M2",), 4)}
    later = seen(found, exchange())
    assert named(later) == ("M3",)  # by the baseline from before the exchange
    assert later.grown is not None
    assert later.grown.size == pytest.approx(0.6e-3, abs=0.1e-3)


@pytest.mark.slow
def test_a_replaced_module_is_heard_again_when_its_own_baseline_is_whole() -> None:
    found = days(*ANOTHER, Fault("element", "L2+@M2+", 0.6e-3, 37.2), count=39)
    calm = seen(found[:37], exchange())
    assert (calm.grown, calm.inside, calm.strays, calm.waiting) == (None, (), (), ())
    again = seen(found, exchange())
    assert named(again) == ("M2",)
    assert again.grown is not None
    assert again.grown.size == pytest.approx(0.6e-3, abs=0.12e-3)


# --- what tells of an exchange


def test_a_serial_number_that_changes_and_a_hand_that_writes_it_down_are_one_exchange(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        for at, serial in (("M1", "A"), ("M2", "B"), ("M1", "A"), ("M2", "C"), ("M9", "D")):
            telemetry.event(SERIAL, at=at, words=serial)
        (heard,) = renewals_of(BANK, telemetry)
        assert (heard.place, heard.module) == ("M2", "M2")
        assert {"L2+", "L2+@M2+", "L2-"} <= heard.parts
        with Logbook(telemetry.path, BANK) as book:
            begin_anew(BANK, book, "M2")
            begin_anew(BANK, book, "L4+", when=Instant("2026-02-20T10:00:00+00:00"))
        cable, module = renewals_of(BANK, telemetry)
        assert (cable.place, cable.module) == ("L4+", None)
        assert datetime.fromtimestamp(cable.time, UTC).isoformat() == "2026-02-20T10:00:00+00:00"
        assert module.place == "M2"


# --- the alarm of it


@dataclass
class Still:
    """A clock of a day that a test is at; every look at it is a second."""

    seconds: float
    mono: float = 0.0

    def now(self) -> Instant:
        self.mono += 1.0
        return Instant(datetime.fromtimestamp(self.seconds, UTC).isoformat(), "pretend", self.mono, True)


class Nobody:
    """A line on which nobody is polled."""

    every = 1.0

    def run(self, sleep: Callable[[float], None], goes_on: Callable[[], bool] = lambda: True) -> Iterator[Told]:
        while goes_on():
            yield Told(None, "")


def heard_until(telemetry: Telemetry, found: tuple[Day, ...]) -> Still:
    for day in found:
        telemetry.put_state(day_name(int(day.hour[0]) // 24), FORM, packed(day))
    end = (found[-1].hour[-1] + 1) * 3600.0
    time = end - 60.0 + np.arange(2.0)
    good = np.zeros((2, 1), np.uint8)
    columns = [Columns("voltage", (name,), time, np.full((2, 1), 52.0), good) for name in WIRING.modules]
    telemetry.append_dated(*columns, source="pretend")
    return Still(end)


def listened(telemetry: Telemetry, clock: Still, got: list[Message]) -> None:
    """One look of a listener, and the polls after it."""
    bank = replace(BANK, watch=Watch(hold=0.0, silence=1e9))
    service = Service(bank, register_map(), Nobody(), telemetry, (Way("by hand", got.append),), clock)  # type: ignore[arg-type]
    run = service.run(lambda _: None)
    next(run)
    assert service._looker.wait(60.0)
    list(islice(run, 2))
    run.close()


@pytest.mark.slow
def test_the_listener_raises_a_growth_once_and_clears_it_when_it_was_mended(tmp_path: Path) -> None:
    found = days(Fault("element", "L2+@M2+", 1e-3, 16.2), count=18)
    got: list[Message] = []
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        clock = heard_until(telemetry, found)
        listened(telemetry, clock, got)
        listened(telemetry, clock, got)  # a restart raises nothing twice
        raised = telemetry.events("alarm-raised")
        assert {(event.detail["rule"], event.at) for event in raised} == {("joint", "L2+"), ("joint-past", "L2+")}
        assert len(raised) == len(got) == 2
        assert {message.rule: message.value for message in got}["joint"] == pytest.approx(1e-3, abs=0.15e-3)
        assert not telemetry.events("look-broken")
        told = watching(BANK, telemetry, clock=clock)
        standing = {f.case: f.verdict for f in told.findings if f.code == "W-ALARM-1"}
        assert standing == {"joint": "caution", "joint-past": "fail"}
        with Logbook(telemetry.path, BANK) as book:
            begin_anew(
                BANK, book, "L2+@M2+", when=Instant(datetime.fromtimestamp(clock.seconds - 1800, UTC).isoformat())
            )
        listened(telemetry, clock, got)
        assert {(e.detail["rule"], e.at) for e in telemetry.events("alarm-cleared")} == {
            ("joint", "L2+"), ("joint-past", "L2+"),
        }  # fmt: skip
        state = telemetry.state("alarms/standing")
        assert state is not None
        assert json.loads(state.blob) == []
