"""Conductors against printed tables and worked examples."""

import numpy as np
import pytest

from bankwright.physics import conductor

FOOT = 0.3048
KFT = 1000 * FOOT


def test_two_roads_from_75_degc_to_25_degc_agree():
    # NEC Chapter 9 Table 8: 2/0 AWG stranded, 0.0967 ohm/kft at 75 degC (copy of the printed table). By its note (read)
    # and by IEC 60228 Annex B (read); the two are known to agree to 0.02 percent.
    nec = conductor.at_temperature_nec(0.0967, 25.0)
    iec = conductor.at_temperature(0.0967 * 254.5 / (234.5 + 75), 25.0)
    assert nec == pytest.approx(0.081083, abs=0.000001)
    assert iec == pytest.approx(0.081078, abs=0.000001)
    assert nec == pytest.approx(iec, rel=0.0002)


def test_class_5_conductor_at_70_degc():
    # IEC 60228 table 3, 35 mm2 class 5: 0.554 ohm/km at 20 degC (read); Annex B to 70 degC.
    assert conductor.at_temperature(0.554, 70.0) == pytest.approx(0.66284, rel=1e-3)


def test_printed_correction_factors_of_iec_60228_use_a_rounded_coefficient():
    # IEC 60228 Annex B prints the factors to 20 degC as 250/(230 + T), three decimals: 0.893 at 50, 0.781 at 90 degC
    # (read on a supplier's page). The exact law differs by 0.4 percent at 90 degC.
    for degc, printed in ((5, 1.064), (10, 1.042), (30, 0.962), (40, 0.926), (50, 0.893), (75, 0.82), (90, 0.781)):
        assert 250 / (230 + degc) == pytest.approx(printed, abs=0.0005)
        assert 1 / conductor.at_temperature(1.0, degc) == pytest.approx(printed, rel=0.005)


def test_drop_of_a_metric_pair():
    # IEC 60228 table 3: 50 mm2 class 5, 0.386 ohm/km at 20 degC (read); 1.5 m each way at 150 A.
    assert conductor.loop_drop(150.0, 0.386e-3, 1.5) == pytest.approx(0.1737, rel=1e-3)


@pytest.mark.parametrize(
    ("ohm_per_ft", "feet", "printed", "last_digit"),
    [
        (0.00044, 107, 0.942, 0.001),
        (0.00028, 90, 0.504, 0.001),
        (0.00306, 100, 6.12, 0.01),
        (0.00126, 39, 0.98, 0.01),
        (0.00126, 156, 3.93, 0.01),
        (0.00126, 273, 6.88, 0.01),
    ],
)
def test_drop_agrees_with_the_aircraft_tables(ohm_per_ft, feet, printed, last_digit):
    # FAA AC 43.13-1B CHG 1 (27 Sep 2001), tables 11-7 and 11-8, 20 A (read). They print the drop of the wire's own
    # length, the frame being the return: half of a two-wire loop.
    one_wire = conductor.loop_drop(20.0, ohm_per_ft / FOOT, feet * FOOT) / 2
    assert one_wire == pytest.approx(printed, abs=last_digit / 2 + 1e-12)


@pytest.mark.parametrize(
    ("ohm_per_ft", "feet", "printed", "true"), [(0.00126, 19.5, 0.366, 0.4914), (0.00202, 88, 3.60, 3.5552)]
)
def test_two_printed_products_do_not_follow_from_their_own_factors(ohm_per_ft, feet, printed, true):
    # The same tables; 0.366 and 3.60 are slips in the print.
    one_wire = conductor.loop_drop(20.0, ohm_per_ft / FOOT, feet * FOOT) / 2
    assert one_wire == pytest.approx(true, abs=0.001)
    assert abs(one_wire - printed) > 0.03


def test_two_wire_run_of_no_16():
    # electrician2.com, lpage135 (read): 4.99 ohm/kft, 100 ft one way, 4 A prints 4.0 V (3.992), 16.6 percent of 24 V.
    drop = conductor.loop_drop(4.0, 4.99 / KFT, 100 * FOOT)
    assert drop == pytest.approx(3.992, abs=0.0005)
    assert drop / 24 == pytest.approx(0.166, abs=0.0005)


def test_k_factor_of_handbooks():
    # 12 AWG (6530 cmil), 15 A, 100 ft, K = 12.9: 5.926 V; a calculation page prints 5.94 (read), rounded oddly.
    by_k = conductor.drop_by_circular_mils(15.0, 100.0, 6530.0)
    assert by_k == pytest.approx(5.926, abs=0.001)
    # NEC Chapter 9 Table 8: 12 AWG 1.98 ohm/kft at 75 degC (copy). K is rounded to three digits.
    assert conductor.loop_drop(15.0, 1.98 / KFT, 100 * FOOT) == pytest.approx(by_k, rel=0.005)


def test_drop_and_loss_of_a_48_v_run():
    # NEC Chapter 9 Table 8: 2/0 AWG 0.0967 ohm/kft at 75 degC (copy); 10 ft one way, 200 A.
    drop = conductor.loop_drop(200.0, 0.0967 / KFT, 10 * FOOT)
    assert drop == pytest.approx(0.3868, rel=1e-3)
    assert drop / 51.2 == pytest.approx(0.007555, rel=1e-3)
    assert drop * 200 == pytest.approx(77.36, rel=1e-3)


def test_drop_of_a_main_with_its_joints():
    # By hand: 4/0 AWG hot, 0.0608 ohm/kft (copy), 1.5 m each way, 280 A, four joints of 30 micro-ohm: 0.168 + 0.034 V.
    cable = conductor.loop_drop(280.0, 0.0608 / KFT, 1.5)
    assert cable == pytest.approx(0.168, abs=0.0005)
    assert cable + 280.0 * 4 * 30e-6 == pytest.approx(0.20, abs=0.005)


def test_length_limit_at_a_temperature():
    # FAA AC 43.13-1B, 11-66 (read): 50 ft at 20 degC becomes 254.5 x 50 / 294.5 = 43.2 ft at 60 degC.
    assert conductor.length_limit(50.0, 60.0) == pytest.approx(43.209, rel=1e-3)


def test_resistance_of_a_copper_bar():
    # IEC 60028 constants (read): 0.3 m of 25 x 6 mm.
    cold = conductor.resistance(0.3, 25e-3 * 6e-3)
    warm = conductor.resistance(0.3, 25e-3 * 6e-3, 60.0)
    assert cold == pytest.approx(34.482e-6, rel=1e-3)
    assert warm == pytest.approx(39.902e-6, rel=1e-3)


def test_standard_copper_agrees_with_the_printed_wire_table():
    # NBS Handbook 100 (1966), Copper Wire Tables, gage 0000 at 20 degC: 0.04901 ohm per 1000 ft [from memory].
    area = np.pi / 4 * (0.4600 * 0.0254) ** 2
    assert conductor.resistance(KFT, area) == pytest.approx(0.04901, abs=0.000005)


def test_inductance_of_a_pair():
    # Conductors of 7 mm radius, 50 mm apart: 0.89 uH/m (closed form of two parallel wires, mu0/pi (ln(d/a) + 1/4)).
    assert conductor.loop_inductance(1.0, 0.050, 0.007) == pytest.approx(0.89e-6, abs=0.005e-6)


def test_formulas_take_arrays():
    lengths = np.array([1.0, 2.0])
    np.testing.assert_allclose(conductor.resistance(lengths, 1e-4), [1.7241e-4, 3.4482e-4])
