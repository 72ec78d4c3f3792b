"""The one sentence: what makes a bank well, what cannot be told, and what can never be heard."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bankwright.bank.read import read_bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.watch.alarms.section import STANDS
from bankwright.watch.cells.section import READS
from bankwright.watch.charge.section import SENSORS, TOGETHER
from bankwright.watch.heard import HEARD
from bankwright.watch.joints.cards import GROWN, READY, STRAY
from bankwright.watch.say.doubts import doubts_of, with_doubts
from bankwright.watch.say.due import Due, due_section
from bankwright.watch.say.standing import Standing, standing_of
from bankwright.watch.say.words import band_text
from bankwright.watch.section import Lane, Mark, Row, Section, StandIn

BANK = read_bank(Path(__file__).parents[2] / "demo" / "barn.toml")
CHOICE = Source("our choice", how_known="common practice, no source")
OTHER = Card("W-OTHER-1", "Something of another room", "x", CHOICE)
DAY = 86400.0
NOW = 1_750_000_000.0  # 15 June 2025


def passed(card: Card, at: str = "M1") -> Finding:
    return card.found(at, None, (None, None), say("All is as it should be"), say("Nothing."))


def caution(card: Card, words: str, at: str | tuple[str, ...] = "M1", **more: object) -> Finding:
    return card.found(at, None, (None, None), say(words), say("Look at it. Then wait."), forced="caution", **more)  # type: ignore[arg-type]


def fails(card: Card, words: str, at: str = "M1", **more: object) -> Finding:
    return card.found(at, None, (None, None), say(words), say("Loads off."), forced="fail", **more)  # type: ignore[arg-type]


def unknown(card: Card, lacks: str = "", key: str = "telemetry.x", at: str = "M1") -> Finding:
    return card.unknown(at, (Missing(key, "Read it.", "measure", lacks=lacks),))


SILENT = HEARD.found(
    "M2", Figure(720.0, "time"), (None, None), say("{m} was last heard {t} ago", m="M2", t=Figure(720.0, "time")),
    say("Survey."), missing=(Missing("telemetry.M2.voltage", "Listen.", "measure", lacks="M2: not heard"),),
)  # fmt: skip
HEARS = Section("heard", "Who is heard", (passed(HEARD, "M1"), passed(HEARD, "M2")))


def joints(*findings: Finding) -> Section:
    flag = Mark(NOW - 25 * DAY, "growth first seen")
    lanes = (Lane("M4 branch", "resistance", (), (), (), (), marks=(flag,)),) if GREW in findings else ()
    return Section("joints", "Growth of joints", findings, lanes=lanes)


def charge(*findings: Finding) -> Section:
    return Section("charge", "State of charge", findings, (Row("M1", None, None, say("60 %")),))


def stands_in(what: str, why: str, reading: str, days: float) -> Due:
    state = "overdue" if days < -1 else "to come"
    return Due(reading, reading, "Do it.", f"{what}: {why}", (), NOW + days * DAY, state, None, "stands in", CHOICE)


def with_due(sections: tuple[Section, ...], *due: Due, answers: tuple[str, ...] = ()) -> Standing:
    """As the report puts them together: the sections carry what is answered for, the list of what is due is one."""
    one = StandIn("x", "y", "z", "a", DAY, CHOICE, "z", answers)
    whole = tuple(replace(s, stand_ins=(one,)) if answers and s.name == "joints" else s for s in sections)
    return standing_of(BANK, (*whole, due_section(due)), due)


COARSE = unknown(READY, "voltage too coarse (step 100 mV)", "bus.map", "M1")
MILLIVOLTS = stands_in("joints", "voltage too coarse", "millivolts", 100)
CAPACITY = stands_in("the capacity", "ends not visited", "a capacity test", 365)
LATE = stands_in("joints", "voltage too coarse", "millivolts", -100)
GREW = GROWN.found(
    ("L4+@M4+", "L4-@M4-"), Figure(2.1e-4, "resistance", 1.7e-4, 2.5e-4), (None, 3e-4),
    say("{p} {has} grown by {s}{since}; {seat}", p="L4+@M4+, L4-@M4-", has="has", s=Figure(2.1e-4, "resistance"),
        since=", seen since 2025-03-02 04:00 UTC", seat="shares and drops agree"),
    say("Look: millivolts."), forced="caution",
)  # fmt: skip
LOOK = Due(GROWN.code, "grown", "Look.", "grown", ("L4+@M4+",), NOW + 5 * DAY, "to come", None, "data", CHOICE)
HOT = fails(STANDS, "M3: too warm: 58 °C when it was raised; its limit is 55 °C", "M3", case="hot")

BROKE = OTHER.found((), None, (None, None), say("{name}: x", name="joints"), say("Report it."), forced="fail")
HUMMING = tuple(caution(replace(OTHER, code=f"W-OTHER-{k}"), f"M{k} hums") for k in range(1, 6))

# what was found, what is due, what a stand-in answers for; the verdict and the sentence
CASES: dict[str, tuple[tuple[Section, ...], tuple[Due, ...], tuple[str, ...], str, str]] = {
    "all passes": ((HEARS, joints(passed(GROWN))), (), (), "well", "Well."),
    "one caution": (
        (HEARS, charge(caution(TOGETHER, "M1 holds 6 % more than the mean"))), (), (), "well",
        "Well, with one thing to do: M1 holds 6 % more than the mean (look at it).",
    ),
    "two cautions": (
        (HEARS, charge(caution(TOGETHER, "M1 holds more"), caution(OTHER, "A fan is loud; or not"))), (), (), "well",
        "Well, with 2 things to do: M1 holds more (look at it); a fan is loud (look at it).",
    ),
    "five cautions": (
        (HEARS, Section("x", "X", HUMMING)),
        (), (), "well",
        "Well, with 5 things to do: M1 hums (look at it); M2 hums (look at it); M3 hums (look at it); and 2 more.",
    ),
    "grown": (
        (HEARS, joints(GREW)), (LOOK,), (), "well",
        "Well, with one thing to do: the branch of M4 has grown by 210 ± 40 µΩ since 21 May 2025,"
        " which joint in it cannot be told from here: millivolts by 20 June 2025.",
    ),
    "coarse, read in time": (
        (HEARS, joints(COARSE)), (MILLIVOLTS,), (READY.code,), "well as far as can be heard",
        "Well as far as can be heard; joints cannot be heard here (voltage too coarse): millivolts by September 2025.",
    ),
    "coarse and a caution": (
        (HEARS, joints(COARSE), charge(caution(TOGETHER, "M1 holds more"))), (MILLIVOLTS,), (READY.code,),
        "well as far as can be heard",
        "Well as far as can be heard, with one thing to do: M1 holds more (look at it); joints cannot be heard here"
        " (voltage too coarse): millivolts by September 2025.",
    ),
    "coarse, and the capacity": (
        (HEARS, joints(COARSE)), (MILLIVOLTS, CAPACITY), (READY.code,), "well as far as can be heard",
        "Well as far as can be heard; not to be heard here: joints (millivolts by September 2025), the capacity (a"
        " capacity test by June 2026).",
    ),
    "coarse, overdue": (
        (HEARS, joints(COARSE)), (LATE,), (READY.code,), "cannot be told",
        "Cannot be told: joints, voltage too coarse: millivolts due since March 2025.",
    ),
    "coarse, and nothing stands in": (
        (HEARS, joints(COARSE)), (), (), "cannot be told", "Cannot be told: voltage too coarse (step 100 mV).",
    ),
    "still learning": (
        (HEARS, joints(unknown(READY, "the baseline has 3 of 14 days"))), (), (), "cannot be told",
        "Cannot be told: the baseline has 3 of 14 days.",
    ),
    "still learning, elsewhere coarse": (
        (HEARS, joints(COARSE), charge(unknown(OTHER, "too little was heard"))), (MILLIVOLTS,), (READY.code,),
        "cannot be told", "Cannot be told: too little was heard.",
    ),
    "silent": (
        (Section("heard", "Who is heard", (passed(HEARD), SILENT)), joints(passed(GROWN))), (), (), "cannot be told",
        "Cannot be told: M2 was last heard 12.0 min ago.",
    ),
    "silent, and a caution": (
        (Section("heard", "Who is heard", (SILENT,)), charge(caution(TOGETHER, "M1 holds more"))), (), (),
        "cannot be told",
        "Cannot be told: M2 was last heard 12.0 min ago. To do besides: M1 holds more (look at it).",
    ),
    "a limit is not given": (
        (HEARS, Section("alarms", "Alarms", (unknown(OTHER, "", "kinds.module.a.charge.highest"),))), (), (),
        "cannot be told", "Cannot be told: kinds.module.a.charge.highest is not given.",
    ),
    "an alarm stands": (
        (HEARS, Section("alarms", "Alarms", (HOT,))), (), (), "not well",
        "Not well: M3: too warm: 58 °C when it was raised (loads off).",
    ),
    "an alarm stands while another is silent": (
        (Section("heard", "Who is heard", (SILENT,)), Section("alarms", "Alarms", (HOT,))), (), (), "not well",
        "Not well: M3: too warm: 58 °C when it was raised (loads off). Cannot be told besides: M2 was last heard 12.0"
        " min ago.",
    ),
    "an alarm stands and millivolts are late": (
        (HEARS, joints(COARSE), Section("alarms", "Alarms", (HOT,))), (LATE,), (READY.code,), "not well",
        "Not well: M3: too warm: 58 °C when it was raised (loads off). Cannot be told besides: joints, voltage too"
        " coarse: millivolts due since March 2025.",
    ),
    "a part broke": (
        (HEARS, joints(replace(BROKE, crashed="ZeroDivisionError: by hand"))), (),
        (), "cannot be told", "Cannot be told: ZeroDivisionError stopped the part on joints.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_the_sentence(name: str) -> None:
    sections, due, answers, verdict, sentence = CASES[name]
    found = with_due(sections, *due, answers=answers)
    assert (found.verdict, found.sentence) == (verdict, sentence)


@pytest.mark.parametrize("bad", [COARSE, SILENT, HOT, unknown(OTHER, "x"), LATE])
def test_well_bears_nothing_unknown_failing_or_late(bad: Finding | Due) -> None:
    """Whatever else passes: one of these, and the word "Well" does not come first."""
    sections = (HEARS, joints(passed(GROWN)), charge(passed(TOGETHER)))
    due = (bad,) if isinstance(bad, Due) else ()
    more = (Section("more", "More", (bad,)),) if isinstance(bad, Finding) else ()
    found = with_due((*sections, *more), *due)
    assert not found.sentence.startswith("Well")


DOUBTED = {
    "current": caution(SENSORS, "The current sensor of M1 lies 2 A off the mean of all"),
    "voltage": caution(STRAY, "The voltage that M1 tells has moved"),
    "cells": caution(READS, "M1: c3 reads 0.000 V"),
    "alarm": fails(STANDS, "M1: its sensors contradict each other", case="contradiction"),
}


@pytest.mark.parametrize(("sensor", "rests"), [("current", True), ("voltage", True), ("cells", False), ("alarm", True)])
def test_what_rests_on_a_contradicted_sensor_says_so(sensor: str, rests: bool) -> None:
    """A share of charge is counted from current and voltage; readings of cells have no part in it."""
    section = charge(caution(TOGETHER, "M1 holds 6 % more than the mean"), DOUBTED[sensor])
    found = standing_of(BANK, (HEARS, section))
    held = next(words for words in found.to_do if words.startswith("M1 holds"))
    assert ("contradicted" in held) == rests
    noted = list(with_doubts((HEARS, section), doubts_of(BANK, section.findings)))
    assert bool(noted[1].notes) == rests
    assert not noted[0].notes


def test_a_sensor_of_another_module_is_no_matter() -> None:
    section = charge(caution(TOGETHER, "M1 holds more"), caution(SENSORS, "The sensor of M3 is off", "M3"))
    found = standing_of(BANK, (HEARS, section))
    assert not any("contradicted" in words for words in found.to_do if words.startswith("M1"))


def test_growth_past_its_limit_is_not_well_and_names_the_limit() -> None:
    grew = replace(GREW, forced=None, figure=Figure(4e-4, "resistance", 3.5e-4, 4.5e-4))
    found = with_due((HEARS, joints(grew)), LOOK)
    assert found.verdict == "not well"
    assert "400 ± 50 µΩ, its limit is 300 µΩ" in found.sentence
    assert found.sentence.endswith("millivolts now.")


@pytest.mark.parametrize(
    ("figure", "words"),
    [
        (Figure(2.1e-4, "resistance", 1.7e-4, 2.5e-4), "210 ± 40 µΩ"),
        (Figure(1.07e-7, "resistance", -2.1e-5, 2.121e-5), "0 ± 21 µΩ"),
        (Figure(9e-4, "resistance", -2e-4, 2.0e-3), "900 µΩ (−200 µΩ to 2 mΩ)"),
        (Figure(0.61, "soc", 0.55, 0.70), "61.0 % (55 % to 70 %)"),
        (Figure(20.4, "temperature_degc", 19.4, 21.4), "20.4 °C (19 °C to 21 °C)"),
        (Figure(5.0, "current", 5.0, 5.0), "5.00 A"),
        (Figure(5.0, "current"), "5.00 A"),
    ],
)
def test_a_figure_is_no_finer_than_its_band(figure: Figure, words: str) -> None:
    assert band_text(figure) == words
