"""A two-wire data line: its resistances, its idle voltage, and how long it may be.

Gives: pair_resistance(), idle_voltage(), round_trip(), IDLE_LEAST, LOAD_LEAST.
Limits: direct current and delay; no reflections. Receivers that decide below 0 V need no idle voltage at all.
Sources: MODBUS over Serial Line V1.02 (20 Dec 2006), 3.4.5 and 3.4.6, read; TIA-485 receiver threshold and driver load
as restated in EURASIP J. Embedded Systems 2016, s13639-016-0042-x, table 1, read; the rest is derived.
"""

from __future__ import annotations

import math

__all__ = ["IDLE_LEAST", "LOAD_LEAST", "idle_voltage", "pair_resistance", "round_trip"]

IDLE_LEAST = 0.2  # V  TIA-485: a receiver must decide at this voltage
LOAD_LEAST = 54.0  # ohm  TIA-485: load into which a driver must give its level
_SPEED = 0.66 * 299792458.0  # m/s  in cable of solid polyethylene: common practice, no source


def pair_resistance(terminators: int, ohm: float = 120.0) -> float:
    """Resistance between the two data wires with every device off; infinite without terminators. [ohm]

    Parameters
    ----------
    terminators : how many are switched on. [-]
    ohm : of one. [ohm]

    References
    ----------
    Resistors in parallel; devices that are off add kilo-ohms in parallel (derived).
    """
    return ohm / terminators if terminators > 0 else math.inf


def idle_voltage(terminators: int, ohm: float, bias: float, supply: float = 5.0) -> float:
    """Voltage between the wires of a polarised line at rest. [V]

    Parameters
    ----------
    terminators : how many are switched on. [-]
    ohm : of one terminator. [ohm]
    bias : of each of the two polarisation resistors. [ohm]
    supply : that they hang on. [V]

    References
    ----------
    Divider supply Rt / (Rt + 2 Rb), MODBUS over Serial Line V1.02, 3.4.6 (resistors), derived.
    """
    load = pair_resistance(terminators, ohm)
    return supply if math.isinf(load) else supply * load / (load + 2.0 * bias)


def round_trip(length: float) -> float:
    """Time of a level to the far end and back. [s]

    Parameters
    ----------
    length : of the line. [m]

    References
    ----------
    Two thirds of the speed of light in cable: common practice, no source.
    """
    return 2.0 * length / _SPEED
