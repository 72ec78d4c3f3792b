"""Small changes to a sound bank, one set a check of Plan: it fails, it just passes, a value is missing.

Gives: CASES, Case, edited(), sound(). A change of None takes the key out. `worst` names the worst verdict a check may
give where it ends at caution.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from
from support.sheet_cases import SHEETS

__all__ = ["CASES", "Case", "edited", "sound"]

SOUND = Path(__file__).parent / "banks" / "sound.toml"
Edits = Mapping[str, Any]
K, INV, F, S = "kinds.module.S100", "kinds.inverter.inv", "kinds.device.main", "kinds.device.switch"
EARTH_NONE = {"site.earthing": {"pole": "none", "detector": True, "bond": "4 AWG"}}
CHAIN = {
    "wiring.pattern": "chain",
    "wiring.feed": "opposite ends",
    "bars[1]": None,
    "bars[0]": None,
    "devices[0]": None,
    "site.earthing.at": ["M1-"],
}
OWN_FUSE = {
    "+inverters": {"name": "I2", "kind": "inv"},
    "+devices": {"name": "FI", "kind": "main", "on": "I2+lead", "at": "J+"},
}
TWIN = {
    "name": "twin+", "from": "bar+4", "to": "I1+", "cable": "2/0 AWG", "strands": "fine", "insulation": "90 degC",
    "length": "1.5 m", "lug": "ring", "joint": "20 uohm", "method": "free air",
}  # fmt: skip
UNLIKE = {"modules[0].resistance_factor": "1.4"}

RACEWAY = {"wiring.main.method": "raceway", "wiring.main.outer_diameter": "16 mm", "wiring.main.bundled": 2}
SHORT = {
    "cable": "2/0 AWG",
    "strands": "fine",
    "length": "1 m",
    "lug": "ring",
    "joint": "20 uohm",
    "method": "free air",
}
LOAD = {"name": "D1", "current": "10 A", "lead": SHORT}
BOX = {
    f"kinds.{kind}.enclosure": "type 4" for kind in ("device.branch", "device.main", "device.switch", "inverter.inv")
}
WET = {"site.wet": True, **BOX, f"{K}.enclosure": "IP54"}
FRAME = {
    "kinds.rack.R": {"on": "floor", "module_load": "138 kg"},
    "+racks": {"name": "R1", "kind": "R"},
    f"{K}.mass": "46 kg",
}  # three of them
TALL = {
    "kinds.rack.R": {"on": "floor", "units": 9},
    "+racks": {"name": "R1", "kind": "R"},
    f"{K}.height": "3 U",
}  # three of them
LINE = {
    "wire": "serial", "protocol": "modbus", "baud": 9600, "parity": "none", "isolated": True, "length": "5 m",
    "order": ["M1", "M2", "M3"], "terminators": ["computer", "M3"], "terminator": "120 ohm",
    "polarised_at": "computer", "bias": "560 ohm",
}  # fmt: skip
NOT_BRANCH = {"kinds.device.branch.least_breaking": "2 kA"}  # so that nothing nearer to the module clears it
ROOM = ["M1", "M2", "M3", "main", "", ""]


@dataclass(frozen=True)
class Case:
    """Edits for one check, the verdict of the first set, and the key that the third set takes away."""

    fails: Edits
    misses: Edits
    key: str  # that the unknown names
    just: Edits = field(default_factory=dict)
    worst: str = "fail"


@cache
def sound() -> Document:
    """The sound bank."""
    return Document.read(SOUND)


def edited(edits: Edits) -> Bank:
    """The sound bank with changes."""
    document = sound()
    for path, value in edits.items():
        if path.startswith("+"):
            document = document.with_block(path[1:].partition("#")[0], value)
        elif path.startswith("kinds.") and path.count(".") == 2 and isinstance(value, dict):
            document = document.with_table(path, value)
        elif value is None and path.endswith("]"):
            document = document.without_block(path)
        elif value is None:
            document = document.without_value(path)
        else:
            document = document.with_value(path, value)
    return bank_from(document)


CASES: dict[str, Case] = {
    "P-SHARE-1": Case(
        {f"{K}.discharge.continuous": "37 A"},
        {f"{K}.discharge.continuous": None},
        f"{K}.discharge.continuous",
        {f"{K}.discharge.continuous": "40 A"},
    ),
    "P-SHARE-2": Case(
        {f"{K}.discharge.continuous": "47 A"},
        {f"{K}.resistance.dc": "14 mohm"},
        f"{K}.resistance",
        {f"{K}.discharge.continuous": "50 A"},
    ),
    "P-SHARE-3": Case(
        {f"{K}.discharge.continuous": "66 A"},
        {f"{K}.discharge.continuous": None},
        f"{K}.discharge.continuous",
        {f"{K}.discharge.continuous": "72.5 A"},
    ),
    "P-SHARE-4": Case(
        {f"{K}.discharge.continuous": "60 A", f"{K}.discharge.trip": "75 A +- 10 % for 3 s"},
        {f"{K}.discharge.trip": None},
        f"{K}.discharge.trip",
        {
            f"{K}.discharge.continuous": "75 A",
            f"{K}.discharge.trip": "80 A +- 10 % for 3 s",
            f"{K}.charge.continuous": "54 A",
        },
    ),
    "P-SHARE-5": Case(
        {"+links": {"name": "L3+", "length": "9 m"}},
        {"wiring.link.length": None},
        "wiring.link.length",
        {"+links": {"name": "L3+", "length": "5 m"}},
        "caution",
    ),
    "P-TRIP-1": Case(
        {f"{K}.discharge.continuous": "55 A", f"{K}.discharge.trip": "60 A +- 10 % for 3 s"},
        {f"{INV}.surge_power": None},
        f"{INV}.surge_power",
        {f"{K}.discharge.trip": "150 A +- 10 % for 3 s"},
    ),
    "P-CABLE-1": Case(
        {"wiring.main.cable": "1 AWG"},
        {"wiring.main.cable": None},
        "wiring.main.cable",
        {"wiring.main.cable": "1/0 AWG"},
    ),
    "P-CABLE-2": Case(
        {"wiring.main.cable": "2 AWG", "wiring.main.method": "raceway", "site.ambient": "8 degC to 55 degC"},
        {"site.ambient": None},
        "site.ambient",
    ),
    "P-CABLE-3": Case(
        {"wiring.main.cable": "1/0 AWG", "wiring.main.method": "raceway", "site.ambient": "8 degC to 53 degC"},
        {f"{INV}.phases": None},
        f"{INV}.phases",
        worst="caution",
    ),
    "P-CABLE-4": Case(
        {"+links": {**TWIN, "length": "1.6 m"}},
        {"+links": TWIN, "wiring.main.cable": None},
        "wiring.main.cable",
        {"+links": TWIN},
    ),
    "P-CABLE-5": Case(
        {**RACEWAY, "wiring.main.conduit": "40 mm"},
        RACEWAY,
        "wiring.main.conduit",
        {**RACEWAY, "wiring.main.conduit": "41 mm"},
    ),
    "P-DROP-1": Case(
        {"wiring.main.length": "20 m"},
        {f"{INV}.charger.current": None},
        f"{INV}.charger.current",
        {"wiring.main.length": "12 m"},
    ),
    "P-DROP-2": Case(
        {f"{INV}.cut_out": "46 V"}, {f"{INV}.cut_out": None}, f"{INV}.cut_out", {f"{INV}.cut_out": "43.3 V"}
    ),
    "P-POST-1": Case(
        {**CHAIN, f"{K}.posts.through": "100 A"},
        {**CHAIN, f"{K}.posts.through": None},
        f"{K}.posts.through",
        {**CHAIN, f"{K}.posts.through": "114 A"},
    ),
    "P-POST-2": Case(
        {"wiring.main.cable": "2 AWG"},
        {f"{INV}.terminals.rating": None},
        f"{INV}.terminals.rating",
        {"site.ambient": "8 degC to 41 degC"},
        "caution",
    ),
    "P-DEVICE-1": Case({f"{F}.rating": "140 A"}, {f"{F}.rating": None}, f"{F}.rating", {f"{F}.rating": "142 A"}),
    "P-DEVICE-2": Case({f"{F}.rating": "200 A"}, {f"{F}.rating": None}, f"{F}.rating"),
    "P-DEVICE-3": Case(
        {f"{F}.rating": "145 A"},
        {f"{F}.derating": None, f"{F}.rating": "145 A"},
        f"{F}.derating",
        {f"{F}.rating": "150 A"},
    ),
    "P-DEVICE-4": Case({f"{F}.volts": "58 V"}, {f"{F}.volts": None}, f"{F}.volts", {f"{F}.volts": "60 V"}),
    "P-DEVICE-5": Case({f"{S}.polarised": True}, {f"{S}.polarised": None}, f"{S}.polarised"),
    "P-DEVICE-6": Case(
        {f"{F}.current_limiting": False, "kinds.device.branch.current_limiting": False},
        {f"{F}.class": "CC", "kinds.device.branch.class": "CC"},
        f"{F}.current_limiting",
        worst="caution",
    ),
    "P-DEVICE-7": Case(
        {"+links": TWIN, "+devices": {"name": "F2", "kind": "main", "on": "twin+", "at": "bar+4"}},
        {},
        "",
        {"+links": TWIN},
    ),
    "P-FAULT-1": Case(
        {f"{F}.interrupts": "36 kA"}, {f"{F}.interrupts": None}, f"{F}.interrupts", {f"{F}.interrupts": "39 kA"}
    ),
    "P-FAULT-2": Case(
        {f"{K}.breaker.backed_by": None},
        {f"{K}.breaker": None},
        f"{K}.breaker",
        {"kinds.device.branch.interrupts": "23 kA", f"{K}.breaker.interrupts": "14 kA"},
    ),
    "P-FAULT-3": Case({f"{F}.time_constant": "0.6 ms"}, {}, "", {f"{F}.time_constant": "0.66 ms"}),
    "P-REACH-1": Case(
        {"devices[0]": None},
        {"devices[0].at": None, "wiring.link.length": "2 m"},
        "devices[0].at",
        {"devices[0].at": "bar end", "wiring.link.length": "1.5 m"},
    ),
    "P-REACH-2": Case(EARTH_NONE, {"site.earthing": None}, "site.earthing.pole"),
    "P-CLEAR-1": Case(
        {f"{F}.let_through": "100000000 A2s"},
        {f"{F}.let_through": None},
        f"{F}.let_through",
        {f"{F}.let_through": "88000000 A2s"},
    ),
    "P-CLEAR-2": Case(
        {f"{F}.least_breaking": "1.4 kA", **NOT_BRANCH},
        {f"{F}.least_breaking": None},
        f"{F}.least_breaking",
        {f"{F}.least_breaking": "1.2 kA"},
    ),
    "P-CLEAR-3": Case(
        {f"{F}.curve": [["350 A", "500 s"], ["1.4 kA", "6 s"], ["2.8 kA", "3 s"]], **NOT_BRANCH},
        {f"{F}.curve": None},
        f"{F}.curve",
        {f"{F}.curve": [["350 A", "100 s"], ["1.4 kA", "4 s"], ["2.8 kA", "10 ms"]]},
    ),
    "P-CLEAR-4": Case(
        {f"{F}.melting": [["180 A", "6 s"], ["300 A", "1 s"]]},
        {f"{F}.melting": None},
        f"{F}.melting",
        {f"{F}.melting": [["180 A", "10 s"], ["210 A", "5.5 s"], ["300 A", "1 s"]]},
    ),
    "P-CLEAR-5": Case(
        {**OWN_FUSE, f"{F}.melting_i2t": "90000 A2s"},
        {**OWN_FUSE, f"{F}.class": None, f"{F}.melting_i2t": None},
        f"{F}.let_through",
        {**OWN_FUSE, f"{F}.melting_i2t": "110000 A2s"},
    ),
    "P-JOINT-1": Case(
        {"kinds.lug.ring.hole": "8.1 mm"},
        {"kinds.lug.ring.hole": None},
        "kinds.lug.ring.hole",
        {"kinds.lug.ring.hole": "8.2 mm"},
    ),
    "P-JOINT-2": Case(
        {"kinds.lug.ring.cables": ["4/0 AWG"]},
        {"kinds.lug.ring.strands": None},
        "kinds.lug.ring.strands",
        {"kinds.lug.ring.cables": ["2/0 AWG"]},
    ),
    "P-JOINT-3": Case(
        {"bars[0].studs": [["M1", "M2"], "M3", "main"]},
        {"bars[0].studs": [["M1", "M2"], "M3", "main"], "bars[0].lugs_per_stud": None},
        "bars[0].lugs_per_stud",
        {"bars[0].studs": [["M1", "M2"], "M3", "main"], "bars[0].lugs_per_stud": 2},
    ),
    "P-BAR-1": Case(
        {"bars[0].thickness": "1.5 mm"}, {"bars[0].thickness": None}, "bars[0].thickness", {"bars[0].rating": "148 A"}
    ),
    "P-CHARGE-1": Case(
        {f"{K}.charge.continuous": "36 A"},
        {f"{K}.charge.continuous": None},
        f"{K}.charge.continuous",
        {f"{K}.charge.continuous": "38.5 A"},
    ),
    "P-JOINT-5": Case({"bars[0].material": "aluminium"}, {}, "", {"bars[0].material": "copper"}, "caution"),
    "P-CHARGE-5": Case(
        {f"{INV}.charger.setting": "60.1 V", f"{INV}.charger.voltage": "48 V to 61 V"},
        {f"{INV}.charger.voltage": "48 V to 61 V"},
        f"{INV}.charger.setting",
        {f"{INV}.charger.setting": "58.4 V"},
    ),
    "P-VOLTS-3": Case(
        {f"{INV}.cut_out": "51.3 V", f"{INV}.lowest_voltage": "52 V"},
        {f"{INV}.cut_out": None},
        f"{INV}.cut_out",
        {f"{INV}.cut_out": "40 V", f"{INV}.lowest_voltage": "48 V"},
    ),
    "P-JOINT-4": Case(
        {"wiring.main.joint": "600 uohm"},
        {"wiring.main.joint": None, "kinds.inverter.inv.power": "9 kW"},
        "wiring.main.joint",
        {"wiring.main.joint": "60 uohm"},
    ),
    "P-CHARGE-2": Case(
        {"site.ambient": "-5 degC to 35 degC"},
        {"site.ambient": None},
        "site.ambient",
        {"site.ambient": "5 degC to 35 degC"},
    ),
    "P-CHARGE-3": Case(
        {"site.ambient": "8 degC to 47 degC"},
        {"site.rack_rise": None},
        "site.rack_rise",
        {"site.ambient": "8 degC to 41 degC"},
    ),
    "P-CHARGE-4": Case(
        {f"{INV}.charger.voltage": "58.5 V to 60 V"},
        {f"{INV}.charger.voltage": None},
        f"{INV}.charger.voltage",
        {f"{INV}.charger.voltage": "48 V to 58.4 V"},
    ),
    "P-PRECHARGE-1": Case(
        {f"{INV}.standby_current": "400 mA"},
        {f"{INV}.standby_current": None},
        f"{INV}.standby_current",
        {f"{INV}.standby_current": "76 mA"},
    ),
    "P-PRECHARGE-2": Case(
        {f"{INV}.precharge.wait": "2 s"},
        {f"{INV}.precharge.wait": None},
        f"{INV}.precharge.wait",
        {f"{INV}.precharge.wait": "2.4 s"},
    ),
    "P-PRECHARGE-3": Case(
        {f"{INV}.precharge.pulse_energy": "40 J"},
        {f"{INV}.precharge.pulse_energy": None},
        f"{INV}.precharge.pulse_energy",
        {f"{INV}.precharge.pulse_energy": "43.5 J"},
    ),
    "P-PRECHARGE-4": Case(
        {f"{INV}.precharge.power": "50 W"},
        {f"{INV}.precharge.power": None},
        f"{INV}.precharge.power",
        {f"{INV}.precharge.power": "144 W"},
    ),
    "P-PRECHARGE-5": Case(
        {f"{INV}.precharge": None},
        {f"{INV}.precharge": None, f"{INV}.capacitance": None},
        f"{INV}.capacitance",
        {f"{INV}.precharge": None, f"{INV}.highest_input": "120 V"},
    ),
    "P-VOLTS-1": Case(
        {f"{INV}.highest_input": "59 V"},
        {f"{INV}.highest_input": None},
        f"{INV}.highest_input",
        {f"{INV}.highest_input": "63.1 V", f"{INV}.charger.highest_input": "63.1 V"},
    ),
    "P-VOLTS-2": Case({f"{INV}.charger.voltage": "48 V to 60.8 V"}, {"rules": None}, "rules", worst="caution"),
    "P-VOLTS-4": Case(
        {"+loads": {**LOAD, "lowest_input": "51.2 V"}},
        {},
        "",
        {"+loads": {**LOAD, "lowest_input": "44 V"}, "wiring.branch": SHORT},
    ),
    "P-ARC-1": Case(
        {"devices[0]": None}, {"kinds.device.branch.curve": None}, "kinds.device.branch.curve", worst="caution"
    ),
    "P-PLACE-1": Case(
        {"site.place": "utility closet", f"{K}.energy": "13.4 kWh"},
        {"storage_rules": None},
        "storage_rules",
        {"site.place": "utility closet", f"{K}.energy": "13.3 kWh"},
    ),
    "P-PLACE-2": Case(
        {f"{K}.energy": "20.5 kWh"}, {"storage_rules": None}, "storage_rules", {f"{K}.energy": "6.66 kWh"}
    ),
    "P-PLACE-3": Case({"site.place": "living room"}, {"site.place": None}, "site.place"),
    "P-PLACE-4": Case(
        {"site.other_energy": "5 kWh", "site.spacing": "0.9 m"},
        {"site.other_energy": "5 kWh"},
        "site.spacing",
        {"site.other_energy": "5 kWh", "site.spacing": "3 ft"},
    ),
    "P-PLACE-5": Case(
        {"site.altitude": "1000 m", f"{S}.altitude": "900 m"},
        {"site.altitude": "2400 m"},
        f"{S}.altitude",
        {"site.altitude": "2000 m"},
    ),
    "P-PLACE-6": Case({**WET, f"{K}.enclosure": "IP20"}, {"site.wet": True}, f"{K}.enclosure", WET),
    "P-PLACE-7": Case(
        {**FRAME, "kinds.rack.R": {"on": "floor", "module_load": "130 kg"}},
        {key: value for key, value in FRAME.items() if key != f"{K}.mass"},
        f"{K}.mass",
        FRAME,
    ),
    "P-PLACE-8": Case(
        {**TALL, "kinds.rack.R": {"on": "floor", "units": 8}},
        {key: value for key, value in TALL.items() if key != f"{K}.height"},
        f"{K}.height",
        TALL,
    ),
    "P-LINE-1": Case({"bus": {**LINE, "terminators": ["computer", "M1", "M3"]}}, {}, "", {"bus": LINE}, "caution"),
    "P-UNLIKE-1": Case(
        UNLIKE, {**UNLIKE, f"{K}.capacity": None}, f"{K}.capacity", {"modules[0].resistance_factor": "1.1"}, "caution"
    ),
    "P-NUMBER-1": Case(
        {f"{K}.parallel.most": 2}, {f"{K}.parallel": None}, f"{K}.parallel.most", {f"{K}.parallel.most": 3}
    ),
    "P-NUMBER-2": Case(
        {"site.extension": 1},
        {"site.extension": 1, "kinds.rack.R": {"on": "floor"}, "+racks": {"name": "R1", "kind": "R"}},
        "kinds.rack.R.units",
        {"site.extension": 1, "bars[0].studs": ["M1", "M2", "M3", "", "main"], "bars[1].studs": ROOM},
        "caution",
    ),
    "P-EARTH-1": Case({"site.earthing.at": ["bar-4", "I1-"]}, {"site.earthing.at": None}, "site.earthing.at"),
    "P-EARTH-2": Case(
        {"site.earthing": {"pole": "none", "detector": False, "bond": "4 AWG"}},
        {"site.earthing": {"pole": "none", "bond": "4 AWG"}},
        "site.earthing.detector",
        EARTH_NONE,
    ),
    "P-EARTH-3": Case(
        {"site.earthing.bond": "8 AWG"},
        {"site.earthing.bond": None},
        "site.earthing.bond",
        {"site.earthing.bond": "6 AWG"},
    ),
    "P-EARTH-4": Case(
        {"site.earthing.bond": "14 AWG", f"{F}.let_through": "150000 A2s"},
        {f"{F}.let_through": None},
        f"{F}.let_through",
        {"site.earthing.bond": "10 AWG", f"{F}.let_through": "400000 A2s"},
    ),
    "P-SHUNT-1": Case(
        {
            "bars[1].studs": ["M1", "M2", "M3", "main", "I2"],
            "bars[0].studs": ["M1", "M2", "M3", "main", "I2"],
            "+inverters": {"name": "I2", "kind": "inv"},
        },
        {},
        "",
        {},
    ),
    "P-SHUNT-2": Case(
        {"kinds.device.shunt.rating": "120 A"},
        {"kinds.device.shunt.rating": None},
        "kinds.device.shunt.rating",
        {"kinds.device.shunt.rating": "209 A"},
    ),
    "P-START-1": Case(
        {f"{INV}.precharge.resistor": "0.3 ohm"},
        {f"{INV}.precharge": None},
        f"{INV}.precharge",
        {f"{INV}.precharge.resistor": "0.46 ohm"},
    ),
    "P-START-2": Case(
        {f"{K}.trips.recloses": "after 30 s", f"{INV}.power": "6 kW", f"{K}.discharge.trip": "150 A for 3 s"},
        {f"{K}.trips.recloses": None},
        f"{K}.trips.recloses",
        {f"{K}.trips.recloses": "after 30 s", f"{K}.discharge.trip": "152 A for 3 s"},
    ),
    "P-SWITCH-1": Case({"devices[2]": None}, {"site.earthing": None}, "site.earthing.pole"),
    "P-SWITCH-2": Case({"+inverters": {"name": "I2", "kind": "inv"}}, {"site.earthing": None}, "site.earthing.pole"),
    "P-SWITCH-3": Case(
        {f"{S}.breaks_load": False}, {"devices[2].reach": None}, "devices[2].reach", {f"{S}.interrupts": "114 A"}
    ),
    "P-SWITCH-5": Case({f"{S}.withstands": "30 kA"}, {}, "", {f"{S}.withstands": "40 kA"}),
    "P-SWITCH-4": Case(
        {"inverters[0].remote_off": False}, {"inverters[0].remote_off": None}, "inverters[0].remote_off"
    ),
}
CASES |= {code: Case(each.fails, each.misses, each.key, each.just, each.worst) for code, each in SHEETS.items()}
