"""What can only be seen once everything is unfolded: names that collide, parts that nothing joins.

Gives: names_twice(), loose_parts(). Limits: resistances and loops are the circuit's matter (circuit/solver/graph).
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.bank.unfold.draft import POLES, Draft
from bankwright.forms.faults import Fault

__all__ = ["loose_parts", "names_twice"]


def names_twice(bank: Bank) -> list[Fault]:
    """Names are unique over the whole unfolded bank."""
    seen: dict[str, object] = {}
    faults = []
    for thing in bank.things():
        if thing.name in seen and seen[thing.name] is not thing:
            found, right = f'"{thing.name}" names two things', "Names are unique over the whole bank"
            faults.append(Fault(thing.origin.path, "double-name", found, "", right, thing.origin.place))
        seen[thing.name] = thing
    return faults


def loose_parts(draft: Draft) -> list[Fault]:
    """All posts of a pole hang together by links and bars; what does not is told at its owner."""
    faults = []
    for pole in POLES:
        groups = _groups(draft, pole)
        if len(groups) < 2:
            continue
        bank = max(groups, key=lambda group: sum(draft.posts[name].owner_kind == "module" for name in group))
        for group in groups:
            if group is not bank:
                first = draft.posts[group[0]]
                names = ", ".join(group[:4]) + (" ..." if len(group) > 4 else "")
                verb = "is" if len(group) == 1 else "are"
                found = f"{names} {verb} joined to nothing of the bank ({bank[0]} ...)"
                path, place = first.origin.path, first.origin.place
                faults.append(Fault(path, "not-joined", found, "", "A link leads to every post in use", place))
    return faults


def _groups(draft: Draft, pole: str) -> list[list[str]]:
    """Posts of a pole that metal joins, each group in the order of the posts."""
    group_of = {name: [name] for name, post in draft.posts.items() if post.pole == pole}
    pairs = [(link.a, link.b) for link in draft.links] + [(piece.a, piece.b) for piece in draft.pieces]
    for a, b in pairs:
        if a not in group_of or group_of[a] is group_of[b]:
            continue
        small, large = sorted((group_of[a], group_of[b]), key=len)
        large += small
        for name in small:
            group_of[name] = large
    found: list[list[str]] = []
    for group in group_of.values():
        if not any(group is other for other in found):
            found.append(group)
    order = list(draft.posts)
    return [sorted(group, key=order.index) for group in found]
