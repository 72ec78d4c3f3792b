"""What the checks look into: one bank, and everything that can be computed of it, each when it is first asked for.

Gives: Plan, plan_of(). plan.worst(name) is the largest current of an edge over cases as a Traced figure: with the
case,
with a band where a published range stands in for a missing value, and with what would settle it.
Limits: a value that is missing without a stand-in raises NeedsValue (forms/checks), which a check turns into
`unknown`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from bankwright.bank.model import Bank, Charger, Inverter, Link, Load, Module
from bankwright.circuit.cases import CHARGE, LOWEST, case_of
from bankwright.circuit.errors import CircuitError, IllPosed, NotDeliverable
from bankwright.circuit.errors import NeedsValue as CircuitNeedsValue
from bankwright.circuit.steady import Steady, steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.wording import Figure
from bankwright.handbook.books import RuleBook, book
from bankwright.plan.asks import asking
from bankwright.plan.fault_ends import FaultEnds
from bankwright.plan.stand_in import StoodIn, stood_in
from bankwright.plan.surges import long_surge
from bankwright.plan.trace import Traced

if TYPE_CHECKING:
    from bankwright.circuit.network import Array
    from bankwright.circuit.scatter import Scatter

__all__ = ["Plan", "plan_of"]

SAME = 1e-3  # figures that differ by less do not depend on what is missing


@dataclass(frozen=True, eq=False)
class Plan:
    """A bank under its rule book, with its solved cases, faults and scatter."""

    bank: Bank

    # ---- rule book ----

    @cached_property
    def book(self) -> RuleBook:
        """The rule book; NeedsValue where the file names none."""
        if self.bank.book is None:
            raise NeedsValue(asking("rules"))
        return book(self.bank.book)

    # ---- solved cases ----

    @cached_property
    def stood(self) -> StoodIn:
        """The banks to solve, and what stands in for missing values."""
        return stood_in(self.bank)

    @cached_property
    def steadies(self) -> tuple[tuple[Steady, ...], ...]:
        """Steady solutions, [resistance end][voltage end]."""
        return tuple(tuple(steady(each) for each in row) for row in self.stood.banks)

    @cached_property
    def steady(self) -> Steady:
        """Steady solutions of the first end; of the bank itself when nothing is missing."""
        return self.steadies[0][0]

    @cached_property
    def scatter(self) -> Scatter:
        """Variants inside the tolerances, of full discharge and full charge; solved when a case is asked for."""
        from bankwright.circuit.scatter import scatter

        return scatter(self.steady, [name for name in (LOWEST, CHARGE) if name in self.steady.names])

    @cached_property
    def faults(self) -> FaultEnds:
        """Shorts at both ends of what is possible."""
        return FaultEnds(self.bank, self.stood)

    @cached_property
    def bases(self) -> tuple[str, ...]:
        """Full discharge at the lowest voltage, and full charge, as far as the bank has them."""
        return tuple(name for name in (LOWEST, CHARGE) if name in self.steady.names)

    @cached_property
    def aways(self) -> tuple[str, ...]:
        """Continuous cases with one module away, in its three ways."""
        names = {module.name for module in self.bank.modules}
        return tuple(case for case in self.steady.continuous if case.partition(", ")[2].split(" ")[0] in names)

    @cached_property
    def kept(self) -> dict[tuple[str, str], Any]:
        """Results that several checks share, by what and case."""
        return {}

    @cached_property
    def _currents(self) -> dict[str, Array | CircuitError]:
        return {}

    def currents(self, case: str) -> Array:
        """Edge currents of a case at all ends (resistance, voltage, edge); NeedsValue when it cannot be solved."""
        import numpy as np

        if case not in self._currents:
            try:
                rows = [[_edge_current(each, case) for each in row] for row in self.steadies]
                self._currents[case] = np.array(rows)
            except CircuitError as error:
                self._currents[case] = error
        found = self._currents[case]
        if isinstance(found, CircuitNeedsValue):
            raise NeedsValue(*self.missing_of(found))
        if isinstance(found, CircuitError):
            raise found
        return found

    def missing_of(self, error: CircuitNeedsValue) -> tuple[Missing, ...]:
        """What the circuit asks for, in the words of this stage."""
        return (asking(error.key, error.how),)

    def place(self, name: str) -> int:
        """Column of an edge, or of the edge an element lies in."""
        return self.steady.network.edge_index[name]

    def worst(self, name: str, cases: Sequence[str] | None = None, way: str = "both") -> Traced:
        """Largest current of an edge over cases (continuous ones if not told), as a size, with its case and band.

        `way` counts one sign only: "out" what leaves a module, "in" what enters it. Cases that cannot be solved
        make the
        figure "at least"; if none can, NeedsValue.
        """
        return self.worst_of(((name, 1.0),), cases, way)

    def worst_of(
        self, names: Iterable[tuple[str, float]], cases: Sequence[str] | None = None, way: str = "both"
    ) -> Traced:
        """Largest |sum of signed currents| of several edges, as worst()."""
        import numpy as np

        chosen = self.steady.continuous if cases is None else tuple(cases)
        solved, table, missing = self.stacked(chosen)
        if not solved:
            raise NeedsValue(*missing)
        total = sum(sign * table[..., self.place(name)] for name, sign in names)
        size = {"both": np.abs(total), "out": np.maximum(total, 0.0), "in": np.maximum(-total, 0.0)}[way]
        return self._traced(size, solved, missing)

    def stacked(self, cases: tuple[str, ...]) -> tuple[tuple[str, ...], Array, tuple[Missing, ...]]:
        """Cases that could be solved, edge currents (case, resistance end, voltage end, edge), what the others
        miss."""
        import numpy as np

        if cases not in self._stacks:
            missing: dict[Missing, None] = {}
            rows: dict[str, Array] = {}
            for case in cases:
                try:
                    rows[case] = self.currents(case)
                except NeedsValue as error:
                    missing.update(dict.fromkeys(error.missing))
            self._stacks[cases] = tuple(rows), np.array(list(rows.values())), tuple(missing)
        return self._stacks[cases]

    @cached_property
    def _stacks(self) -> dict[tuple[str, ...], tuple[tuple[str, ...], Array, tuple[Missing, ...]]]:
        return {}

    def _traced(self, table: Array, cases: tuple[str, ...], missing: tuple[Missing, ...]) -> Traced:
        import numpy as np

        worst = table.max(axis=0)
        high, low = float(worst.max()), float(worst.min())
        flat = table.reshape(len(cases), -1)
        case = cases[int((flat >= high * (1 - 1e-9)).any(axis=1).argmax())]
        same = SAME * max(high, 1e-9)
        inputs: tuple[Input, ...] = ()
        if worst.shape[0] > 1 and float(np.ptp(worst, axis=0).max()) > same:
            inputs += self.stood.resistances["dc"]
        if worst.shape[1] > 1 and float(abs(worst[:, 0] - worst[:, -1]).max()) > same:
            inputs += self.stood.voltages
        at_least = bool(missing)
        banded = bool(inputs) or at_least
        figure = Figure(high, "current", low if banded else None, None if at_least or not banded else high)
        return Traced(figure, inputs, missing, case)

    @property
    def surge_assumed(self) -> tuple[Input, ...]:
        """What stands in for resistances in a surge; also those of later in a step, where it lasts that long."""
        later = self.stood.resistances["dc"] if long_surge(self.bank) else ()
        return (*self.stood.resistances["surge"], *later)

    def surge_current(self, name: str) -> Traced:
        """Current of an edge in a surge, with its band."""
        from bankwright.circuit.cases import SURGE

        found = self.worst(name, (SURGE,))
        inputs = tuple(i for i in found.inputs if i.symbol != "R_30")
        if len(inputs) < len(found.inputs):
            inputs = tuple(dict.fromkeys((*self.surge_assumed, *inputs)))
        return Traced(found.figure, inputs, found.missing, found.case)

    def bank_resistance(self, load: Inverter) -> float:
        """Resistance of bank and cables as an inverter sees them, lowest end of what is given. [ohm]"""
        from bankwright.circuit.laws import Current
        from bankwright.circuit.solution import Case

        probe = Case("probe", {load.name: Current(1.0)}, resistance="ohmic")
        try:
            rest = float(self.steady.solved(Case("rest", resistance="ohmic")).voltage(load.name))
            under = float(self.steady.solved(probe).voltage(load.name))
        except CircuitNeedsValue as error:
            raise NeedsValue(*self.missing_of(error)) from error
        return rest - under

    # ---- short ways ----

    def design_current(self, name: str) -> Traced:
        """Ib: the largest size of current over the continuous cases."""
        return self.worst(name)

    @cached_property
    def inverter_of_post(self) -> dict[str, Inverter]:
        """Inverters by their posts."""
        return {post: inverter for inverter in self.bank.inverters for post in inverter.posts}

    @cached_property
    def module_of_post(self) -> dict[str, Module]:
        """Modules by their posts."""
        return {post: module for module in self.bank.modules for post in module.posts}

    @cached_property
    def users(self) -> tuple[Inverter | Charger | Load, ...]:
        """Everything that hangs on the bus with posts of its own: inverters, chargers of their own, loads."""
        bank = self.bank
        return (*bank.inverters, *(charger for charger in bank.chargers if charger.of is None), *bank.loads)

    def links_at(self, post: str) -> tuple[Link, ...]:
        """Links that end at a post."""
        return tuple(link for link in self.bank.links if post in (link.a, link.b))

    def ill_posed(self) -> IllPosed | None:
        """The named error of a bank whose network has no single answer."""
        try:
            _ = self.steady.network
        except IllPosed as error:
            return error
        except CircuitError:
            return None
        return None


def _edge_current(ends: Steady, case: str) -> Array:
    """Edge currents of a case; of the most that can be delivered where that is less than is asked for."""
    try:
        return ends.case(case).edge_current
    except NotDeliverable:
        return ends.solved(case_of(ends.bank, case), partly=True).edge_current


def plan_of(bank: Bank) -> Plan:
    """Prepare the checks of a bank; nothing is computed yet."""
    return Plan(bank)
