"""How clean the line is: rest level, noise, replies that end early, requests without an answer.

Gives: RULES: functions of the facts that yield explanations.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from bankwright.bus.exchange import Exchange, Outcome
from bankwright.bus.survey.explain.line import texts_of, tries_of
from bankwright.bus.survey.explain.modules import doubled_units
from bankwright.bus.survey.explain.told import Explanation, listing, meter_test, named
from bankwright.bus.survey.facts import Facts
from bankwright.forms.wording import Figure, Say
from bankwright.physics.data_line import IDLE_LEAST, idle_voltage

__all__ = ["RULES"]

WEAKEST_BIAS = 650.0  # ohm  MODBUS over Serial Line V1.02, 3.4.6, read


def rest_level(facts: Facts) -> Iterator[Explanation]:
    """An odd character before each reply: the line has no rest level."""
    answered = [each for each in tries_of(facts) if each.reply is not None]
    odd = [e for e in answered if 1 <= len(e.taken.noise_before) <= 2 and set(e.taken.noise_before) <= {0, 0xFF}]
    if len(odd) < 3 or len(odd) < len(answered) / 3:
        return
    expected = facts.expected
    many = expected.terminators is not None and expected.terminators > 2
    ends = expected.terminators or 0
    level = Figure(idle_voltage(ends, expected.terminator_ohm, WEAKEST_BIAS), "voltage")
    observed = Say(
        f"{len(odd)} of {len(answered)} replies had a character 00 or FF before them. {ends} terminators leave the "
        "line {level} at rest with the weakest polarisation of the standard, nothing without any.",
        {"level": level},
    )
    then = (
        "More than two terminators pull the rest level down: switch off all but the two at the ends."
        if many
        else (
            f"Polarisation at one place gives the line more than {IDLE_LEAST * 1000:.0f} mV at rest: measure with the "
            "line on and nobody asking."
        )
    )
    why = "the file counts more than two terminators" if many else "an adapter that switches late does the same"
    yield Explanation(
        "BUS-REST",
        "The line has no clear rest level",
        "caution",
        (),
        observed,
        "likely",
        why,
        meter_test(expected, then),
    )


def _dirt(each: Exchange) -> bool:
    """Stray characters beside a whole reply, other than those of a missing rest level and of others' frames."""
    before, after = each.taken.noise_before, each.taken.after
    return bool((set(before) - {0, 0xFF} or after) and not each.taken.strangers)


def gaps(facts: Facts) -> Iterator[Explanation]:
    """Requests without any answer at addresses that answer otherwise."""
    there = [asked for asked in facts.asked.values() if asked.is_there]
    missed = {a.unit: a.count(Outcome.SILENCE) for a in there if a.count(Outcome.SILENCE)}
    if sum(missed.values()) < 2:
        return
    names = tuple(named(facts, unit) for unit in missed)
    total = sum(len(facts.asked[unit].tries) for unit in missed)
    observed = Say(f"{sum(missed.values())} of {total} requests to {listing(names)} brought no answer, the others did.")
    test = Say("Wiggle each data plug while this computer polls, and watch at which the count of answers falls.")
    why = "a loose plug, a busy module and a request lost in noise look alike"
    yield Explanation("BUS-GAPS", "Single requests stay unanswered", "caution", names, observed, "possible", why, test)


def _shared_tries(facts: Facts) -> list[Exchange]:
    """Tries at addresses where somebody speaks, those of doubled addresses left out."""
    twins = doubled_units(facts)
    return [
        each
        for unit, asked in facts.asked.items()
        if unit not in twins and asked.count(Outcome.SILENCE) < len(asked.tries)
        for each in asked.tries
    ]


def cut_short(facts: Facts) -> Iterator[Explanation]:
    """Replies that begin well and end early."""
    tries = _shared_tries(facts)
    cut = [each for each in tries if each.outcome is Outcome.CUT]
    bad = [each for each in tries if each.outcome in (Outcome.BROKEN, Outcome.NOISE)]
    if len(cut) < 3 or len(cut) < len(bad) or facts.tuned or facts.held_back:
        return
    who = tuple(named(facts, unit) for unit in sorted({each.request.unit for each in cut}))
    observed = Say(f"{len(cut)} of {len(tries)} replies of {listing(who)} began well and ended early.")
    test = Say(
        "Ask one module for one register only. If short replies come whole and long ones do not, the sender lets go of "
        "the line too early: the adapter's direction control, or the module's; else listen for noise."
    )
    why = "a driver that lets go early, an adapter that turns round too soon and a loose plug look alike"
    verdict: Literal["fail", "caution"] = "fail" if len(cut) > len(tries) / 2 else "caution"
    yield Explanation("BUS-CUT", "Replies end early", verdict, who, observed, "likely", why, test)


def noise(facts: Facts) -> Iterator[Explanation]:
    """Damaged replies, and stray characters, at several addresses or at one that is not doubled."""
    if facts.tuned or facts.held_back or texts_of(facts) or not facts.found:
        return
    tries = _shared_tries(facts)
    bad = [each for each in tries if each.outcome in (Outcome.BROKEN, Outcome.NOISE)]
    dirty = [each for each in tries if each.reply is not None and _dirt(each)]
    units = sorted({each.request.unit for each in bad + dirty})
    if len(bad) + len(dirty) < 2 or (len(units) < 2 and len(dirty) < 2):
        return
    expected = facts.expected
    many = expected.terminators is not None and expected.terminators > 2
    beside = f", {len(dirty)} had stray characters before or behind them" if dirty else ""
    who = listing(named(facts, unit) for unit in units)
    observed = Say(f"{len(bad)} of {len(tries)} replies came broken{beside}, at {who}.")
    test = meter_test(expected, "Switch off all terminators but the two at the ends.") if many else _NOISE_TEST
    why = "too many terminators fit" if many else "noise, a loose plug and a missing common wire look alike"
    heavy = len(bad) > len(tries) / 2
    title = "Most replies come broken, at every address" if heavy else "The line is noisier than it should be"
    yield Explanation("BUS-NOISE", title, "fail" if heavy else "caution", (), observed, "possible", why, test)


_NOISE_TEST = Say(
    "Ask for 10 min with the inverters off, then on. If only the second is broken, lay the data cable a hand's width "
    "away from the DC cables; if both, measure the terminators with the power off."
)

RULES = (rest_level, cut_short, noise, gaps)
