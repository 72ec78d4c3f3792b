"""What readings can tell apart: the rank tables of two banks, and groups from their loops.

The table (readings against banks, ten unknowns each) was computed elsewhere by singular values on star and chain models
of its own; it is written here as it stands.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from bankwright.circuit.inverse.elements import groups, rank, series_groups, told
from bankwright.circuit.inverse.looks import Look, State, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.point import Unknowns, predicted
from bankwright.circuit.network import Array, Network
from support.inverse_banks import network_of
from support.networks import FEEDS, ladder, star

BARS = star([0.014] * 5, [360e-6] * 5, 0.0, 1e-4)
BARS_OF = [(f"M{k}",) for k in range(1, 6)] + [(f"W{k}+", f"W{k}-") for k in range(1, 6)]
CHAIN_OF = [(f"M{k}",) for k in range(1, 5)] + [(f"L{k}{pole}",) for k in (1, 2, 3) for pole in "+-"]
FEED = {"bars": ("bar+5", "bar-5"), "opposite ends": ("M4+", "M1-"), "same end": ("M1+", "M1-")}


def bank(which: str) -> tuple[Network, list[tuple[str, ...]]]:
    return (BARS, BARS_OF) if which == "bars" else (ladder(4, which, 0.014, 130e-6, 1e-4), CHAIN_OF)  # type: ignore[return-value]


def sensitivity(network: Network, of: Sequence[Sequence[str]], looks: Sequence[Look], states: list[State]) -> Array:
    unknowns = Unknowns(network, tuple(states))
    _, rows = predicted(unknowns, looks, unknowns.start(network.resistances(), np.full(len(network.modules), 51.2)))
    return np.stack([rows[:, [unknowns.place[name] for name in group]].sum(axis=1) for group in of], axis=1)


def under(name: str = "a", amperes: float = 100.0, off: Sequence[str] = ()) -> State:
    return State(name, {"I1": amperes}, frozenset(off))


def looks_of(network: Network, state: State, reads: str, feed: tuple[str, str]) -> list[Look]:
    on = [name for name in network.module_names if name not in state.off]
    links = [edge.name for edge in network.edges if edge.name.startswith("L")]
    return (
        [current_look(name, state.name) for name in on]
        + [voltage_look(f"{name}+", f"{name}-", state.name) for name in network.module_names if "posts" in reads]
        + [voltage_look(*feed, state.name) for _ in range("feed" in reads)]
        + [drop_look(state.name, name) for name in links if "drops" in reads]
        + [voltage_look("M1+", "M1-", state.name) for _ in range("one post" in reads)]
    )


ONE, THREE = [under()], [under(f"at {amps:g}", amps) for amps in (25.0, 50.0, 100.0)]
M2_AWAY = [under(), under("away", off=["M2"])]
TABLE = [
    # readings, bars 5, chain 4 opposite ends, chain 4 same end
    ("currents, one load", 4, 3, 3),
    ("currents, three loads", 4, 3, 3),
    ("+ sag at the feed", 5, 4, 4),
    ("currents, each off in turn", 4, 7, 5),
    ("currents + posts", 9, 7, 7),
    ("currents + posts + feed", 10, 8, 7),
    ("currents + posts, M2 away", None, 10, 7),
    ("currents + drops", None, 9, 9),
    ("currents + drops + one post", None, 10, 10),
]
CASES = [(row[0], which, row[k]) for row in TABLE for k, which in enumerate(FEED, 1) if row[k] is not None]


@pytest.mark.parametrize(("reads", "which", "expected"), CASES)
def test_the_rank_table(reads: str, which: str, expected: int) -> None:
    network, of = bank(which)
    states = ONE
    if "three" in reads:
        states = THREE
    elif "in turn" in reads:
        states = [under(f"off {name}", off=[name]) for name in network.module_names]
    elif "M2 away" in reads:
        states = M2_AWAY
    looks = [look for state in states for look in looks_of(network, state, reads, FEED[which])]
    assert rank(sensitivity(network, of, looks, states)) == expected


@pytest.mark.parametrize(
    ("count", "feed", "expected"),
    # rank N - 1, and 7 of 22 elements for a chain of eight (N modules, 2 (N - 1) links)
    [(8, "opposite ends", (7, 22)), (8, "same end", (7, 22)), (2, "opposite ends", (1, 4)), (5, "both ends", (4, 13))],
)
def test_currents_alone_give_one_number_less_than_there_are_modules(
    count: int, feed: str, expected: tuple[int, int]
) -> None:
    network = ladder(count, feed, 0.014, 130e-6, 1e-4)
    names = [name for name in network.element_index if name[0] in "ML"]
    looks = [current_look(name, "a") for name in network.module_names]
    rows = sensitivity(network, [(name,) for name in names], looks, ONE)
    assert (rank(rows), len(names)) == expected


def test_least_sets_that_settle_everything() -> None:
    # bars: N currents, N post sags, one bar sag: 2N + 1; chain: N currents, 2 (N - 1) link drops, one post: 3N - 1
    for which, reads, count in (("bars", "posts feed", 11), ("opposite ends", "drops one post", 11)):
        network, of = bank(which)
        looks = looks_of(network, ONE[0], reads, FEED[which])
        ohms = np.array([sum(network.resistances()[network.element_index[n]] for n in group) for group in of])
        found = told(sensitivity(network, of, looks, ONE), [group[0] for group in of], ohms)
        assert len(looks) == count
        assert found.settles_all
        assert not found.only_ratios


def test_currents_know_only_ratios_until_a_voltage_is_read() -> None:
    network, of = bank("opposite ends")
    ohms, names = np.array([0.014] * 4 + [130e-6] * 6), [group[0] for group in of]
    only = told(sensitivity(network, of, looks_of(network, ONE[0], "", FEED["opposite ends"]), ONE), names, ohms)
    more = told(sensitivity(network, of, looks_of(network, ONE[0], "feed", FEED["opposite ends"]), ONE), names, ohms)
    assert (only.only_ratios, more.only_ratios) == (True, False)
    assert only.rank < only.count
    assert not only.settles_all


def flow(network: Network) -> Array:
    unknowns = Unknowns(network, (under(),))
    looks = [current_look(edge.name, "a") for edge in network.edges]
    return predicted(unknowns, looks, unknowns.start(network.resistances(), np.full(len(network.modules), 51.2)))[0]


@pytest.mark.parametrize(
    ("feed", "names", "mirror"),
    [
        # a joint of the first module is its plus link, one of the last its minus link; the other link mirrors it
        ("opposite ends", ("M1", "L1+"), ("L1-",)),
        ("opposite ends", ("M4", "L3-"), ("L3+",)),
        ("opposite ends", ("L2+",), ("L2-",)),
        # plus and minus link of one gap are one thing; the last gap is the last module's own joint
        ("same end", ("L2+", "L2-"), ()),
        ("same end", ("M4", "L3+", "L3-"), ()),
        ("same end", ("M1",), ("L1+", "L1-")),
    ],
)
def test_groups_of_a_chain(feed: str, names: tuple[str, ...], mirror: tuple[str, ...]) -> None:
    network = ladder(4, feed, 0.014, 130e-6, 1e-4)
    found = {frozenset(each.names): frozenset(each.mirror) for each in series_groups(network, flow(network))}
    assert found[frozenset(names)] == frozenset(mirror)


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("count", [3, 4, 6])
def test_groups_by_loops_and_by_columns_are_the_same(feed: str, count: int) -> None:
    network = ladder(count, feed, 0.014, 130e-6, 1e-4)
    every = [current_look(edge.name, "a") for edge in network.edges]
    names = [element.name for element in network.elements]
    columns = sensitivity(network, [(name,) for name in names], every, ONE)
    by_loops = {frozenset(each.names) for each in series_groups(network, flow(network))}
    assert {frozenset(group) for group in groups(columns, names, 1 - 1e-9)} == by_loops


def test_a_main_is_never_seen_and_a_branch_of_a_bar_is_one_thing() -> None:
    network = network_of("bars")
    load = State("a", {"I1": 100.0, "I2": 100.0})
    unknowns = Unknowns(network, (load,))
    every = [current_look(edge.name, "a") for edge in network.edges]
    amps = predicted(unknowns, every, unknowns.start(network.resistances(), np.full(5, 51.2)))[0]
    found = series_groups(network, amps)
    third = next(each.names for each in found if "M3" in each.names)
    assert set(third) == {"M3", "L3+", "L3-", "L3+@M3+", "L3+@bar+4", "L3-@M3-", "L3-@bar-4"}
    assert not any("main+" in each.names or "F1" in each.names for each in found)
