"""What the branch of one module bears: its own limit, its breaker, devices in its leads.

Gives: BranchLimit, branch_limits(). The smallest of them is the limit of the current that a share test reads.
Limits: ratings as written, not derated (Plan); cables are Plan's matter (P-CABLE).
Sources: data sheets, as the bank file has them.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank

__all__ = ["BranchLimit", "branch_limits"]


@dataclass(frozen=True, slots=True)
class BranchLimit:
    """A limit of a branch's current: whose, and the key that gives it; None where it is not given. [A]"""

    value: float | None
    whose: str
    key: str


def branch_limits(bank: Bank, module: str, charging: bool) -> tuple[BranchLimit, ...]:
    """The module's own continuous limit first, then its breaker, then every device between it and the others."""
    kind = bank.module(module).kind
    own = kind.charge.continuous if charging else kind.discharge.continuous
    found = [
        BranchLimit(
            own, f"continuous limit of {kind.name}", f"{kind.path}.{'charge' if charging else 'discharge'}.continuous"
        )
    ]
    if kind.breaker is not None and kind.breaker.rating is not None:
        found.append(BranchLimit(kind.breaker.rating, f"breaker of {module}", f"{kind.path}.breaker.rating"))
    posts = set(bank.module(module).posts)
    for link in bank.links:
        if link.role == "lead" and posts & {link.a, link.b}:
            for device in bank.devices_on(link.name):
                found.append(BranchLimit(device.kind.rating, device.name, f"{device.kind.path}.rating"))
    return tuple(found)
