"""Small changes to the sound bank for the checks of what a file says of one thing, and the two sides of their ends.

Gives: SHEETS (as CASES of plan_cases), ENDS, End. In the changes of an end "{}" stands for the value that is moved;
values lie 0.1 % about an end that was worked out by hand beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

__all__ = ["ENDS", "SHEETS", "End", "SheetCase"]

Edits = Mapping[str, Any]
K, INV, F, SW = "kinds.module.S100", "kinds.inverter.inv", "kinds.device.main", "kinds.device.switch"
RACK = {
    "kinds.rack.R": {"on": "floor", "units": 9, "height": "0.5 m", "depth": "600 mm", "footprint": "0.36 m2"},
    "+racks": {"name": "R1", "kind": "R"},
    f"{K}.mass": "46 kg",
    f"{K}.depth": "480 mm",
    f"{K}.width": "440 mm",
}  # three of them: 138 kg
ROLLS = {**RACK, "kinds.rack.R": {"on": "wheels", "wheels": 4, "wheel_load": "50 kg", "mass": "12 kg"}}  # 150 kg
CLAMP = {"name": "clamp", "quantity": "current", "range": "0 A to 200 A"}
METER = {"name": "meter", "quantity": "voltage", "range": "0 V to 60 V"}


@dataclass(frozen=True)
class SheetCase:
    """As Case of plan_cases."""

    fails: Edits
    just: Edits = field(default_factory=dict)
    worst: str = "fail"
    misses: Edits = field(default_factory=dict)
    key: str = ""


SHEETS: dict[str, SheetCase] = {
    "P-SHEET-1": SheetCase({f"{K}.energy": "10.24 kWh"}),
    "P-SHEET-2": SheetCase({f"{K}.charge.cell_full": "4.2 V", f"{K}.charge.cell_trip": "4.25 V"}),
    "P-SHEET-3": SheetCase({f"{INV}.power": "6 W"}),
    "P-SHEET-4": SheetCase({f"{F}.melting_i2t": "400000 A2s"}),
    "P-SHEET-5": SheetCase({"wiring.main.outer_diameter": "9 mm"}, {"wiring.main.outer_diameter": "16 mm"}),
    "P-SHEET-6": SheetCase({f"{K}.listing": ["UL 1642"]}, {f"{K}.listing": ["UL 1973"]}, "caution"),
    "P-BAR-2": SheetCase({"bars[0].hole": "41 mm", "bars[0].width": "40 mm"}),
    "P-JOINT-6": SheetCase({f"{K}.posts.torque": "120 N m"}, {f"{K}.posts.torque": "12 N m"}),
    "P-CABLE-6": SheetCase({"wiring.main.colour": "green"}, {"wiring.main.colour": "orange"}),
    "P-PLACE-9": SheetCase(
        {**RACK, "site.floor_load": "1 kPa"},
        {**RACK, "site.floor_load": "4 kPa"},
        misses={"site.floor_load": "4 kPa", **{key: value for key, value in RACK.items() if key != f"{K}.mass"}},
        key=f"{K}.mass",
    ),
    "P-PLACE-10": SheetCase({**RACK, f"{K}.depth": "610 mm"}, RACK),
    "P-PLACE-11": SheetCase(
        {**ROLLS, "kinds.rack.R": {**ROLLS["kinds.rack.R"], "wheel_load": "40 kg"}},
        ROLLS,
        misses={key: value for key, value in ROLLS.items() if key != f"{K}.mass"},
        key=f"{K}.mass",
    ),
    "P-METER-1": SheetCase(
        {"+instruments": {**METER, "range": "0 V to 50 V"}}, {"+instruments": METER, "+instruments#2": CLAMP}
    ),
}


@dataclass(frozen=True)
class End:
    """One end of one figure: what is changed, the value on its good side and on its bad one, and what comes of it."""

    code: str
    change: Edits
    inside: float
    outside: float
    verdicts: tuple[str, str]
    says: str  # a word of the sentence that is meant

    def __str__(self) -> str:
        """For the name of the test."""
        return f"{self.code} {next(iter(self.change))} {self.outside:g}"


PC, CF, PF = ("pass", "caution"), ("caution", "fail"), ("pass", "fail")
TRIP = {f"{K}.discharge.trip": "2 kA for 3 s", f"{K}.charge.trip": "2 kA for 3 s"}
OUT, IN = {f"{K}.discharge.continuous": "{} A", **TRIP}, {f"{K}.charge.continuous": "{} A", **TRIP}
BOX = {f"{K}.depth": "{} mm", f"{K}.width": "440 mm", f"{K}.height": "132 mm"}  # 5.12 / 0.05808 / 300 = 293.9 mm
FULL = {f"{K}.charge.cell_full": "{} V", f"{K}.charge.cell_trip": "3.9 V"}
HELD = {f"{INV}.precharge.hold": "{} s", f"{INV}.precharge.wait": "8 s"}
CURVES = {
    f"{F}.curve": [["350 A", "100 s"], ["1.4 kA", "{} s"]],
    f"{F}.melting": [["350 A", "60 s"], ["1.4 kA", "0.06 s"]],
}
MODULE = [  # 100 Ah, 16 cells, 5.12 kWh
    End("P-SHEET-1", {f"{K}.energy": "{} kWh"}, 5.371, 5.381, PC, "is given"),  # 1.05
    End("P-SHEET-1", {f"{K}.energy": "{} kWh"}, 5.627, 5.638, CF, "is given"),  # 1.10
    End("P-SHEET-1", {f"{K}.energy": "{} kWh"}, 4.766, 4.757, PC, "is given"),  # 0.93
    End("P-SHEET-1", {f"{K}.energy": "{} kWh"}, 3.844, 3.836, CF, "is given"),  # 0.75
    End("P-SHEET-1", {f"{K}.mass": "{} kg"}, 85.25, 85.42, PC, "weighs"),  # 5120 / 60 = 85.33
    End("P-SHEET-1", {f"{K}.mass": "{} kg"}, 170.5, 170.8, CF, "weighs"),  # / 30
    End("P-SHEET-1", {f"{K}.mass": "{} kg"}, 30.15, 30.09, PC, "weighs"),  # / 170
    End("P-SHEET-1", {f"{K}.mass": "{} kg"}, 20.50, 20.46, CF, "weighs"),  # / 250
    End(
        "P-SHEET-1",
        {f"{K}.discharge.continuous": "{} A", f"{K}.discharge.trip": "2 kA for 3 s"},
        999,
        1001,
        CF,
        "may discharge",
    ),
    End(
        "P-SHEET-1",
        IN,
        149.9,
        150.2,
        PC,
        "may charge",
    ),
    End("P-SHEET-1", IN, 499, 501, CF, "may charge"),
    End("P-SHEET-1", {f"{K}.breaker.rating": "{} A"}, 100, 99.9, PC, "own breaker"),
    End("P-SHEET-1", {f"{K}.standby_power": "{} W"}, 30.4, 30.6, PC, "for itself"),  # 5120 / 168 = 30.48
    End("P-SHEET-1", {f"{K}.standby_power": "{} W"}, 213.1, 213.6, CF, "for itself"),  # / 24 = 213.3
    End("P-SHEET-1", {f"{K}.parallel.join_within": "{} V"}, 2.0, 2.01, PC, "joined"),
    End("P-SHEET-1", {f"{K}.parallel.join_within": "{} V"}, 10.0, 10.1, CF, "joined"),
    End("P-SHEET-1", {f"{K}.resistance": {"dc": "{} mohm"}}, 39.9, 40.1, PC, "modules of 16"),  # 0.25 x 16 / 100
    End("P-SHEET-1", {f"{K}.resistance": {"dc": "{} mohm"}}, 159.8, 160.2, CF, "modules of 16"),
    End("P-SHEET-1", {f"{K}.resistance": {"dc": "{} mohm"}}, 1.282, 1.278, PC, "modules of 16"),  # 8e-3 x 16 / 100
    End("P-SHEET-1", {f"{K}.resistance": {"dc": "{} mohm"}}, 0.321, 0.319, CF, "modules of 16"),
    End(
        "P-SHEET-1",
        {f"{K}.depth": "{} mm", f"{K}.width": "440 mm", f"{K}.height": "132 mm"},
        294.2,
        293.6,
        PC,
        "A box of",
    ),
    End(
        "P-SHEET-1",
        {f"{K}.depth": "{} mm", f"{K}.width": "440 mm", f"{K}.height": "132 mm"},
        196.1,
        195.7,
        CF,
        "A box of",
    ),
    End(
        "P-SHEET-1",
        {f"{K}.depth": "{} mm", f"{K}.width": "440 mm", f"{K}.height": "132 mm"},
        3523,
        3530,
        PC,
        "A box of",
    ),
    End("P-SHEET-2", {f"{K}.charge.cell_full": "{} V"}, 3.65, 3.66, PC, "end of charge"),
    End(
        "P-SHEET-2",
        {f"{K}.charge.cell_full": "{} V", f"{K}.charge.cell_trip": "3.9 V"},
        3.80,
        3.81,
        CF,
        "end of charge",
    ),
    End("P-SHEET-2", {f"{K}.charge.cell_trip": "{} V"}, 3.90, 3.91, PC, "over-voltage"),
    End("P-SHEET-2", {f"{K}.charge.cell_trip": "{} V"}, 4.10, 4.11, CF, "over-voltage"),
    End("P-SHEET-2", {f"{K}.discharge.cell_trip": "{} V"}, 1.90, 1.89, PC, "under-voltage"),
    End("P-SHEET-2", {f"{K}.discharge.cell_trip": "{} V"}, 1.50, 1.49, CF, "under-voltage"),
    End("P-SHEET-2", {f"{K}.cell_spread": "{} mV"}, 100, 101, PC, "at rest"),
    End("P-SHEET-2", {f"{K}.cell_spread": "{} mV"}, 300, 301, CF, "at rest"),
    End("P-SHEET-2", {f"{K}.discharge.cell_spread": "{} mV"}, 400, 401, PC, "near empty"),
    End("P-SHEET-2", {f"{K}.charge.lowest": "{} degC"}, 0.0, -1.0, PC, "lowest temperature of charging"),
    End("P-SHEET-2", {f"{K}.charge.highest": "{} degC"}, 60.0, 61.0, PC, "highest temperature of charging"),
    End("P-SHEET-2", {f"{K}.charge.highest": "{} degC"}, 80.0, 81.0, CF, "highest temperature of charging"),
]
POWER = [
    End("P-SHEET-3", {f"{INV}.efficiency": "{} %"}, 80.0, 79.9, PC, "an efficiency"),
    End("P-SHEET-3", {f"{INV}.efficiency": "{} %"}, 50.0, 49.9, CF, "an efficiency"),
    End("P-SHEET-3", {f"{INV}.efficiency": "{} %"}, 98.5, 98.6, PC, "an efficiency"),
    End("P-SHEET-3", {f"{INV}.surge_power": "{} kW"}, 20.0, 20.1, PC, "for a moment"),  # 4 x 5 kW
    End("P-SHEET-3", {f"{INV}.surge_power": "{} kW"}, 50.0, 50.1, CF, "for a moment"),
    End("P-SHEET-3", {f"{INV}.surge_time": "{} s"}, 300, 301, PC, "A surge of"),
    End("P-SHEET-3", {f"{INV}.surge_time": "{} s"}, 10800, 10810, CF, "A surge of"),
    End(
        "P-SHEET-3",
        {f"{INV}.precharge.hold": "{} s", f"{INV}.precharge.wait": "8 s"},
        8.0,
        7.9,
        ("pass", "fail"),
        "held on",
    ),
    End("P-SHEET-3", {f"{INV}.capacitance": "{} mF"}, 100.0, 100.2, PC, "at its input"),  # 20 uF a watt
    End("P-SHEET-3", {f"{INV}.volts_out": "{} V"}, 95, 94.9, PC, "a leg"),
    End("P-SHEET-3", {f"{INV}.volts_out": "{} V"}, 300, 300.5, CF, "a leg"),
    End("P-SHEET-3", {f"{INV}.frequency": "{} Hz"}, 61.0, 61.2, PC, "a line of"),
]
DEVICE = [
    End("P-SHEET-4", {f"{F}.rating": "{} A"}, 350, 350.4, CF, "clearing curve"),  # both curves begin at 350 A
    End("P-SHEET-4", {f"{F}.rating": "{} A"}, 339.8, 340.2, PC, "clearing curve"),  # 350 / 1.03
    End(
        "P-SHEET-4",
        {
            f"{F}.curve": [["350 A", "100 s"], ["1.4 kA", "{} s"]],
            f"{F}.melting": [["350 A", "60 s"], ["1.4 kA", "0.06 s"]],
        },
        0.06,
        0.0598,
        ("pass", "fail"),
        "has cleared",
    ),
    End("P-SHEET-4", {f"{F}.let_through": "{} A2s"}, 40000, 39960, PF, "in all"),
    End("P-SHEET-4", {f"{F}.least_breaking": "{} A"}, 175, 174.8, PF, "least breaking"),
    End("P-SHEET-4", {f"{F}.interrupts": "{} A"}, 175, 174.8, PF, "interrupting"),
    End("P-SHEET-4", {f"{F}.resistance": "{} mohm"}, 2.0, 2.002, PC, "drops"),  # 0.35 V / 175 A
    End("P-SHEET-4", {f"{F}.resistance": "{} mohm"}, 11.42, 11.44, CF, "drops"),
    End("P-SHEET-4", {"kinds.device.shunt.drop": "{} mV at 500 A"}, 160, 160.2, PC, "shunt of"),
    End("P-SHEET-4", {"kinds.device.shunt.drop": "{} mV at 500 A"}, 500, 500.6, CF, "shunt of"),
    End("P-SHEET-4", {"kinds.device.shunt.drop": "{} mV at 500 A"}, 20, 19.98, PC, "shunt of"),
    End("P-SHEET-4", {"kinds.device.shunt.drop": "{} mV at 500 A"}, 5, 4.99, CF, "shunt of"),
]
WIRE = [  # 2/0 AWG: 67.43 mm2, 9.266 mm as one round
    End("P-SHEET-5", {"wiring.main.outer_diameter": "{} mm"}, 10.02, 9.99, PC, "over all"),  # x 1.08 = 10.007
    End("P-SHEET-5", {"wiring.main.outer_diameter": "{} mm"}, 9.275, 9.256, CF, "over all"),
    End("P-SHEET-5", {"wiring.main.spacing": "{} mm"}, 9.275, 9.256, PF, "apart"),
    End("P-BAR-2", {"bars[0].width": "{} mm", "bars[0].hole": "10 mm"}, 16.0, 15.98, PC, "holes of"),
    End("P-BAR-2", {"bars[0].width": "{} mm", "bars[0].hole": "10 mm"}, 10.01, 10.0, CF, "holes of"),
    End("P-BAR-2", {"bars[0].spacing": "{} mm", "bars[0].stud": "M8"}, 20.0, 19.98, PC, "stand"),
    End("P-BAR-2", {"bars[0].spacing": "{} mm", "bars[0].stud": "M8"}, 16.0, 15.98, CF, "stand"),
    End("P-JOINT-6", {f"{K}.posts.torque": "{} N m"}, 28.0, 28.03, PC, "S100"),  # M8, dry steel of class 8.8
    End("P-JOINT-6", {f"{K}.posts.torque": "{} N m"}, 39.2, 39.24, CF, "S100"),  # x 1.4
    End("P-JOINT-6", {f"{K}.posts.torque": "{} N m"}, 3.4, 3.396, PC, "S100"),  # 17 N m / 5
    End("P-JOINT-6", {f"{K}.posts.torque": "{} N m"}, 1.7, 1.698, CF, "S100"),  # / 10
]
PLACE = [
    End("P-PLACE-9", {**RACK, "site.floor_load": "{} Pa"}, 3760, 3757, PC, "is 3.76"),  # 138 kg g / 0.36 m2 = 3759 Pa
    End("P-PLACE-9", {**RACK, "site.floor_load": "{} Pa"}, 1881, 1878, CF, "is 3.76"),
    End("P-PLACE-10", {**RACK, f"{K}.width": "{} mm"}, 450.0, 450.1, PF, "wide"),
    End("P-PLACE-10", {**RACK, f"{K}.depth": "{} mm"}, 600.0, 600.1, PF, "deep"),
    End("P-PLACE-11", {**ROLLS, f"{K}.mass": "{} kg"}, 46.0, 46.1, PF, "wheels"),
    End("P-METER-1", {"+instruments": {**METER, "range": "0 V to {} V"}}, 60.0, 59.9, PC, "meter"),  # 16 x 3.75
    End("P-METER-1", {"+instruments": {**METER, "range": "0 V to {} V"}}, 58.4, 58.3, CF, "meter"),  # 16 x 3.65
]
ENDS: list[End] = [*MODULE, *POWER, *DEVICE, *WIRE, *PLACE]
