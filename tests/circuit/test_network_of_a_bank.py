"""From a bank to its network, and its steady cases."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import ModuleKind, Resistances
from bankwright.circuit.cases import LOWEST, away, case_of
from bankwright.circuit.errors import BridgedModule, FloatingPart, NotDeliverable
from bankwright.circuit.of_bank.cell_part import module_resistance, temperature_factor
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.solution import Solution
from bankwright.circuit.solver.basis import shared_basis
from bankwright.circuit.steady import steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import exact
from support.banks.wired import INVERTER, M100, busbar_bank, chain_bank

pytestmark = pytest.mark.quick


def test_every_name_of_the_network_is_a_name_of_the_bank():
    for bank in (chain_bank(4, inverters=2), busbar_bank(5)):
        network = network_of(bank)
        for name in (*network.edge_index, *network.nodes):
            assert name in bank, name


def test_a_link_is_joint_conductor_joint_in_series():
    bank = chain_bank(2)
    network = network_of(bank)
    edge = network.edges[network.edge_index["L1+"]]
    assert [element.name for element in edge.elements] == ["L1+@M1+", "L1+", "L1+@M2+"]
    whole = (network.resistances() @ network.series)[network.edge_index["L1+"]]
    assert whole == pytest.approx(0.32 * bank.link("L1+").cable.ohm_per_m + 40e-6)


def test_a_fuse_lies_in_its_main_between_its_own_joints():
    network = network_of(chain_bank(2))
    names = [element.name for element in network.edges[network.edge_index["main+"]].elements]
    assert names == ["main+@M2+", "main+", "main+@F1a", "F1", "main+@F1b", "main+@I1+"]


@pytest.mark.parametrize("bank", [chain_bank(3, "both ends"), busbar_bank(3, 2)])
def test_cutting_links_fine_changes_no_resistance(bank: Bank):
    coarse, fine = network_of(bank), network_of(bank, fine=True)
    assert fine.resistances().sum() == pytest.approx(coarse.resistances().sum(), rel=1e-12)
    assert len(shared_basis(fine).inner) == len(shared_basis(coarse).inner)


def test_full_discharge_of_the_fair_two():
    solution = steady(chain_bank(2)).case("full discharge")
    assert solution.share("M1") == pytest.approx(0.5, abs=1e-12)
    assert solution.voltage("I1") * solution.current("I1") == pytest.approx(6000 / 0.93)


def test_at_lowest_voltage_the_inverter_stands_exactly_there():
    solution = steady(chain_bank(5, inverters=2)).case(LOWEST)
    assert solution.voltage("I1") == pytest.approx(48.0, abs=1e-9)
    assert solution.current("I1") == pytest.approx(6000 / 0.93 / 48.0)


def test_a_conductor_in_warm_air_resists_more():
    bank = chain_bank(2)
    solution = steady(bank).case(LOWEST)
    cold = 0.32 * bank.link("L1+").cable.ohm_per_m
    hot = float(solution.resistance[solution.network.element_index["L1+"]])
    # 40 degC and 8 K in the rack; its own current from NEC 310.16, 4/0 AWG: 230 A make 45 K; IEC 60028: 3.93e-3 1/K
    metal = 48.0 + 45.0 * (float(solution.current("L1+")) / 230.0) ** 2
    assert hot == pytest.approx(cold * (1 + 3.93e-3 * (metal - 20.0)), rel=1e-4)


def test_three_ways_of_being_away_under_charge_and_discharge():
    cases = steady(chain_bank(3))
    blocked = cases.case("full charge, M2 charge blocked")
    assert blocked.current("M2") == 0.0
    assert blocked.module_currents().sum() == pytest.approx(-100.0)
    assert cases.case(f"{LOWEST}, M2 charge blocked").current("M2") > 10.0
    assert cases.case(f"{LOWEST}, M2 discharge blocked").current("M2") == 0.0
    assert cases.case("full charge, M2 discharge blocked").current("M2") < -10.0
    assert cases.case(f"{LOWEST}, M2 open").current("M2") == 0.0


def test_a_device_opens_its_link():
    cases = steady(busbar_bank(3))
    opened = cases.case(f"{LOWEST}, F1 open")
    assert opened.current("M1") == 0.0
    assert opened.current("L1+") == 0.0


def test_worst_names_the_case_and_finds_the_link_that_carries_all():
    cases = steady(chain_bank(5, inverters=2))
    worst = cases.worst("L4+")
    assert worst.case.endswith("open")
    assert worst.current == pytest.approx(2 * 6000 / 0.93 / 48.0)


def test_a_tie_goes_to_the_plain_case():
    assert steady(chain_bank(5)).worst("main+").case == LOWEST


def without(kind: ModuleKind, **changes: None) -> ModuleKind:
    return replace(kind, resistance=replace(kind.resistance, **changes))


def test_an_unknown_surge_resistance_stops_the_surge_only():
    cases = steady(chain_bank(3, kind=without(M100, surge=None)))
    with pytest.raises(NeedsValue) as caught:
        cases.case("surge")
    assert caught.value.missing[0].key == "kinds.module.M100.resistance.surge"
    assert "Ask the maker" in str(caught.value)
    assert cases.case(LOWEST).share("M1") > 0.3
    errors = {name for name, found in cases.each() if not isinstance(found, Solution)}
    assert errors == {name for name in cases.names if name.startswith("surge")}


def test_nothing_known_of_the_resistance_still_builds_the_network():
    bank = chain_bank(3, kind=replace(M100, resistance=Resistances()))
    assert len(network_of(bank).edges) == 3 + 4 + 2 + 2
    with pytest.raises(NeedsValue, match=r"resistance\.dc"):
        steady(bank).case("full discharge")


def test_an_inverter_without_lowest_voltage_is_asked_for_it():
    bank = chain_bank(2)
    kind = replace(INVERTER, lowest_voltage=None)
    bank = bank.replaced(inverters=tuple(replace(i, kind=kind) for i in bank.inverters))
    with pytest.raises(NeedsValue, match="lowest_voltage"):
        steady(bank).case(LOWEST)
    assert steady(bank).case("full discharge").current("I1") > 100.0


def test_a_case_of_a_bank_that_cannot_deliver_says_how_much_it_could():
    bank = chain_bank(1)
    kind = replace(INVERTER, surge_power=60_000.0)
    bank = bank.replaced(inverters=tuple(replace(i, kind=kind) for i in bank.inverters))
    with pytest.raises(NotDeliverable) as caught:
        steady(bank).case("surge")
    assert 0.3 < caught.value.fraction < 1.0


def test_a_missing_inner_bar_is_taken_from_a_published_range_and_marked():
    bank = busbar_bank(2)
    first = replace(bank.pieces[0], role="inner", resistance=None)
    network = network_of(bank.replaced(pieces=(first, *bank.pieces[1:])))
    marked = [element for element in network.elements if element.assumed]
    # bar between two battery posts, two contacts in: 19 to 48 uohm [published range, stationary-battery manual]
    assert [element.name for element in marked] == [first.name]
    found = marked[0].resistance
    assert found is not None
    assert (found.low, found.high) == (pytest.approx(19e-6), pytest.approx(48e-6))
    assert "published range" in str(marked[0].origin)


def test_a_missing_joint_is_taken_from_practice_and_says_so():
    bank = busbar_bank(2)
    first = replace(bank.joints[0], resistance=None)
    marked = [e for e in network_of(bank.replaced(joints=(first, *bank.joints[1:]))).elements if e.assumed]
    assert [(element.name, element.kind) for element in marked] == [(first.name, "joint")]
    # one lug on one post, 5 to 50 uohm [common practice, no source]
    found = marked[0].resistance
    assert found is not None
    assert (found.low, found.high) == (pytest.approx(5e-6), pytest.approx(50e-6))
    assert "common practice, no source" in str(marked[0].origin)


def test_graph_errors_carry_names_of_the_bank():
    bank = chain_bank(2)
    lost = bank.replaced(links=tuple(link for link in bank.links if not link.name.startswith("main")))
    with pytest.raises(FloatingPart, match=r"I1\+, I1-"):
        network_of(lost)
    wrong = replace(bank.link("L1-"), b="M2+")
    with pytest.raises(BridgedModule, match="M1"):
        network_of(bank.replaced(links=tuple(wrong if link.name == "L1-" else link for link in bank.links)))


def test_cold_cells_resist_more_only_in_their_part():
    # f(-5 degC) = 3.0 [derived from open data on one 26650 cell]; 14 mohm of which 12 in the cells: 2 + 36 mohm.
    module = chain_bank(1).modules[0]
    assert module_resistance(module, "dc", -5.0).nominal == pytest.approx(0.038, rel=0.015)
    assert module_resistance(module, "ohmic", -5.0).nominal == pytest.approx(0.002 + 3 * 0.004, rel=0.015)
    assert module_resistance(module, "dc", 25.0) == M100.resistance.dc
    assert module_resistance(module, "dc", None) == M100.resistance.dc


@pytest.mark.parametrize(("degc", "factor"), [(-25, 12.7), (-5, 3.0), (5, 1.77), (15, 1.26), (25, 1.0), (35, 0.87)])
def test_factors_are_those_published_to_two_digits(degc: float, factor: float):
    assert temperature_factor(degc) == pytest.approx(factor, rel=0.015)


def test_factor_falls_between_its_points_and_stops_at_the_ends():
    grid = [temperature_factor(degc) for degc in np.linspace(-40, 60, 101)]
    assert all(a >= b for a, b in itertools.pairwise(grid))
    assert temperature_factor(-40) == temperature_factor(-25)


def test_three_modules_at_three_temperatures_share_as_published():
    # Cold garage: 6 of 14 mohm in the cells, modules at -5, 5, 15 degC carry 0.74, 1.03, 1.23 of the mean
    # [derived: current divider with f of the table above].
    kind = replace(M100, resistance=Resistances(dc=exact(0.014), cells=exact(0.006)))
    module = replace(chain_bank(1).modules[0], kind=kind)
    ohms = np.array([module_resistance(module, "dc", degc).nominal for degc in (-5.0, 5.0, 15.0)])
    shares = (1 / ohms) / (1 / ohms).mean()
    assert shares == pytest.approx([0.74, 1.03, 1.23], abs=0.005)


def test_a_case_of_ones_own():
    cases = steady(chain_bank(3))
    own = away(away(case_of(cases.bank, LOWEST), "M1", "open"), "M2", "open")
    assert cases.solved(own).current("M3") == pytest.approx(6000 / 0.93 / 48.0)


def test_with_the_only_module_blocked_or_open_nothing_flows():
    cases = steady(chain_bank(1))
    for name in ("full charge, M1 charge blocked", "full charge, M1 open", f"{LOWEST}, M1 discharge blocked"):
        assert not cases.case(name).edge_current.any(), name
    assert cases.worst("main+").current == pytest.approx(6000 / 0.93 / 48.0)
