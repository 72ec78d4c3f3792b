"""Which element it is: the inverse over everything that was read, and the one next reading.

Gives: Drop, Reads, Which, which(), model_of(), is_left_out(), volt_posts(). Currents, volts at posts and millivolts go
in together; what lies outside its tolerance comes out with the group that cannot be told from it, and where the meter
goes next.
Limits: advice; nothing is concluded while a closure is open (share_checks).
Source: circuit/inverse (weighted least squares over the bank's network, docs/method.md).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.fit import Estimate
from bankwright.circuit.inverse.looks import Look, Observation, State, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.next_reading import Choice, hypotheses, next_reading
from bankwright.circuit.inverse.point import Unknowns
from bankwright.circuit.inverse.prior import Prior, prior_of
from bankwright.circuit.inverse.suspects import EVEN, Outcome, Suspect, settled_fit, suspects
from bankwright.circuit.network import Element, Network
from bankwright.prove.currents import Level, Round
from bankwright.prove.expected import Expected
from bankwright.prove.meters import Bus, Clamp, Millivolts, current_errors, observed_current

__all__ = ["Drop", "Reads", "Which", "is_left_out", "model_of", "volt_posts", "which"]

VOLT_GAIN, VOLT_COUNTS = 0.005, 0.02  # 0.5 % + 2 counts of 10 mV on the 60 V range; common practice, no source
LEFT_OUT = 5e-3  # ohm that a device without a figure may have; common practice, no source
LOAD_APART = 0.10  # part by which a load's own current may differ from what was told; common practice, no source
IDLE_APART = 0.5  # A at zero load; common practice, no source
MOST = 6  # explanations that are compared


@dataclass(frozen=True, slots=True)
class Drop:
    """Millivolts over a joint, link or device at a load: with load less without. [V]"""

    at: str
    level: Level
    value: float
    half: float
    gain: float = 0.0  # part of the reading that the meter's gain may be off; common to all its readings
    as_typed: str = ""


@dataclass(frozen=True, eq=False)
class Reads:
    """Everything that was read on a bank, and what was due at each load."""

    bank: Bank
    due: Mapping[Level, Expected]
    rounds: tuple[Round, ...] = ()
    drops: tuple[Drop, ...] = ()
    clamp: Clamp = field(default_factory=Clamp)
    bus: Bus = field(default_factory=Bus)
    millivolts: Millivolts = field(default_factory=Millivolts)


@dataclass(frozen=True, eq=False)
class Which:
    """The estimate, what lies outside its tolerance, and the next reading."""

    outcome: Outcome
    prior: Prior
    observations: tuple[Observation, ...]
    first: Suspect | None  # what would explain the readings best, whether or not it stands out
    next: Choice | None = None

    @property
    def estimate(self) -> Estimate:
        """The last estimate."""
        return self.outcome.estimate


def _name(level: Level) -> str:
    away = f", {' '.join(sorted(level.off))} off" if level.off else ""
    on = f" on {' '.join(level.on)}" if level.on else ""
    return f"{level.load:g} A{on}{away}"


def _states(reads: Reads) -> tuple[Network, tuple[State, ...]]:
    """The network at the first load's age, and a state for every load and for zero."""
    levels = list(reads.due.items())
    base = levels[0][1]
    states = [State("zero", {}, frozenset(), _factor(base, base))]
    for level, due in levels:
        states.append(State(_name(level), due.conditions.loads, level.off, _factor(base, due)))
    return base.network, tuple(states)


def _factor(base: Expected, due: Expected) -> Mapping[str, float]:
    """Resistance of every element in a state over that of the base network: age, cells, copper."""
    ours, theirs = base.network.resistances(), due.network.resistances()
    ratio = np.divide(theirs, ours, out=np.ones_like(ours), where=ours > 0.0) * due.warm
    return MappingProxyType({e.name: float(f) for e, f in zip(base.network.elements, ratio, strict=True)})


def model_of(reads: Reads) -> tuple[Prior, tuple[Observation, ...]]:
    """What is known before, and every reading as an observation; ValueError without a load."""
    if not reads.due:
        raise ValueError("nothing was due at any load")
    network, states = _states(reads)
    unknowns = Unknowns(network, states)
    observations = [seen for each in reads.rounds for seen in _of_round(reads, each, network)]
    observations += [_of_drop(reads, drop) for drop in reads.drops]
    emf = next(iter(reads.due.values())).solution.emf
    unknown = [element.name for element in network.elements if is_left_out(element)]
    prior = prior_of(unknowns, np.asarray(emf), _room(reads, unknowns)).released(unknown, LEFT_OUT)
    return prior, tuple(observations)


def is_left_out(element: Element) -> bool:
    """A device whose resistance nobody gave: the network takes it as nothing, a reading must not accuse it for that."""
    given = element.resistance
    return element.assumed and given is not None and given.is_exact and given.nominal == 0.0


def _gap(reads: Reads, state: str) -> float:
    """How far the branches as read lie off the load that was told: a load is told roughly. [A]"""
    modules = {module.name for module in reads.bank.modules}
    found = [0.0]
    for each in reads.rounds:
        for by in ("clamp", "bus"):
            amps = {r.at: r.value for r in each.currents if r.by == by and r.at in modules}
            if each.level.load != 0.0 and _name(each.level) == state and set(amps) >= modules - each.level.off:
                found.append(abs(sum(amps.values()) - each.level.load))
    return max(found)


def _room(reads: Reads, unknowns: Unknowns) -> dict[str, float]:
    """How far every load's current may lie off what was told. [A]"""
    idle = {load for load in unknowns.network.load_names if not any(s.loads.get(load) for s in unknowns.states)}
    room = {}
    for state in unknowns.states:
        for load in unknowns.network.load_names:
            amps = abs(state.loads.get(load, 0.0))
            room[f"{load} in {state.name}"] = (
                0.0 if load in idle else max(LOAD_APART * amps, IDLE_APART) + 1.5 * _gap(reads, state.name)
            )
    return room


def _of_round(reads: Reads, each: Round, network: Network) -> list[Observation]:
    state = "zero" if each.level.load == 0.0 else _name(each.level)
    if each.level.load != 0.0 and each.level not in reads.due:
        return []
    found = []
    for read in each.currents:
        key = f"{each.level.load:g} {each.number}"
        errors = current_errors(read.by, read.at, read.value, key, reads.clamp, bus=reads.bus)
        sign = _sign(reads, each.level, read.at)
        found.append(observed_current(current_look(read.at, state), sign * read.value, errors))
    for name, volts in each.volts.items():
        half = {"volts gain": VOLT_GAIN * volts}
        found.append(Observation(_posts_look(reads.bank, name, state), volts, VOLT_COUNTS, half))
    return [seen for seen in found if seen.look.at[0] in network.edge_index or seen.look.kind != "current"]


def _sign(reads: Reads, level: Level, at: str) -> float:
    """A main may run against the current that a hand reads as positive; modules are read with their sign."""
    if at in {module.name for module in reads.bank.modules} or level not in reads.due:
        return 1.0
    amps = reads.due[level].solution.current(at)
    return -1.0 if amps * level.load < 0 else 1.0


def _of_drop(reads: Reads, drop: Drop) -> Observation:
    """Millivolts are read as a size: they take the sign that the current has there."""
    amps = reads.due[drop.level].solution.current(drop.at)
    sign = -1.0 if amps < 0 else 1.0
    shared = {"millivolts gain": drop.gain * abs(drop.value)} if drop.gain else {}
    return Observation(drop_look(_name(drop.level), drop.at), sign * abs(drop.value), drop.half, shared)


def which(reads: Reads) -> Which:
    """Fit, name what stands out, and choose the next reading."""
    prior, observations = model_of(reads)
    outcome = settled_fit(prior, observations)
    first = outcome.released[0] if outcome.released else next(iter(suspects(outcome.estimate)), None)
    chosen = None if first is None else _next(reads, prior, observations, first)
    return Which(outcome, prior, observations, first, chosen)


def _next(reads: Reads, prior: Prior, observations: Sequence[Observation], first: Suspect) -> Choice | None:
    """The look that parts the elements of a group: over whole links first, inside one link over its joints."""
    network = prior.unknowns.network
    group = (first.name, *first.alike, *(first.rivals if first.sure >= EVEN else ()))
    edges = {name: network.edges[network.edge_index[name]].name for name in group}
    own = {edges[name] for name in (first.name, *first.alike)}
    inside = len(own) == 1 and len(first.alike) > 0
    names = [name for name in group if edges[name] in own] if inside else _one_an_edge(group, edges)
    found = hypotheses(prior, observations, names[:MOST])
    explained = {name if inside else edges[name]: values for name, values in found.items()}
    state = prior.unknowns.states[-1].name
    looks = [drop_look(state, name) for name in (names if inside else _links(network, edges, names))]
    looks += [] if inside else _posts(reads.bank, state, names)
    return next_reading(prior.unknowns, explained, looks, lambda look, value: _half(reads, look, value))


def _one_an_edge(group: Sequence[str], edges: Mapping[str, str]) -> list[str]:
    found: dict[str, str] = {}
    for name in group:
        found.setdefault(edges[name], name)
    return list(found.values())


def _links(network: Network, edges: Mapping[str, str], names: Sequence[str]) -> list[str]:
    modules = set(network.module_names)
    return [edges[name] for name in names if edges[name] not in modules]


def _posts(bank: Bank, state: str, names: Sequence[str]) -> list[Look]:
    modules = {module.name for module in bank.modules}
    return [_posts_look(bank, name, state) for name in names if name in modules]


def _posts_look(bank: Bank, name: str, state: str) -> Look:
    plus, minus = volt_posts(bank)[name]
    return voltage_look(plus, minus, state)


def volt_posts(bank: Bank) -> dict[str, tuple[str, str]]:
    """Pairs of posts that volts are read over: each module's, each inverter's, and `bank` where the mains meet it."""
    found = {thing.name: thing.posts for thing in bank.inverters}
    for module in bank.modules:
        plus, minus = (next(post for post in module.posts if post.endswith(end)) for end in "+-")
        found[module.name] = (plus, minus)
    if all(bank.feed_posts):
        found["bank"] = (bank.feed_posts[0][0], bank.feed_posts[1][0])
    return found


def _half(reads: Reads, look: Look, value: float) -> float:
    if look.kind == "drop":
        return reads.millivolts.half(value)
    return VOLT_COUNTS  # the gain of one meter on one range falls out of a difference
