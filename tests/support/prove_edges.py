"""Limits of Prove that several readings meet together, and those of what was set: rows for both sides.

Each row has the limit a second time, in SI, worked out beside it by hand, and where it is from. The meters of these
rows are without error: then the limit of the reading is the limit of the check.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from types import MappingProxyType

import numpy as np

from bankwright.forms.finding import Finding
from bankwright.forms.toleranced import Toleranced
from bankwright.prove import millivolt_checks, share_checks
from bankwright.prove.currents import Level
from bankwright.prove.meters import Clamp, Millivolts
from bankwright.prove.millivolt_subject import MillivoltSubject, Read
from bankwright.prove.settings.card import Grounds, settings_card
from bankwright.prove.settings.setting import Entered, Held
from bankwright.prove.share_subject import ShareSubject
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import prove_sheet
from bankwright.prove.terminals import full_current
from support.edges import Edge
from support.proved import barn, one_round, solved

__all__ = ["EDGES", "FULL", "ON_BAR", "one", "sheet", "warm", "zeroed"]

EXACT = Clamp("clamp", 0.0, 0.0, 2e-12, 0.0)
FINE = Millivolts("meter", 0.0, 0.0, 0.0)
ALIKE = ("L1+@M1+", "L2+@M2+", "L3+@M3+")


def one(findings: tuple[Finding, ...], code: str, at: str = "") -> Finding:
    """The finding of a code at a place."""
    (found,) = [f for f in findings if f.code == code and (not at or at in (*f.at, *f.more))]
    return found


def zero_load(amps: float) -> Finding:
    """M1 at zero load, the others at nothing."""
    return zeroed(amps, EXACT)


def zeroed(amps: float, clamp: Clamp) -> Finding:
    subject = ShareSubject(barn(), solved("bars"), (one_round(0, [amps, 0.0, 0.0, 0.0, 0.0]),), clamp=clamp)
    return one(tuple(share_checks.zero_load.function(subject)), "V-ZERO-1", "M1")


@cache
def flows() -> dict[str, float]:
    """Current in each of three like joints at 200 A. [A]"""
    subject = _subject(Level(200), dict.fromkeys(ALIKE, 1.0))
    return {at: subject.flow(Level(200), subject.spots[at]).current for at in ALIKE}


def _subject(level: Level, volts: dict[str, float]) -> MillivoltSubject:
    reads = tuple(Read(at, level, value, 0.0, 40.0, f"{value} V") for at, value in volts.items())
    return MillivoltSubject(barn(), solved("bars"), reads, meter=FINE)


def _told(subject: MillivoltSubject, code: str, at: str) -> Finding:
    (check,) = [check for check in millivolt_checks.CHECKS if check.code == code]
    return one(tuple(check.function(subject)), code, at)


def joint(code: str, others: float) -> Callable[[float], Finding]:
    """The third of three like joints, two of them of `others` ohm."""

    def told(ohms: float) -> Finding:
        values = dict(zip(ALIKE, (others, others, ohms), strict=True))
        return _told(_subject(Level(200), {at: flows()[at] * value for at, value in values.items()}), code, ALIKE[2])

    return told


def alone(ohms: float) -> Finding:
    """A joint at 80 A through its module alone, which leaves no doubt of the current."""
    level = Level(80, ("I1",), frozenset({"M1", "M2", "M4", "M5"}))
    return _told(_subject(level, {"L3+@M3+": 80.0 * ohms}), "V-HEAT-1", "L3+@M3+")


def sheet(
    code: str, step: str, taken: dict[tuple[str, str, str], float], at: str, quantity: str = "", **bank: object
) -> Finding:
    """One finding of the sheet of first power-up."""
    facts = Facts(barn().replaced(**bank), MappingProxyType(taken), may_join=True)
    now = next(now for now in prove_sheet(facts, {}).steps if now.step.id == step)
    mine = [f for f in now.findings if f.code == code and at in f.at]
    (found,) = [f for f in mine if len(mine) == 1 or (f.figure is not None and f.figure.quantity == quantity)]
    return found


FULL = 2 * 5000.0 / 0.93 / 46.0  # A, both inverters at their lowest voltage


def warm(code: str, at: str = "main+@bar+1") -> Callable[[float], Finding]:
    """A terminal after an hour at half the full current, the other main's at 4 K."""

    def told(kelvin: float) -> Finding:
        taken = {("E4", "current", "main+"): FULL / 2.0, ("E4", "temperature_difference", "main-@bar-1"): 4.0}
        return sheet(code, "E4", {**taken, ("E4", "temperature_difference", at): kelvin}, at)

    return told


METER, BANK, COUNTS = 46.8e3, 53.2, 0.06  # ohm; V; V of three readings of two counts of 10 mV


def insulation(sign: float) -> Callable[[float], Finding]:
    """The end (`sign`) of the band of the insulation at some ohm: S = Rm (U + sign counts) / (R + Rm)."""

    def told(ohms: float) -> Finding:
        total = METER * (BANK + sign * COUNTS) / (ohms + METER)
        return frame(0.1, total - 0.1)

    return told


def frame(plus: float, minus: float) -> Finding:
    """Plus and minus to the frame, minus as a size below zero; the bank floats."""
    site = replace(barn().site, earthing=replace(barn().site.earthing, pole="none"))
    taken = {("B3", "frame_voltage", "bar+1"): plus, ("B3", "frame_voltage", "bar-1"): -minus}
    taken |= {("B3", "voltage", "bar+1"): BANK, ("B3", "resistance", "bar+1"): METER}
    return sheet("V-FRAME-1", "B3", taken, "bar+1", site=site)


def back(volts: float) -> Finding:
    """The bank after the load went off: at rest 51.2 V, under load 50.6 V."""
    taken = {("E1", "voltage", "bar+1"): 51.2, ("E2", "voltage", "bar+1"): 50.6, ("E2B", "voltage", "bar+1"): volts}
    return sheet("V-SAG-2", "E2B", taken, "bar+1")


def resting(amps: float) -> Finding:
    """Sum of five modules' currents at zero load."""
    taken = {("B6", "current", f"M{k}"): amps if k == 1 else 0.0 for k in range(1, 6)}
    return sheet("V-REST-2", "B6", taken, "M1")


def far_end(volts: float) -> Finding:
    """The far end of M1's plus link, M1 at 53 V."""
    taken = {("B1", "voltage", "M1"): 53.0, ("B1", "voltage", "bar+2"): volts}
    return sheet("V-ALONE-2", "B1", taken, "bar+2")


@cache
def _card_bank():  # type: ignore[no-untyped-def]
    """Sixteen cells: full 3.65 V, trip 3.75 V and 2.5 V, 60 mV apart near empty; inputs of the inverters up to 64 V."""
    bank = barn()
    modules = tuple(
        replace(m, kind=replace(m.kind, discharge=replace(m.kind.discharge, cell_trip=_at(2.5), cell_spread=0.06)))
        for m in bank.modules
    )
    return bank.replaced(modules=modules)


def _at(value: float):  # type: ignore[no-untyped-def]
    return Toleranced(value, value, value)


# of 200 A at their largest 120 A hold with one module away: each of two inverters of 100 A may have 60 A
GROUNDS = Grounds(Held(200.0, 150.0, 120.0, "M1", "case"), Held(200.0, 150.0, 120.0, "M1", "case"), {"I1": 0.8})


def setting(what: str) -> Callable[[float], Finding]:
    """What was set at I1."""

    def told(value: float) -> Finding:
        entered = {f"I1 {what}": Entered(f"I1 {what}", value, f"{value}", "2026-11-25")}
        bank = _card_bank()
        kinds = {i.name: replace(i.kind, power=4600.0, efficiency=1.0, lowest_voltage=46.0) for i in bank.inverters}
        made = tuple(replace(i, kind=kinds[i.name]) for i in bank.inverters)
        chargers = tuple(replace(c, kind=replace(c.kind, current=100.0)) for c in bank.chargers)
        card = settings_card(bank.replaced(inverters=made, chargers=chargers), GROUNDS, entered)
        (found,) = [f for f in card.findings if f.case == f"I1 {what}"]
        return found

    return told


def set_edges() -> list[Edge]:
    """Windows and steps of the settings: cells of the sheet times volts a cell."""
    sheets, rows = "data sheets of module and charger", []
    for code, what, side, limit, outside, inside, source in (
        ("V-SET-1", "charge voltage", "least", 16 * 3.2, "fail", "caution", sheets),
        ("V-SET-1", "charge voltage", "least", 16 * 3.4, "caution", "pass", sheets),
        ("V-SET-1", "charge voltage", "most", 16 * 3.65, "caution", "pass", sheets),
        ("V-SET-1", "charge voltage", "most", 16 * 3.75, "fail", "caution", sheets),
        ("V-SET-2", "charge ceiling", "most", 16 * 3.65, "caution", "pass", sheets),
        ("V-SET-2", "charge ceiling", "most", 16 * 3.75, "fail", "caution", sheets),
        ("V-SET-3", "float", "least", 16 * 3.2, "caution", "pass", "common practice"),
        ("V-SET-3", "float", "most", 16 * 3.4, "caution", "pass", "common practice"),
        ("V-SET-3", "float", "most", 16 * 3.75, "fail", "caution", "common practice"),
        ("V-SET-6", "low stop", "least", 16 * 2.5 + 15 * 0.06, "caution", "pass", "under-voltage trip and cell spread"),
        ("V-SET-6", "low stop", "most", 16 * 3.1, "caution", "pass", "under-voltage trip and cell spread"),
        ("V-SET-6", "low stop", "most", 16 * 3.2, "fail", "caution", "under-voltage trip and cell spread"),
        ("V-SET-7", "restart", "least", 16 * 3.0 + 0.8, "caution", "pass", "bank's network at full load"),
        ("V-SET-7", "restart", "most", 16 * 3.75, "caution", "pass", "bank's network at full load"),
    ):
        rows.append(Edge(code, what, side, limit, "voltage", source, setting(what), outside, inside))
    away = "shares of the bank's network with one module away"
    for code, what in (("V-SET-4", "charge current"), ("V-SET-5", "discharge current")):
        rows.append(Edge(code, what, "most", 60.0, "current", away, setting(what), "fail", "caution", at_it="fail"))
    return rows


def _watts(watts: float) -> float:
    """Ohms that make some watts at the largest steady current of L3+."""
    return watts / full_current(solved("bars"), "L3+").current ** 2


# a bar of 40 x 10 mm of copper: 8960 kg/m3 x 385 J/kg K x 4 cm2 / (6 W/m2 K x 0.1 m), after an hour; rating 90, air 38
ON_BAR = 1.0 - np.exp(-3600.0 / (8960.0 * 385.0 * 4e-4 / (6.0 * 0.1)))
PRACTICE, LIKE = "common practice", "ANSI/NETA ATS"
EDGES = [
    Edge("V-ZERO-1", "current", "most", 2.0, "current", PRACTICE, zero_load, "caution"),
    Edge("V-ZERO-1", "current", "least", -2.0, "current", PRACTICE, zero_load, "caution"),
    Edge("V-LIKE-1", "of the lowest", "most", 150e-6, "resistance", LIKE, joint("V-LIKE-1", 100e-6), "caution"),
    # the mean of r, r, x and a tenth more is x at x = 2.2 r / 1.9; and 5 micro-ohm more at x = r + 7.5 micro-ohm
    Edge("V-LIKE-2", "a tenth", "most", 220e-6 / 1.9, "resistance", "IEEE 450 and 484 practice",
         joint("V-LIKE-2", 100e-6), "caution"),
    Edge("V-LIKE-2", "5 micro-ohm", "most", 27.5e-6, "resistance", "IEEE 450 and 484 practice",
         joint("V-LIKE-2", 20e-6), "caution"),
    Edge("V-HEAT-1", "2 W", "most", _watts(2.0), "power", PRACTICE, alone, "caution"),
    Edge("V-WARM-2", "over the coolest", "most", 4.0 + 3.0, "temperature_difference", LIKE, warm("V-WARM-2"),
         "caution"),
    Edge("V-FRAME-1", "whole band", "least", 51.2 * 100, "resistance", "IEC 62485-2", insulation(1.0), "fail",
         "unknown", room=5120.0),
    Edge("V-FRAME-1", "lower end", "least", 51.2 * 100, "resistance", "IEC 62485-2", insulation(-1.0), "unknown"),
    Edge("V-FRAME-1", "sign", "least", -0.06, "resistance", "IEC 62485-2", lambda v: frame(v, 30.0), "unknown"),
    Edge("V-FRAME-1", "sum", "most", BANK + 0.06, "resistance", "IEC 62485-2", lambda v: frame(2.0, v - 2.0), "unknown",
         "fail", room=COUNTS),
    Edge("V-SAG-2", "a twentieth less", "least", 51.2 - 0.05 * 0.6 - 0.04, "voltage", PRACTICE, back, "caution",
         room=0.07),
    Edge("V-SAG-2", "a twentieth more", "most", 51.2 + 0.05 * 0.6 + 0.04, "voltage", PRACTICE, back, "caution",
         room=0.07),
    Edge("V-REST-2", "sum", "most", 0.5 * 5**0.5 + 0.1, "current", "sequence", resting, "unknown"),
    Edge("V-REST-2", "sum", "least", -0.5 * 5**0.5 - 0.1, "current", "sequence", resting, "unknown"),
    Edge("V-ALONE-2", "3 counts", "most", 53.03, "voltage", PRACTICE, far_end, "unknown", room=0.03),
    Edge("V-ALONE-2", "3 counts", "least", 52.97, "voltage", PRACTICE, far_end, "unknown", room=0.03),
    *set_edges(),
]  # fmt: skip
