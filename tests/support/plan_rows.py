"""Banks of a text: a row or a bar of like modules with given ratio of link to module resistance, and one inverter.

Gives: row(), on_bar(). Links are a millimetre of thick cable; their resistance stands in the joints, which do not warm.
All data invented.
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from support.banks import bank_of

__all__ = ["on_bar", "row"]

KIND = """
format = 1
rules = "nec-2023"
[site]
ambient = "{ambient}"
rack_rise = "0 K"
[kinds.module.K]
cells = 16
capacity = "100 Ah"
resistance = {{ {resistance} }}
discharge = {{ continuous = "{limit}", trip = "{trip}" }}
charge = {{ continuous = "{charge}", cell_full = "{full} V" }}
posts = {{ {posts} }}
{breaker}
[kinds.inverter.V]
power = "{power:.6f} W"
efficiency = "100 %"
lowest_voltage = "48 V"
{surge}
charger = {{ current = "{charger}" }}
[[inverters]]
name = "I1"
kind = "V"
"""
DEFAULTS = {
    "ambient": "20 degC to 25 degC",
    "resistance": 'dc = "14 mohm", surge = "14 mohm", surge_after = "10 s", ohmic = "6 mohm"',
    "limit": "100 A",
    "trip": "150 A for 3 s",
    "charge": "50 A",
    "full": "3.65",
    "posts": "pairs = 1",
    "breaker": "",
    "charger": "10 A",
}


def _head(count: int, amps: float, surge: float | None, values: dict[str, str]) -> str:
    modules = "".join(f'[[modules]]\nname = "M{k}"\nkind = "K"\n' for k in range(1, count + 1))
    most = "" if surge is None else f'surge_power = "{surge:.6f} W"\nsurge_time = "10 s"'
    return KIND.format(power=amps * 48.0, surge=most, **{**DEFAULTS, **values}) + modules


def row(count: int, feed: str, ratio: float, amps: float, surge: float | None = None, **values: str) -> Bank:
    """A row whose links have `ratio` of a module's 14 mohm, drawing `amps` at 48 V."""
    joint = ratio * 14e-3 / 2 * 1e6
    wiring = (
        f'[wiring]\npattern = "chain"\nfeed = "{feed}"\n'
        f'link = {{ cable = "500 kcmil", insulation = "90 degC", length = "1 mm", joint = "{joint:.9f} uohm" }}\n'
        'main = { cable = "4/0 AWG", insulation = "90 degC", length = "1 m", joint = "20 uohm" }\n'
    )
    return bank_of(_head(count, amps, surge, values) + wiring)


def on_bar(
    count: int,
    amps: float,
    lead: str = "0 ohm",
    length: str = "1 mm",
    cable: str = "500 kcmil",
    more: str = "",
    **values: str,
) -> Bank:
    """Modules on a bar without resistance, leads with joints of `lead`."""
    studs = ", ".join([*(f'"M{k}"' for k in range(1, count + 1)), '"main"'])
    bars = "".join(f'[[bars]]\nname = "bar{p}"\npole = "{p}"\nresistance = "0 ohm"\nstuds = [{studs}]\n' for p in "+-")
    wiring = (
        '[wiring]\npattern = "busbar"\n'
        f'link = {{ cable = "{cable}", insulation = "90 degC", length = "{length}", joint = "{lead}" }}\n'
        'main = { cable = "4/0 AWG", insulation = "90 degC", length = "1 m", joint = "20 uohm" }\n'
    )
    return bank_of(_head(count, amps, None, values) + wiring + bars + more)
