"""Questions that practitioners asked, with figures of currents: sharing, and one module leaving."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.network import Network
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.solve import solve
from support.networks import ladder, star


def under(network: Network, amperes: float, opened: frozenset[str] = frozenset()) -> Solution:
    emf = np.full(len(network.modules), 51.2)
    return solve(network, Case("test", {"I1": Current(amperes)}, opened), network.resistances(), emf)


def test_four_packs_links_as_large_as_the_packs_diagonal_feed():
    # 1.0 mohm packs, 1.0 mohm links, 100 A: 37.5, 12.5, 12.5, 37.5 A, spread 3:1
    # [figures posted in a public forum and re-solved by node analysis].
    assert under(ladder(4, "opposite ends", 1e-3, 1e-3), 100.0).module_currents() == pytest.approx(
        [37.5, 12.5, 12.5, 37.5], abs=1e-9
    )


@pytest.mark.parametrize(
    ("feed", "link", "expected", "ratio"),
    [
        ("opposite ends", 0.1e-3, [27.27, 22.73, 22.73, 27.27], 1.09),
        ("same end", 0.1e-3, [38.54, 26.25, 19.21, 16.01], 1.54),
        ("same end", 1.0e-3, [73.21, 19.64, 5.36, 1.79], 2.93),
    ],
)
def test_the_same_row_with_better_links_and_both_leads_on_one_pack(
    feed: str, link: float, expected: list[float], ratio: float
):
    currents = under(ladder(4, feed, 1e-3, link), 100.0).module_currents()
    assert currents == pytest.approx(expected, abs=0.005)
    assert currents.max() / currents.mean() == pytest.approx(ratio, abs=0.005)


def test_two_packs_reading_68_and_75_amperes():
    # Branches whose resistances differ as 75 to 68 (about 10 %) give these readings at 143 A, and 104.9 A at 200 A.
    network = star([0.015 * 75 / 68, 0.015], [0.0, 0.0], 0.0, 0.0)
    assert under(network, 143.0).module_currents() == pytest.approx([68.0, 75.0])
    assert under(network, 200.0).current("M2") == pytest.approx(104.9, abs=0.05)


def test_one_module_opens_and_the_rest_must_carry_everything():
    fair = star([0.014] * 4, [0.0] * 4, 0.0, 0.0)
    assert under(fair, 300.0).module_currents() == pytest.approx([75.0] * 4)
    left = under(fair, 300.0, frozenset({"M2"}))
    assert left.current("M1") == pytest.approx(100.0)
    unfair = ladder(4, "same end", 1e-3, 0.1e-3)
    assert under(unfair, 300.0).current("M1") == pytest.approx(115.6, abs=0.05)


def test_which_module_is_away_matters():
    # N 5, x 0.02, opposite ends, 280 A: 71.4 A worst with an end or the middle module away, 73.3 A with the second or
    # fourth [derived elsewhere].
    network = ladder(5, "opposite ends", 0.014, 0.02 * 0.014)
    assert under(network, 280.0).module_currents().max() == pytest.approx(58.2, abs=0.05)
    worst = {k: under(network, 280.0, frozenset({f"M{k}"})).module_currents().max() for k in range(1, 6)}
    assert [worst[k] for k in (1, 3, 5)] == pytest.approx([71.4] * 3, abs=0.05)
    assert [worst[k] for k in (2, 4)] == pytest.approx([73.3] * 2, abs=0.05)


def test_the_near_module_away_sends_everything_through_one_inner_post():
    # 5 modules, opposite ends, 300 A, near one away: its link carries all 300 A.
    network = ladder(5, "opposite ends", 0.014, 1e-4)
    assert under(network, 300.0, frozenset({"M1"})).current("L1-") == pytest.approx(300.0)


def test_four_in_a_row_on_one_end_pass_a_hundred_amperes():
    # N 4, x 0.05, same end, 320 A: 104.4 A.
    assert under(ladder(4, "same end", 0.014, 0.0007), 320.0).current("M1") == pytest.approx(104.4, abs=0.05)
