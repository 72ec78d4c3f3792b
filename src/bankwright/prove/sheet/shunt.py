"""The bank's shunt against the clamp, under load: two meters of one current.

Gives: shunt_rows(). Limits: a shunt that sits in a main and carries the whole current of its pole's mains.
Sources: Ohm's law [stated law]; errors of clamp and millivoltmeter: prove/meters.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Device
from bankwright.forms.finding import Missing
from bankwright.forms.wording import Figure
from bankwright.prove.meters import Millivolts
from bankwright.prove.sheet.drawn import Now, mains_of
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sources import KIRCHHOFF

__all__ = ["shunt_rows"]

MEANS = (
    "the clamp on the wrong side of a stack, or its zero",
    "sense wires of the shunt on its bolts, not on its screws",
    "a load that is taken before the shunt",
)


def shunt_rows(facts: Facts, now: Now) -> Iterator[Due]:
    """Millivolts of each shunt in a main at the current that the clamp read; what both leave open is the band."""
    bank = facts.bank
    mains = {*mains_of(bank), *mains_of(bank, "-")}
    shunts = [device for device in bank.devices if device.kind.type == "shunt" and device.on in mains]
    if len(mains) != 2:  # several mains a pole: none carries the whole
        return
    for device in shunts:
        yield _row(device, now)


def _row(device: Device, now: Now) -> Due:
    kind, figure = device.kind, None
    missing: tuple[Missing, ...] = ()
    for value, key in ((kind.resistance, "drop"), (kind.accuracy, "accuracy")):
        missing += (asking(f"{kind.path}.{key}"),) if value is None else ()
    if now.total is None:
        missing += now.missing
    if not missing and kind.resistance is not None and now.total is not None:
        volts = kind.resistance.nominal * abs(now.total)
        half = volts * (now.loose + (kind.accuracy or 0.0)) + Millivolts().half(volts)
        figure = Figure(volts, "voltage_drop", volts - half, volts + half)
    window = (None, None) if figure is None else (figure.low, figure.high)
    return Due(
        "V-SHUNT-1", "voltage_drop", device.name, "over its sense screws, as a size",
        "expectation" if missing else "closure", window, figure, MEANS, "Both again in the same minute.", missing,
        KIRCHHOFF, optional=True,
    )  # fmt: skip
