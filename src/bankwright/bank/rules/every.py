"""Rules that join fields of a bank file, all of them run over what is right so far.

Gives: RULES, broken_rules(). A rule is a plain function of the told bank that yields faults; none blames a reference
to an entry that was itself faulty.
Limits: a fault is a file that contradicts itself; a bad design (a missing fuse, a small cable) is a finding of plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bankwright.bank.rules import bus as rules_bus
from bankwright.bank.rules import kinds as rules_kinds
from bankwright.bank.rules import names as rules_names
from bankwright.bank.rules import places as rules_places
from bankwright.bank.rules import watch as rules_watch
from bankwright.bank.rules import wiring as rules_wiring
from bankwright.bank.written.told import Told
from bankwright.forms.faults import Fault

__all__ = ["RULES", "broken_rules"]

RULES: tuple[Callable[[Told], Iterator[Fault]], ...] = (
    *rules_names.RULES,
    *rules_kinds.RULES,
    *rules_places.RULES,
    *rules_wiring.RULES,
    *rules_bus.RULES,
    *rules_watch.RULES,
)


def broken_rules(told: Told) -> list[Fault]:
    """All faults of all rules."""
    return [fault for rule in RULES for fault in rule(told)]
