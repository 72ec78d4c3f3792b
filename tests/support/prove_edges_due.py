"""Limits of Prove that are computed for a reading, and those of sensors, branches and capacity: rows for both sides.

The numbers of the invented bank stand here again: resistor 30 ohm +- 5 %, 2 x 12 mF (+- 20 % where no tolerance is
given), 2 x 20 mA; shunt 50 mV at 500 A; strings of 8 x 49.5 V, 14 A, -0.26 and +0.05 %/K, 72 cells.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import log

import pytest

from bankwright.bank.model_house import SolarKind, SunString
from bankwright.circuit.cases import LOWEST
from bankwright.forms.finding import Finding
from bankwright.forms.origin import FileKey
from bankwright.prove import module_checks, share_checks
from bankwright.prove.capacity.judged import capacity_test
from bankwright.prove.capacity.read import CapacityTyped, capacity_read
from bankwright.prove.meters import Bus, Clamp
from bankwright.prove.share_subject import ShareSubject
from support.edges import Edge
from support.prove_edges import one, sheet
from support.proved import barn, one_round, solved

__all__ = ["EDGES"]

Taken = Mapping[tuple[str, str, str], float]
OHMS, FARADS, IDLE, REST = 30.0, 0.024, 0.04, 53.0


def due(
    code: str, step: str, quantity: str, at: str, beside: Taken | None = None, **bank: object
) -> Callable[[float], Finding]:
    """One reading of the sheet beside others that were taken."""

    def told(value: float) -> Finding:
        return sheet(code, step, {**(beside or {}), (step, quantity, at): value}, at, quantity, **bank)

    return told


def seconds(ohms: float, farads: float) -> float:
    """Until 2 V are left of 53 V, with the idle current drawn: R C ln((E - R I) / (2 V - R I)). [s]"""
    return ohms * farads * log((REST - ohms * IDLE) / (2.0 - ohms * IDLE))


ALONE = {("B1", "voltage", f"M{k}"): REST for k in range(1, 6)}
LEGS = {("D1", "ac_voltage", "I1.L-N"): 120.0, ("D1", "ac_voltage", "I1.N-PE"): 0.3}
SQUARE = "sequence of first power-up"
FILL = "capacitor behind a resistor"


def hertz() -> tuple[object, ...]:
    """Inverters of 60 Hz, the two on two phases."""
    made = barn().inverters
    return tuple(
        replace(i, phase=phase, kind=replace(i.kind, frequency=60.0)) for i, phase in zip(made, "12", strict=True)
    )


KIND = SolarKind("S", "kinds.solar.S", 49.5, 14.0, -0.0026, 0.0005, 72)


def strings(in_series: int = 8) -> tuple[SunString, ...]:
    """Three of one array."""
    return tuple(SunString(at, "roof", KIND, in_series, "I1", FileKey("arrays[0]")) for at in "ABC")


def sun(step: str, quantity: str, others: float) -> Callable[[float], Finding]:
    """A's volts or current beside those of B and C, 800 W/m2, 42 degC at the back."""
    code = "V-SUN-2"
    beside = {(step, quantity, at): others for at in "BC"}
    return due(code, step, quantity, "A", beside, strings=strings())


WEATHER = {("H2", "temperature_degc", "A"): 42.0, ("H2", "irradiance", "A"): 800.0}
# 14 A x 0.8 x (1 + 0.0005 x (45 - 25)); cells are 3 K warmer than the back
SHORT = 14.0 * 0.8 * 1.01
LOOSE = 0.02 + 0.01 + (0.5 + 0.05) / 200.0  # of 200 A: gain, place, zero and half a count of a plain clamp
SHUNT = 0.02 * (LOOSE + 0.005) + 0.005 * 0.02 + 5e-4  # V: class 0.5 %, and a hand meter of 0.5 % + 5 counts of 0.1 mV


def shunted(volts: float) -> Finding:
    """The shunt at 200 A."""
    made = tuple(
        replace(d, kind=replace(d.kind, accuracy=0.005)) if d.kind.type == "shunt" else d for d in barn().devices
    )
    taken = {("E2", "current", "main+"): 200.0, ("E2", "voltage_drop", "X1"): volts}
    return sheet("V-SHUNT-1", "E2", taken, "X1", devices=made)


def beside_detector(share: float) -> Finding:
    """Both poles together at a share of the 50 kohm of a detector: S = Rm U / (R + Rm), alike at both poles."""
    earthing = replace(barn().site.earthing, pole="none", detector=True, detector_resistance=1e5)
    meter, volts = 1e6, 53.2
    half = meter * volts / (share * 5e4 + meter) / 2.0
    taken = {("B3", "frame_voltage", "bar+1"): half, ("B3", "frame_voltage", "bar-1"): -half}
    taken |= {("B3", "voltage", "bar+1"): volts, ("B3", "resistance", "bar+1"): meter}
    return sheet("V-FRAME-2", "B3", taken, "bar+1", site=replace(barn().site, earthing=earthing))


def capacity(code: str, case: str = "", **typed: str | tuple[str, ...]) -> Callable[[float], Finding]:
    """A test of 500 Ah in five hours each way at 25 degC; `{}` in a text stands for the figure."""

    def told(value: float) -> Finding:
        usual: dict[str, str | tuple[str, ...]] = {
            "out": "500 Ah", "out_time": "5 h", "back": "500 Ah", "back_time": "5 h", "temperature": ("25 degC",)
        }  # fmt: skip
        filled = {
            key: tuple(each.format(value) for each in text) if isinstance(text, tuple) else text.format(value)
            for key, text in (usual | typed).items()
        }
        found = capacity_test(capacity_read(barn(), CapacityTyped(**filled))).findings  # type: ignore[arg-type]
        (mine,) = [f for f in found if f.code == code and (not case or f.case == case)]
        return mine

    return told


EXACT, SENSOR = Clamp("clamp", 0.0, 0.0, 2e-9, 0.0), Bus(0.01, 0.3, 0.0)


def sensor(code: str, part: str) -> Callable[[float], Finding]:
    """M1's own sensor beside an exact clamp at 0 and 40 A: `part` says what it shows more."""
    check = module_checks.sensor_gain if code == "V-SENSOR-1" else module_checks.sensor_offset

    def told(value: float) -> Finding:
        reads = {0.0: value, 40.0: 40.0 + value} if part == "offset" else {0.0: 0.0, 40.0: 40.0 * (1.0 + value)}
        made = tuple(
            each
            for load, shown in reads.items()
            for each in (
                one_round(5 * load, [load] * 5),
                one_round(5 * load, [shown, load, load, load, load], by="bus"),
            )
        )
        joined = tuple(
            replace(a, currents=(*a.currents, *b.currents)) for a, b in zip(made[::2], made[1::2], strict=True)
        )
        subject = ShareSubject(barn(), solved("bars"), joined, clamp=EXACT, bus=SENSOR)
        return one(tuple(check.function(subject)), code, "M1")

    return told


def full_load(amps: float) -> Finding:
    """M1's current scaled to full load: 200 A were read, the bank's own full current is its inverters' at 46 V."""
    full = abs(sum(solved("bars").case(LOWEST).module_currents()))
    assert full == pytest.approx(2 * 5000.0 / 0.93 / 46.0, rel=0.01)
    own = amps * 200.0 / full
    rounds = (one_round(0, [0.0] * 5), one_round(200, [own, *[(200.0 - own) / 4.0] * 4]))
    subject = ShareSubject(barn(), solved("bars"), rounds, clamp=EXACT)
    return one(tuple(share_checks.limits.function(subject)), "V-LIMIT-1", "M1")


KIRCHHOFF, PRACTICE = "Kirchhoff", "common practice"
TEST = "table lfp/capacity-test"
EDGES = [
    Edge("V-SIGN-1", "cells x 2.5 V", "least", 40.0, "voltage", PRACTICE,
         due("V-SIGN-1", "B4", "voltage", "S1"), "fail"),
    Edge("V-SIGN-1", "cells x 3.65 V", "most", 58.4, "voltage", PRACTICE,
         due("V-SIGN-1", "B4", "voltage", "S1"), "fail"),
    Edge("V-PRECHARGE-1", "2 V", "least", seconds(OHMS * 0.95, FARADS * 0.8) - 0.5, "time", FILL,
         due("V-PRECHARGE-1", "C1", "time", "S1", ALONE), "caution"),
    Edge("V-PRECHARGE-1", "2 V", "most", seconds(OHMS * 1.05, FARADS * 1.2) + 0.5, "time", FILL,
         due("V-PRECHARGE-1", "C1", "time", "S1", ALONE), "caution"),
    Edge("V-PRECHARGE-3", "twice R I", "most", 2.0 * OHMS * IDLE, "voltage_drop", PRACTICE,
         due("V-PRECHARGE-3", "C1", "voltage_drop", "S1"), "caution"),
    Edge("V-STOP-1", "10 V", "least", 0.8 * FARADS * (REST - 10.0) / IDLE / 4.0, "time", FILL,
         due("V-STOP-1", "C4", "time", "I1", ALONE), "caution"),
    Edge("V-STOP-1", "10 V", "most", 1.2 * FARADS * (REST - 10.0) / IDLE, "time", FILL,
         due("V-STOP-1", "C4", "time", "I1", ALONE), "caution"),
    Edge("V-BRANCH-1", "out", "most", 100.0, "current", "the bank's own network",
         due("V-BRANCH-1", "E2", "current", "M1"), "fail", "unknown", at_it="unknown"),
    Edge("V-BRANCH-1", "in", "least", -60.0, "current", "the bank's own network",
         due("V-BRANCH-1", "F1", "current", "M1"), "fail", "unknown", at_it="unknown"),
    Edge("V-SHUNT-1", "20 mV", "least", 0.02 - SHUNT, "voltage_drop", KIRCHHOFF, shunted, "unknown", room=SHUNT),
    Edge("V-SHUNT-1", "20 mV", "most", 0.02 + SHUNT, "voltage_drop", KIRCHHOFF, shunted, "unknown", room=SHUNT),
    Edge("V-FRAME-2", "a tenth", "least", 0.9, "share", "resistances side by side", beside_detector, "caution",
         room=0.9),
    Edge("V-FRAME-2", "a tenth", "most", 1.1, "share", "resistances side by side", beside_detector, "caution",
         room=1.1),
    Edge("V-AC-1", "earth", "least", 90.0, "ac_voltage", SQUARE,
         due("V-AC-1", "D1", "ac_voltage", "I1.L-PE", {("D1", "ac_voltage", "I1.L-N"): 120.0}, inverters=hertz()),
         "fail"),
    Edge("V-AC-3", "2 % and N to PE", "least", 120.0 - 2.4 - 0.3, "ac_voltage", SQUARE,
         lambda v: sheet("V-AC-3", "D1", {**LEGS, ("D1", "ac_voltage", "I1.L-PE"): v}, "I1.L-PE", inverters=hertz()),
         "unknown", room=2.7),
    Edge("V-AC-5", "two legs", "least", 0.95 * 240.0, "ac_voltage", "two phasors",
         due("V-AC-5", "D1", "ac_voltage", "panel.L1-L2", inverters=hertz()), "fail"),
    Edge("V-AC-5", "two legs", "most", 1.05 * 240.0, "ac_voltage", "two phasors",
         due("V-AC-5", "D1", "ac_voltage", "panel.L1-L2", inverters=hertz()), "fail"),
    Edge("V-BOND-2", "far socket", "least", 0.1, "ac_voltage", "neutral's drop",
         due("V-BOND-2", "D2", "ac_voltage", "socket.N-PE"), "caution"),
    Edge("V-BOND-2", "far socket", "most", 2.0, "ac_voltage", "neutral's drop",
         due("V-BOND-2", "D2", "ac_voltage", "socket.N-PE"), "caution"),
    Edge("V-SUN-2", "volts", "least", 371.0 * 0.985, "share", "IEC 62446", sun("H1", "voltage", 371.0), "caution",
         room=371.0 * 0.015),
    Edge("V-SUN-2", "volts", "most", 371.0 * 1.015, "share", "IEC 62446", sun("H1", "voltage", 371.0), "caution",
         room=371.0 * 0.015),
    Edge("V-SUN-2", "current", "least", 11.0 * 0.95, "share", "IEC 62446", sun("H2", "current", 11.0), "caution",
         room=0.55),
    Edge("V-SUN-3", "a tenth less", "least", 0.9 * SHORT, "current", "the solar module's plate",
         due("V-SUN-3", "H2", "current", "A", WEATHER, strings=strings()), "caution"),
    Edge("V-SUN-3", "a tenth more", "most", 1.1 * SHORT, "current", "the solar module's plate",
         due("V-SUN-3", "H2", "current", "A", WEATHER, strings=strings()), "caution"),
    # 8 x 49.5 V x 1.25 lies above 120 V: 1 Mohm; one alone does not: 0.5 Mohm
    Edge("V-SUN-4", "above 120 V", "least", 1e6, "resistance", "IEC 62446",
         due("V-SUN-4", "H1", "resistance", "A", strings=strings()), "fail"),
    Edge("V-SUN-4", "below 120 V", "least", 0.5e6, "resistance", "IEC 62446",
         due("V-SUN-4", "H1", "resistance", "A", strings=strings(1)), "fail"),
    Edge("V-SENSOR-1", "1 %", "most", 0.01, "share", PRACTICE, sensor("V-SENSOR-1", "gain"), "caution", room=0.01),
    Edge("V-SENSOR-1", "1 %", "least", -0.01, "share", PRACTICE, sensor("V-SENSOR-1", "gain"), "caution", room=0.01),
    Edge("V-SENSOR-2", "0.3 A", "most", 0.3, "current", PRACTICE, sensor("V-SENSOR-2", "offset"), "caution",
         room=0.3),
    Edge("V-SENSOR-2", "0.3 A", "least", -0.3, "current", PRACTICE, sensor("V-SENSOR-2", "offset"), "caution",
         room=0.3),
    Edge("V-LIMIT-1", "100 A", "most", 100.0, "current", "data sheet of the module", full_load, "fail", "caution",
         room=100.0),
    Edge("V-CAPACITY-2", "whole band below 95 %", "least", 95.0 / 1.02, "capacity_ah", TEST,
         capacity("V-CAPACITY-2", module=("M1={} Ah",), module_back=("M1={} Ah",)), "caution"),
    Edge("V-CAPACITY-3", "3 K", "most", 23.0, "temperature_difference", TEST,
         capacity("V-CAPACITY-3", "modules' temperatures", temperature=("M1=20 degC", "M2={} degC")),
         "caution", room=3.0),
    Edge("V-CAPACITY-3", "0.3 C", "most", 750.0, "ratio", TEST,
         capacity("V-CAPACITY-3", "rate", out="{} Ah", back="750 Ah"), "caution"),
    Edge("V-CAPACITY-3", "0.1 C", "least", 250.0, "ratio", TEST,
         capacity("V-CAPACITY-3", "rate", out="{} Ah", back="250 Ah"), "caution"),
    # 2 % of the mean of 100 A: (500 - back) / 10 h = 2 A at back = 480 Ah; 0.2 A off the zero that was read
    Edge("V-CAPACITY-4", "2 % of the mean", "least", 480.0, "current", TEST, capacity("V-CAPACITY-4", back="{} Ah"),
         "unknown", room=20.0),
    Edge("V-CAPACITY-4", "0.2 A", "most", 0.2, "current", TEST, capacity("V-CAPACITY-4", zero=("{} A",)), "unknown",
         room=0.2),
    Edge("V-CAPACITY-5", "2.5 V", "least", 2.5, "cell_voltage", "order of cells",
         capacity("V-CAPACITY-5", low=("M1.c3={} V", "M1.c4=2.9 V"), high=("M1.c3=3.6 V", "M1.c4=3.5 V")), "fail"),
]  # fmt: skip
