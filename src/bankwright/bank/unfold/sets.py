"""Conductors in parallel as one set: a cable with `parallel = 2` becomes two alike ones between the same two posts.

Gives: add_sets(), members(). main+ with 3 is main+, main+.2 and main+.3.
Limits: alike by what they are; a device sits in one cable alone,
so that a set ends where its device begins (bank/unfold/devices tells).
"""

from __future__ import annotations

from dataclasses import replace

from bankwright.bank.unfold.draft import Draft, LinkDraft

__all__ = ["add_sets", "members"]


def members(link: LinkDraft) -> int:
    """How many alike cables a link stands for."""
    return int(link.conductor.value("parallel") or 1)


def add_sets(draft: Draft) -> None:
    """Put the further cables of each set behind its first one."""
    taken = {link.name for link in draft.links}
    found: list[LinkDraft] = []
    for link in draft.links:
        found.append(link)
        for number in range(2, members(link) + 1):
            name = f"{link.name}.{number}"
            if name in taken:
                draft.fault(link.origin, "double-name", f"{name} is a cable of its own, and one of the set {link.name}")
                continue
            found.append(replace(link, name=name, devices=[]))
    draft.links[:] = found
