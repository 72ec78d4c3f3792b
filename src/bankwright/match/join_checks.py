"""Verdict 1: may these modules be joined? Every limit that the joining itself can pass.

Gives: CHECKS (M-JOIN-1 to M-JOIN-7, M-MOST-1). Nothing here speaks of charge.
Limits: no load and no charger is on the bus; modules with a stop are left out beforehand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Link
from bankwright.circuit.of_bank.published_points import warming_of
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import FileKey
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.inrush import Side
from bankwright.match.join_rules import RULES
from bankwright.match.sources import RULE_OF_THUMB
from bankwright.match.subject import Subject, digits_decide
from bankwright.match.trips import TripRow, trip_rows

__all__ = ["CHECKS"]

CABLE_DEGC = (
    75.0  # of the metal, where the insulation is not given: terminals' usual rating, NEC 110.14(C) [from memory]
)
TREND = "Bring the outermost module nearer first, alone: the plans below say how."
Degc = dict[str, tuple[float, float] | None]


def _current(subject: Subject, side: Side, card: Card) -> Iterator[Finding]:
    name, count, figure, limit = subject.inrush.worst(side)
    word = "takes" if side == "charge" else "gives"
    inputs = (limit.as_input, *subject.resistances(), *subject.volts())
    text = say(
        "{module} " + word + " {current} at once, when {last} is closed",
        module=name,
        current=figure,
        last=subject.inrush.order.names[count - 1],
    )
    do = say(digits_decide(figure, limit.value) + TREND)
    case = f"closing {count} of {len(subject.readings)}"
    yield card.found(name, figure, (None, limit.value), text, do, inputs=inputs, missing=limit.missing, case=case)


@check("M-JOIN-1", "Current into a module at the moment of joining")
def into(subject: Subject) -> Iterator[Finding]:
    """No module is charged faster than its limit at its own temperature, at any closing of the gentlest order.

    Why: at the first instant only the ohmic resistance limits the current; cells too cold for it are damaged unseen.
    Not seen here: what follows after (M-JOIN-3); equality of charge (M-CHARGE-1).
    Source: Ohm's and Kirchhoff's laws; limits from the data sheet.
    """
    yield from _current(subject, "charge", cards.INTO)


@check("M-JOIN-2", "Current out of a module at the moment of joining")
def out_of(subject: Subject) -> Iterator[Finding]:
    """No module gives more than its continuous discharge limit at any closing of the gentlest order.

    Why: the highest module feeds all others at once.
    Source: Ohm's and Kirchhoff's laws; limits from the data sheet.
    """
    yield from _current(subject, "discharge", cards.OUT_OF)


@check("M-JOIN-3", "No trip while the modules level")
def no_trip(subject: Subject) -> Iterator[Finding]:
    """Over the hours after joining nothing opens: over-current after its delay, a cell's voltage, cold.

    Why: a module that opens on joining leaves the others with its share, or closes again onto a larger difference.
    Not seen here: loads and chargers, which stay off while joining.
    Source: run of the bank over time, all joined at once, trips at their low end.
    """
    rows = trip_rows(subject)
    known = [row for row in rows if row.trip is not None]
    opened = () if subject.settled is None else subject.settled.opened
    if subject.settled is None or (len(known) < len(rows) and not opened):
        yield _trips_not_known(subject, rows)
    elif not known and not opened:
        still = say("Next to nothing flows between them")
        first = subject.bank.modules[0].name
        yield cards.LEVEL_STILL.found(first, None, (None, None), still, say(TREND))
    elif opened:
        yield _opens(subject, opened, subject.settled.variants)
    else:
        yield _nearest_trip(subject, max(known, key=lambda row: row.peak / (row.trip or 1.0)))


def _trips_not_known(subject: Subject, rows: Sequence[TripRow]) -> Finding:
    silent = next((row for row in rows if row.trip is None), None)
    lead = subject.bank.modules[0]
    kind, name = (lead.kind, lead.name) if silent is None else (silent.kind, silent.module)
    side = "discharge" if silent is not None and "discharge" in silent.what else "charge"
    missing = asking(f"{kind.path}.{side}.trip", "The data sheet names trip current and delay.")
    text = say("Whether a module opens is not known: neither its trips nor its limits reach that far")
    do = say("Ask the maker for trip current and delay of charge and discharge.")
    return cards.LEVEL.found(name, None, (None, None), text, do, missing=(missing,))


def _opens(subject: Subject, opened: tuple[str, ...], variants: int) -> Finding:
    at = tuple(dict.fromkeys(words.split(" ", 1)[0] for words in opened))
    return cards.LEVEL.found(
        at[:1],
        None,
        (None, None),
        say("In some of {count} runs: {what}", count=str(variants), what="; ".join(opened[:3])),
        say(TREND),
        inputs=subject.resistances(),
        forced="fail",
        more=at[1:],
    )


def _nearest_trip(subject: Subject, worst: TripRow) -> Finding:
    figure = Figure(worst.middle, "current", None, worst.peak)
    gaps = {"after": Figure(worst.delay, "time")} if "{after}" in worst.words else {}
    text = say(worst.words, module=worst.module, current=figure, **gaps)
    trip, key = Figure(worst.trip or 0.0, "current"), FileKey(worst.path)
    limit = Input("I_trip", f"{worst.what} of {worst.module}", trip, key)
    return cards.LEVEL.found(
        worst.module, figure, (None, worst.trip), text, say(TREND), inputs=(limit, *subject.resistances())
    )


@check("M-JOIN-7", "Breakers, fuses and links carry the joining current")
def lines(subject: Subject) -> Iterator[Finding]:
    """The first current is below the rating of each module's breaker, of each device and of each link on its way.

    Why: a breaker that trips on joining opens under current; a link too thin warms while the modules level.
    Not seen here: seconds only, so a link judged for lasting current has more room than is shown.
    Source: ratings as written; ampacity from the published point of the cable (circuit/of_bank/published_points).
    """
    inrush = subject.inrush
    rows: list[tuple[float, str, Figure, float, FileKey]] = []
    for count in range(2, len(subject.readings) + 1):
        low, middle, high = inrush.currents(inrush.joined(count))
        for k, module in enumerate(subject.bank.modules):
            rating = module.kind.breaker.rating if module.kind.breaker else None
            if rating:
                figure = Figure(abs(float(middle[k])), "current", abs(float(low[k])), abs(float(high[k])))
                rows.append(
                    (
                        abs(float(high[k])) / rating,
                        module.name,
                        figure,
                        rating,
                        FileKey(f"{module.kind.path}.breaker.rating"),
                    )
                )
        rows += _link_rows(subject, count)
    if rows:
        _, name, figure, limit, origin = max(rows, key=lambda row: row[0])
        yield cards.LINES.found(
            name,
            figure,
            (None, limit),
            say("{name} carries {current} at once", name=name, current=figure),
            say(TREND),
            inputs=(
                Input("I_max", f"carries for long: {name}", Figure(limit, "current"), origin),
                *subject.resistances(),
            ),
        )


def _link_rows(subject: Subject, count: int) -> Iterator[tuple[float, str, Figure, float, FileKey]]:
    """Links at one closing; what the meter leaves open goes through the network, so currents close at each node."""
    ports, network = subject.inrush.ports, subject.inrush.network
    if network is None or ports.edge_of_module is None:
        return
    size, joined = len(subject.readings), subject.inrush.joined(count)
    carried = ports.edge_currents(np.eye(size), np.zeros((size, len(ports.load_names)))).T  # edge currents an ampere
    volts = np.array([reading.voltage for reading in subject.readings])
    now = np.abs(carried @ subject.inrush.currents(joined)[1])
    K = carried @ subject.inrush.joinings["low"].matrix(joined)
    most = np.abs(K @ volts) + subject.inrush.left_open(K, K @ volts)
    warming = warming_of(subject.bank)
    for name, edge in network.edge_index.items():
        if name not in subject.bank:
            continue
        thing = subject.bank[name]
        if not isinstance(thing, Link) or thing.cable is None or most[edge] <= 0.5:
            continue
        ratings = [(d.kind.rating, d.origin) for d in subject.bank.devices_on(name) if d.kind.rating]
        point = warming.get(name)
        if point is not None and np.isfinite(point.current):
            allowed = (thing.cable.insulation_degc or CABLE_DEGC) - point.air_degc
            ratings.append((point.current * (max(allowed, 0.0) / point.rise) ** 0.5, FileKey(thing.cable.size_path)))
        for rating, origin in ratings:
            figure = Figure(float(now[edge]), "current", None, float(most[edge]))
            yield float(most[edge]) / max(rating, 1e-9), name, figure, float(rating), origin


@check("M-MOST-1", "Largest difference this bank takes")
def largest(subject: Subject) -> Iterator[Finding]:
    """The last module closed lies nearer to the bank than the difference at which a limit is reached at once.

    Why: the number belongs to this bank: its resistances, its count, its limits. The trade's rule of a few tenths of a
    volt (common practice, no source) knows none of them; and it says nothing of charge.
    Source: Ohm's and Kirchhoff's laws, resistances at their low end.
    """
    most = subject.inrush.most
    limits = (*subject.inrush.charge, *subject.inrush.discharge)
    missing = tuple(dict.fromkeys(gap for limit in limits if limit.value is None for gap in limit.missing))
    figure = subject.inrush.difference(most.count)
    thumb = Figure(RULE_OF_THUMB[0], "voltage_drop"), Figure(RULE_OF_THUMB[1], "voltage_drop")
    words = (
        "{name} lies {figure} {side} the modules it is closed onto; this bank takes {here} there ({least} whichever "
        "way one lies, {two} for two modules alone). The trade's rule is {low} to {high} (common practice, no source): "
        "it knows neither this bank's resistance nor its limits"
    )
    text = say(
        words,
        name=most.module,
        figure=figure,
        side="above" if most.lies_above else "below",
        here=Figure(most.here, "voltage_drop"),
        least=Figure(most.least, "voltage_drop"),
        two=Figure(subject.inrush.most_of_two, "voltage_drop"),
        low=thumb[0],
        high=thumb[1],
    )
    yield cards.LARGEST.found(
        most.module,
        figure,
        (None, None if missing else most.here),
        text,
        say(digits_decide(figure, most.here) + TREND),
        inputs=subject.resistances(),
        case=f"closing {most.count} of {len(subject.readings)}",
        missing=missing,
    )


CHECKS = (into, out_of, no_trip, *RULES, lines, largest)
