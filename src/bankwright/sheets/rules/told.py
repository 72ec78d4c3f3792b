"""Rules of an inverter's or charger's sheet that is written in sentences, and of the control message in rows and prose.

Gives: begins_after(), bursts_told(), cut_out_told(), for_a_time(), is_changed(), message_lost(), message_socket(),
power_told(), rated_for(), standby_told(), stops_within(), transfer_told().
Takes: a Look.
Limits: a sentence must name the thing and hold one value of its kind; else nothing is said, or it is asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, negated, phrase
from bankwright.sheets.rules.common import sentence_of, timed, volts_of, warm
from bankwright.sheets.view import Hit, Look, Seen

__all__ = [
    "begins_after",
    "bursts_told",
    "cut_out_told",
    "for_a_time",
    "is_changed",
    "message_lost",
    "message_socket",
    "power_told",
    "rated_for",
    "standby_told",
    "stops_within",
    "transfer_told",
]

_BARE_SOCKET = re.compile(r"\s*([A-Z][A-Z0-9]{1,5}(?:[ -][A-Z0-9]{1,3})?(?:\s\(RJ ?-?\d\d\))?)\s*")
_NO_POWER = {"solar", "grid", "charge", "charger", "standby", "noload", "consumption", "recommended", "fuse"}


def _prose(look: Look, dimension: str, name: str) -> Iterator[Hit]:
    """Values of a dimension in clauses of running text that a phrase stands in."""
    for seen in look.rows:
        if not seen.row.values and phrase(name).search(seen.text):
            yield from (Hit(seen, m) for m in seen.of(dimension) if not m.ranges)


def power_told(look: Look) -> Answer | None:
    """Running text: "delivers 8 kW continuously"; asked where it is said up to a temperature only."""
    hits = [h for h in look.hits("power", "continuous") if not h.seen.row.values and timed(h) is None]
    hits = [h for h in hits if not h.seen.own & _NO_POWER and phrase("gives").search(h.seen.text)]
    if any(warm(h) for h in hits):
        return Ask("it holds up to a temperature of the air", tuple(h.said for h in hits))
    return settle([h.said for h in hits], "several powers are printed")


def bursts_told(look: Look) -> list[Hit]:
    """Running text: powers with their time, "as much as 16 kW for 100 ms"."""
    hits = [Hit(s, m) for s in look.rows if not s.row.values for m in s.of("power")]
    return [h for h in hits if (timed(h) or for_a_time(h)) and not h.seen.own & _NO_POWER]


def for_a_time(hit: Hit) -> bool:
    """The time stands right before the power: "for 5 s up to 9 kW"."""
    times = [m for m in hit.seen.of("time") if m.end <= hit.measure.start]
    between = hit.seen.text[times[-1].end : hit.measure.start] if times else "x" * 99
    return len(between) < 16 and not re.search(r"[\d.;]", between)


def cut_out_told(look: Look) -> Answer | None:
    """Running text: "when the battery falls below 43.2 V the unit shuts down"; asked where it can be changed."""
    hits = [h for h in _prose(look, "voltage", "shuts") if 15 <= volts_of(h.measure) <= 120]
    hits = [h for h in hits if "battery" in h.seen.own and phrase("falls").search(h.before[-30:])]
    hits = [h for h in hits if not negated(h.seen.text)]
    if hits and is_changed(look):
        return Ask("it can be set", tuple(h.said for h in hits))
    return settle([h.said for h in hits], "several are printed")


def is_changed(look: Look) -> bool:
    """Whether running text says that a voltage of the battery, not of charging, is set within a range."""
    prose = [s for s in look.rows if not s.row.values]
    return any(phrase("changed").search(sentence_of(s)) and _spans(s) for s in prose)


def _spans(seen: Seen) -> bool:
    """Whether a range of voltages of the battery stands in a row that is not about charging."""
    return "charge" not in seen.own and any(m.ranges and 15 <= volts_of(m) <= 120 for m in seen.of("voltage"))


def standby_told(look: Look) -> list[Said]:
    """Current before it starts: in a row of that name, or "before it is started, it draws 40 mA"."""
    rows = [s for s in look.rows if phrase("before_start").search(s.row.label if s.row.values else s.text)]
    return [s.said(s.of("current")[0].text()) for s in rows if len(s.of("current")) == 1]


def begins_after(look: Look) -> list[Said]:
    """Running text: "from switching on to voltage at the output it takes 8 s"."""
    hits = [h for h in _prose(look, "time", "switched_on") if h.seen.value & {"output", "voltage"}]
    return [h.said for h in hits if len(h.seen.of("time")) == 1]


def transfer_told(look: Look) -> list[Hit]:
    """Running text: "when the utility fails the loads are taken over within 20 ms at the longest"."""
    return [h for h in _prose(look, "time", "utility_fails") if phrase("taken_over").search(h.seen.text)]


def stops_within(look: Look) -> Answer | None:
    """Time from the remote stop to an output without voltage; asked where it is not said that it takes no longer."""
    rows = [s for s in look.rows if phrase("remote_stop").search(f"{s.row.label if s.row.values else ''} {s.text}")]
    hits = [Hit(s, m) for s in rows for m in s.of("time") if not m.ranges]
    hits = [h for h in hits if h.seen.row.values or h.seen.value & {"output", "voltage"}]
    said = settle([h.said for h in hits], "several are printed")
    firm = all(phrase("within").search(f"{h.seen.row.label if h.seen.row.values else ''} {h.before}") for h in hits)
    firm = firm or all(h.measure.bound == "most" for h in hits)
    return Ask("that it takes no longer is not said", (said,)) if isinstance(said, Said) and not firm else said


def rated_for(look: Look) -> Answer | None:
    """Temperature that its terminals are rated for."""
    hits = [h for h in look.hits("temperature", "terminal", "rated|possible") if not h.measure.ranges]
    told = {"rated", "possible"}
    hits = [h for h in hits if "terminal" in h.seen.own and told & h.seen.own and not h.seen.own & _ELSEWHERE]
    celsius = [h for h in hits if h.measure.unit == "degC"] or hits
    return settle([h.said for h in celsius if 55 <= _celsius(h) <= 120], "several are printed")


_ELSEWHERE = {"current", "derating", "storage", "grid", "solar", "message"}


def _celsius(hit: Hit) -> float:
    number = hit.measure.number()
    return (number - 32) / 1.8 if hit.measure.unit == "degF" else number


def message_socket(look: Look) -> Answer | None:
    """Socket that takes the cable of the control message: a name in quotes, or a name alone beside its label."""
    found = []
    for seen in look.rows:
        text = f"{seen.row.label}: {seen.text}" if seen.row.values else sentence_of(seen)
        told = "message" in ideas(text) or phrase("data_cable").search(text)
        if not (phrase("socket").search(text) and told):
            continue
        quoted = re.findall(r"[„“\"«‘']\s?([A-Z][A-Za-z0-9 ./-]{1,12}?)\s?[”“\"»’']", text)
        bare = _BARE_SOCKET.fullmatch(seen.text) if seen.row.values else None
        found += [seen.said(name) for name in quoted] or ([seen.said(bare[1])] if bare else [])
    answer = settle(found, "several sockets are named")
    return Ask("a kind of plug, or its name?", (answer,)) if isinstance(answer, Said) and _plug(answer) else answer


def _plug(said: Said) -> bool:
    return bool(re.match(r"RJ ?-?\d|USB|CAN$|RS ?-?\d", str(said.value)))


def message_lost(*, charging: bool | None = None) -> Callable[[Look], Answer | None]:
    """What it does once the message is lost: stops, goes by its own limits, goes on; a lower current is none of it.

    Of an inverter, what is said of charging is of its charger alone.
    """

    def rule(look: Look) -> Answer | None:
        found = []
        for seen in look.rows:
            text = f"{seen.row.label}: {seen.text}" if seen.row.values else sentence_of(seen)
            if not phrase("lost").search(text) or "message" not in ideas(text) or seen.of("current", "power"):
                continue
            have = ideas(text)
            if charging is not None and charging != ("charge" in have and "discharge" not in have):
                continue
            ways = [word for word, name in _LOST.items() if phrase(name).search(text)]
            if {"goes on", "own limits"} <= set(ways) and re.search(r"limit|grenz|gräns|límit", text):
                ways.remove("goes on")  # it goes on by its own limits; its own settings may be another thing
            if ways and negated(text):
                return Ask("it is said with a no", tuple(seen.said(word) for word in ways))
            found += [seen.said(word) for word in ways]
        return settle(found, "several are named")

    return rule


_LOST = {"stops": "it_stops", "own limits": "own_limits", "goes on": "goes_on"}
