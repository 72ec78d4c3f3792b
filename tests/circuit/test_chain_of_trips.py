"""Trips followed to the end."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import DischargeLimits, Resistances, TripBehaviour
from bankwright.circuit.cases import SURGE, case_of
from bankwright.circuit.steady import steady
from bankwright.circuit.trips import chain_of_trips
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import Toleranced, exact
from support.banks.wired import INVERTER, M100, chain_bank


def bank_of(count: int, x: float, feed: str, amperes: float, trip: Toleranced | None = None) -> Bank:
    """Links of x times the module's resistance, a surge of about these amperes."""
    discharge = DischargeLimits(100.0, trip or exact(150.0), 3.0)
    kind = replace(M100, resistance=Resistances(dc=exact(0.014), surge=exact(0.014)), discharge=discharge)
    bank = chain_bank(count, feed, kind=kind)
    cable = replace(bank.links[0].cable, size="in no table")  # so that it does not warm
    links = tuple(
        replace(link, cable=replace(cable, ohm_per_m=x * 0.014 / 0.32 if link.role == "link" else 1e-9))
        for link in bank.links
    )
    inverter = replace(INVERTER, surge_power=amperes * 46.0, efficiency=1.0)
    return bank.replaced(
        links=links,
        joints=tuple(replace(joint, resistance=exact(0.0)) for joint in bank.joints),
        inverters=tuple(replace(i, kind=inverter) for i in bank.inverters),
        site=replace(bank.site, ambient_low_degc=25.0, ambient_high_degc=20.0, rack_rise=0.0),
    )


def test_a_fair_bank_keeps_all_its_modules_in_a_surge():
    # N 5, x 0.02, opposite ends, 500 A: the worst module carries 104 A of 150 A [derived: ladder].
    cases = steady(bank_of(5, 0.02, "opposite ends", 500.0))
    surge = cases.case(SURGE)
    scale = 500.0 / surge.current("I1")
    assert surge.module_currents().max() * scale == pytest.approx(104, abs=0.5)
    chain = chain_of_trips(cases, case_of(cases.bank, SURGE))
    assert chain.departures == ()
    assert not chain.lost


def test_an_unfair_bank_falls_module_by_module():
    # N 4, x 0.05, same end, 500 A: 163 A of 150 A, then all four in turn [derived: ladder, 0.32622 of 500 A].
    cases = steady(bank_of(4, 0.05, "same end", 500.0))
    surge = cases.case(SURGE)
    assert surge.current("M1") * 500.0 / surge.current("I1") == pytest.approx(163.1, abs=0.1)
    chain = chain_of_trips(cases, case_of(cases.bank, SURGE))
    assert chain.lost
    assert [step.module for step in chain.departures][:2] == ["M1", "M2"]
    assert len(chain.departures) == 4
    assert all(step.within == 3.0 for step in chain.departures)
    ratios = [step.current / step.trip for step in chain.departures]
    assert all(later > earlier for earlier, later in itertools.pairwise(ratios))


def test_a_surge_shorter_than_the_delay_trips_nobody_and_says_who_was_spared():
    cases = steady(bank_of(4, 0.05, "same end", 500.0))
    chain = chain_of_trips(cases, case_of(cases.bank, SURGE), lasts=2.0)
    assert chain.departures == ()
    assert chain.spared == ("M1",)
    assert not chain.lost


def test_the_low_end_of_the_trip_counts():
    cases = steady(bank_of(4, 0.05, "same end", 480.0, Toleranced(190.0, 140.0, 200.0)))
    assert chain_of_trips(cases, case_of(cases.bank, SURGE)).departures[0].trip == 140.0


def test_a_module_that_still_charges_after_its_trip_gives_no_more_discharge():
    bank = bank_of(4, 0.05, "same end", 400.0, Toleranced(130.0, 120.0, 140.0))
    kind = replace(bank.modules[0].kind, trips=TripBehaviour(discharge="still charges"))
    cases = steady(bank.replaced(modules=tuple(replace(m, kind=kind) for m in bank.modules)))
    chain = chain_of_trips(cases, case_of(cases.bank, SURGE))
    assert chain.departures[0].module == "M1"
    assert chain.lost


def test_an_unknown_trip_is_asked_for():
    bank = bank_of(4, 0.05, "same end", 500.0)
    kind = replace(bank.modules[0].kind, discharge=DischargeLimits(100.0))
    cases = steady(bank.replaced(modules=tuple(replace(m, kind=kind) for m in bank.modules)))
    with pytest.raises(NeedsValue, match=r"M100\.discharge\.trip"):
        chain_of_trips(cases, case_of(cases.bank, SURGE))
