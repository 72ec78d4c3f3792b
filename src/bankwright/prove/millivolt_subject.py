"""What the checks of the millivolt test look into: every place, the current in it, what was due and what was read.

Gives: Read, MillivoltSubject, Flow. The current of a place comes from the module currents that were read at that load,
through the network; where none were read it is the one computed, with the band of the tolerances.
Limits: holds and prepares; verdicts are in millivolt_checks.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.inverse.band import half_width
from bankwright.circuit.inverse.fit import fit
from bankwright.circuit.inverse.looks import current_look
from bankwright.circuit.inverse.point import predicted
from bankwright.circuit.network import Element
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.forms.wording import Figure
from bankwright.prove.currents import Level, Round
from bankwright.prove.expected import Conditions, Expected, expected, loads_of
from bankwright.prove.meters import Bus, Clamp, Millivolts
from bankwright.prove.share_subject import LACKING, missing_of
from bankwright.prove.spots import Spot, spots
from bankwright.prove.which import Reads, is_left_out, model_of

__all__ = ["Flow", "MillivoltSubject", "Read"]

AGE = 30.0  # s; joints and links do not change with it, only how the modules share


@dataclass(frozen=True, slots=True)
class Read:
    """Millivolts over a place at a load, and without load at the same points. [V]"""

    at: str
    level: Level
    loaded: float
    zero: float | None
    age: float | None
    as_typed: str

    @property
    def value(self) -> float:
        """What the load alone makes; without a zero reading the offset is in it."""
        return abs(self.loaded - (self.zero or 0.0))


@dataclass(frozen=True, slots=True)
class Flow:
    """Current in a place, half of its 99 % interval, and whether it comes from readings. [A]"""

    current: float
    half: float
    read: bool


@dataclass(frozen=True, eq=False)
class MillivoltSubject:
    """Readings of a millivolt test with the bank they were taken on."""

    bank: Bank
    steady: Steady
    reads: tuple[Read, ...]
    rounds: tuple[Round, ...] = ()
    meter: Millivolts = field(default_factory=Millivolts)
    clamp: Clamp = field(default_factory=Clamp)
    bus: Bus = field(default_factory=Bus)
    room_degc: float | None = None
    plan_level: Level | None = None  # the load that a plan without readings is made for
    plan_age: float = AGE  # s after its step
    _due: dict[Level, Expected | CircuitError | NeedsValue] = field(default_factory=dict, repr=False)
    _flows: dict[tuple[Level, str], Flow] = field(default_factory=dict, repr=False)

    @cached_property
    def spots(self) -> Mapping[str, Spot]:
        """Every place by its name."""
        return {place.name: place for place in spots(self.bank)}

    @property
    def levels(self) -> tuple[Level, ...]:
        """Loads at which something was read, or is to be."""
        found = tuple(dict.fromkeys(read.level for read in self.reads))
        return found or (() if self.plan_level is None else (self.plan_level,))

    def due(self, level: Level) -> Expected:
        """The bank as computed at a load; CircuitError for what the file lacks."""
        if level not in self._due:
            ages = [read.age for read in self.reads if read.level == level and read.age is not None]
            loads = loads_of(self.bank, level.load, level.on)
            age = float(np.mean(ages)) if ages else self.plan_age
            try:
                self._due[level] = expected(self.bank, Conditions(loads, min(age, 120.0), level.off, self.room_degc))
            except LACKING as error:
                self._due[level] = error
        found = self._due[level]
        if isinstance(found, LACKING):
            raise found
        return found

    def lacking(self, level: Level) -> tuple[Missing, ...]:
        """What stands in the way of a figure at a load."""
        try:
            self.due(level)
        except LACKING as error:
            return missing_of(error)
        return ()

    def flow(self, level: Level, place: Spot) -> Flow:
        """Current in a place at a load."""
        key = (level, place.link)
        if key not in self._flows:
            self._flows[key] = self._flow(level, place.link)
        return self._flows[key]

    def _flow(self, level: Level, link: str) -> Flow:
        due = self.due(level)
        here = tuple(each for each in self.rounds if each.level in (level, Level(0.0)) and each.currents)
        if any(each.level == level for each in here):
            return self._read_flow(level, due, here, link)
        figure = due.figure(current_look(link, "as read"))
        low, high = figure.low or figure.value, figure.high or figure.value
        half = max(high - figure.value, figure.value - low)
        return Flow(abs(figure.value), half, len(due.network.modules) - len(level.off) == 1)

    def _read_flow(self, level: Level, due: Expected, rounds: tuple[Round, ...], link: str) -> Flow:
        """Through the network from the module currents as read: Kirchhoff's laws and the tolerances fill the gaps."""
        prior, observations = model_of(Reads(self.bank, {level: due}, rounds, (), self.clamp, self.bus))
        estimate = fit(prior, observations)
        state = prior.unknowns.states[-1].name
        value, row = predicted(prior.unknowns, [current_look(link, state)], estimate.values)
        return Flow(abs(float(value[0])), float(half_width(row @ estimate.errors, 0.99)[0]), True)

    def elements(self, place: Spot) -> tuple[Element, ...]:
        """Elements of the network in a place."""
        network = self.due(self.levels[0]).network
        if place.kind == "link":
            return network.edges[network.edge_index[place.name]].elements
        return (network.elements[network.element_index[place.name]],)

    def resistance(self, level: Level, place: Spot) -> Figure:
        """What the file says of a place, its copper warm as at this load, with the 99 % interval of its tolerances."""
        due = self.due(level)
        nominal, halves, middle = 0.0, [], 0.0
        for element in self.elements(place):
            given, warm = element.resistance, float(due.warm[due.network.element_index[element.name]])
            assert given is not None
            nominal += given.nominal * warm
            middle += (given.low + given.high) / 2 * warm
            halves.append((given.high - given.low) / 2 * warm)
        half = float(half_width(np.array([halves]), 0.99)[0])
        return Figure(nominal, "resistance", min(middle - half, nominal), max(middle + half, nominal))

    def left_out(self, place: Spot) -> tuple[Missing, ...]:
        """What the file leaves out there and the network takes as nothing: then no figure is due."""
        return tuple(asking(element.needs) for element in self.elements(place) if is_left_out(element))
