"""Rules that join fields of a bank file."""

from __future__ import annotations

from bankwright.bank.told import Told
from bankwright.forms.faults import Fault

__all__ = ["broken_rules"]


def broken_rules(told: Told) -> list[Fault]:
    """All faults of all rules."""
    return []
