"""Resistances from readings: closed forms, known answers, bands that hold, and joints outside their tolerance."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bankwright.circuit.inverse.band import half_width
from bankwright.circuit.inverse.fit import fit
from bankwright.circuit.inverse.looks import Observation, State, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.point import Unknowns
from bankwright.circuit.inverse.prior import prior_of
from bankwright.circuit.inverse.suspects import settled_fit, suspects
from bankwright.circuit.network import Edge, Element, Network
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import Toleranced
from support.inverse_banks import coverage, draw, meters, setting
from support.networks import conductor, ladder, load, star


def test_bands_of_sums_of_flat_errors() -> None:
    # one flat error +-a: 0.95 a; two equal ones (triangle): 2 a (1 - sqrt 0.05); many: 1.96 standard deviations
    many = np.full((1, 400), 1.0)
    assert half_width(np.array([[3.0, 0.0, 0.0]]))[0] == pytest.approx(0.95 * 3.0, rel=0.004)
    assert half_width(np.array([[0.5, -0.5]]))[0] == pytest.approx(1.0 * (1 - math.sqrt(0.05)), rel=0.01)
    assert half_width(many)[0] == pytest.approx(1.959964 * math.sqrt(400 / 3), rel=0.01)
    assert half_width(np.zeros((1, 4)))[0] == 0.0


def wide(network: Network, by: float = 0.9) -> Network:
    """Every element with a tolerance of its own, wide enough to say nothing."""
    edges = []
    for edge in network.edges:
        elements = []
        for element in edge.elements:
            value = element.resistance.nominal  # type: ignore[union-attr]
            elements.append(
                Element(element.name, element.kind, Toleranced(value, value * (1 - by), value * (1 + 2 * by)))
            )
        edges.append(Edge(edge.name, edge.tail, edge.head, edge.kind, tuple(elements)))
    return Network.of(edges)


def test_a_drop_over_a_current_is_a_resistance_with_the_band_of_the_meter() -> None:
    # closed form: one module, one link, its current known exactly: R = V / I, 95 % of a flat error is 0.95 of it
    network = wide(ladder(1, "same end", 0.014, 0.0, 3e-4), 0.5)
    unknowns = Unknowns(network, (State("load", {"I1": 40.0}),))
    found = fit(prior_of(unknowns, np.array([51.2])), [Observation(drop_look("load", "main1+"), 15.2e-3, 2e-4)])
    assert found.value("main1+") == pytest.approx(15.2e-3 / 40.0, rel=1e-3)
    assert found.half("main1+") == pytest.approx(0.95 * 2e-4 / 40.0, rel=0.02)


def test_currents_and_one_bar_voltage_give_every_branch_of_a_star() -> None:
    # closed form: all branches hang between the same two bars, so R_k + l_k = (E - U) / i_k
    truth = [0.0131, 0.0152, 0.0144, 0.0129, 0.0161]
    network = star(truth, [0.0] * 5, 0.0, 1e-4)
    sag = 200.0 / sum(1 / r for r in truth)
    unknowns = Unknowns(wide(star([0.014] * 5, [0.0] * 5, 0.0, 1e-4), 0.4), (State("load", {"I1": 200.0}),))
    read = [Observation(current_look(f"M{k}", "load"), sag / r, 1e-4) for k, r in enumerate(truth, 1)]
    read.append(Observation(voltage_look("bar+5", "bar-5", "load"), 51.2 - sag, 1e-6))
    prior = prior_of(unknowns, np.full(5, 51.2), apart=1e-9)
    known = prior.__class__(unknowns, prior.middle, prior.half, prior.low, prior.high)  # the common level is known too
    found = fit(known, read)
    assert found.settled
    assert [found.value(f"M{k}") for k in range(1, 6)] == pytest.approx(truth, rel=2e-5)
    assert network.module_names == unknowns.network.module_names


# N, x = link over module, largest and smallest share, R_eff over r: rows of the table of closed forms (ladder of equal
# modules; checked elsewhere by a nodal solution and by ngspice)
LADDER = [
    (3, 0.01, "same end", 0.344241, 0.324633, 0.344241),
    (8, 0.05, "same end", 0.274334, 0.051887, 0.274334),
    (6, 0.1, "same end", 0.362751, 0.064332, 0.362751),
    (4, 0.01, "opposite ends", 0.252475, 0.247525, 0.267475),
    (5, 0.1, "opposite ends", 0.235099, 0.165563, 0.435099),
    (8, 0.05, "opposite ends", 0.163110, 0.098795, 0.338110),
]


@pytest.mark.parametrize(("count", "x", "feed", "largest", "smallest", "effective"), LADDER)
def test_the_ladder_table_read_backwards(
    count: int, x: float, feed: str, largest: float, smallest: float, effective: float
) -> None:
    # what stands in the table is read as if by meters good to its last digit; all links are of one unknown size
    r, amps = 0.020, 100.0
    network = ladder(count, feed, r, 0.07 * r)
    unknowns = Unknowns(network, (State("load", {"I1": amps}),))
    low = count // 2 + 1 if feed == "opposite ends" else count
    digit = 0.5e-6
    read = [
        Observation(current_look("M1", "load"), largest * amps, digit * amps),
        Observation(current_look(f"M{low}", "load"), smallest * amps, digit * amps),
        Observation(voltage_look("I1+", "I1-", "load"), 51.2 - effective * r * amps, digit * r * amps),
    ]
    links = [name for name in network.element_index if name.startswith("L")]
    prior = prior_of(unknowns, np.full(count, 51.2), apart=1e-12, batch=(links, 0.95))
    known = prior.__class__(unknowns, prior.middle, prior.half, prior.low, prior.high, prior.shared[1:])
    found = fit(known, read)
    half = found.half("L1+")
    assert found.settled
    assert found.value("L1+") / r == pytest.approx(x, abs=1e-5)
    assert abs(found.value("L1+") - x * r) <= 1.5 * half  # the last digits of three entries at once
    assert half / r < 1e-5


def test_two_modules_give_one_number() -> None:
    # 68 and 75 A at 143 A: branches whose resistances differ as 75 to 68; the common size stays as the sheet has it
    network = wide(star([0.015, 0.015], [0.0, 0.0], 0.0, 0.0), 0.3)
    unknowns = Unknowns(network, (State("load", {"I1": 143.0}),))
    read = [Observation(current_look(f"M{k}", "load"), amps, 0.01) for k, amps in ((1, 68.0), (2, 75.0))]
    found = fit(prior_of(unknowns, np.full(2, 51.2), apart=1e-9), read)
    assert found.value("M1") / found.value("M2") == pytest.approx(75 / 68, rel=1e-3)
    band = found.band("M1", "M2")
    assert (band[1] - band[0]) / 2 > 0.15 * 0.030  # the sum is hardly better known than the sheet says


@pytest.mark.share(2)
@pytest.mark.slow
@pytest.mark.parametrize(
    ("which", "reads", "millivolt"),
    [
        ("bars", (), 1e-4),
        ("bars", ("drops", "volts"), 1e-5),
        ("chain", ("drops",), 1e-4),
        ("chain", ("joints", "volts"), 1e-5),
    ],
)
def test_bands_hold_over_many_banks(which: str, reads: tuple[str, ...], millivolt: float) -> None:
    # a share of the 2,000 banks of each kind that the long run counts: limits wider by the luck of fewer draws
    """Bands of the inverse hold over many banks."""
    counted = coverage(setting(which, reads, meters(millivolt)), 60, 11)
    assert counted.settled + counted.other > 1500
    if counted.settled > 300:
        assert 0.91 < counted.settled_inside / counted.settled < 0.985
    if counted.other > 300:
        assert counted.other_inside / counted.other > 0.92


@pytest.mark.soak
@pytest.mark.parametrize("which", ["bars", "chain"])
@pytest.mark.parametrize(
    ("reads", "millivolt"),
    [((), 1e-4), (("drops",), 1e-4), (("drops", "volts"), 1e-5), (("joints", "volts"), 1e-5), (("joints",), 1e-6)],
)
def test_bands_hold_over_2000_banks(which: str, reads: tuple[str, ...], millivolt: float) -> None:
    """95 % bands of the inverse hold 93 to 97 % of the truths over 2,000 banks of ten kinds of readings."""
    counted = coverage(setting(which, reads, meters(millivolt)), 2000, 7)
    if counted.settled > 1000:
        assert 0.93 <= counted.settled_inside / counted.settled <= 0.97
    if counted.other > 1000:
        assert counted.other_inside / counted.other >= 0.93


def test_a_healthy_bank_has_no_suspect() -> None:
    made, luck = setting("bars", ("joints",), meters(1e-4)), np.random.default_rng(3)
    for _ in range(25):
        _, prior, read = draw(made, luck)
        assert settled_fit(prior, read).outside == ()


@pytest.mark.slow
@pytest.mark.parametrize("joint", ["L3+@M3+", "L1-@bar-2", "L5+@bar+6"])
@pytest.mark.parametrize("growth", [0.1e-3, 1e-3, 20e-3])
def test_a_loose_joint_is_named_and_measured_by_its_millivolts(joint: str, growth: float) -> None:
    made, luck = setting("bars", ("joints",), meters(1e-4)), np.random.default_rng(5)
    grown = _with(made.network, joint, growth)
    truth, prior, read = draw(setting_of(made, grown), luck)
    prior = prior_of(made.unknowns, np.full(5, 51.2), 1.0)  # the bank as its file has it
    found = settled_fit(prior, read)
    low, high = found.estimate.band(joint)
    assert found.outside == (joint,)
    assert low * 0.97 <= truth[made.network.element_index[joint]] <= high * 1.03
    over = truth[made.network.element_index[joint]] - made.network.resistances()[made.network.element_index[joint]]
    assert found.released[0].growth == pytest.approx(over, rel=0.06, abs=5e-4 / 40)


def setting_of(made, network):  # type: ignore[no-untyped-def]
    return made.__class__(network, made.states, made.looks, made.limits)


def _with(network: Network, name: str, growth: float) -> Network:
    edges = []
    for edge in network.edges:
        elements = [
            Element(
                e.name, e.kind, Toleranced(e.resistance.nominal + growth, e.resistance.low + growth,
                                           e.resistance.high + growth), e.alpha
            ) if e.name == name else e
            for e in edge.elements
        ]  # fmt: skip
        edges.append(Edge(edge.name, edge.tail, edge.head, edge.kind, tuple(elements)))
    return Network.of(edges)


def test_two_loose_joints_are_found_one_after_the_other() -> None:
    made, luck = setting("bars", ("joints",), meters(1e-4)), np.random.default_rng(6)
    grown = _with(_with(made.network, "L2+@M2+", 1e-3), "L4-@bar-5", 3e-4)
    _, _, read = draw(setting_of(made, grown), luck)
    found = settled_fit(prior_of(made.unknowns, np.full(5, 51.2), 1.0), read)
    assert set(found.outside) == {"L2+@M2+", "L4-@bar-5"}


def test_what_a_link_s_drop_cannot_part_is_one_group() -> None:
    made = setting("chain", ("drops",), meters(1e-4))
    grown = _with(made.network, "L2+@M2+b", 1e-3)
    _, _, read = draw(setting_of(made, grown), np.random.default_rng(8))
    found = settled_fit(prior_of(made.unknowns, np.full(4, 51.2), 1.0), read)
    assert set(found.outside) == {"L2+@M2+b", "L2+", "L2+@M3+"}
    assert found.estimate.value("L2+@M2+b", "L2+", "L2+@M3+") == pytest.approx(1.12e-3, rel=0.05)


def test_shares_alone_hardly_name_a_joint_inside_the_module_s_tolerance() -> None:
    # +1 mohm in M1's joint and +1 mohm in M1 change the currents alike, to the last digit
    made = setting("chain", (), meters(1e-4))
    grown = _with(made.network, "L1+@M1+b", 1e-3)
    _, _, read = draw(setting_of(made, grown), np.random.default_rng(9), load_error=0.0)
    found = settled_fit(prior_of(made.unknowns, np.full(4, 51.2), 1.0), read)
    assert found.outside == ()
    first = next(each for each in suspects(found.estimate) if each.name == "L1+@M1+b")
    assert {"M1", "L1+", "L1+@M2+"} <= set(first.alike)


def test_bounds_hold_and_say_so() -> None:
    network = ladder(1, "same end", 0.014, 0.0, 3e-4)
    edges = [edge if edge.name != "main1+" else conductor("x", "a", "b", 1.0) for edge in network.edges]
    narrow = Element("main1+", "device", Toleranced(3e-4, 2.9e-4, 3.1e-4))
    edges[1] = Edge("main1+", "M1+", "I1+", "passive", (narrow,))
    unknowns = Unknowns(Network.of([*edges[:3], load("I1", "I1+", "I1-")]), (State("load", {"I1": 40.0}),))
    found = fit(prior_of(unknowns, np.array([51.2])), [Observation(drop_look("load", "main1+"), 12.45e-3, 4e-4)])
    assert 2.9e-4 <= found.value("main1+") <= 3.1e-4
    assert found.band("main1+")[1] == 3.1e-4
    far = fit(prior_of(unknowns, np.array([51.2])), [Observation(drop_look("load", "main1+"), 14e-3, 1e-6)])
    assert far.at_limit == ("main1+",)
    assert far.value("main1+") == 3.1e-4


def test_what_cannot_be_fitted_is_refused_with_its_reason() -> None:
    unknowns = Unknowns(ladder(2, "same end", 0.014, 1e-4), (State("load", {"I1": 40.0}),))
    with pytest.raises(ValueError, match="nothing was read"):
        fit(prior_of(unknowns, np.full(2, 51.2)), [])
    edge = Edge("M1", "M1-", "M1+", "module", (Element("M1", "module", None, needs="kinds.module.A.resistance.dc"),))
    hole = Network.of([edge, *unknowns.network.edges[1:]])
    with pytest.raises(NeedsValue, match=r"resistance\.dc"):
        prior_of(Unknowns(hole, (State("load"),)), np.full(2, 51.2))
