"""Shorts: published arithmetic, an independent nodal solution, and both ends of the range."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model import Bank, Earthing, Site
from bankwright.bank.model_kinds import ChargeLimits, DeviceKind, Resistances
from bankwright.circuit.of_bank.short_network import short_network
from bankwright.circuit.shorts import shorts
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import exact
from support.banks.wired import M100, busbar_bank, chain_bank

pytestmark = pytest.mark.quick


def plain(count: int, ohmic: float, emf: float, lead_ohms: float, bar: float = 1e-12, extension: int = 0) -> Bank:
    """Equal branches on a bar: module and lead resistance all told, no charger, no site temperatures."""
    kind = replace(M100, resistance=Resistances(ohmic=exact(ohmic)), charge=ChargeLimits(cell_full=emf / 16))
    bank = busbar_bank(count, kind=kind)
    half = lead_ohms / 2
    cable = replace(bank.link("L1+").cable, ohm_per_m=half)
    links = tuple(replace(link, cable=cable, length=1.0 if link.role == "lead" else 1e-6) for link in bank.links)
    fuse = DeviceKind("fuse", "kinds.device.fuse", "fuse", 300.0, resistance=exact(0.0))
    return bank.replaced(
        links=links,
        joints=tuple(replace(joint, resistance=exact(0.0)) for joint in bank.joints),
        devices=tuple(replace(device, kind=fuse) for device in bank.devices),
        pieces=tuple(replace(piece, resistance=exact(bar)) for piece in bank.pieces),
        chargers=(),
        site=Site(bank.site.origin, extension=extension),
    )


@pytest.mark.parametrize(("count", "expected"), [(1, 2680), (2, 5360), (4, 10720), (8, 21440)])
def test_bank_fault_at_the_bar(count: int, expected: float):
    # I = Voc / (R / N), 53.6 V and 20 mohm a module [stated law; figures worked by hand].
    found = shorts(plain(count, 0.02, 53.6, 0.0)).at("bar+1", "bar-1")
    assert found.current == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("count", "expected"), [(2, 2680), (4, 8040), (8, 18760)])
def test_backfeed_of_the_others_into_a_faulted_module(count: int, expected: float):
    assert shorts(plain(count, 0.02, 53.6, 0.0)).inside("M1").current == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("count", "published_ka"), [(3, 19.3), (4, 28.9)])
def test_branch_fuse_is_fed_by_all_other_modules(count: int, published_ka: float):
    # Practice case: 4.8 mohm a module, 3 m of 67.4 mm2 copper at 17.241 nohm m (5.57 mohm together), 53.6 V; the fuse
    # at the bar sees a fault on the module side of it: 9.6 kA from each other branch.
    bank = plain(count, 4.8e-3, 53.6, 17.241e-9 * 3 / 67.4e-6)
    # the fuse at the bar's end of the lead
    devices = tuple(replace(device, distance=1.0) for device in bank.devices)
    found = shorts(bank.replaced(devices=devices)).through("F1")
    assert found.largest / 1e3 == pytest.approx(published_ka, abs=0.05)


def test_five_modules_backfeed_through_a_faulted_lead():
    # N 5, branches 7.0 mohm, faulted lead 0.5 mohm, 54.4 V: 24 kA [derived: 54.4 / (7.0 / 4 + 0.5)].
    found = shorts(plain(5, 6.5e-3, 54.4, 0.5e-3)).inside("M3")
    assert found.current == pytest.approx(54.4 / (7.0e-3 / 4 + 0.5e-3), rel=1e-6)
    assert found.current / 1e3 == pytest.approx(24, abs=0.5)


def test_planned_modules_raise_the_fault():
    two = shorts(plain(2, 0.02, 53.6, 0.4e-3)).inside("M1").current
    four = shorts(plain(2, 0.02, 53.6, 0.4e-3, extension=2)).inside("M1").current
    assert two == pytest.approx(53.6 / (20.4e-3 + 0.4e-3), rel=1e-6)
    assert four == pytest.approx(53.6 / (20.4e-3 / 3 + 0.4e-3), rel=1e-6)


def nodal(bank: Bank, end: str, p: str, q: str) -> np.ndarray:
    """Edge currents with p and q bolted together, by node equations; the two nodes are merged."""
    feeding = short_network(bank, end)  # type: ignore[arg-type]
    network = feeding.network
    node = {name: place for place, name in enumerate(network.nodes)}
    merged = [node[q] if name == p else node[name] for name in network.nodes]
    n, Y, s = len(node), np.zeros((len(node), len(node))), np.zeros(len(node))
    for (tail, head), r, e in zip(network.ends, feeding.resistance, feeding.emf, strict=True):
        a, b = merged[tail], merged[head]
        Y[[a, b], [a, b]] += 1 / r
        Y[a, b] -= 1 / r
        Y[b, a] -= 1 / r
        s[a] -= e / r
        s[b] += e / r
    for plus, minus, amperes in feeding.injected:
        s[merged[node[plus]]] += amperes
        s[merged[node[minus]]] -= amperes
    keep = [k for k in range(n) if k in merged and k != node[q]]
    V = np.zeros(n)
    V[keep] = np.linalg.solve(Y[np.ix_(keep, keep)], s[keep])
    V = V[merged]
    tail, head = network.ends.T
    return (V[tail] - V[head] + feeding.emf) / feeding.resistance


@pytest.mark.parametrize("end", ["highest", "lowest"])
@pytest.mark.parametrize("bank", [chain_bank(4, "both ends", 2), busbar_bank(3, 2), chain_bank(2, "same end")])
def test_superposition_agrees_with_node_equations(bank: Bank, end: str):
    bank = bank.replaced(site=replace(bank.site, extension=1))
    found = shorts(bank, end)  # type: ignore[arg-type]
    places = list(found.places)
    for place in places[:: max(1, len(places) // 7)]:
        short = found.at(place)
        expected = nodal(bank, end, short.place, short.opposite)
        assert short.edge_current == pytest.approx(expected, rel=1e-7, abs=1e-5 * short.current)


def test_a_short_may_lie_at_both_sides_of_a_fuse_and_in_the_middle_of_a_link():
    found = shorts(chain_bank(3))
    assert {"F1 side a", "F1 side b", "L2+ middle", "main- middle", "M3+", "I1-"} <= set(found.places)
    near, far = found.at("F1 side a", "M1-"), found.at("F1 side b", "M1-")
    assert near.current > far.current
    assert near.through("F1") == pytest.approx(-100.0)  # only the charger, backwards
    assert far.through("F1") > 20_000


def test_through_is_the_largest_over_every_pair_of_places():
    found = shorts(chain_bank(3))
    every = [
        found.at(p, q).through("F1")
        for p in found.places
        for q in found.places
        if found.places[p] == "+" and found.places[q] == "-"
    ]
    assert found.through("F1").forward == pytest.approx(max(every))
    assert found.through("F1").backward == pytest.approx(-min(every))


def test_lowest_end_lies_below_the_highest_everywhere():
    bank = chain_bank(3)
    low, high = shorts(bank, "lowest"), shorts(bank, "highest")
    assert all(low.at(place).current < high.at(place).current for place in low.places)
    alone = low.alone("M2").at("I1+").current
    assert alone < low.at("I1+").current / 2.5


def test_one_cold_module_alone():
    # E_lo / R high at the coldest: 48 V, (2 + 3 x 7) / 9 x 11 mohm; a short right at its posts [derived].
    found = shorts(chain_bank(3), "lowest").alone("M2").at("M2+", "M2-")
    assert found.current == pytest.approx(48.0 / (0.011 * (2 + 3 * 7) / 9), rel=0.015)


def test_shorts_to_frame_only_where_a_pole_is_earthed():
    bank = chain_bank(2)
    assert shorts(bank).to_frame() == ()
    earthed = bank.replaced(site=replace(bank.site, earthing=Earthing("minus", ("M1-",))))
    found = shorts(earthed).to_frame()
    assert {short.opposite for short in found} == {"M1-"}
    assert {short.place for short in found} >= {"M1+", "M2+", "I1+", "F1 side a", "main+ middle"}


def test_an_unknown_ohmic_resistance_is_asked_for():
    kind = replace(M100, resistance=replace(M100.resistance, ohmic=None))
    with pytest.raises(NeedsValue, match=r"kinds\.module\.M100\.resistance\.ohmic"):
        shorts(chain_bank(2, kind=kind))


def test_what_is_available_at_a_device_does_not_count_its_own_resistance():
    # Prospective current: each pole replaced by a conductor of negligible impedance (IEC 60947-1, from memory).
    bank = plain(4, 0.02, 53.6, 0.0)
    fuse = DeviceKind("fuse", "kinds.device.fuse", "fuse", 300.0, resistance=exact(0.005))
    found = shorts(bank.replaced(devices=tuple(replace(device, kind=fuse) for device in bank.devices)))
    # F1 in the lead of one module, fed by three others of 20 mohm, each behind 5 mohm of its own.
    assert found.through("F1").largest == pytest.approx(53.6 / (0.025 / 3 + 0.005), rel=1e-6)
    assert found.prospective("F1").largest == pytest.approx(53.6 / (0.025 / 3), rel=1e-6)
