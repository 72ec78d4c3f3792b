"""The checks of the millivolt test: figure due, comparison with its like, heat, the terminal's temperature.

Gives: CHECKS, Judged, judged(), beyond_like(). Subject: MillivoltSubject. The drop is an expectation, the comparison
with its like a caution that never stops the sequence; the limit is the terminal's temperature at full current.
Limits: where the meter's counts exceed half of the figure due, the reading settles nothing and says so.
Sources: stand at each check.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed
from bankwright.forms.wording import Figure, Say, amount_text, say
from bankwright.physics.joint import ABOVE_LOWEST, heat
from bankwright.prove.millivolt_subject import Flow, MillivoltSubject, Read
from bankwright.prove.share_subject import LACKING
from bankwright.prove.sources import CIRCUIT, HEAT_LIMIT, LIKE, NEW_JOINT, PRACTICE
from bankwright.prove.spots import Spot, needed_current, settles
from bankwright.prove.terminals import Terminal, at_full, full_current

__all__ = ["CHECKS", "OFFSET", "Judged", "beyond_like", "judged"]

_DROP = Card("V-DROP-1", "The drop is the one computed", "U = R i", CIRCUIT, ends_at="caution")
_LIKE = Card("V-LIKE-1", "Not above 1.5 times the lowest of its like", "R <= 1.5 R_min", LIKE, ends_at="caution")
_NEW = Card("V-LIKE-2", "Not above the mean of its like", "R <= mean + max(10 %, 5 uohm)", NEW_JOINT, ends_at="caution")
_HEAT = Card("V-HEAT-1", "A joint makes little heat at full current", "R I^2 < 2 W", PRACTICE, ends_at="caution")
_HOT = Card("V-TERMINAL-1", "The terminal stays below its rating at full current", "T < T_term", PRACTICE)
OFFSET = 1e-3  # V that a reading without its zero may be off: copper oxide and 1 K [meter guide, read]
APART = (
    "Undo nothing with the main switch open alone: take the sheet of taking apart (bankwright build FILE --apart {at})."
)


@dataclass(frozen=True, slots=True)
class Judged:
    """One reading as a resistance: value and limits [ohm], the current it was made with, where it settles something."""

    read: Read
    place: Spot
    flow: Flow
    ohms: Figure
    counts: float  # part of the half width that is the meter's counts alone [ohm]
    enough: bool


def judged(subject: MillivoltSubject) -> tuple[Judged, ...]:
    """Every reading whose place and current are known."""
    found = []
    for read in subject.reads:
        place = subject.spots.get(read.at)
        if place is None or subject.lacking(read.level):
            continue
        flow = subject.flow(read.level, place)
        if flow.current <= 0.0:
            continue
        value, counts = read.value / flow.current, subject.meter.digits * subject.meter.step / flow.current
        offset = 0.0 if read.zero is not None else OFFSET / flow.current
        half = counts + offset + value * (subject.meter.gain + flow.half / flow.current)
        ohms = Figure(value, "resistance", max(value - half, 0.0), value + half)
        file = subject.resistance(read.level, place)
        outside = value - half > (file.high or file.value)  # far beyond what is due: it does tell
        due = read.value if subject.left_out(place) else file.value * flow.current
        enough = settles(due, subject.meter) or outside
        found.append(Judged(read, place, flow, ohms, counts, enough))
    return tuple(found)


def _finer(subject: MillivoltSubject, place: Spot, read: Read) -> Missing:
    """The current, or the meter, that would settle a place."""
    ohms = subject.resistance(read.level, place).value
    amps = needed_current(ohms, 0.5, subject.meter)
    step = amount_text(subject.meter.step, "voltage_drop")
    finer = amount_text(needed_current(ohms, 0.1, subject.meter), "current")
    how = (
        f"{amount_text(amps, 'current')} through {place.name} tell it to a half with a count of {step}, {finer} to a "
        "tenth; or take a meter with a finer count."
    )
    return asking(f"readings.{place.name}.millivolts", how)


@check(_DROP.code, _DROP.title)
def drop(subject: MillivoltSubject) -> Iterator[Finding]:
    """Millivolts over every joint, link and device lie in the band computed: joint R i, link (2 joints + cable) i.

    Why: it finds a loose joint that shares do not find: +0.1 mohm in one branch of five stands out every time with a
    0.1 mV meter at 40 A. Zero first, at the same points; the current is that of the place itself.
    Not seen here: which half of a joint, contact or crimp: palm to barrel against post to palm parts them.
    Source: the bank's network, copper at its temperature [derived]; band: 99 % over the tolerances, plus limits.
    """
    for read in subject.reads:
        if read.at in subject.spots and (gaps := subject.lacking(read.level)):
            yield _DROP.unknown(read.at, gaps)
    for each in judged(subject):
        yield _drop(subject, each)


def _drop(subject: MillivoltSubject, each: Judged) -> Finding:
    if lacking := subject.left_out(each.place):
        return _DROP.unknown(each.place.name, lacking)
    file = subject.resistance(each.read.level, each.place)
    assert file.low is not None
    assert file.high is not None
    amps, half = each.flow.current, each.flow.half
    reading = subject.meter.half(each.read.value) + (OFFSET if each.read.zero is None else 0.0)
    low = file.low * max(amps - half, 0.0) - reading
    high = file.high * (amps + half) + reading
    figure = Figure(each.read.value, "voltage_drop")
    due = Figure(file.value * amps, "voltage_drop", max(low, 0.0), high)
    text = say(
        "{at} shows {value} at {amps}: {ohms}; {due} is due, {low} to {high} with the meter",
        at=each.place.name,
        value=figure,
        amps=Figure(amps, "current"),
        ohms=each.ohms,
        due=due,
        low=Figure(max(low, 0.0), "voltage_drop"),
        high=Figure(high, "voltage_drop"),
    )
    side = "high" if each.read.value > high else "low" if each.read.value < low else ""
    gaps = () if side else _left_open(each)
    if not each.enough:
        return _too_coarse(each, figure, due.value, (*gaps, _finer(subject, each.place, each.read)))
    assumed = any(element.assumed for element in subject.elements(each.place))
    inputs = (
        Input("R", f"{each.place.name} by the file", file, Computed("file, copper warm"), assumed),
        Input("i", "current there", Figure(amps, "current", amps - half, amps + half), Computed(_of(each.flow))),
    )
    do = _meaning(each.place, side)
    return _DROP.found(
        each.place.name, figure, (None, None), text, do, inputs=inputs, caution_limits=(low, high), missing=gaps
    )


def _too_coarse(each: Judged, figure: Figure, due: float, gaps: tuple[Missing, ...]) -> Finding:
    text = say(
        "{at}: the meter's counts are more than half of the {due} that is due; the reading settles nothing",
        at=each.place.name,
        due=Figure(due, "voltage_drop"),
    )
    return _DROP.found(each.place.name, figure, (None, None), text, _more_current(), missing=gaps)


def _of(flow: Flow) -> str:
    return "module currents as read, through the network" if flow.read else "computed: no module current was read"


def _left_open(each: Judged) -> tuple[Missing, ...]:
    if each.read.zero is not None:
        return ()
    how = "Read the same points without load first: it takes off the meter's offset and the thermal voltage."
    return (asking(f"readings.{each.place.name}.zero", how),)


def _more_current() -> Say:
    return say("Read it with more current (one module alone carries most), or with a finer meter; conclude nothing.")


def _meaning(place: Spot, side: str) -> Say:
    if not side:
        return say("Keep it as its baseline.")
    if side == "low":
        return say("Tips inside the contact, another current than was thought, or a shorter cable than the file's.")
    if place.kind == "joint":
        words = (
            "Lug not flat, a washer between, wrong stud, paint or oxide, too little torque, cracked crimp. Next: palm "
            "to barrel against post to palm parts the crimp from the contact. "
        )
        return say(words + APART, at=place.name)
    if place.kind == "link":
        words = "Read its joints and devices one by one: if they are good, the cable is smaller or longer than filed."
        return say(words)
    return say("Its own contact, a tired holder or blade: compare with its like. " + APART, at=place.name)


def beyond_like(ohms: Sequence[float], counts: Sequence[float], limit: float) -> tuple[str, ...]:
    """Each of some resistances against a limit, "above", "unknown" or "below", after the counts of the meter. [ohm]"""
    return tuple(
        "above" if value - half > limit else "unknown" if value + half > limit and value > limit - half else "below"
        for value, half in zip(ohms, counts, strict=True)
    )


def _groups(subject: MillivoltSubject) -> Iterator[tuple[Judged, ...]]:
    """Readings of places of one sort, three at least, that settle something."""
    sorts: dict[str, list[Judged]] = {}
    for each in judged(subject):
        if each.enough:
            sorts.setdefault(each.place.like, []).append(each)
    yield from (tuple(group) for group in sorts.values() if len(group) >= 3)


@check(_LIKE.code, _LIKE.title)
def lowest_of_its_like(subject: MillivoltSubject) -> Iterator[Finding]:
    """A joint, link or device is not above 1.5 times the lowest of its like, after the meter's counts.

    Why: alike things read with one meter tell each other; it never stops the sequence: "look at this joint first".
    Not seen here: all of them bad alike; kinds of which fewer than three were read.
    Source: ANSI/NETA ATS-2009, 7.3.2 [read].
    """
    for group in _groups(subject):
        limit = ABOVE_LOWEST * min(each.ohms.value for each in group)
        yield from _against(subject, _LIKE, group, limit, "1.5 times the lowest of its like")


@check(_NEW.code, _NEW.title)
def mean_of_its_like(subject: MillivoltSubject) -> Iterator[Finding]:
    """A new joint is not above the mean of its like by more than 10 % or 5 micro-ohm, the greater, after the counts.

    Why: a new joint that stands out is remade now, not in ten years; it never stops the sequence.
    Not seen here: kinds of which fewer than three were read.
    Source: IEEE 450 and 484 practice [from memory].
    """
    for group in _groups(subject):
        joints = tuple(each for each in group if each.place.kind == "joint")
        if len(joints) >= 3:
            mean = sum(each.ohms.value for each in joints) / len(joints)
            limit = mean + max(0.1 * mean, 5e-6)
            yield from _against(subject, _NEW, joints, limit, "the mean of its like and 10 % or 5 µΩ more")


def _against(
    subject: MillivoltSubject, card: Card, group: Sequence[Judged], limit: float, words: str
) -> Iterator[Finding]:
    ohms, counts = [each.ohms.value for each in group], [each.counts for each in group]
    for each, verdict in zip(group, beyond_like(ohms, counts, limit), strict=True):
        figure = Figure(each.ohms.value, "resistance", each.ohms.value - each.counts, each.ohms.value + each.counts)
        text = say("{at} has {value}; {limit} is {what}", at=each.place.name, value=figure,
                   limit=Figure(limit, "resistance"), what=words)  # fmt: skip
        do = say("Look at this joint first. " + APART, at=each.place.name)
        missing = (_finer(subject, each.place, each.read),) if verdict == "unknown" else ()
        forced = "caution" if verdict == "above" else None
        yield card.found(each.place.name, figure, (None, None), text, do, missing=missing, forced=forced)  # type: ignore[arg-type]


@check(_HEAT.code, _HEAT.title)
def heat_at_full_current(subject: MillivoltSubject) -> Iterator[Finding]:
    """A joint makes less than 2 W at the largest steady current of its link.

    Why: millivolts alone say nothing of harm; millivolts times current do.
    Not seen here: how well the heat is led away (V-TERMINAL-1).
    Source: common practice, no source; Joule's law [stated law].
    """
    for each in judged(subject):
        if each.place.kind != "joint" or not each.enough:
            continue
        try:
            full = full_current(subject.steady, each.place.link).current
        except LACKING:
            continue  # V-TERMINAL-1 names what is missing
        ends = (each.ohms.value, each.ohms.low or 0.0, each.ohms.high or 0.0)
        watts = [float(heat(full, ohms)) for ohms in ends]
        figure = Figure(watts[0], "power", watts[1], watts[2])
        text = say("{at} makes {watts} at {full}", at=each.place.name, watts=figure, full=Figure(full, "current"))
        do = say("Look at this joint before full load. " + APART, at=each.place.name)
        yield _HEAT.found(each.place.name, figure, (None, None), text, do, caution_limits=(None, HEAT_LIMIT))


@check(_HOT.code, _HOT.title)
def terminal_temperature(subject: MillivoltSubject) -> Iterator[Finding]:
    """With this joint's heat the terminal stays below the lowest rating of lug, post and device at full current.

    T = air + rise of the cable + R I^2 / G; G = sqrt(h p k A) of every conductor that leads heat away, to +-50 %.
    Why: this is the limit behind the comparisons with its like; they only say where to look first.
    Not seen here: covers, neighbours, plating; a fuse's own heat.
    Source: rise of the cable: the law of C13, NEC 310.15(B)(1) [derived]; fin of a long conductor [stated law].
    """
    joints = {joint.name: joint for joint in subject.bank.joints}
    for each in judged(subject):
        if each.place.kind == "joint" and each.enough:
            found = at_full(subject.bank, subject.steady, joints[each.place.name], each.ohms)
            yield _hot(each, found)


def _hot(each: Judged, found: Terminal) -> Finding:
    at = each.place.name
    if found.missing or found.value is None or found.rating is None:
        return _HOT.unknown(at, found.missing)
    text = say(
        "The terminal at {at} may reach {value} at {full}; the rating of {whose} is {rating}",
        at=at,
        value=found.value,
        full=Figure(found.current, "current"),
        whose=found.whose,
        rating=Figure(found.rating, "temperature_degc"),
    )
    do = say("Load off. " + APART, at=at)
    inputs = (Input("R", f"{at} as read", each.ohms, Computed(f"typed {each.read.as_typed}")),)
    return _HOT.found(at, found.value, (None, found.rating), text, do, inputs=inputs)


CHECKS = (drop, lowest_of_its_like, mean_of_its_like, heat_at_full_current, terminal_temperature)
