"""The capacity test: charge down and back up against the names, by rate and temperature; the weakest cell.

Gives: CapacityTest, CapacityTold, capacity_test(), CARDS. The band is +-2 % (95 %) there and back or with the zero
read, above 15 degC and near a fifth of the capacity; else what the table leaves open. A bank is failed only by a whole
test.
Limits: the sheet's own rate is taken as none where it is not given; never from a voltage; a bank's modules reach the
knee together, so each one's own count is its capacity, to its sensor's gain.
Sources: table lfp/capacity-test; 95 % of the name when new, 15 to 30 degC, 3 K: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import ordered
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.tables import look_up
from bankwright.physics.capacity import counted_capacity, sensor_offset, shift_between
from bankwright.prove.capacity.cells import weakest_finding
from bankwright.prove.capacity.read import CapacityRead, names_of

__all__ = ["CARDS", "CapacityTest", "CapacityTold", "capacity_test"]

NEW, WARM, HOT, EVEN = 0.95, 15.0, 30.0, 3.0  # of the name; degC; degC; K. Common practice, no source
RATES, STEADY = (0.1, 0.2, 0.5), (0.1, 0.3)  # of the capacity an hour
BAND, MODULE_GAIN, AGREE = 0.02, 0.01, 0.2  # 95 %; of a module's own sensor; A between a zero and an offset
WIDE = 1.96  # standard deviations of a middle 95 %
TABLE = Source("table lfp/capacity-test of the handbook", how_known="derived")
_WHY = "\n\nNot seen here: a full that is not the same at both ends.\nSource: with the figure."


def _card(code: str, title: str, formula: str, why: str, ends: str = "caution") -> Card:
    return Card(code, title, formula, TABLE, "code", ends, why + _WHY)  # type: ignore[arg-type]


CARDS: Mapping[str, Card] = {
    card.code: card
    for card in (
        _card("V-CAPACITY-1", "Capacity of the bank", "A_dis - o t_dis >= 95 % of the name",
              "Charge from full to empty, counted.\n\nWhy: the baseline of ten years.", "fail"),
        _card("V-CAPACITY-2", "Capacity of a module", "own count >= 95 % of its name",
              "Each module's own count over the same hours.\n\nWhy: in parallel all reach the knee together."),
        _card("V-CAPACITY-3", "Under what it was counted", "15 to 30 degC, 0.1 to 0.3 C, from full, there and back",
              "Temperature, rate, start, zero.\n\nWhy: a cold run one way with an unread zero proves nothing."),
        _card("V-CAPACITY-4", "The sensor's offset from both ways", "(A_dis - A_cha) / (t_dis + t_cha)",
              "What comes back is what went out.\n\nWhy: else the meter is read, not the bank.", "fail"),
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CapacityTold:
    """Capacity of the bank or of a module with its 95 % band, and its name. [Ah]"""

    at: str
    counted: Figure
    name: float | None


@dataclass(frozen=True, eq=False)
class CapacityTest:
    """The answer."""

    read: CapacityRead
    findings: tuple[Finding, ...]
    told: tuple[CapacityTold, ...]
    offset: float | None  # of the bank's sensor [A]
    band: float  # of the capacity
    shift: float  # part of the capacity that rate and cold hid; what is told has it added [-]
    whole: bool  # from full, there and back or zeroed, warm enough: may fail a bank

    def record(self) -> dict[str, Any]:
        """What the logbook keeps."""
        read = self.read
        ways = {"out": read.out, "back": read.back}
        return {
            **{name: None if way is None else {"charge": way.charge, "hours": way.hours} for name, way in ways.items()},
            "modules_out": dict(read.modules_out),
            "modules_back": dict(read.modules_back),
            "zeros": list(read.zeros),
            "cells_degc": dict(read.degc),
            "low": dict(read.low),
            "high": dict(read.high),
            "from_full": read.from_full,
            "rate": read.rate,
            "offset": self.offset,
            "band": self.band,
            "shift": self.shift,
            "capacity": [
                {"at": t.at, "value": t.counted.value, "low": t.counted.low, "high": t.counted.high, "name": t.name}
                for t in self.told
            ],
            "findings": [{"code": f.code, "verdict": f.verdict, "at": list(f.at)} for f in self.findings],
        }


def capacity_test(read: CapacityRead) -> CapacityTest:
    """Judge a test."""
    offset, band, shift = _offset(read), _band(read), _shift(read)
    closes = _closes(read, offset)
    whole = _whole(read) and (closes is None or closes.verdict == "pass")
    told = tuple(_told(read, offset, band, shift))
    found = [*_conditions(read), *([] if closes is None else [closes])]
    found += [_of_bank(read, told[0], whole)] if told and told[0].at == "bank" else []
    found += [_of_module(each, told) for each in told if each.at != "bank"]
    weakest = weakest_finding(read, {each.at: each.counted.value for each in told})
    found += [] if weakest is None else [weakest]
    return CapacityTest(read, ordered(found), told, offset, band, shift, whole)


def _offset(read: CapacityRead) -> float | None:
    """From both ways where both were counted, else the zero that was read. [A]"""
    if read.out is not None and read.back is not None:
        return sensor_offset(read.out.charge, read.back.charge, read.out.hours, read.back.hours)
    return read.zero


def _table(degc: float | None, column: str) -> float:
    at = min(max(25.0 if degc is None else degc, -5.0), 25.0)
    return look_up("lfp/capacity-test", at, column, "between").value


def _shift(read: CapacityRead) -> float:
    """Part of the capacity that rate and cold hide; nought near the rate that sheets state, where it is warm. [-]"""
    rate, degc = read.rate or 0.2, read.cells_degc
    cold = shift_between(rate, tuple((r, _table(degc, f"shift_{r:.1f}".replace(".", ""))) for r in RATES))
    stated = _table(25.0, "shift_02")  # the name is stated at about a fifth of it, at 25 degC
    return max(cold - stated, 0.0)


def _band(read: CapacityRead) -> float:
    """Half of the 95 % band: +-2 % for a test that settles its offset, near a fifth and warm; else by the table. [-]"""
    column = "both_ways" if read.back is not None or read.zeros else "one_way"
    hard = "05" if (read.rate or 0.2) > STEADY[1] else "02"
    half = WIDE * _table(read.cells_degc, f"{column}_{hard}") + read.gain
    settled = column == "both_ways" and hard == "02" and (read.cells_degc or 0.0) >= WARM
    return BAND + read.gain if settled else max(half, BAND)


def _told(read: CapacityRead, offset: float | None, band: float, shift: float) -> Iterator[CapacityTold]:
    if read.out is not None:
        counted = counted_capacity(read.out.charge, offset or 0.0, read.out.hours)
        yield _one("bank", counted, shift, band, read.capacity)
    hours = 0.0 if read.out is None else read.out.hours
    back = 0.0 if read.back is None else read.back.hours
    for name, charge in read.modules_out.items():
        both = read.modules_back.get(name)
        own = sensor_offset(charge, both, hours, back) if both is not None and hours and back else 0.0
        half = band if both is not None else max(band, BAND + MODULE_GAIN)
        yield _one(name, counted_capacity(charge, own, hours), shift, half, names_of(read.bank)[name])


def _one(at: str, counted: float, shift: float, half: float, name: float | None) -> CapacityTold:
    value = counted / (1.0 - shift)
    return CapacityTold(at, Figure(value, "capacity_ah", value * (1.0 - half), value * (1.0 + half)), name)


def _whole(read: CapacityRead) -> bool:
    """May this test fail a bank: from full, the offset settled, warm enough."""
    degc = read.cells_degc
    return read.from_full and (read.back is not None or bool(read.zeros)) and degc is not None and degc >= WARM


def _closes(read: CapacityRead, offset: float | None) -> Finding | None:
    """The offset from both ways is a sensor's, and is what the zero showed; else neither counts."""
    if read.back is None or read.out is None or offset is None:
        return None
    card, figure = CARDS["V-CAPACITY-4"], Figure(offset, "current")
    mean = read.out.charge / read.out.hours
    apart = None if read.zero is None else abs(offset - read.zero)
    wrong = abs(offset) > BAND * mean or (apart is not None and apart > AGREE)
    text = say("Both ways leave the sensor an offset of {offset}", offset=figure)
    how = "Not the same full at both ends, a gain that differs by direction, or a load beside: count both ways again."
    missing = (asking("readings.bank.charge", how),) if wrong else ()
    return card.found("bank", figure, (None, None), text, say("{how}", how=how), missing=missing)


def _of_bank(read: CapacityRead, told: CapacityTold, whole: bool) -> Finding:
    card, figure = CARDS["V-CAPACITY-1"], Figure(told.counted.value, "capacity_ah")  # its band is in the words
    if told.name is None:
        gaps = tuple(asking(f"{m.kind.path}.capacity") for m in read.bank.modules if m.kind.capacity_ah is None)
        return card.found("bank", figure, (None, None), _words(told), _again(whole), missing=gaps)
    least = NEW * told.name
    surely = whole and (told.counted.high or 0.0) < least
    limits = (least, None)
    return card.found(
        "bank", figure, limits if surely else (None, None), _words(told), _again(whole),
        source=TABLE, caution_limits=None if surely else limits,
    )  # fmt: skip


def _words(told: CapacityTold) -> Say:
    part = "" if not told.name else f", {told.counted.value / told.name:.1%} of its name"
    half = Figure((told.counted.high or 0.0) - told.counted.value, "capacity_ah")
    counted = Figure(told.counted.value, "capacity_ah")
    return say("{at} has {counted} +-{half} (95 %){part}", at=told.at, counted=counted, half=half, part=part)


def _again(whole: bool) -> Say:
    if whole:
        return say("All alike low: not full at the start, or the sensor's gain. One low: its weakest cell.")
    return say("Again at {degc}, from full, there and back, before any claim on the maker.",
               degc=Figure(20.0, "temperature_degc"))  # fmt: skip


def _of_module(each: CapacityTold, told: tuple[CapacityTold, ...]) -> Finding:
    card, others = CARDS["V-CAPACITY-2"], [t for t in told if t.at not in ("bank", each.at)]
    if each.name is None:
        missing = (asking(f"modules.{each.at}.capacity"),)
        return card.found(each.at, each.counted, (None, None), _words(each), say(""), missing=missing)
    share = each.counted.value / each.name
    mean = sum(t.counted.value / t.name for t in others if t.name) / len(others) if others else share
    alike = " as the others" if abs(share - mean) < BAND else f"; the others have {mean:.1%}"
    text = say("{told}{alike}", told=_words(each).text(), alike=alike)
    do = say("Its weakest cell: first at the end and highest at the top is capacity, low at both is charge.")
    least = NEW * each.name
    low = (each.counted.high or 0.0) < least  # its whole band lies below
    return card.found(
        each.at, Figure(each.counted.value, "capacity_ah"), (None, None), text, do,
        source=TABLE, case="a module beside the others", caution_limits=(least, None) if low else None,
    )  # fmt: skip


def _conditions(read: CapacityRead) -> Iterator[Finding]:
    """Temperature, rate, start and zero: each a finding of its own."""
    card, degc, rate = CARDS["V-CAPACITY-3"], read.cells_degc, read.rate
    low, high, even = (Figure(WARM, "temperature_degc"), Figure(HOT, "temperature_degc"),
                       Figure(EVEN, "temperature_difference"))  # fmt: skip
    warm = say("Cells between {low} and {high}, within {even} of each other; again when the room is.",
               low=low, high=high, even=even)  # fmt: skip
    if degc is None:
        missing = (asking("readings.bank.temperature_degc", "Temperature of the cells during the test."),)
        yield card.found(
            "bank", None, (None, None), say("Its temperature was not read"), warm, missing=missing, case="temperature"
        )
    else:
        figure = Figure(degc, "temperature_degc")
        text = say("Cells at {degc}", degc=figure)
        yield card.found("bank", figure, (None, None), text, warm, caution_limits=(WARM, HOT), case="temperature")
        spread = max(read.degc.values()) - min(read.degc.values())
        gap = Figure(spread, "temperature_difference")
        yield card.found(
            "bank",
            gap,
            (None, None),
            say("Modules differ by {gap}", gap=gap),
            warm,
            caution_limits=(None, EVEN),
            case="modules' temperatures",
        )
    if rate is not None:
        figure = Figure(rate, "ratio")
        text = say("Discharged with {rate} of the capacity an hour", rate=figure)
        do = say("A fifth of the capacity: a steady load.")
        yield card.found("bank", figure, (None, None), text, do, caution_limits=STEADY, case="rate")
    lacks = [] if read.from_full else ["it did not begin at full"]
    lacks += [] if read.back is not None or read.zeros else ["one way, and the sensor's zero was not read"]
    figure = Figure(float(len(lacks)), "count")
    text = say("{what}", what=" and ".join(lacks) or "from full, its offset settled")
    do = say("Full is: every highest cell at 3.45 V, current below a twentieth for ten minutes; then down and back up.")
    yield card.found("bank", figure, (None, None), text, do, caution_limits=(None, 0.0), case="how it was counted")
