"""What the checks look into: one bank, and everything that can be computed of it, each when it is first asked for.

Gives: Plan, plan_of(). plan.worst(name) is the largest current of an edge over cases as a Traced figure: with the case,
with a band where a published range stands in for a missing value, and with what would settle it.
Limits: a value that is missing without a stand-in raises NeedsValue (forms/checks),
which a check turns into `unknown`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Charger, Inverter, Link, Load, Module
from bankwright.circuit.cases import CHARGE, LOWEST, is_away
from bankwright.circuit.errors import CircuitError, IllPosed
from bankwright.circuit.steady import Steady, steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Input, Missing
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.handbook.books import RuleBook, book
from bankwright.plan.ends.fault_ends import FaultEnds
from bankwright.plan.ends.parallel import sets_of
from bankwright.plan.ends.stand_in import StoodIn, stood_in
from bankwright.plan.ends.surges import long_surge
from bankwright.plan.ends.tolerances import widened
from bankwright.plan.once import once

if TYPE_CHECKING:
    from bankwright.circuit.network import Array
    from bankwright.circuit.scatter.scatter import Scatter
    from bankwright.circuit.scatter.spread import Spread

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
        from bankwright.circuit.scatter.scatter import scatter

        return scatter(self.steady, [name for name in (LOWEST, CHARGE) if name in self.steady.names])

    @cached_property
    def faults(self) -> FaultEnds:
        """Shorts at both ends of what is possible."""
        return FaultEnds(self.bank, self.stood)

    @property
    def protected_pole(self) -> str:
        """The pole whose devices count; minus only where plus is earthed."""
        return "-" if self.bank.site.earthing.pole == "plus" else "+"

    @property
    def protected_poles(self) -> str:
        """Poles that need devices: both of a floating bank."""
        return "+-" if self.bank.site.earthing.pole == "none" else self.protected_pole

    @cached_property
    def bases(self) -> tuple[str, ...]:
        """Full discharge at the lowest voltage, and full charge, as far as the bank has them."""
        return tuple(name for name in (LOWEST, CHARGE) if name in self.steady.names)

    @cached_property
    def aways(self) -> tuple[str, ...]:
        """Continuous cases with one module away, in its three ways."""
        return tuple(case for case in self.steady.continuous if is_away(self.bank, case))

    @cached_property
    def results(self) -> dict[tuple[Hashable, ...], object]:
        """Results that several checks share; once() alone reads and fills it (plan/once)."""
        return {}

    @cached_property
    def _currents(self) -> dict[str, Array | CircuitError | NeedsValue]:
        return {}

    def currents(self, case: str) -> Array:
        """Edge currents of a case at all ends (resistance, voltage, edge); NeedsValue when it cannot be solved."""
        import numpy as np

        if case not in self._currents:
            try:
                rows = [[each.edge_current(case, partly=True) for each in row] for row in self.steadies]
                self._currents[case] = np.array(rows)
            except (IllPosed, NeedsValue) as error:
                self._currents[case] = error
            except CircuitError as error:  # nothing came out: the checks that rest on it are unknown, and say why
                self._currents[case] = NeedsValue(asking("wiring", "Look for a value far off.", lacks=str(error)))
        found = self._currents[case]
        if isinstance(found, (CircuitError, NeedsValue)):
            raise found
        return found

    def place(self, name: str) -> int:
        """Column of an edge, or of the edge an element lies in."""
        return self.steady.network.edge_index[name]

    def worst(self, name: str, cases: Sequence[str] | None = None, way: str = "both") -> Traced:
        """Largest current of an edge over cases (continuous ones if not told), as a size, with its case and band.

        `way` counts one sign only: "out" what leaves a module, "in" what enters it. Cases that cannot be solved make
        the figure "at least"; if none can, NeedsValue.
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
        return self._traced(_sized(np.asarray(total), way), solved, missing)

    def sizes(self, names: Sequence[str], cases: tuple[str, ...], way: str = "both") -> list[float]:
        """worst(name, cases, way).value of many edges beside each other."""
        solved, table, missing = self.stacked(cases)
        if not solved:
            raise NeedsValue(*missing)
        found = _sized(table[..., [self.place(name) for name in names]], way)
        return [float(size) for size in found.reshape(-1, len(names)).max(axis=0)]

    def stacked(self, cases: tuple[str, ...]) -> tuple[tuple[str, ...], Array, tuple[Missing, ...]]:
        """Cases that could be solved, edge currents (case, resistance end, voltage end, edge), what the others
        miss."""
        import numpy as np

        if cases not in self._stacks:
            for each in (ends for row in self.steadies for ends in row):
                each.ahead(cases)
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
        from bankwright.circuit.solution import Case
        from bankwright.circuit.solver.laws import Current

        probe = Case("probe", {load.name: Current(1.0)}, resistance="ohmic")
        rest = float(self.steady.solved(Case("rest", resistance="ohmic")).voltage(load.name))
        under = float(self.steady.solved(probe).voltage(load.name))
        return rest - under

    # ---- short ways ----

    @cached_property
    def parallel_sets(self) -> tuple[tuple[Link, ...], ...]:
        """Cables in parallel, two and more together."""
        return sets_of(self.bank)

    def set_of(self, link: Link) -> tuple[Link, ...]:
        """Members of the set a cable belongs to; the cable alone where it is none."""
        return next((row for row in self.parallel_sets if any(each.name == link.name for each in row)), (link,))

    @once
    def design_current(self, name: str) -> Traced:
        """Ib: the largest size of current over the continuous cases, tolerances of the file in (99 % quantile)."""
        return self.inside_tolerances(name, self._nominal_design(name))

    def inside_tolerances(self, name: str, found: Traced) -> Traced:
        """A current of an edge as its tolerances may widen it, in its own case and at its larger end."""
        import numpy as np

        sizes = np.abs(self.currents(found.case or "")[..., self.place(name)])
        row, column = np.unravel_index(int(sizes.argmax()), sizes.shape)
        spread = self._spread(found.case or "", int(row), int(column))
        if spread is None:
            return found
        return widened(name, found, spread.quantile(name), spread.corner(name))

    @once
    def _spread(self, case: str, row: int, column: int) -> Spread | None:
        from bankwright.circuit.scatter.spread import spread

        try:
            return spread(self.steadies[row][column], case)
        except CircuitError:  # what cannot be delivered has its own finding
            return None

    def _nominal_design(self, name: str) -> Traced:
        """Largest size of current over the continuous cases; one of a parallel set open is none of them."""
        link = next((each for each in self.bank.links if each.name == name), None)
        members = (link,) if link is None else self.set_of(link)
        if len(members) < 2:
            return self.worst(name)
        opened = {each.name for each in members if each is not None}
        opened |= {d.name for d in self.bank.devices if {d.on, *d.also_on} & opened}
        cases = [c for c in self.steady.continuous if c.partition(", ")[2].removesuffix(" open") not in opened]
        return self.worst(name, cases)

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

    @cached_property
    def powered(self) -> tuple[Inverter | Charger | Load, ...]:
        """Users without sense and control wires: what draws or gives current that counts."""
        return tuple(user for user in self.users if not (isinstance(user, Load) and user.sense))

    def links_at(self, post: str) -> tuple[Link, ...]:
        """Links that end at a post."""
        return tuple(link for link in self.bank.links if post in (link.a, link.b))

    def ill_posed(self) -> IllPosed | None:
        """The named error of a bank whose network has no single answer."""
        try:
            _ = self.steady.network
        except IllPosed as error:
            return error
        except (CircuitError, NeedsValue):
            return None
        return None


def _sized(current: Array, way: str) -> Array:
    """Sizes of signed currents: of both signs, or of one and zero for the other."""
    import numpy as np

    if way == "both":
        return np.abs(current)
    return np.maximum(current if way == "out" else -current, 0.0)


def plan_of(bank: Bank) -> Plan:
    """Prepare the checks of a bank; nothing is computed yet."""
    return Plan(bank)
