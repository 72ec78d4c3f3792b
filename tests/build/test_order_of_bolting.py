"""After no step is an unterminated conductor connected to a source: for any bank."""

from __future__ import annotations

import dataclasses
from collections import defaultdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.bank.model import Bank, Earthing
from bankwright.build.joints.order import bolting_order, stack_of, unterminated
from support.banks.rack import busbar, cable, chain

BANKS = st.builds(
    lambda make, n, pole, order: shuffled(make(n).replaced(site=earthed(make(n), pole)), order),
    st.sampled_from([chain, busbar, lambda n: chain(n, "same end")]),
    st.integers(1, 12),
    st.sampled_from([None, "none", "minus", "plus"]),
    st.randoms(use_true_random=False),
)


def earthed(bank: Bank, pole: str | None):  # type: ignore[no-untyped-def]
    return dataclasses.replace(bank.site, earthing=Earthing(pole))  # type: ignore[arg-type]


def shuffled(bank: Bank, order) -> Bank:  # type: ignore[no-untyped-def]
    links = list(bank.links)
    order.shuffle(links)
    return bank.replaced(links=tuple(links))


def hanging_live(bank: Bank, bolted: set[str]) -> set[str]:
    """Independent of the program's own: union of posts and cables, every module a source, every device closed."""
    parent: dict[str, str] = {}

    def root(x: str) -> str:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    for piece in bank.pieces:
        parent[root(f"post {piece.a}")] = root(f"post {piece.b}")
    for joint in bank.joints:
        if joint.name in bolted and joint.post is not None:
            parent[root(f"post {joint.post}")] = root(f"cable {joint.link}")
    live = {root(f"post {post}") for module in bank.modules for post in module.posts}
    free = {joint.link for joint in bank.joints if joint.name not in bolted}
    return {link for link in free if root(f"cable {link}") in live}


@given(BANKS)
def test_after_no_step_is_an_unterminated_conductor_connected_to_a_source(bank: Bank) -> None:
    bolted: set[str] = set()
    for step in bolting_order(bank):
        bolted |= set(step.joints)
        assert hanging_live(bank, bolted) == set()
        assert unterminated(bank, bolted) == ()
    assert bolted == {joint.name for joint in bank.joints}


@given(BANKS)
def test_no_main_hangs_on_a_source_even_while_it_is_bolted(bank: Bank) -> None:
    bolted: set[str] = set()
    roles = {link.name: link.role for link in bank.links}
    for step in bolting_order(bank):
        for joint in step.joints:
            bolted.add(joint)
            assert not {name for name in hanging_live(bank, bolted) if roles[name] == "main"}
            assert hanging_live(bank, bolted) <= {step.link}


@given(BANKS, st.randoms(use_true_random=False))
def test_own_watch_agrees_with_the_independent_one_at_any_moment(bank: Bank, order) -> None:  # type: ignore[no-untyped-def]
    joints = [joint.name for joint in bank.joints]
    order.shuffle(joints)
    for count in range(0, len(joints) + 1, 3):
        bolted = set(joints[:count])
        assert set(unterminated(bank, bolted)) == hanging_live(bank, bolted)


@given(BANKS)
def test_on_every_post_the_lower_lug_comes_first_and_is_torqued_once(bank: Bank) -> None:
    steps = bolting_order(bank)
    turn = {name: number for number, step in enumerate(steps) for name in step.joints}
    torqued: dict[str, int] = {}
    for number, step in enumerate(steps):
        for post in step.completes:
            assert post not in torqued
            torqued[post] = number
    used = {joint.post for joint in bank.joints if joint.post}
    assert set(torqued) == used
    for post in used:
        turns = [turn[joint.name] for joint in stack_of(bank, post)]
        assert turns == sorted(turns)
        assert torqued[post] == turns[-1]


def test_one_pole_is_whole_before_the_other() -> None:
    bank = busbar(4)
    poles = [bank.link(step.link).pole for step in bolting_order(bank) if bank.link(step.link).role == "lead"]
    assert poles == ["-"] * 4 + ["+"] * 4
    plus = bank.replaced(site=earthed(bank, "plus"))
    assert next(plus.link(s.link).pole for s in bolting_order(plus)) == "+"


def test_mains_come_last_where_no_post_forces_them() -> None:
    roles = [busbar(4).link(step.link).role for step in bolting_order(busbar(4))]
    assert roles == ["lead"] * 8 + ["main"] * 2


def test_a_main_that_lies_under_a_link_comes_before_it() -> None:
    bank = chain(3)
    order = [step.link for step in bolting_order(bank)]
    assert order.index("main+") < order.index("L2+") < order.index("L1+")
    assert order.index("main-") < order.index("L1-") < order.index("L2-")
    assert [joint.link for joint in stack_of(bank, "M3+")] == ["main+", "L2+"]


def test_solved_currents_decide_the_stack() -> None:
    bank = chain(3)
    assert [j.link for j in stack_of(bank, "M2+", {"L1+": 80.0, "L2+": -20.0})] == ["L1+", "L2+"]
    assert [j.link for j in stack_of(bank, "M2+", {"L1+": 10.0, "L2+": -60.0})] == ["L2+", "L1+"]


def test_a_branch_from_a_junction_is_bolted_from_the_inverter() -> None:
    bank = busbar(2)
    step = next(step for step in bolting_order(bank) if step.link == "main+")
    assert step.joints[0] == "main+@I1+"
    assert step.joints[-1] == "main+@bar+3"


@pytest.mark.parametrize("first", [0, 1])
def test_the_watch_sees_a_hanging_conductor(first: int) -> None:
    bank = chain(2)
    link = bank.link("L1+")
    assert unterminated(bank, {link.joints[first]}) == ("L1+",)
    assert unterminated(bank, {"main+@I1+"}) == ()
    assert unterminated(bank, {"main+@M2+"}) == ("main+",)


def test_rings_are_ordered_too() -> None:
    bank = chain(3)
    link, joints = cable("ring+", "M1+", "M3+", "+", "link", 0.9)
    bank = bank.replaced(links=(*bank.links, link), joints=(*bank.joints, *joints))
    bolted: set[str] = set()
    for step in bolting_order(bank):
        bolted |= set(step.joints)
        assert hanging_live(bank, bolted) == set()
    stacks: dict[str, list[str]] = defaultdict(list)
    for step in bolting_order(bank):
        for post in step.completes:
            stacks[post].append(step.link)
    assert all(len(found) == 1 for found in stacks.values())


@st.composite
def listed(draw):  # type: ignore[no-untyped-def]
    """Any wiring: links between random posts of a pole, junctions and inverters, rings and double feeds among them."""
    bank = chain(draw(st.integers(2, 6)))
    made = []
    for pole in ("+", "-"):
        posts = [f"M{n}{pole}" for n in range(1, len(bank.modules) + 1)] + [f"J{pole}", f"K{pole}", f"I1{pole}"]
        pairs = draw(st.lists(st.tuples(st.sampled_from(posts), st.sampled_from(posts)), min_size=1, max_size=10))
        for n, (a, b) in enumerate(pairs):
            if a != b:
                role = draw(st.sampled_from(["link", "lead", "main", "branch"]))
                made.append(cable(f"X{n}{pole}", a, b, pole, role, 0.5, ("S1",) * draw(st.integers(0, 1))))  # type: ignore[arg-type]
    junctions = tuple(
        dataclasses.replace(bank.posts[0], name=name, owner=name, owner_kind="junction", pole=name[-1])  # type: ignore[arg-type]
        for name in ("J+", "J-", "K+", "K-")
    )
    links = tuple(link for link, _ in made)
    joints = tuple(joint for _, found in made for joint in found)
    feeds = (("M1+",), ("M1-",))
    return bank.replaced(links=links, joints=joints, posts=(*bank.posts, *junctions), feed_posts=feeds)


@given(listed(), st.booleans())
def test_any_listed_wiring_keeps_the_invariant(bank: Bank, with_currents: bool) -> None:
    currents = {link.name: float(n * 7 % 5) for n, link in enumerate(bank.links)} if with_currents else None
    bolted: set[str] = set()
    steps = bolting_order(bank, currents)
    assert sorted(step.link for step in steps) == sorted(link.name for link in bank.links)
    for step in steps:
        bolted |= set(step.joints)
        assert hanging_live(bank, bolted) == set()
    assert bolted == {joint.name for joint in bank.joints}
