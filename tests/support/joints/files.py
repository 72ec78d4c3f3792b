"""Bank files of the bench of joints: so many modules on bars or in a chain. All data invented."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from_text

MODULE = """
[kinds.module.slab-100]
chemistry = "LFP"
cells = 16
capacity = "100 Ah"
resistance = { dc = "14 mohm +- 3 mohm", after = "30 s", ohmic = "7.5 mohm +- 1 mohm", cells = "12 mohm" }
discharge = { continuous = "100 A", trip = "150 A for 3 s", cell_trip = "2.5 V" }
charge = { continuous = "60 A", trip = "110 A for 3 s", cell_trip = "3.75 V", cell_full = "3.65 V" }
posts = { pairs = 2, inner = "40 uohm", stud = "M8", lugs = 1 }
mass = "46 kg"
height = "3 U"
[kinds.inverter.box]
power = "{power} kW"
efficiency = "93 %"
lowest_voltage = "46 V"
"""
CHAIN = """
[wiring]
pattern = "chain"
feed = "{feed}"
link = {{ cable = "2/0 AWG", length = "320 mm", joint = "20 uohm +- 10 uohm", resistance = "80 uohm +- 15 uohm" }}
main = {{ cable = "4/0 AWG", length = "1.5 m", joint = "20 uohm +- 10 uohm" }}
"""
BARS = """
[wiring]
pattern = "busbar"
link = {{ cable = "1 AWG", length = "900 mm", joint = "50 uohm +- 20 uohm", resistance = "500 uohm +- 60 uohm" }}
main = {{ cable = "4/0 AWG", length = "1.5 m", joint = "20 uohm +- 10 uohm" }}
"""
BAR = """
[[bars]]
name = "bar{pole}"
pole = "{pole}"
width = "40 mm"
thickness = "10 mm"
spacing = "60 mm"
stud = "M10"
studs = [{studs}]
"""


@cache
def bank_of(count: int, wiring: str) -> Bank:
    """A bank of `count` modules: wiring "bars", "chain opposite ends" or "chain same end"."""
    return bank_from_text(bank_text(count, wiring), Path("bench.toml"))


def bank_text(count: int, wiring: str) -> str:
    """Its file."""
    names = [f"M{k}" for k in range(1, count + 1)]
    parts = ['format = 1\ntitle = "bench"\nrules = "nec-2023"\n', MODULE.replace("{power}", str(2 * count))]
    parts += [f'[[modules]]\nname = "{name}"\nkind = "slab-100"\nslot = {k}\n' for k, name in enumerate(names, 1)]
    if wiring == "bars":
        studs = ", ".join(f'"{name}"' for name in ("main", *names))
        parts += [BARS.format(), *(BAR.format(pole=pole, studs=studs) for pole in "+-")]
    else:
        parts.append(CHAIN.format(feed=wiring.removeprefix("chain ")))
    parts.append('[[inverters]]\nname = "I1"\nkind = "box"\n')
    return "\n".join(parts)
