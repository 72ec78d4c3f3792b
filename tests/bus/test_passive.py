"""Values that come by themselves: each with its own time, stale when too old, stored once; a listener takes them."""

from __future__ import annotations

from itertools import islice

import pytest

from bankwright.bus.exchange import Outcome
from bankwright.bus.map.decode import Decoded
from bankwright.bus.passive import Arrival, Standing
from bankwright.bus.poll import Cycle, columns
from bankwright.bus.wire.wire import WireGone
from bankwright.forms.readings import GOOD, MISSING, TIME_UNSURE, Columns
from bankwright.watch.listen import Listener
from support.pretend_racks import register_map


def arrival(module: str, signal: str, value: float, time: float, quality: int = GOOD) -> Arrival:
    return Arrival(module, signal, Decoded(value, quality=quality), time)


def standing(stale: float = 10.0) -> Standing:
    return Standing(("M1", "M2"), lambda signal: stale, 0.0)


def test_each_value_keeps_its_own_time_and_is_stored_once() -> None:
    held = standing()
    held.take(arrival("M1", "voltage", 53.1, 1.2))
    held.take(arrival("M1", "current", -4.0, 1.9))
    held.take(arrival("M1", "cell 1", 3.3, 1.3))
    held.take(arrival("M1", "cell 2", 3.31, 1.4))
    first = held.cycle(2.0)
    held.take(arrival("M1", "current", -5.0, 2.9))
    second = held.cycle(3.0)
    tables = {each.quantity: each for each in columns([first], register_map())}
    assert {name: list(each.time) for name, each in tables.items()} == {
        "voltage": [1.2], "current": [1.9], "cell_voltage": [1.3],
    }  # fmt: skip
    assert list(tables["cell_voltage"].quality[0][:3]) == [GOOD, GOOD, MISSING]
    assert second.heard[0].values["voltage"].value == 53.1, "it still stands for whoever judges"
    again = columns([second], register_map())
    assert [(each.quantity, each.value.tolist()) for each in again] == [("current", [[-5.0]])]


def test_what_is_too_old_stands_no_more_and_its_module_is_silent() -> None:
    held = standing(stale=10.0)
    held.take(arrival("M1", "voltage", 53.1, 1.0))
    assert [each.outcome for each in held.cycle(2.0).heard] == [Outcome.ANSWER, Outcome.SILENCE]
    assert [each.outcome for each in held.cycle(11.0).heard] == [None, Outcome.SILENCE]
    assert [each.outcome for each in held.cycle(11.1).heard] == [Outcome.SILENCE, Outcome.SILENCE]
    assert held.stale("M1", 11.1) == ("voltage",)
    assert held.values("M1", 11.1) == {}


def test_what_has_no_time_of_its_own_is_neither_stored_nor_a_sign_of_life() -> None:
    held = standing()
    held.take(arrival("M1", "voltage", 53.1, 1.0, TIME_UNSURE))
    cycle = held.cycle(2.0)
    assert cycle.heard[0].outcome is Outcome.SILENCE
    assert columns([cycle], register_map()) == ()
    held.take(arrival("M1", "current", 2.0, 2.5))
    cycle = held.cycle(3.0)
    assert cycle.heard[0].values["voltage"].quality == TIME_UNSURE
    assert [each.quantity for each in columns([cycle], register_map())] == ["current"]
    held.take(arrival("M1", "current", 9.0, 3.5, TIME_UNSURE))
    assert held.values("M1", 3.6)["current"].value.value == 2.0, "a kept message does not replace a live one"


def test_others_and_late_comers_change_nothing() -> None:
    held = standing()
    for each in (arrival("M9", "voltage", 1.0, 1.0), arrival("M1", "voltage", 53.0, 5.0)):
        held.take(each)
    held.take(arrival("M1", "voltage", 52.0, 4.0))
    assert held.values("M1", 5.0)["voltage"].value.value == 53.0
    assert held.values("M9", 5.0) == {}


class Speaks:
    """A source that says one thing a second, and goes away after some."""

    name = "speaks"

    def __init__(self, cycles: int) -> None:
        self.left, self.clock, self.held = cycles, 0.0, standing()

    def now(self) -> float:
        return self.clock

    def sleep(self, seconds: float) -> None:
        self.clock += seconds

    def cycle(self) -> Cycle:
        if not self.left:
            raise WireGone("speaks went away")
        self.left -= 1
        self.clock += 1.0
        self.held.take(arrival("M2", "voltage", 53.0, self.clock - 0.5))
        return self.held.cycle(self.clock, ", 1 message")

    def close(self) -> None:
        pass


class Kept:
    def __init__(self) -> None:
        self.columns: list[Columns] = []
        self.events: list[str] = []

    def append(self, *columns: Columns) -> None:
        self.columns += columns

    def event(self, code: str, *, at: str = "", **detail: str) -> None:
        self.events.append(code)


def test_a_listener_takes_what_comes_by_itself() -> None:
    kept, waited = Kept(), list[float]()
    listener = Listener(lambda: Speaks(2), register_map(), (), 1.0, kept)
    told = list(islice(listener.run(waited.append), 3))
    assert [each.words for each in told] == ["1 of 2 heard, 1 message"] * 2 + ["speaks went away"]
    assert [list(each.time) for each in kept.columns] == [[0.5], [1.5]]
    assert "module-silent" in kept.events
    assert waited == []


@pytest.mark.parametrize("count", [5])
def test_one_that_goes_away_before_it_said_anything_is_tried_less_and_less_often(count: int) -> None:
    waited: list[float] = []
    listener = Listener(lambda: Speaks(0), register_map(), (), 1.0, None)
    list(islice(listener.run(waited.append), count + 1))
    assert waited == [1.0, 2.0, 4.0, 8.0, 16.0]
