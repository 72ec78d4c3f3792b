"""What the checks of the share test look into: readings, means, and the figures that were due.

Gives: ShareSubject, Due, missing_of().
Limits: holds and prepares; verdicts are in share_checks.py. Nothing is expected of readings whose age is not known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.cases import CHARGE, LOWEST
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.prove.currents import Level, Round, Taken, taken
from bankwright.prove.expected import Conditions, Expected, expected, loads_of
from bankwright.prove.meters import Bus, By, Clamp

__all__ = ["LACKING", "Due", "ShareSubject", "missing_of"]

BYS: tuple[By, ...] = ("clamp", "bus")


LACKING = (CircuitError, NeedsValue)  # why there is no figure due


def missing_of(error: CircuitError | NeedsValue) -> tuple[Missing, ...]:
    """What a computation lacked, as a finding says it."""
    if isinstance(error, NeedsValue):
        return error.missing
    return (asking("the bank's network", str(error)),)


@dataclass(frozen=True, eq=False)
class Due:
    """What was taken at one load by one instrument, and what was due; `lacking` says why nothing was."""

    taken: Taken
    expected: Expected | None  # at the mean age
    lacking: tuple[Missing, ...]
    own: Mapping[str, Expected] = field(default_factory=dict)  # at a module's own age, where that makes a difference

    def of(self, module: str) -> Expected:
        """The bank as it should be at the age of this module's reading."""
        assert self.expected is not None
        return self.own.get(module, self.expected)


@dataclass(frozen=True, eq=False)
class ShareSubject:
    """Readings of a share test with the bank they were taken on."""

    bank: Bank
    steady: Steady
    rounds: tuple[Round, ...]
    clamp: Clamp = field(default_factory=Clamp)
    bus: Bus = field(default_factory=Bus)
    room_degc: float | None = None
    cells_degc: Mapping[str, float] | None = None

    @property
    def modules(self) -> tuple[str, ...]:
        """Names of the modules."""
        return tuple(module.name for module in self.bank.modules)

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """Loads other than zero, in their order."""
        return tuple(dict.fromkeys(each.level for each in self.rounds if each.level.load != 0.0))

    @property
    def bys(self) -> tuple[By, ...]:
        """Instruments that were used on modules."""
        used = {read.by for each in self.rounds for read in each.currents}
        return tuple(by for by in BYS if by in used)

    def has_zero(self, by: By) -> bool:
        """Was every module read at zero load by this instrument?"""
        read = {name for each in self.rounds if each.level.load == 0.0 for name in each.of(by)}
        return set(self.modules) <= read

    @cached_property
    def dues(self) -> tuple[Due, ...]:
        """Every load by every instrument that read all modules there."""
        found = []
        for level in self.levels:
            for by in self.bys:
                made = taken(self.rounds, level, by, self.modules, self.clamp, bus=self.bus)
                if made is not None:
                    found.append(self._due(made))
        return tuple(found)

    def _due(self, made: Taken) -> Due:
        lacking: list[Missing] = []
        if not self.has_zero(made.by):
            how = "Open all loads, wait 2 min, read every module's current with the same instrument, in place."
            lacking.append(asking(f"readings.{made.by}.zero", how))
        if made.age is None:
            how = "Note how long after the step each reading was made; read between 30 s and 2 min."
            lacking.append(asking(f"readings.{made.by}.age", how))
            return Due(made, None, tuple(lacking))
        try:
            due = expected(self.bank, self.conditions(made.level, made.age))
        except LACKING as error:
            return Due(made, None, (*lacking, *missing_of(error)))
        return Due(made, due, tuple(lacking), self._own(made))

    def _own(self, made: Taken) -> dict[str, Expected]:
        """Figures at each module's own age: while resistance still grows, readings minutes apart are not alike."""
        ages = made.own_ages
        held = max(self.bank.module(name).kind.resistance.after for name in made.modules)
        if min(ages.values()) >= held or max(ages.values()) - min(ages.values()) < 0.05 * max(ages.values()):
            return {}
        return {name: expected(self.bank, self.conditions(made.level, age)) for name, age in ages.items()}

    @property
    def not_read(self) -> tuple[tuple[Level, tuple[str, ...]], ...]:
        """Modules that are on and that an instrument in use left out at a load."""
        found = []
        for level in self.levels:
            on = set(self.modules) - level.off
            for by in self.bys:
                read = {name for each in self.rounds_at(level) for name in each.of(by)} & on
                left = tuple(name for name in self.modules if name in on - read)
                if read and left:
                    found.append((level, left))
        return tuple(found)

    def conditions(self, level: Level, age: float) -> Conditions:
        """What the engine is asked for at a load."""
        loads = loads_of(self.bank, level.load, level.on)
        return Conditions(loads, age, level.off, self.room_degc, self.cells_degc or {})

    @cached_property
    def full(self) -> Mapping[str, float | Missing]:
        """Largest steady current out of the bank, and into it, or what is missing. [A]"""
        found: dict[str, float | Missing] = {}
        for name in (LOWEST, CHARGE):
            try:
                found[name] = float(abs(sum(self.steady.case(name).module_currents())))
            except LACKING as error:
                found[name] = missing_of(error)[0]
            except KeyError:
                found[name] = asking(name, "The bank file has nothing that draws or gives this current.")
        return found

    def rounds_at(self, level: Level) -> Sequence[Round]:
        """All passes at a load."""
        return tuple(each for each in self.rounds if each.level == level)
