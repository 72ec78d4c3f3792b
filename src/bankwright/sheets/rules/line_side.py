"""Rules of an inverter's output and its times, and of a charger's one way.

Gives: one_way(), phases(), start_delay(), transfers_within(), volts_out().
Takes: a Look.
Limits: a voltage that can be chosen, or that may be between lines, is asked.
"""

from __future__ import annotations

import re

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, negated, phrase, plain
from bankwright.sheets.rules.common import clauses, volts_of
from bankwright.sheets.rules.place import longest
from bankwright.sheets.rules.told import begins_after, transfer_told
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["one_way", "phases", "start_delay", "transfers_within", "volts_out"]

_PAIR = re.compile(r"(?<!\d)(1[012]\d|2[0-4]\d)\s*V?\s*(?:[Aa][Cc])?\s*/\s*(2[0-4]\d|[34]\d\d)\s*V")
_SPLIT = 2.0
_STAR = 3**0.5


def _output_rows(look: Look) -> list[Seen]:
    none = {"solar", "battery", "charge", "charger", "input", "interrupt", "fuse", "breaker"}
    rows = [s for s in look.where("voltage|phases", "output|ac") if not s.label & none and not s.around & {"solar"}]
    away = {"battery", "charger", "input"}
    rows = [s for s in rows if "output" in (s.label or s.value) or not s.around & away or "output" in s.around]
    legs = [s for s in look.where("voltage") if not s.row.values and phrase("each_leg").search(s.text)]
    rows += [s for s in legs if s not in rows]
    named = [s for s in rows if "output" in s.every and (s.row.values or s.of("voltage"))]
    return named or rows


def volts_out(look: Look) -> Answer | None:
    """Voltage of a leg against the neutral, with its tolerance."""
    found: list[Said] = []
    for seen in _output_rows(look):
        hits = [h for h in (Hit(seen, m) for m in seen.of("voltage")) if _of_line(h)]
        hits = [h for h in hits if len(hits) == 1 or not phrase("leg_to_leg").match(h.after)]
        leg = [h for h in hits if phrase("each_leg").search(h.after[:30] if seen.row.values else seen.text)]
        pair = _PAIR.search(seen.text)
        if leg:
            found += [h.said for h in leg]
        elif pair and _is_pair(float(pair[1]), float(pair[2])):
            found.append(seen.said(f"{pair[1]} V"))
        else:
            choices = _choices(seen)
            if choices:
                return Ask("it can be chosen", tuple(choices))
            found += [h.said for h in hits]
    answer = settle(found, "several are printed")
    loose = isinstance(answer, Said) and "+-" not in str(answer.value)
    return Ask("how far it may be off is not said", (answer,)) if loose and isinstance(answer, Said) else answer


def _of_line(hit: Hit) -> bool:
    return 90 <= volts_of(hit.measure) <= 290 and not hit.measure.ranges


def _is_pair(low: float, high: float) -> bool:
    """Whether two voltages are those of one leg and between two of them."""
    return abs(high / low - _STAR) < 0.03 or abs(high / low - _SPLIT) < 0.03


def _choices(seen: Seen) -> list[Said]:
    """`220/230/240 V`: voltages in one row of which one is set."""
    found = re.search(
        r"((?:\d{3}\s*V?\s*(?:[Aa][Cc])?\s*(?:/|,|\bor\b|oder|\bou\b|\bo\b|of|lub)\s*)+)(\d{3})\s*V", seen.text
    )
    numbers = re.findall(r"\d{3}", found[0]) if found else []
    return [seen.said(f"{n} V") for n in numbers if 90 <= int(n) <= 290]


def phases(look: Look) -> Answer | None:
    """Phases of its AC side; two for a split phase."""
    found = []
    for seen in look.rows:
        text = plain(f"{seen.row.label} {seen.text}")
        if "phases" in seen.label and re.fullmatch(r"\s*[123]\s*", seen.text):
            found.append(seen.said(seen.text.strip()))
        for count in ("1", "2", "3"):
            if phrase(f"phases_{count}").search(text):
                found.append(seen.said(count))
    return settle(found, "both are printed")


def transfers_within(look: Look) -> Answer | None:
    """Time of its transfer from or to the utility."""
    hits = [h for h in look.hits("time", "transfer") if "transfer" in h.seen.own and "charge" not in h.seen.label]
    hits = hits or transfer_told(look)
    return longest([h for h in hits if h.measure.unit in ("ms", "s")], "several are printed")


def start_delay(look: Look) -> Answer | None:
    """Time from battery voltage to load."""
    hits = [h for h in look.hits("time", "startup") if "startup" in h.seen.own and h.seen.row.values]
    return settle([h.said for h in hits] or begins_after(look), "several are printed")


def _only_to_it(seen: Seen) -> bool:
    """Whether a row says that current flows to the battery and nowhere else."""
    text = f"{seen.row.label}: {seen.text}" if seen.row.values else seen.text
    found = phrase("towards").search(text)
    said = bool(found and "current" in ideas(text) and "battery" in ideas(text[found.start() :]) and not negated(text))
    return said or bool(phrase("ne_que_vers").search(text))


def one_way(look: Look) -> Answer | None:
    """Whether current can only flow towards the bank, where the sheet speaks of it."""
    found = [s.said(True) for s in look.rows if _only_to_it(s)]
    if found:
        return found[0]
    for seen in look.where("reverse"):
        text = f"{seen.row.label}: {seen.text}" if seen.row.values else seen.text
        for clause in clauses(text):
            have = ideas(clause)
            if "reverse" not in have:
                continue
            if phrase("both_ways").search(plain(clause)):
                found.append(seen.said(bool(negated(clause))))
            elif (negated(clause) or "blocks" in have) and phrase("from_bank").search(plain(clause)):
                found.append(seen.said(True))
    return settle(found, "it is said in two ways")
