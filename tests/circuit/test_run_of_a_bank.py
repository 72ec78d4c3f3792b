"""A bank file made ready for a run: resistances as written are met at the moment they hold for."""

import numpy as np
import pytest

from bankwright.circuit.run.bank import bank_ports, parts_of, run_limits
from bankwright.circuit.run.curves import curves_of, published_curves, resistance_table
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.run import run
from support.banks import changed, sample
from support.match_banks import bank


def ready(of, **more):
    parts = [parts_of(module) for module in of.modules]
    return run_modules(
        published_curves()[0].table,
        [part.capacity_ah for part in parts],
        [part.ohmic.nominal for part in parts],
        names=tuple(part.name for part in parts),
        metal=[part.metal for part in parts],
        branch_1=([part.quick for part in parts], 35.0),
        branch_2=([part.slow for part in parts], 1000.0),
        limits=run_limits(of.modules),
        **more,
    )


def test_the_drop_after_thirty_seconds_is_the_resistance_of_the_sheet():
    of = sample("two")
    ports, _, note = bank_ports(of)
    assert note == ""
    load = RunLoad("I1", "current", Profile.constant(100.0))
    modules = ready(of)
    found = run(ports, modules, [load], until=30.0, soc=0.5, tolerance=1e-7)
    rested = modules.curves.look_up(found.soc[-1], modules.shift)[0]
    drop = (rested - found.voltage[-1]) / found.module_current[-1]
    assert drop == pytest.approx([14e-3, 14e-3], rel=2e-3)
    first = modules.curves.look_up(found.soc[0], modules.shift)[0]
    assert (first - found.voltage[0]) / found.module_current[0] == pytest.approx([6e-3, 6e-3], rel=1e-9)


def test_a_missing_resistance_is_a_published_range_and_says_so():
    kind = sample("two").modules[0]
    assert not parts_of(kind).ohmic_assumed
    of = changed("two", kinds__module__M100__resistance={"dc": "14 mohm +- 3 mohm", "after": "30 s"})
    part = parts_of(of.modules[0])
    assert part.ohmic_assumed
    # 20.5 to 50 mohm Ah a cell times 16 cells over 100 Ah, metal 0 to 4 mohm
    assert (part.ohmic.low, part.ohmic.high) == (pytest.approx(3.28e-3), pytest.approx(14e-3, rel=0.2))
    assert part.branches_assumed


def test_a_bank_without_cable_lengths_still_has_ports_and_a_word():
    of = bank("AA")
    bare = of.replaced(links=tuple(_without_length(link) for link in of.links))
    ports, network, note = bank_ports(bare)
    assert network is None
    assert "0 ohm" in note
    assert np.abs(ports.passive).max() == 0.0


def _without_length(link):
    from dataclasses import replace

    return replace(link, length=None)


def test_limits_are_those_of_the_data_sheet():
    limits = run_limits(sample("two").modules, "low")
    assert limits.discharge_trip.tolist() == [150.0, 150.0]
    assert limits.discharge_delay.tolist() == [3.0, 3.0]
    assert limits.cell_low.tolist() == [2.5, 2.5]
    assert limits.reclose_after.tolist() == [np.inf, np.inf]
    assert limits.charge_lowest_degc.tolist() == [0.0, 0.0]
    assert limits.spread.tolist() == [0.0, 0.0]
    assert run_limits(changed("two", kinds__module__M100__cell_spread="30 mV").modules).spread.tolist() == [0.03, 0.03]


def test_resting_near_full_takes_long_steps():
    # the end of the curve is so steep that a plain third-order step would be bound to seconds
    of = sample("two")
    curve = next(c for c in published_curves() if c.name == "parameter set")
    parts = [parts_of(module) for module in of.modules]
    modules = run_modules(
        curve.table, 100.0, [part.ohmic.nominal for part in parts], names=("M1", "M2"), branch_1=(6e-3, 35.0)
    )
    ports, _, _ = bank_ports(of)
    found = run(ports, modules, until=12 * 3600.0, soc=[0.995, 0.997])
    assert found.steps < 400
    fine = run(ports, modules, until=12 * 3600.0, soc=[0.995, 0.997], tolerance=1e-7, longest=20.0)
    assert found.soc[-1] == pytest.approx(fine.soc[-1], abs=1e-5)
    assert found.soc[-1].sum() == pytest.approx(0.995 + 0.997, abs=1e-9)


def test_published_curves_rise_and_the_own_table_goes_first():
    names = [curve.name for curve in published_curves()]
    assert names == ["18650", "26650 discharge", "26650 charge", "parameter set"]
    for curve in published_curves():
        assert (np.diff(curve.volts) > 0).all()
    kind = sample("two").modules[0].kind
    assert curves_of(kind) == published_curves()
    degc, factor = resistance_table()
    assert factor[degc.index(25.0)] == 1.0
