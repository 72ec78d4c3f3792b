"""Listening without end: what is stored, what is told, a port that goes away, and values that come from a run."""

from __future__ import annotations

from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import pytest

from bankwright.bank.read import read_bank
from bankwright.bus.pretend.virtual import VirtualWire
from bankwright.bus.wire.wire import WireGone
from bankwright.forms.readings import Columns
from bankwright.watch.listen import Listener
from bankwright.watch.practice import practice
from support.pretend_racks import NAMES, rack, register_map, targets

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


class Kept:
    def __init__(self) -> None:
        self.columns: list[Columns] = []
        self.events: list[tuple[str, str, str]] = []

    def append(self, *columns: Columns) -> None:
        self.columns += columns

    def event(self, code: str, *, at: str = "", **detail: Any) -> None:
        self.events.append((code, at, detail["words"]))


def listener(kept: Kept, *wires: VirtualWire | WireGone) -> Listener:
    left = list(wires)

    def open_wire() -> VirtualWire:
        wire = left.pop(0)
        if isinstance(wire, WireGone):
            raise wire
        return wire

    return Listener(open_wire, register_map(), targets(), 1.0, kept)


def test_what_is_heard_is_stored_before_it_is_told() -> None:
    kept = Kept()
    for count, told in enumerate(islice(listener(kept, rack()).run(lambda _: None), 3), 1):
        assert told.cycle is not None
        assert told.cycle.number == count
        assert told.stored == len(NAMES) * 19  # voltage, current, charge and 16 cells
        assert len([each for each in kept.columns if each.quantity == "voltage"]) == count * len(NAMES)
    assert kept.events[0][0] == "bus-open"
    assert sum(code == "module-text" for code, _, _ in kept.events) == 3  # one serial number a poll


def test_polls_keep_their_time() -> None:
    wire = rack()
    times = [told.cycle.start for told in islice(listener(Kept(), wire).run(lambda _: None), 5) if told.cycle]
    assert [round(b - a, 6) for a, b in pairwise(times)] == [1.0] * 4


def test_a_module_that_goes_and_comes_is_an_event_each_once() -> None:
    kept = Kept()
    list(islice(listener(kept, rack("reboot:M3=3 s@1.5")).run(lambda _: None), 15))
    assert [(code, at) for code, at, _ in kept.events if code in ("module-silent", "module-back")] == [
        ("module-silent", "M3"),
        ("module-back", "M3"),
    ]


def test_another_serial_number_at_an_address_is_an_event() -> None:
    kept = Kept()
    listening = listener(kept, rack(), WireGone("gone"), rack("serial:M2=OTHER-9"))
    waited: list[float] = []
    run = listening.run(waited.append)
    wire_polls = [next(run) for _ in range(6)]
    assert all(told.cycle for told in wire_polls)
    texts = [words for code, at, words in kept.events if code == "module-text" and at == "M2"]
    assert texts == ['{"serial": "PRETEND-M2", "before": null}']


def test_a_port_that_is_not_there_is_tried_again_less_and_less_often() -> None:
    kept, waited = Kept(), []
    gone = [WireGone("no port")] * 8
    run = listener(kept, *gone, rack()).run(waited.append)
    told = [next(run) for _ in range(9)]
    assert [each.cycle is None for each in told] == [True] * 8 + [False]
    assert waited == [1, 2, 4, 8, 16, 32, 60, 60]


class Breaking(VirtualWire):
    def ask(self, request: Any) -> float:
        if self.now() > 2.5:
            raise WireGone("pulled out")
        return super().ask(request)


def test_a_port_that_is_pulled_out_is_told_and_opened_again() -> None:
    kept = Kept()
    run = listener(kept, Breaking(rack().line), rack()).run(lambda _: None)
    told = [next(run) for _ in range(5)]
    assert [each.words for each in told if each.cycle is None] == ["pulled out"]
    assert [code for code, _, _ in kept.events if code.startswith("bus")] == ["bus-open", "bus-gone", "bus-open"]


def test_the_values_of_practice_come_from_a_run_of_the_bank() -> None:
    bank = read_bank(BARN)
    values = practice(bank)
    early, late = values(30.0), values(190.0)
    assert set(early) == {module.name for module in bank.modules}
    currents = [early[name]["current"] for name in early]
    assert all(isinstance(current, float) and 5 < current < 40 for current in currents)
    assert len(set(currents)) > 1  # they share by their own cables
    assert late["M1"]["soc"] < early["M1"]["soc"]
    assert values(330.0)["M1"]["current"] == pytest.approx(early["M1"]["current"])


def test_what_is_stored_is_read_back_from_the_logbook(tmp_path: Path) -> None:
    from bankwright.logbook.telemetry.store import open_telemetry

    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    with open_telemetry(file) as telemetry:
        listening = Listener(lambda: rack(), register_map(), targets(), 1.0, telemetry)
        stored = sum(told.stored for told in islice(listening.run(lambda _: None), 3))
    with open_telemetry(file, write=False) as telemetry:
        signals = telemetry.signals()
        codes = {event.code for event in telemetry.events()}
    assert stored == 3 * 5 * 19
    assert {"voltage", "current", "soc", "cell_voltage"} <= {signal.quantity for signal in signals}
    assert "M2.c16" in {signal.at for signal in signals}
    assert "bus-open" in codes


def test_a_listener_that_ended_has_no_limit_to_stay_under() -> None:
    from bankwright.watch.heard import _listens
    from bankwright.watch.listening import Life

    ended, silent = _listens(Life(12.0, True, 2.0)), _listens(Life(3600.0, False, 2.0))
    assert (ended.verdict, silent.verdict) == ("caution", "caution")
    assert ended.limits == (None, None)
    assert silent.limits[1] is not None
