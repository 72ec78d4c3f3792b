"""Closed forms of textbooks and standards, against which the tests hold what the product computes another way.

Gives: shares_same_end(), shares_opposite_ends(), effective_same_end(), effective_opposite_ends(), common_bar(),
bank_fault(), backfeed(), join_current(), branch_voltage(), open_circuit_voltage(), ambient_factor(), at_temperature(),
at_temperature_nec(), loop_drop(), drop_by_circular_mils(), withstand_current(), icea_current(), arc_voltage(),
arc_current(). No product code calls them; SI floats or arrays.
Limits: equal sources on a ladder or a bar, two modules just joined, one conductor; the network of a bank is solved by
circuit/, conductors are looked up in the handbook.
Sources: stand at each function.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bankwright.forms.constants import CIRCULAR_MIL

Values = float | npt.NDArray[np.float64]
Array = npt.NDArray[np.float64]

ALPHA_75_NEC = 3.23e-3  # 1/K  NEC Chapter 9 Table 8, note, copper at 75 degC [read]
COPPER_ZERO_DEGC = -234.5  # degC  temperature at which the straight law reaches zero, FAA AC 43.13-1B [read]
ICEA = 0.0297  # A2s/cmil2  ICEA P-32-382-2007, copper [read]
ICEA_BETA = 234.0  # degC  the same [read]
STEPS = 60  # halvings; 1e-18 of the range


def shares_same_end(modules: int, link_ratio: float) -> Array:
    """Share of each module of a chain with both load leads on the first. [-]

    Parameters
    ----------
    modules : N, how many; the answer is (modules,). [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    i_k/I = 2 sinh(theta/2) cosh((N-k+1/2) theta) / sinh(N theta), cosh(theta) = 1 + x [derived].
    """
    if link_ratio == 0:
        return np.full(modules, 1 / modules)
    theta = np.arccosh(1 + link_ratio)
    k = np.arange(1, modules + 1)
    return np.asarray(2 * np.sinh(theta / 2) * np.cosh((modules - k + 0.5) * theta) / np.sinh(modules * theta))


def shares_opposite_ends(modules: int, link_ratio: float) -> Array:
    """Share of each module of a chain with the plus lead on the first and the minus lead on the last. [-]

    Parameters
    ----------
    modules : N, how many; the answer is (modules,). [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    i_k/I = sinh(theta/2) cosh((N+1-2k) theta/2) / sinh(N theta/2), cosh(theta) = 1 + x [derived].
    """
    if link_ratio == 0:
        return np.full(modules, 1 / modules)
    half = np.arccosh(1 + link_ratio) / 2
    k = np.arange(1, modules + 1)
    return np.asarray(np.sinh(half) * np.cosh((modules + 1 - 2 * k) * half) / np.sinh(modules * half))


def effective_same_end(modules: int, link_ratio: float) -> float:
    """Resistance of the chain seen by the load, over one module's, both leads on the first. [-]

    Parameters
    ----------
    modules : N, how many. [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    R_eff / r = i_1 / I [derived].
    """
    return float(shares_same_end(modules, link_ratio)[0])


def effective_opposite_ends(modules: int, link_ratio: float) -> float:
    """Resistance of the chain seen by the load, over one module's, leads on opposite ends. [-]

    Parameters
    ----------
    modules : N, how many. [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    R_eff / r = i_1 / I + x (N-1) / 2 [derived].
    """
    return float(shares_opposite_ends(modules, link_ratio)[0]) + link_ratio * (modules - 1) / 2


def common_bar(emf: npt.ArrayLike, resistance: npt.ArrayLike, current: Values = 0.0) -> tuple[Values, Array]:
    """Voltage of a common bar and the current of each source on it, positive out of the source. [V, A]

    Parameters
    ----------
    emf : (..., sources), open-circuit voltages. [V]
    resistance : (..., sources), each with its leads, above zero. [ohm]
    current : (...), taken from the bar. [A]

    References
    ----------
    Millman's theorem: V = (sum E/r - I) / (sum 1/r), i = (E - V)/r [stated law].
    """
    e, r = np.asarray(emf, dtype=float), np.asarray(resistance, dtype=float)
    voltage = ((e / r).sum(axis=-1) - current) / (1 / r).sum(axis=-1)
    return voltage, np.asarray((e - np.expand_dims(voltage, -1)) / r)


def bank_fault(voltage: Values, branch: Values, modules: Values, feeder: Values = 0.0) -> Values:
    """Current of a bolted short behind equal modules on a common bar. [A]

    Parameters
    ----------
    voltage : open-circuit voltage just before. [V]
    branch : one module with its leads, ohmic. [ohm]
    modules : how many are on the bar. [-]
    feeder : from the bar to the short, out and back. [ohm]

    References
    ----------
    I = V / (R/N + R_feeder), equal sources in parallel [derived]; form read in IEEE 946 practice.
    """
    return voltage / (branch / modules + feeder)


def backfeed(voltage: Values, branch: Values, modules: Values, shared: Values = 0.0) -> Values:
    """Current that the other modules drive into a short inside one of them, through that one's own lead. [A]

    Parameters
    ----------
    voltage : open-circuit voltage just before. [V]
    branch : one module with its leads, ohmic. [ohm]
    modules : all on the bar, the faulted one counted. [-]
    shared : from the bar to the short, the faulted lead. [ohm]

    References
    ----------
    I = (N-1) V / (R + (N-1) R_shared) [derived].
    """
    others = modules - 1
    return others * voltage / (branch + others * shared)


def join_current(
    difference: float, loop: float, branch: float, branch_capacitance: float, capacitance: float, time: Values
) -> Values:
    """Current some time after joining. [A]

    Parameters
    ----------
    difference : of the rested voltages. [V]
    loop : R0, both ohmic resistances and the lead. [ohm]
    branch : R1, both relaxation branches in series. [ohm]
    branch_capacitance : C1, both branches in series. [F]
    capacitance : Cb, both modules in series, charge over voltage. [F]
    time : since joining. [s]

    References
    ----------
    Roots of s^2 + (1/(R1 C1) + 1/(R0 C1) + 1/(R0 Cb)) s + 1/(R0 Cb R1 C1) with i(0) = dV/R0 and
    i'(0) = -(i(0)/R0)(1/C1 + 1/Cb) [derived]; valid for equal time constants of both branches.
    """
    b = 1 / (branch * branch_capacitance) + 1 / (loop * branch_capacitance) + 1 / (loop * capacitance)
    c = 1 / (loop * capacitance * branch * branch_capacitance)
    root = np.sqrt(b * b - 4 * c)
    fast, slow = (-b - root) / 2, (-2 * c) / (b + root)
    first = difference / loop
    slope = -first / loop * (1 / branch_capacitance + 1 / capacitance)
    part = (slope - slow * first) / (fast - slow)
    since = np.asarray(time, dtype=float)
    current: Values = (part * np.exp(fast * since) + (first - part) * np.exp(slow * since))[()]
    return current


def open_circuit_voltage(soc: Values, curve_soc: Values, curve_voltage: Values) -> Array:
    """Voltage of a rested cell on a curve; NaN beyond the ends of the curve. [V]

    Parameters
    ----------
    soc : any shape, state of charge 0..1. [-]
    curve_soc : (points,), rising. [-]
    curve_voltage : (points,). [V]

    References
    ----------
    Straight line between neighbouring points of the table [derived].
    """
    z, points, volts = (np.asarray(part, dtype=float) for part in (soc, curve_soc, curve_voltage))
    return np.asarray(np.interp(z, points, volts, left=np.nan, right=np.nan))


def branch_voltage(before: Values, current: Values, resistance: Values, time_constant: Values, time: Values) -> Array:
    """Voltage of a relaxation branch after a time at constant current, positive = discharge. [V]

    Parameters
    ----------
    before : voltage at the start. [V]
    current : constant over the time. [A]
    resistance : of the branch. [ohm]
    time_constant : of the branch. [s]
    time : since the start. [s]

    References
    ----------
    Step response of a resistor beside a capacitor [stated law].
    """
    fall = np.exp(-np.asarray(time) / np.asarray(time_constant))
    return np.asarray(fall * np.asarray(before) + (1 - fall) * np.asarray(resistance) * np.asarray(current))


def ambient_factor(conductor_degc: Values, air_degc: Values, basis_degc: Values = 30.0) -> Values:
    """Factor on a table's current for other air; 0 where the air is as hot as the conductor may be. [-]

    Parameters
    ----------
    conductor_degc : temperature that the table allows the conductor. [degC]
    air_degc : around the conductor. [degC]
    basis_degc : air that the table is for. [degC]

    References
    ----------
    NEC 310.15(B), I' = I sqrt((Tc - Ta') / (Tc - Ta)) [read]; it reproduces IEC 60364-5-52 table B.52.14 within 0.005.
    """
    left = np.maximum(conductor_degc - np.asarray(air_degc, dtype=float), 0.0)
    return np.sqrt(left / (conductor_degc - np.asarray(basis_degc, dtype=float)))[()]


def at_temperature(resistance_20: Values, temperature_degc: Values) -> Values:
    """Resistance of copper at a temperature, from that at 20 degC. [ohm]

    Parameters
    ----------
    resistance_20 : at 20 degC. [ohm]
    temperature_degc : of the metal. [degC]

    References
    ----------
    IEC 60228:2004, Annex B, R(T) = R20 (234.5 + T) / 254.5 [read]; its printed factors round the coefficient to 0.004.
    """
    return resistance_20 * (temperature_degc - COPPER_ZERO_DEGC) / (20.0 - COPPER_ZERO_DEGC)


def at_temperature_nec(resistance_75: Values, temperature_degc: Values) -> Values:
    """Resistance of copper at a temperature, from that at 75 degC. [ohm]

    Parameters
    ----------
    resistance_75 : at 75 degC. [ohm]
    temperature_degc : of the metal. [degC]

    References
    ----------
    NEC Chapter 9 Table 8, note: R2 = R1 (1 + 0.00323 (T2 - 75)) [read].
    """
    return resistance_75 * (1 + ALPHA_75_NEC * (temperature_degc - 75.0))


def loop_drop(current: Values, ohm_per_m: Values, one_way: Values) -> Values:
    """Voltage lost in a pair of conductors, out and back. [V]

    Parameters
    ----------
    current : in the pair. [A]
    ohm_per_m : of one conductor at its running temperature. [ohm/m]
    one_way : length of the run, not of the loop. [m]

    References
    ----------
    Ohm's law, V = 2 L r I [stated law].
    """
    return 2 * one_way * ohm_per_m * current


def drop_by_circular_mils(current: Values, one_way_ft: Values, circular_mils: Values, k: Values = 12.9) -> Values:
    """Voltage lost in a pair of conductors by the K-factor of handbooks; a second road to loop_drop. [V]

    Parameters
    ----------
    current : in the pair. [A]
    one_way_ft : length of the run. [ft]
    circular_mils : section. [cmil]
    k : resistance of a foot of one circular mil; 12.9 is copper at 75 degC. [ohm cmil/ft]

    References
    ----------
    V = 2 K I L / CM, K = 12.9 for copper at 75 degC [read]; the boat practice K = 10.75 is [from memory].
    """
    return 2 * k * current * one_way_ft / circular_mils


def withstand_current(section: Values, time: Values, k: Values) -> Values:
    """Current a section stands for a time. [A]

    Parameters
    ----------
    section : of metal. [m2]
    time : up to 5 s. [s]
    k : withstand of the metal and insulation. [A s0.5/m2]

    References
    ----------
    IEC 60364-4-43:2008, 434.5.2, I = k S / sqrt(t) [read, as BS 7671 434.5.2].
    """
    return k * section / np.sqrt(time)


def icea_current(section: Values, time: Values, initial_degc: Values, final_degc: Values) -> Values:
    """Current that copper stands for a time by the North American equation: a second road to withstand_current. [A]

    Parameters
    ----------
    section : of metal. [m2]
    time : of the current. [s]
    initial_degc : of the metal before. [degC]
    final_degc : that the insulation stands. [degC]

    References
    ----------
    ICEA P-32-382-2007, (I/A)^2 t = 0.0297 log10((T2+234)/(T1+234)), A in circular mils [read].
    """
    per_cmil = np.sqrt(ICEA * np.log10((final_degc + ICEA_BETA) / (initial_degc + ICEA_BETA)) / time)
    return section / CIRCULAR_MIL * per_cmil


def arc_voltage(current: Values, gap: Values) -> Values:
    """Voltage across an arc. [V]

    Parameters
    ----------
    current : of the arc. [A]
    gap : between the metals. [m]

    References
    ----------
    Stokes and Oppenlander 1991, (20 + 0.534 z) I^0.12 with z in mm [from memory].
    """
    return (20.0 + 534.0 * np.asarray(gap, dtype=float)) * np.asarray(current, dtype=float) ** 0.12


def arc_current(voltage: Values, resistance: Values, gap: Values) -> Values:
    """Current of an arc fed through a resistance; NaN where the model holds no arc. [A]

    Parameters
    ----------
    voltage : open-circuit voltage. [V]
    resistance : of the loop. [ohm]
    gap : between the metals. [m]

    References
    ----------
    Stokes and Oppenlander 1991 with E = R I + V_arc(I), solved by halving; valid above 10 + 0.2 z [from memory].
    """
    emf, r, z = np.broadcast_arrays(*(np.asarray(value, dtype=float) for value in (voltage, resistance, gap)))
    low, high = np.zeros_like(emf), emf / r
    for _ in range(STEPS):
        middle = (low + high) / 2
        below = r * middle + arc_voltage(middle, z) < emf
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    found = (low + high) / 2
    return np.where(found > 10.0 + 200.0 * z, found, np.nan)[()]
