"""Which resistance of its modules a surge was computed with.

Gives: long_surge() (kinds whose surge value holds for a shorter time than the surge lasts), surge_inputs().
Limits: of several inverters the longest surge counts.
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import ModuleKind
from bankwright.circuit.of_bank.cell_part import lasting
from bankwright.forms.finding import Input
from bankwright.forms.trace import words

__all__ = ["long_surge", "surge_inputs"]


def _longest(bank: Bank) -> float | None:
    return max((i.kind.surge_time for i in bank.inverters if i.kind.surge_time is not None), default=None)


def long_surge(bank: Bank) -> tuple[ModuleKind, ...]:
    """Kinds that answer the surge with their resistance of later in a step."""
    kinds = {module.kind.path: module.kind for module in bank.modules}.values()
    return tuple(kind for kind in kinds if lasting(kind, _longest(bank)) == "dc")


def surge_inputs(bank: Bank) -> tuple[Input, ...]:
    """One input a kind that does, with the reason."""
    found = []
    for kind in long_surge(bank):
        given = kind.resistance
        holds = f"the surge lasts {_longest(bank):g} s, its value holds for {given.surge_after:g} s"
        key = bank.key(f"{kind.path}.resistance.surge_after")
        found.append(
            words("R_t", f"resistance of {kind.name} in the surge", f"that of {given.after:g} s: {holds}", key)
        )
    return tuple(found)
