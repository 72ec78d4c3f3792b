"""What to set at a charger: charge voltage, ceiling, float, current.

Gives: charge_rows(). Drop is never added to the charge voltage: it holds at the cells once the current has fallen.
Limits: the cell spread at the top is watched by the modules' own trips, no figure of it is taken here.
Sources: sheets of module and charger; 3.40 V and 3.35 V a cell: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Charger, Module
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE, amperes, given, volts
from bankwright.forms.wording import Say, say
from bankwright.prove.settings.setting import Held, Setting

__all__ = ["AWAY", "STEP", "charge_rows", "current_row", "top"]

SHEETS = Source("data sheets of module and charger", how_known="read")
AWAY = Source("shares of the bank's network with one module away, limits of the sheets", how_known="derived")
FILLS, RESTS = 3.40, 3.35  # V a cell: below it a bank does not come full; held without gain. Common practice, no source
STEP = 1.05  # what is set keeps this far from the limit, as every physical test does; common practice, no source


def charge_rows(bank: Bank, charger: Charger, held: Held) -> Iterator[Setting]:
    """Rows of one charger, or of the charging side of an inverter."""
    name = charger.of or charger.name
    yield _voltage(bank, charger, name)
    yield _ceiling(bank, name)
    yield _float(bank, name)
    own, key = charger.kind.current, f"{charger.kind.path}.current"
    together = "All chargers together" if len(bank.chargers) > 1 else "The only charger"
    yield current_row(name, "charge current", held, own, key, together=together, lost=_lost(charger))


def _lost(charger: Charger) -> Say | None:
    """What the charger gives by itself once the message is lost."""
    amps = charger.kind.without_message
    if amps is None:
        return None
    return say("By its sheet it gives {amps} without the message, whatever is set.", amps=amperes(amps))


def top(bank: Bank) -> tuple[float | None, tuple[Input, ...], tuple[Missing, ...]]:
    """Voltage that nothing on the bus may pass: cells x over-voltage trip at its low end, what a sheet allows."""
    found: list[tuple[float, Input]] = []
    missing: list[Missing] = []
    for module in {each.kind.path: each for each in bank.modules}.values():
        found += _tops(bank, module)
        if module.kind.charge.cell_trip is None and module.kind.charge.highest_voltage is None:
            missing.append(asking(f"{module.kind.path}.charge.cell_trip"))
    if missing or not found:
        return None, tuple(item for _, item in found), tuple(missing)
    least = min(found, key=lambda pair: pair[0])
    return least[0], (least[1],), ()


def _tops(bank: Bank, module: Module) -> Iterator[tuple[float, Input]]:
    kind = module.kind
    if kind.charge.cell_trip is not None:
        value, key = kind.cells * kind.charge.cell_trip.low, bank.key(f"{kind.path}.charge.cell_trip")
        yield value, given("V_trip", f"{kind.cells} cells at the over-voltage trip, low end", value, "voltage", key)
    if kind.charge.highest_voltage is not None:
        value, key = kind.charge.highest_voltage, bank.key(f"{kind.path}.charge.highest_voltage")
        yield value, given("V_sheet", f"highest voltage that {kind.name} allows", value, "voltage", key)


def _full(bank: Bank) -> tuple[float | None, tuple[Missing, ...]]:
    """End of charge of the modules, the lowest; unknown where one sheet is silent. [V]"""
    kinds = {module.kind.path: module.kind for module in bank.modules}.values()
    missing = tuple(asking(f"{kind.path}.charge.cell_full") for kind in kinds if kind.charge.cell_full is None)
    ends = [kind.cells * kind.charge.cell_full for kind in kinds if kind.charge.cell_full is not None]
    return (None if missing else min(ends)), missing


def _voltage(bank: Bank, charger: Charger, name: str) -> Setting:
    (full, asked), (most, inputs, lacking) = _full(bank), top(bank)
    low, high = charger.kind.voltage_low, charger.kind.voltage_high
    cells = max(module.kind.cells for module in bank.modules)
    reach = full if full is None or high is None else min(full, high)
    short = full is not None and ((high is not None and high < full) or (low is not None and low > full))
    why = say(
        "End of charge of the sheet. Below {fills} the bank hardly comes full; above {top} all modules trip at once. "
        "The drop of the cables is not added: the current is small when this voltage is reached."
        + (" The range of this charger does not hold the end of charge (Plan, P-CHARGE-4)." if short else ""),
        fills=volts(cells * FILLS),
        top="their trip" if most is None else volts(most),
    )
    to_set = None if reach is None or most is None or (low is not None and low > reach) else volts(reach)
    window, soft = (cells * 3.2, most), (cells * FILLS, full)
    missing = (*asked, *lacking)
    if to_set is None and not missing:
        missing = (
            asking(f"{charger.kind.path}.voltage", "Ask whether it can be set lower: its range starts too high."),
        )
    return Setting(
        f"{name} charge voltage",
        name,
        "charge voltage",
        "voltage",
        to_set,
        window,
        why,
        SHEETS,
        soft,
        inputs=inputs,
        missing=missing,
    )


def _ceiling(bank: Bank, name: str) -> Setting:
    """The highest voltage that any stage of it may ever ask for."""
    (full, asked), (most, inputs, lacking) = _full(bank), top(bank)
    stands = [inverter.kind.highest_input for inverter in bank.inverters]
    stands += [charger.kind.highest_input for charger in bank.chargers]
    stands += [load.highest_input for load in bank.loads]
    limits = [value for value in (most, *stands) if value is not None]
    why = say(
        "Absorption, boost, equalising, temperature compensation: every stage that may lift the voltage is set to the "
        "charge voltage or switched off. LFP cells are not equalised, and nothing on the bus may see more than {top}.",
        top=volts(min(limits)) if limits else "its highest input",
    )
    to_set = None if full is None or most is None else volts(min(full, *limits))
    high = None if most is None else min(limits)
    return Setting(
        f"{name} charge ceiling",
        name,
        "charge ceiling",
        "voltage",
        to_set,
        (None, high),
        why,
        SHEETS,
        (None, full),
        inputs=inputs,
        missing=(*asked, *lacking),
    )


def _float(bank: Bank, name: str) -> Setting:
    cells = max(module.kind.cells for module in bank.modules)
    why = say(
        "LFP cells need none. Switched off where that is possible; else {rests}, which holds the bank without filling "
        "it further; above {fills} it keeps charging full cells.",
        rests=volts(cells * RESTS),
        fills=volts(cells * FILLS),
    )
    window = (None, top(bank)[0])
    return Setting(
        f"{name} float",
        name,
        "float",
        "voltage",
        volts(cells * RESTS),
        window,
        why,
        PRACTICE,
        (cells * 3.2, cells * FILLS),
    )


def current_row(
    name: str,
    what: str,
    held: Held,
    own: float | None,
    key: str,
    *,
    together: str,
    taken: float = 0.0,
    lost: Say | None = None,
) -> Setting:
    """The part of one device in what all together may carry; `taken`: what cannot be set (direct loads)."""
    missing = held.missing if own is not None or held.missing else (asking(key),)
    id_, most = f"{name} {what}", held.one_away if held.one_away is not None else held.with_all
    if missing or own is None or most is None or not held.total or held.with_all is None:
        why = say("The figure that holds with one module away and the message lost is not known.")
        return Setting(id_, name, what, "current", None, (None, None), why, AWAY, missing=missing)
    part = own / max(held.total - taken, 1e-9)
    limit, beside = max(most - taken, 0.0) * part, max(held.with_all - taken, 0.0) * part
    to_set = amperes(min(own, math.floor(limit / STEP + 1e-9)))
    why = say(
        "{together} may carry {most} in the hardest case ({case}). The message may be lost at that moment, so this is "
        "set by hand; {own} is the most that it can be set to.",
        together=together,
        most=amperes(most),
        case=held.case or "one module alone",
        own=amperes(own),
    )
    other = say(
        "With every module there and the message heard {other} would hold: not the one to set. {lost}",
        other=amperes(min(own, beside)),
        lost="" if lost is None else lost.text(),
    )
    inputs = (Input("I_all", "largest of all together", amperes(held.total), AWAY),)
    return Setting(id_, name, what, "current", to_set, (None, limit), why, AWAY, beside=other, inputs=inputs)
