"""Limits by which a survey of the data bus tells one thing from another, from both sides.

Computed figures stand 0.1 % apart from their limit, counts one step. The limits are our own choice but for those of the
line: 54 ohm are what a driver wants (TIA-485, read in physics/data_line), two thirds of the speed of light in cable.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from bankwright.bus.can import survey as can_survey
from bankwright.bus.can.tally import Tally
from bankwright.bus.exchange import Outcome
from bankwright.bus.map.decode import Decoded
from bankwright.bus.modbus.taken import Chunk
from bankwright.bus.poll import Target
from bankwright.bus.survey.explain import clean, modules, rounds, values
from bankwright.bus.survey.facts import Asked, Expected, Facts, Listened
from bankwright.bus.timing import Framing

pytestmark = pytest.mark.quick

LINE = Framing(9600, "none", 1)
MODULES = (Target("M1", 1), Target("M2", 2))
NOTHING = Listened(1.0, LINE, Chunk())


def codes(found: object) -> dict[str, str]:
    """Verdict by code."""
    return {each.code: each.verdict for each in found}  # type: ignore[attr-defined]


def of_cells(cells: list[float], whole: float) -> dict[str, str]:
    """A module of some cells and its own voltage."""
    names = [f"c{k}" for k in range(len(cells))]
    signals = {"cell_voltage": [SimpleNamespace(name=n) for n in names], "voltage": [SimpleNamespace(name="U")]}
    known = SimpleNamespace(of=lambda quantity: signals.get(quantity, []), signals=[])
    read = {n: Decoded(v, quality=0) for n, v in zip([*names, "U"], [*cells, whole], strict=True)}
    expected = Expected(MODULES, register_map=known)  # type: ignore[arg-type]
    return codes(values.wrong_values(Facts(expected, LINE, NOTHING, {1: Asked(1, (), values=read)})))


@pytest.mark.parametrize(
    ("volts", "is_wrong"),
    [(1.4985, True), (1.5, False), (1.5015, False), (4.4955, False), (4.5, False), (4.5045, True)],
)
def test_no_cell_reads_outside_1_5_to_4_5_volts(volts: float, is_wrong: bool) -> None:
    cells = [volts] * 4
    assert of_cells(cells, sum(cells)) == ({"BUS-VALUES": "fail"} if is_wrong else {})


@pytest.mark.parametrize(("part", "is_wrong"), [(0.01998, False), (0.02002, True), (-0.01998, False), (-0.02002, True)])
def test_cells_add_up_to_the_modules_voltage_within_two_hundredths(part: float, is_wrong: bool) -> None:
    # the share is of what the module says: four cells of 3.25 V beside U with 13 = U (1 + part)
    assert of_cells([3.25] * 4, 13.0 / (1.0 + part)) == ({"BUS-VALUES": "fail"} if is_wrong else {})


@pytest.mark.parametrize(("count", "told"), [(3, True), (4, False)])
def test_three_cells_do_not_make_a_sum(count: int, told: bool) -> None:
    assert (of_cells([3.25] * count, 3.25 * count * 2.0) == {}) is told


def held(seconds: float) -> dict[str, str]:
    return codes(values.adapter(Facts(Expected(MODULES, adapter_holds=seconds), LINE, NOTHING)))


def test_an_adapter_may_hold_bytes_for_two_milliseconds() -> None:
    assert [held(t) for t in (1.998e-3, 2e-3, 2.002e-3)] == [{}, {}, {"BUS-HELD": "caution"}]


def ends(count: int | None, length: float | None = None, framing: Framing = LINE) -> dict[str, str]:
    expected = Expected(MODULES, terminators=count, length=length)
    return codes(values.terminators(Facts(expected, framing, NOTHING)))


def test_two_terminators_and_no_third() -> None:
    assert [ends(n, 1000.0) for n in (1, 2, 3)] == [{"BUS-ENDS": "caution"}, {}, {"BUS-ENDS": "fail"}]
    assert ends(None) == {"BUS-ENDS": "unknown"}


@pytest.mark.parametrize(("part", "verdict"), [(0.999, "pass"), (1.001, "caution")])
def test_a_short_line_needs_no_terminators(part: float, verdict: str) -> None:
    # there and back in a twentieth of a bit of 9600 bit/s, at 0.66 of the speed of light: 515 m
    length = 0.05 / 9600 * 0.66 * 299_792_458 / 2.0
    assert ends(0, part * length) == {"BUS-ENDS": verdict}


@pytest.mark.parametrize(("share", "is_flooded"), [(0.2997, False), (0.3003, True)])
def test_a_line_that_is_busy_three_tenths_of_the_time_is_flooded(share: float, is_flooded: bool) -> None:
    # 288 characters of ten bits at 9600 bit/s are 0.3 s
    heard = Listened(288 * 10 / 9600 / share, LINE, Chunk(b"\x5a" * 288, b"\0" * 288))
    assert heard.flooded is is_flooded


def tries(*outcomes: Outcome) -> tuple[SimpleNamespace, ...]:
    return tuple(
        SimpleNamespace(outcome=each, reply=None, got=Chunk(), request=SimpleNamespace(unit=1)) for each in outcomes
    )


def later(silent: list[bool], lost: int, of: int = 20) -> dict[str, str]:
    """M1 answered of so many tries all but some, then rounds in which it was silent or not."""
    made = tries(*[Outcome.SILENCE] * lost, *[Outcome.ANSWER] * (of - lost))
    asked = Asked(1, made, rounds=tuple(None if s else {"U": 52.0} for s in silent), apart=5.0)  # type: ignore[arg-type]
    return codes(rounds.away(Facts(Expected(MODULES), LINE, NOTHING, {1: asked})))


def test_a_module_was_away_after_two_silent_rounds_on_a_line_that_loses_a_tenth_at_most() -> None:
    away = {"BUS-AWAY": "caution"}
    assert later([False, True, False], 0) == away  # one round, where no reply was ever lost
    assert later([False, True, False], 1) == {}
    assert [later([False, True, True], lost) for lost in (2, 3)] == [away, {}]  # a tenth of 20
    assert later([False, False, False], 0) == {}


def standing(values_each: int, moves: int, apart: float = 1.0, count: int = 3) -> dict[str, str]:
    """M1 stands still while some values of M2 move."""
    still = tuple({f"v{k}": 1.0 for k in range(values_each)} for _ in range(count))
    moving = tuple({f"v{k}": float(n if k < moves else 0) for k in range(4)} for n in range(count))
    asked = {1: Asked(1, (), rounds=still, apart=apart), 2: Asked(2, (), rounds=moving, apart=apart)}
    return codes(rounds.frozen(Facts(Expected(MODULES), LINE, NOTHING, asked)))


def test_values_stand_still_when_three_of_others_moved_for_two_seconds() -> None:
    frozen = {"BUS-FROZEN": "caution"}
    assert [standing(3, 3), standing(2, 3), standing(3, 2)] == [frozen, {}, {}]
    assert [standing(3, 3, apart) for apart in (0.999, 1.0, 1.001)] == [{}, frozen, frozen]
    assert standing(3, 3, 4.0, count=2) == {}  # three readings


def damage(errors: int, frames: int) -> dict[str, str]:
    tally = Tally()
    tally.errors, tally.frames = errors, frames
    return codes(can_survey._damaged(tally))


def test_more_than_a_tenth_of_error_frames_fails() -> None:
    told = [damage(e, f) for e, f in ((0, 100), (100, 901), (100, 900), (100, 899))]
    assert told == [{}, *({"BUS-DAMAGED": verdict} for verdict in ("caution", "caution", "fail"))]


def doubled(count: int, seconds: float = 9.0) -> dict[str, str]:
    """So many messages of M1 whose pace is a second."""
    message = SimpleNamespace(name="A", cycle=1.0, is_multiplexed=False)
    route = SimpleNamespace(message=message, meant=[SimpleNamespace(number_in=None)])
    tally = Tally()
    tally.told["A", "M1"] = count
    facts = SimpleNamespace(seconds=seconds)
    return codes(can_survey._doubled(facts, tally, SimpleNamespace(routes={1: route})))  # type: ignore[arg-type]


def test_a_message_comes_twice_as_often_from_sixteen_tenths_of_its_pace_on() -> None:
    # 1.6 x (9 + 1) = 16; and eight at least: 1.6 x (3 + 1) = 6.4
    assert [doubled(n) for n in (15, 16)] == [{}, {"BUS-DOUBLED": "caution"}]
    assert [doubled(n, 3.0) for n in (7, 8)] == [{}, {"BUS-DOUBLED": "caution"}]


def damaged_at(bad: int, good: int) -> bool:
    made = tries(*[Outcome.BROKEN] * bad, *[Outcome.ANSWER] * good)
    asked = {1: Asked(1, made), 2: Asked(2, tries(*[Outcome.ANSWER] * 4))}  # type: ignore[arg-type]
    return 1 in modules.doubled_units(Facts(Expected(MODULES), LINE, NOTHING, asked))


def test_half_of_all_tries_and_three_at_least_are_two_at_one_address() -> None:
    assert [damaged_at(bad, good) for bad, good in ((3, 3), (3, 4), (2, 0), (3, 0))] == [True, False, False, True]
    one = Asked(1, (), jumps=2)
    facts = Facts(Expected(MODULES), LINE, NOTHING, {1: one})
    assert modules.doubled_units(facts) == {}
    assert modules.doubled_units(replace(facts, asked={1: replace(one, jumps=3)})) == {1: "jumps"}


def unanswered(silent: int) -> dict[str, str]:
    asked = {1: Asked(1, tries(*[Outcome.SILENCE] * silent, *[Outcome.ANSWER] * 8))}  # type: ignore[arg-type]
    return codes(clean.gaps(Facts(Expected(MODULES), LINE, NOTHING, asked)))


def test_two_requests_without_answer_are_said() -> None:
    assert [unanswered(n) for n in (1, 2)] == [{}, {"BUS-GAPS": "caution"}]


def cut(count: int, whole: int) -> dict[str, str]:
    """At each of two addresses: damage at one alone would be two modules there."""
    made = tries(*[Outcome.CUT] * count, *[Outcome.ANSWER] * whole)
    asked = {unit: Asked(unit, made) for unit in (1, 2)}  # type: ignore[arg-type]
    return codes(clean.cut_short(Facts(Expected(MODULES), LINE, NOTHING, asked)))


def test_three_replies_that_end_early_are_said_and_more_than_half_fail() -> None:
    assert [cut(1, 8), cut(2, 8)] == [{}, {"BUS-CUT": "caution"}]
    assert [cut(4, 4), cut(5, 4)] == [{"BUS-CUT": "caution"}, {"BUS-CUT": "fail"}]
