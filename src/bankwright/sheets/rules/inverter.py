"""Rules of an inverter's sheet, but for its charging side and terminals.

Gives: INVERTER.
Takes: a Look.
Limits: a figure that depends on temperature, source or choice is asked; apparent power is no power.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, negated, phrase, plain
from bankwright.sheets.measures import Measure, measures
from bankwright.sheets.rules.charger import CHARGER, Rule, battery_volts, on_battery_side
from bankwright.sheets.rules.common import (
    bounded,
    clauses,
    timed,
    warm,
    yes_or_no,
)
from bankwright.sheets.rules.line_side import phases, start_delay, transfers_within, volts_out
from bankwright.sheets.rules.place import altitude, enclosure
from bankwright.sheets.rules.told import (
    bursts_told,
    cut_out_told,
    for_a_time,
    is_changed,
    message_lost,
    message_socket,
    power_told,
    rated_for,
    standby_told,
    stops_within,
)
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["INVERTER"]

_AND = re.compile(r"[,;](?!\d)|\s(?:and|und|et|y|e|en|och|og|i|a)\s")  # between two things that a sentence says


def power(look: Look) -> Answer | None:
    """Continuous power out."""
    hits = [
        h
        for h in look.hits("power", "power|continuous", none=("solar", "consumption", "standby", "noload", "fullpower"))
        if not _burst(h)
    ]
    hits = [
        h for h in hits if "charge" not in h.seen.label and not _charging_part(h.seen) and "grid" not in h.seen.label
    ]
    hits = [
        h for h in hits if not ("most" in h.seen.label and "rated" not in h.seen.label and _rated_elsewhere(hits, h))
    ]
    named = [h for h in hits if h.seen.own & {"rated", "continuous"}] or hits
    if any(warm(h) for h in named) and len({h.measure.text() for h in named}) > 1:
        return Ask("it depends on the temperature of the air", tuple(h.said for h in named))
    if named and all(_cool(h) for h in named):
        return Ask("it holds at a temperature of the air", tuple(h.said for h in named))
    if named:
        return bounded(named, look) or settle([h.said for h in named], "several powers are printed")
    told = power_told(look)
    if told is not None:
        return told
    apparent = [h for h in look.hits("apparent", "power", none=("solar", "grid")) if not _burst(h)]
    return Ask("only apparent power is printed", tuple(h.said for h in apparent)) if apparent else None


COOL = 40.0  # degC: air that a rating should still hold in


def _cool(hit: Hit) -> bool:
    """Whether a power is said to hold in cooler air alone."""
    found = re.search(r"([+−-]?\d+)\s*(?:°\s?C|℃)", warm(hit))
    return found is not None and float(found[1].replace("−", "-")) < COOL


def _charging_part(seen: Seen) -> bool:
    return "charger" in seen.around and "inverter" not in seen.around


def _rated_elsewhere(hits: Sequence[Hit], hit: Hit) -> bool:
    return any("rated" in h.seen.label for h in hits if h is not hit)


def _burst(hit: Hit) -> bool:
    near = ideas(hit.before[-18:])
    return bool(hit.seen.label & {"surge", "peak"} or near & {"surge", "peak"} or timed(hit) or for_a_time(hit))


def _bursts(look: Look) -> list[Hit]:
    hits = look.hits("power", "power|surge|peak", none=("solar", "efficiency", "consumption"))
    return [h for h in hits if _burst(h) and "grid" not in h.seen.own] or bursts_told(look)


def _in_label(look: Look, seen: Seen) -> Measure | None:
    """The time that stands in the label: "Peak power (5 s)"."""
    return next((m for m in measures(seen.row.label, look.marks) if m.dimension == "time" and seen.row.values), None)


def surge_power(look: Look) -> Answer | None:
    """Power for a short time."""
    hits = _bursts(look)
    if hits:
        return settle([h.said for h in hits], "several are printed")
    apparent = list(look.hits("apparent", "surge|peak"))
    return Ask("only apparent power is printed", tuple(h.said for h in apparent)) if apparent else None


def surge_time(look: Look) -> Answer | None:
    """Time that the surge holds for."""
    hits = _bursts(look)
    hits += list(look.hits("apparent", "surge|peak"))
    times = [(h.seen, timed(h) or next(iter(h.seen.of("time")), None) or _in_label(look, h.seen)) for h in hits]
    found = [seen.said(after.text()) for seen, after in times if after]
    found += [s.said(m.text()) for s in look.where("surge", "delay") for m in s.of("time")]
    return settle(found, "several are printed")


def efficiency(look: Look) -> Answer | None:
    """Efficiency at rated power; a peak or a weighted one is not it."""
    hits = [h for h in look.hits("share", "efficiency", none=("solar", "charger")) if h.seen.direction != "charge"]
    rated = [h for h in hits if _about(h) & {"rated", "underload", "fullpower"} or _at_rated(h, look)]
    peak = [h for h in hits if _about(h) & {"peak", "most"}]
    if rated:
        return settle([h.said for h in rated], "several are printed")
    if peak and len(peak) == len(hits):
        return Ask("only the highest efficiency is printed", tuple(h.said for h in peak))
    return Ask("at which power is not said", tuple(h.said for h in hits)) if hits else None


def _at_rated(hit: Hit, look: Look) -> bool:
    """Whether its label names the rated power: "Efficiency at 4000 W"."""
    told = power(look)
    rated = [told] if isinstance(told, Said) else list(told.choices) if told else []
    printed = [m.text() for m in measures(hit.seen.row.label, look.marks)] if hit.seen.row.values else []
    return any(str(said.value) in printed for said in rated)


def _about(hit: Hit) -> frozenset[str]:
    """What a row says of an efficiency; of several in a sentence what stands right beside this one."""
    if hit.seen.row.values or len(hit.seen.of("share")) == 1:
        return hit.seen.own
    cuts = [m.span() for m in _AND.finditer(hit.seen.text)]
    start = max((b for _, b in cuts if b <= hit.measure.start), default=0)
    end = min((a for a, _ in cuts if a >= hit.measure.end), default=len(hit.seen.text))
    return ideas(hit.seen.text[start:end])


def lowest_voltage(look: Look) -> Answer | None:
    """Lowest battery voltage that still gives rated power."""
    hits = battery_volts(look, "fullpower") or [
        h for h in battery_volts(look, "power", "least") if not h.measure.ranges
    ]
    return settle([h.said for h in hits], "several are printed")


def cut_out(look: Look) -> Answer | None:
    """Battery voltage at which it stops."""
    none = ("overvoltage", "restart", "charge", "recommended", "most")
    hits = battery_volts(look, "cutout|undervoltage|protection", none=none)
    hits = [h for h in hits if "restart" not in ideas(h.before[-30:]) and not _other_end(h.seen)]
    singles = [h for h in hits if not h.measure.ranges]
    default = [h for h in singles if "factory" in ideas(h.seen.side) | ideas(h.after[:18]) | ideas(h.before[-18:])]
    told = singles and not any(h.measure.ranges for h in hits)
    if told and not default and is_changed(look):
        return Ask("it can be set", tuple(h.said for h in singles))
    if default or told:
        return settle([h.said for h in default or singles], "several are printed")
    return Ask("it can be set", tuple(h.said for h in hits)) if hits else cut_out_told(look)


def _other_end(seen: Seen) -> bool:
    """Whether a row is of a high voltage, or of a warning alone."""
    high = "high" in seen.label and not seen.label & {"low", "undervoltage"}
    return high or (bool(seen.row.values) and bool(phrase("alarm").search(seen.row.label)))


def frequency(look: Look) -> Answer | None:
    """Frequency of its AC side."""
    found = []
    for seen in look.rows:
        two = re.search(
            r"\b(50|60)\s*(?:Hz)?\s*(?:/|or|oder|ou|o|of|und|and|,)\s*(50|60)\s*Hz", f"{seen.row.label} {seen.text}"
        )
        if two:
            return Ask("it can be chosen", (seen.said(f"{two[1]} Hz"), seen.said(f"{two[2]} Hz")))
        found += [
            seen.said(m.text())
            for m in seen.of("frequency")
            if m.unit == "Hz" and not m.ranges and m.number() in (50, 60)
        ]
    return settle(found, "it can be chosen")


def isolated(look: Look) -> Answer | None:
    """Whether its battery side is isolated from the AC side."""
    found = []
    for seen in look.where("isolation", none=("disconnect",)):
        text = _on_isolation(seen)
        if not text:
            continue
        whole = not seen.row.values or "solar" in seen.own
        clause = next((c for c in clauses(text) if "isolation" in ideas(c)), text) if whole else seen.text
        word = yes_or_no(clause) if seen.row.values else None
        if word is not None:
            found.append(seen.said(word))
        elif "isolation" in seen.value or not seen.row.values:
            found.append(seen.said(not negated(clause)))
    return settle(found, "it is said in two ways")


def _on_isolation(seen: Seen) -> str:
    """What a row says of the battery side; empty for a test of insulation or for the sunlight side."""
    tested = "insulationtest" in seen.every and (not seen.row.values or yes_or_no(seen.text) is None)
    if tested or "solar" in seen.around:
        return ""
    text = f"{seen.row.label} {seen.text}"
    if "solar" not in seen.own:
        return text
    ours = [c for c in clauses(seen.text) if {"isolation", "battery"} <= ideas(c) and "solar" not in ideas(c)]
    return ours[0] if ours else ""


def capacitance(look: Look) -> Answer | None:
    """Capacitors at its battery side."""
    return settle([h.said for h in look.hits("capacitance", none=("solar",))], "several are printed")


def earthable(look: Look) -> Answer | None:
    """Poles of the battery that may be earthed."""
    for seen in look.where("earthing", none=("torque",)):
        text = f"{seen.row.label}; {seen.text}"
        allowed = [pole for pole, words in _POLES.items() if _allows(text, words)]
        spoken = [pole for pole, words in _POLES.items() if re.search(words, plain(text))]
        if allowed:
            return seen.said(allowed)
        if spoken:
            return Ask("no pole is said to be permitted", (seen.said([]),))
    return None


_POLES = {
    "minus": r"\bminus|negativ|\bneg\b|negatief|\bbat-|b-",
    "plus": r"\bplus|positiv|\bpos\b|positief|\bbat\+|b\+",
}


def _allows(text: str, words: str) -> bool:
    for clause in re.split(r"[;,.]|\bbut\b|\baber\b|\bmais\b|\bpero\b|\bma\b|\bmaar\b", plain(text)):
        if (
            re.search(words, clause)
            and not negated(clause)
            and (
                "possible" in ideas(clause)
                or re.search(r"\bmay\b|\bcan\b|darf|kann|peut|puede|puo|mag\b|yes|ja\b|oui", clause)
            )
        ):
            return True
    either = re.search(r"either|\bboth\b|beide|les deux|ambos|entramb|cualquiera|qualsiasi", plain(text))
    if either and re.search(words, plain(text)) and not negated(text) and re.search(r"\bmay\b|\bcan\b|darf|kann", text):
        return True
    return bool(
        re.search(r"either pole|beide pole|les deux poles|ambos polos|entrambi i poli|beide polen", plain(text))
    )


def standby_current(look: Look) -> Answer | None:
    """Current that it draws when switched on without load."""
    hits = [h for h in look.hits("current", "standby|noload", none=("solar", "ac", "sleep")) if on_battery_side(h.seen)]
    answer = settle(standby_told(look) or [h.said for h in hits], "several are printed")
    return answer or _when_off(look)


def _when_off(look: Look) -> Answer | None:
    """The current of the battery that is printed for the unit switched off."""
    rows = [s for s in look.rows if s.row.values and phrase("switched_off").search(s.row.label) and on_battery_side(s)]
    found = tuple(s.said(s.of("current")[0].text()) for s in rows if len(s.of("current")) == 1)
    return Ask("it is printed for the unit switched off", found) if found else None


def precharge_resistor(look: Look) -> Answer | None:
    """Resistor of a pre-charge path that its sheet asks for."""
    return settle([h.said for h in look.hits("resistance", "precharge")], "several are printed")


def precharge_power(look: Look) -> Answer | None:
    """Power of the resistor of a pre-charge path that its sheet asks for."""
    return settle([h.said for h in look.hits("power", "precharge")], "several are printed")


def precharge_place(look: Look) -> Answer | None:
    """Inside, where its sheet says that the path is built in; nothing of an outer one, which may stand in two ways."""
    rows = [s for s in look.where("precharge") if "precharge" in s.own]
    told = [s for s in rows if phrase("built_in").search(f"{s.row.label} {s.text}")]
    told = [s for s in told if not negated(f"{s.row.label} {s.text}")]
    return settle([s.said("inside") for s in told], "several are printed")


def precharge_wait(look: Look) -> Answer | None:
    """Waiting time of the pre-charge path."""
    return settle([h.said for h in look.hits("time", "precharge")], "several are printed")


INVERTER: dict[str, Rule] = {
    "power": power,
    "surge_power": surge_power,
    "surge_time": surge_time,
    "efficiency": efficiency,
    "lowest_voltage": lowest_voltage,
    "cut_out": cut_out,
    "highest_input": CHARGER["highest_input"],
    "phases": phases,
    "frequency": frequency,
    "isolated": isolated,
    "volts_out": volts_out,
    "start_delay": start_delay,
    "transfers_within": transfers_within,
    "altitude": altitude,
    "enclosure": enclosure,
    "capacitance": capacitance,
    "earthable": earthable,
    "standby_current": standby_current,
    "precharge.resistor": precharge_resistor,
    "precharge.power": precharge_power,
    "precharge.place": precharge_place,
    "precharge.wait": precharge_wait,
    "charger.current": CHARGER["current"],
    "charger.voltage": CHARGER["voltage"],
    "charger.setting": CHARGER["setting"],
    "charger.without_message": CHARGER["without_message"],
    "terminals.stud": CHARGER["terminals.stud"],
    "terminals.lugs": CHARGER["terminals.lugs"],
    "terminals.torque": CHARGER["terminals.torque"],
    "terminals.rating": rated_for,
    "stops_within": stops_within,
    "message.socket": message_socket,
    "message.lost": message_lost(charging=False),
    "charger.message.lost": message_lost(charging=True),
}
