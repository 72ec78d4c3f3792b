"""Limits, trips, joining, chargers and the ends of the curve, each at its exact moment."""

import numpy as np
import pytest

from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import Limits, run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run
from support.run_banks import bank

SLANT = ([0.0, 1.0], [3.0, 3.4])  # a straight curve, V a cell


def pair(limits=None, r0=(0.010, 0.010), **more):
    modules = run_modules(SLANT, 100.0, r0, names=("A", "B"), limits=limits, **more)
    return Ports.common_bar(np.zeros(2)), modules


def current(value, *steps):
    times, values = zip((0.0, value), *steps, strict=True)
    return RunLoad("load", "current", Profile(times, values))


def test_over_current_opens_after_its_delay_and_the_rest_follows():
    ports, modules = pair(Limits(discharge_trip=80.0, discharge_delay=3.0), r0=(0.010, 0.013))
    found = run(ports, modules, [current(0.0, (10.0, 150.0))], until=60.0, soc=0.5)
    first, second = found.events_of("opens")
    assert (first.at, first.time) == ("A", pytest.approx(13.0, abs=1e-6))
    assert (second.at, second.time) == ("B", pytest.approx(16.0, abs=1e-6))
    assert found.module_current[-1] == pytest.approx([0.0, 0.0])
    before = found.at(12.9)
    assert found.module_current[before].sum() == pytest.approx(150.0)


def test_over_current_that_ends_within_its_delay_opens_nothing():
    ports, modules = pair(Limits(discharge_trip=80.0, discharge_delay=3.0))
    found = run(ports, modules, [current(0.0, (10.0, 170.0), (12.9, 100.0))], until=60.0, soc=0.5)
    assert [e.what for e in found.events if e.at == "A"] == ["over-current begins", "over-current ends"]
    assert found.module_current[-1] == pytest.approx([50.0, 50.0])


def test_the_moment_a_ramp_crosses_the_trip_current():
    ports, modules = pair(Limits(charge_trip=40.0, charge_delay=0.0))
    load = RunLoad("load", "current", Profile((0.0, 100.0), (0.0, -100.0), "ramps"))
    found = run(ports, modules, [load], until=100.0, soc=0.5)
    assert found.events_of("opens")[0].time == pytest.approx(80.0, abs=1e-5)


def test_the_highest_cell_trips_before_the_module_is_full():
    # cell voltage = 3.0 + 0.4 z + half the spread + r i / 16 reaches 3.4 at a z that can be written down
    limits = Limits(cell_high=3.35, spread=0.04, charge_trip_opens=False)
    ports, modules = pair(limits)
    found = run(ports, modules, [current(-40.0)], until=4 * 3600.0, soc=0.5)
    trip = found.events_of("blocks charge")[0]
    z = (3.35 - 0.02 - 0.010 * 20 / 16 - 3.0) / 0.4
    assert trip.time == pytest.approx((z - 0.5) * 360000 / 20, rel=1e-7)


def test_a_cell_ahead_in_charge_trips_by_its_own_place_on_the_curve():
    limits = Limits(cell_high=3.3, ahead=0.05, charge_trip_opens=True)
    ports, modules = pair(limits)
    found = run(ports, modules, [current(-40.0)], until=4 * 3600.0, soc=0.5)
    z = (3.3 - 0.010 * 20 / 16 - 3.0) / 0.4 - 0.05
    assert found.events_of("opens")[0].time == pytest.approx((z - 0.5) * 360000 / 20, rel=1e-7)


def test_the_lowest_cell_opens_its_module_and_the_other_carries_all():
    limits = Limits(cell_low=3.05, behind=np.array([0.0, 0.05]))
    ports, modules = pair(limits)
    found = run(ports, modules, [current(40.0)], until=3.9 * 3600.0, soc=0.5)
    trip = found.events_of("opens")[0]
    assert trip.at == "B"
    after = found.at(trip.time + 1.0)
    assert found.module_current[after] == pytest.approx([40.0, 0.0])


def test_a_module_that_may_only_discharge_waits_until_the_bus_is_below_it():
    limits = Limits(cell_high=3.25, charge_trip_opens=False)
    ports, modules = pair(limits, r0=(0.010, 0.015))
    found = run(ports, modules, [current(-60.0, (4000.0, 80.0))], until=6000.0, soc=[0.55, 0.5])
    blocked = found.events_of("blocks charge")[0]
    assert blocked.at == "A"
    assert found.module_current[found.at(blocked.time + 10.0), 0] == 0.0
    assert found.module_current[-1, 0] > 30.0
    assert (found.module_current[found.time > blocked.time + 1e-3, 0] >= -1e-6).all()


def test_cold_blocks_charging_from_the_start():
    ports, modules = pair(Limits(charge_lowest_degc=0.0), temperature_degc=np.array([-3.0, 10.0]))
    found = run(ports, modules, [current(-30.0)], until=600.0, soc=0.5)
    assert found.events_of("cold")[0].at == "A"
    assert found.module_current[1:, 0] == pytest.approx(0.0, abs=1e-9)
    assert found.module_current[-1, 1] == pytest.approx(-30.0)


def test_warming_past_its_limit_stops_discharge():
    ports, modules = pair(Limits(discharge_highest_degc=45.0), heat_capacity=2e4, temperature_degc=25.0)
    found = run(ports, modules, [current(200.0)], until=7000.0, soc=0.95)
    # no cooling: 100 A through 10 mohm is 100 W, 20 K x 20 kJ/K take 4000 s; the run ends when the curve does
    stop = found.events_of("blocks discharge")
    assert not stop
    hot = run(ports, modules, [current(300.0)], until=7000.0, soc=0.95)
    assert hot.events_of("blocks discharge")[0].time == pytest.approx(20 * 2e4 / (150**2 * 0.010), rel=1e-5)


def test_reclosing_after_its_time():
    limits = Limits(discharge_trip=80.0, discharge_delay=2.0, reclose_after=30.0)
    ports, modules = pair(limits)
    found = run(ports, modules, [current(0.0, (10.0, 170.0), (20.0, 60.0))], until=100.0, soc=0.5)
    times = [(e.at, round(e.time, 6)) for e in found.events_of("recloses")]
    assert times == [("A", 42.0), ("B", 42.0)]
    assert found.module_current[-1] == pytest.approx([30.0, 30.0])


def test_modules_waking_one_by_one_onto_a_running_load():
    """All trip under a heavy load, and come back 2 s apart onto a light one; the first alone carries it at first."""
    limits = Limits(discharge_trip=40.0, discharge_delay=3.0, reclose_after=np.array([5.0, 7.0, 9.0, 11.0]))
    ports, modules = bank(4, limits=limits)
    load = RunLoad("load", "power", Profile((0.0, 3.5), (9000.0, 1500.0)))
    found = run(ports, modules, [load], until=30.0, soc=0.6)
    assert [round(e.time, 6) for e in found.events_of("opens")] == [3.0] * 4
    assert [(e.at, round(e.time, 6)) for e in found.events_of("recloses")] == [
        ("M1", 8.0),
        ("M2", 10.0),
        ("M3", 12.0),
        ("M4", 14.0),
    ]
    alone = found.at(9.0)
    assert found.module_current[alone, 0] == pytest.approx(1500 / found.load_voltage[alone, 0], rel=1e-9)
    assert (found.module_current[-1] > 5).all()
    heavy = RunLoad("load", "power", Profile.constant(3000.0))
    late = run(ports, modules, [heavy], until=30.0, soc=0.6)
    assert not late.events
    heavy = RunLoad("load", "power", Profile((0.0, 3.5), (9000.0, 3000.0)))
    late = run(ports, modules, [heavy], until=30.0, soc=0.6)
    again = [e for e in late.events_of("over-current begins") if e.time > 4.0]
    assert [(e.at, round(e.time, 6)) for e in again[:1]] == [("M1", 8.0)]
    # the second comes back within the delay and takes its half: nobody trips again
    assert [(e.at, round(e.time, 6)) for e in late.events_of("over-current ends")] == [("M1", 10.0)]
    assert len(late.events_of("opens")) == 4


def test_a_load_waits_while_no_module_is_on_the_bus():
    ports, modules = pair(Limits(discharge_trip=80.0, discharge_delay=1.0, reclose_after=np.array([4.0, np.inf])))
    load = RunLoad("load", "power", Profile((0.0, 1.5), (9000.0, 1000.0)))
    found = run(ports, modules, [load], until=10.0, soc=0.5)
    assert [(e.at, e.what, round(e.time, 6)) for e in found.events if e.at == "bus"] == [
        ("bus", "no module is left on it", 1.0),
        ("bus", "has a module again", 5.0),
    ]
    assert found.load_voltage[found.at(4.0), 0] == 0.0
    assert found.module_current[-1, 0] == pytest.approx(1000 / found.load_voltage[-1, 0])


def test_power_that_cannot_be_delivered_is_a_lost_load():
    ports, modules = pair()
    load = RunLoad("load", "power", Profile((0.0, 5.0), (1000.0, 2e5)))
    found = run(ports, modules, [load], until=10.0, soc=0.5)
    assert found.events_of("load lost")[0].time == pytest.approx(5.0)
    assert found.module_current[-1] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_charge_that_no_module_takes_waits_for_the_next_load():
    ports, modules = pair(Limits(cell_high=3.25, charge_trip_opens=False))
    found = run(ports, modules, [current(-60.0, (6000.0, 50.0))], until=7000.0, soc=0.5)
    assert {e.at for e in found.events_of("blocks charge")} == {"A", "B"}
    assert found.load_current[found.at(5900.0), 0] == 0.0
    assert found.module_current[-1] == pytest.approx([25.0, 25.0])


def test_the_end_of_the_curve_stops_the_run_and_nothing_is_extrapolated():
    ports, modules = pair()
    found = run(ports, modules, [current(50.0)], until=1e5, soc=0.5)
    assert found.ended == "stopped"
    assert found.events[-1].what == "stops: end of the voltage curve"
    assert found.time[-1] == pytest.approx(0.5 * 360000 / 25, rel=1e-6)
    assert found.soc[-1].min() == pytest.approx(0.0, abs=1e-9)


def test_one_variant_stops_and_the_others_go_on():
    modules = run_modules(SLANT, [[100.0, 100.0], [60.0, 60.0]], 0.010, names=("A", "B"))
    found = run(Ports.common_bar(np.zeros(2)), modules, [current(50.0)], until=6000.0, soc=np.full((2, 2), 0.5))
    assert [e.variant for e in found.events] == [1]
    assert np.isnan(found.soc[1, -1]).all()
    assert found.soc[0, -1] == pytest.approx(0.5 - 25 * 6000 / 360000)


def test_a_charger_holds_its_ceiling_and_ends_at_its_tail():
    ports, modules = bank(2)
    load = RunLoad("load", "charger", Profile.constant(40.0), ceiling=55.2, tail=4.0)
    found = run(ports, modules, [load], until=6 * 3600.0, soc=[0.7, 0.8])
    done = found.events_of("charge done")[0]
    before = found.time < done.time
    assert found.load_voltage[before].max() == pytest.approx(55.2, abs=1e-6)
    assert found.load_current.min() == pytest.approx(-40.0)
    assert found.current("load")[before][-1] == pytest.approx(-4.0, abs=0.5)
    assert found.module_current[-1].sum() == pytest.approx(0.0, abs=1e-9)


def test_a_load_leaves_at_its_cut_out_voltage():
    ports, modules = pair()
    load = RunLoad("load", "power", Profile.constant(2000.0), cut_out=49.0)
    found = run(ports, modules, [load], until=3e4, soc=0.5)
    gone = found.events_of("cut-out")[0]
    assert gone.value == pytest.approx(49.0, abs=1e-6)


def test_progress_may_end_a_run_and_keeps_what_was_computed():
    ports, modules = bank(3)
    told = []

    def progress(share, time):
        told.append(share)
        return len(told) < 2

    load = RunLoad("load", "power", Profile.constant(1500.0))
    found = run(ports, modules, [load], until=7200.0, soc=0.6, tolerance=1e-7, progress=progress)
    assert found.ended == "interrupted"
    assert 0 < found.time[-1] < 7200.0
    assert len(found.time) == found.soc.shape[0]


def test_a_keyboard_interrupt_keeps_what_was_computed():
    ports, modules = bank(3)

    def progress(share, time):
        raise KeyboardInterrupt

    found = run(ports, modules, [], until=7200.0, soc=[0.6, 0.5, 0.4], tolerance=1e-7, progress=progress)
    assert found.ended == "interrupted"
    assert found.time[-1] > 0


def test_a_repeated_profile_and_its_pieces():
    day = Profile((0.0, 10.0), (1.0, 3.0), "ramps", period=20.0)
    assert day.piece(45.0) == (1.0, pytest.approx(0.2), 40.0, 50.0)
    assert day.piece(50.0) == (3.0, pytest.approx(-0.2), 50.0, 60.0)
    with pytest.raises(ValueError, match="rise"):
        Profile((0.0, 0.0), (1.0, 2.0))


def test_the_end_of_the_resistance_table_stops_the_run():
    ports, modules = pair(heat_capacity=1e3, factor_table=([0.0, 25.0, 45.0], [2.0, 1.0, 0.8]))
    found = run(ports, modules, [current(200.0)], until=3600.0, soc=0.9)
    assert found.ended == "stopped"
    assert "table of resistance" in found.events[-1].what
    assert found.temperature_degc[-1].max() == pytest.approx(45.0, abs=1e-3)
    with pytest.raises(ValueError, match="outside the table"):
        run(*pair(temperature_degc=60.0, factor_table=([0.0, 45.0], [2.0, 0.8])), until=1.0, soc=0.5)
