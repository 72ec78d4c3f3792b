"""Pretend racks for the tests of the data bus: an invented map, five modules, troubles by name."""

from __future__ import annotations

import math
from functools import cache

from bankwright.bus.map.read import map_from_text
from bankwright.bus.map.registers import RegisterMap
from bankwright.bus.poll import Target
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.troubles import trouble
from bankwright.bus.pretend.virtual import VirtualWire
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.explain.every import explain
from bankwright.bus.survey.explain.told import Explanation
from bankwright.bus.survey.facts import Expected, Facts
from bankwright.bus.timing import Framing

NAMES = ("M1", "M2", "M3", "M4", "M5")
LINE = Framing(9600, "none")
MAP = """
format = 1
title = "invented"
counts_from = 1
table = "input"
holes = "can be read"
[[signals]]
name = "voltage"
quantity = "voltage"
register = 1
scale = 0.01
unit = "V"
range = "40 V to 60 V"
[[signals]]
name = "current"
quantity = "current"
register = 2
type = "i16"
scale = 0.1
unit = "A"
positive = "charging"
[[signals]]
name = "soc"
quantity = "soc"
register = 3
unit = "%"
[[signals]]
name = "cell"
quantity = "cell_voltage"
register = 10
unit = "mV"
repeat = 16
not_available = [65535]
"""
SERIAL = """
[[signals]]
name = "serial"
quantity = "serial"
register = 100
type = "text"
length = 8
every = "once"
"""


@cache
def register_map(serial: bool = True) -> RegisterMap:
    return map_from_text(MAP + (SERIAL if serial else ""))


def values(now: float) -> dict[str, dict[str, float]]:
    return {name: {"voltage": 52.6 + k / 100, "current": 3.0 * k, "soc": 0.5 + k / 10} for k, name in enumerate(NAMES)}


def moving(now: float) -> dict[str, dict[str, float]]:
    """The same modules under a load that changes all the time."""
    swing = 20 * math.sin(3.7 * now) + 9 * math.sin(1.31 * now)
    cell = 3.29 - swing / 1000
    cells = {f"cell {number}": cell + number / 1000 for number in range(1, 17)}
    return {
        name: {"voltage": 16 * cell + 0.136, "current": swing + k, "soc": 0.5, **cells} for k, name in enumerate(NAMES)
    }


def rack(
    *troubles: str, framing: Framing = LINE, serial: bool = True, names: tuple[str, ...] = NAMES, moves: bool = False
) -> VirtualWire:
    places = [Place(name, number) for number, name in enumerate(names, 1)]
    told = [trouble(t, names) for t in troubles]
    return VirtualWire(pretend_line(places, register_map(serial), framing, moving if moves else values, told))


def targets(names: tuple[str, ...] = NAMES) -> tuple[Target, ...]:
    return tuple(Target(name, number) for number, name in enumerate(names, 1))


def surveyed(
    *troubles: str, serial: bool = True, how: How | None = None, moves: bool = False, **expected: object
) -> tuple[Facts, dict[str, Explanation]]:
    told: dict[str, object] = {"isolated": True, "terminators": 2, "length": 3.0, **expected}
    wanted = Expected(targets(), register_map(serial), dict.fromkeys(NAMES, 4), **told)  # type: ignore[arg-type]
    facts = survey(rack(*troubles, serial=serial, moves=moves), wanted, how or How())
    return facts, {each.code: each for each in explain(facts)}
