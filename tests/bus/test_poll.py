"""Polling: what leaves as columns, gaps that stay gaps, late and damaged replies, modules that go and come."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bankwright.bus.exchange import Outcome, Patience, exchange
from bankwright.bus.map.decode import GOOD, NOT_AVAILABLE
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.poll import Cycle, Poller, columns
from bankwright.bus.pretend.virtual import VirtualTcp
from support.pretend_racks import NAMES, rack, register_map, targets

pytestmark = pytest.mark.quick


def cycles(count: int, *troubles: str, period: float = 1.0) -> tuple[list[Cycle], Poller]:
    wire = rack(*troubles)
    poller = Poller(wire, register_map(), targets())
    found = []
    for _ in range(count):
        begun = wire.now()
        found.append(poller.cycle())
        wire.sleep(begun + period - wire.now())
    return found, poller


def table(found: list[Cycle], quantity: str, module: str):  # type: ignore[no-untyped-def]
    made = [
        each for each in columns(found, register_map()) if each.quantity == quantity and each.at[0].startswith(module)
    ]
    return made[0] if made else None


def test_columns_hold_si_values_with_the_modules_own_times() -> None:
    found, _ = cycles(3)
    volts, cells = table(found, "voltage", "M2"), table(found, "cell_voltage", "M2")
    assert volts.at == ("M2",)
    assert np.allclose(volts.value[:, 0], 52.61)
    assert cells.at[:2] == ("M2.c1", "M2.c2")
    assert cells.value.shape == (3, 16)
    assert (cells.quality == GOOD).all()
    assert volts.time[0] > table(found, "voltage", "M1").time[0]  # each module its own
    amperes = table(found, "current", "M2")
    assert np.allclose(amperes.value, 3.0)
    assert (amperes.time == volts.time).all()  # of one transaction
    assert not amperes.value.flags.writeable


def test_a_gap_is_a_gap_and_a_sentinel_is_no_value() -> None:
    found, _ = cycles(6, "reboot:M3=2 s@1.5", "sentinel:M4")
    assert len(table(found, "voltage", "M1").time) == 6
    assert 2 <= len(table(found, "voltage", "M3").time) < 6
    cells = table(found, "cell_voltage", "M4")
    assert np.isnan(cells.value).all()
    assert (cells.quality == NOT_AVAILABLE).all()


def test_a_module_that_comes_back_is_heard_again() -> None:
    found, _ = cycles(12, "reboot:M3=2 s@1.5")
    outcomes = [next(h.outcome for h in cycle.heard if h.module == "M3") for cycle in found]
    assert Outcome.SILENCE in outcomes
    assert outcomes[-1] is Outcome.ANSWER


def test_a_frozen_module_stays_as_it_was() -> None:
    wire = rack("frozen:M2@0")
    assert wire.line.modules[1].frozen_at == 0.0


def test_a_late_module_gets_more_time_and_is_never_mistaken_for_another() -> None:
    found, poller = cycles(5, "late:M2=0.45 s")
    assert poller.standing["M2"].timeout is not None
    assert [h.outcome for h in found[0].heard][1] is Outcome.LATE
    assert found[-1].answered == len(NAMES)
    for k, name in enumerate(NAMES):
        assert np.allclose(table(found, "voltage", name).value, 52.6 + k / 100)


@pytest.mark.parametrize("trouble", ["damage=30 %", "cut=30 %", "noise=50 %", "drop=30 %", "late:M3=0.35 s"])
def test_no_value_is_ever_wrong_whatever_the_line_does(trouble: str) -> None:
    found, _ = cycles(30, trouble)
    for k, name in enumerate(NAMES):
        made = table(found, "voltage", name)
        assert np.allclose(made.value, 52.6 + k / 100)
    answered = sum(cycle.answered for cycle in found)
    assert answered > 30 * len(NAMES) * 0.6


def test_polls_go_on_beside_an_echo() -> None:
    found, poller = cycles(2, "echo")
    assert poller.echo
    assert all(cycle.answered == len(NAMES) for cycle in found)


def test_an_answer_with_another_address_is_left_aside_until_the_limit() -> None:
    wire = rack()
    wire.line.modules[0].unit = 9
    original = wire.line.modules[0].reply
    wire.line.modules[0].reply = lambda frame, now: original(b"\x09" + frame[1:-2] + b"", now)  # type: ignore[method-assign]
    done = exchange(wire, Request(7, Function.INPUT, 0, 2), Patience(0.3))
    assert done.outcome is Outcome.SILENCE
    assert done.took >= 0.3


def test_tcp_reads_the_same_values() -> None:
    wire = rack()
    poller = Poller(VirtualTcp(wire.line.modules), register_map(), targets())
    cycle = poller.cycle()
    assert cycle.answered == len(NAMES)
    volts = [each for each in columns([cycle], register_map()) if each.quantity == "voltage"]
    assert [math.floor(float(v.value[0, 0]) * 100 + 0.5) for v in volts] == [5260, 5261, 5262, 5263, 5264]
