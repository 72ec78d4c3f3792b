"""Banks of a text: a row or a bar of like modules with given ratio of link to module resistance, and one inverter.

Gives: row(), on_bar(). Links are a millimetre of thick cable; their resistance stands in the joints, which do not warm.
All data invented.
"""

from __future__ import annotations

from typing import Any

from bankwright.bank.model import Bank
from support.banks import Keys, bank_of, bank_text, only, written

__all__ = ["on_bar", "row"]

DEFAULTS: Keys = {
    "ambient": "20 degC to 25 degC",
    "resistance": {"dc": "14 mohm", "surge": "14 mohm", "surge_after": "10 s", "ohmic": "6 mohm"},
    "limit": "100 A",
    "trip": "150 A for 3 s",
    "charge": "50 A",
    "full": "3.65 V",
    "posts": {"pairs": 1},
    "breaker": None,
    "charger": "10 A",
}
MAIN = {"cable": "4/0 AWG", "insulation": "90 degC", "length": "1 m", "joint": "20 uohm"}


def _bank(count: int, amps: float, surge: float | None, wiring: Keys, values: Keys, more: str = "") -> Bank:
    given = {**DEFAULTS, **values}
    module = only(
        "cells",
        "capacity",
        resistance=given["resistance"],
        discharge={"continuous": given["limit"], "trip": given["trip"]},
        charge={"continuous": given["charge"], "cell_full": given["full"]},
        posts=given["posts"],
        breaker=given["breaker"],
    )
    inverter = {
        "power": f"{amps * 48.0:.6f} W",
        "efficiency": "100 %",
        "lowest_voltage": "48 V",
        "surge_power": None if surge is None else f"{surge:.6f} W",
        "surge_time": None if surge is None else "10 s",
        "charger": {"current": given["charger"]},
    }
    head = {"rules": "nec-2023", "site": {"ambient": given["ambient"], "rack_rise": "0 K"}}
    text = bank_text(count, module, kind="K", head=head, inverter=inverter, box="V", wiring={**wiring, "main": MAIN})
    return bank_of(text + more)


def row(count: int, feed: str, ratio: float, amps: float, surge: float | None = None, **values: Any) -> Bank:
    """A row whose links have `ratio` of a module's 14 mohm, drawing `amps` at 48 V."""
    joint = f"{ratio * 14e-3 / 2 * 1e6:.9f} uohm"
    link = {"cable": "500 kcmil", "insulation": "90 degC", "length": "1 mm", "joint": joint}
    return _bank(count, amps, surge, {"pattern": "chain", "feed": feed, "link": link}, values)


def on_bar(
    count: int,
    amps: float,
    lead: str = "0 ohm",
    length: str = "1 mm",
    cable: str = "500 kcmil",
    more: str = "",
    **values: Any,
) -> Bank:
    """Modules on a bar without resistance, leads with joints of `lead`."""
    studs = [*(f"M{k}" for k in range(1, count + 1)), "main"]
    bars = [{"name": f"bar{pole}", "pole": pole, "resistance": "0 ohm", "studs": studs} for pole in "+-"]
    link = {"cable": cable, "insulation": "90 degC", "length": length, "joint": lead}
    return _bank(count, amps, None, {"pattern": "busbar", "link": link}, values, written({"bars": bars}) + more)
