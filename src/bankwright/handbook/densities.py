"""Current density of flat metal: up to which it passes, and up to which it is a caution.

Gives: density_steps(), SMALL. Limits: copper and aluminium; brass counts as copper, which it never reaches.
Sources: busbar/density (NEC 366.23 and published bars, each row with its source); steps between: common practice.
"""

from __future__ import annotations

from bankwright.handbook.tables import load

__all__ = ["SMALL", "density_steps"]

SMALL = 100e-6  # m2 of gross section


def density_steps(gross: float, material: str = "copper") -> tuple[float, float]:
    """Density up to which a bar passes, and up to which it cautions: copper; aluminium in proportion. [A/m2]"""
    table = load("busbar/density")
    passes = table.value(table.row("nec copper" if material != "aluminium" else "nec aluminium"), "density")
    row = "caution to, up to 100 mm2" if gross <= SMALL else "caution to, above 100 mm2"
    ends, copper = table.value(table.row(row), "density"), table.value(table.row("nec copper"), "density")
    assert passes is not None
    assert ends is not None
    assert copper is not None
    return passes, ends * passes / copper
