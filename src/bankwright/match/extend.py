"""An old bank extended, or unlike modules side by side: who carries what over a whole cycle, and what may be asked for.

Gives: Extension, extension(), extension_findings(), bank_charge(), is_unlike(). A cycle is run from full to the first
limit and back: in the first minute resistance decides who gives, in the end capacity does.
Limits: age is what the file says of each module (capacity, resistance factor); hysteresis is left out; limits of cells
act without any spread unless the kind names it. Where a kind names its heat capacity, modules warm without any cooling:
the temperature at the end is at most that.
Sources: circuit/run; for t -> infinity currents go as capacities (Weng et al., arXiv 2211.04961, abstract and formulas
[read]).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.circuit.network import Array, frozen
from bankwright.circuit.run.bank import bank_ports, branches, parts_of, run_limits
from bankwright.circuit.run.curves import curves_of, resistance_table
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import Limits, RunModules, run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import Run, run
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, FileKey
from bankwright.forms.wording import Figure, say
from bankwright.handbook.cells import cell_voltage
from bankwright.match import cards
from bankwright.match.asked import asked_of, asked_words, half_an_hour_rate

__all__ = ["Extension", "bank_charge", "extension", "extension_findings", "is_unlike"]

FULL = 0.97  # where a cycle starts; the last points of a curve are the end of charge
UNLIKE = 0.10  # of the mean of resistance times capacity; common practice, no source
RUNS = ("discharge", "charge after it")
LONGEST = 48 * 3600.0


@dataclass(frozen=True, eq=False)
class Extension:
    """One discharge to the first limit and one charge after it."""

    names: tuple[str, ...]
    asked: float  # W from the bank
    discharge: Run
    charge: Run | None
    first_share: Array  # of the bank's current, in the first minute
    last_share: Array  # when the first limit is near
    peak: Array  # largest size of current over the cycle, A
    peak_time: Array  # s into the discharge or the charge
    peak_in: tuple[str, ...]  # which of the two, of each module
    first_limit: str
    first_limit_at: str
    first_limit_time: float | None
    left: Array  # state of charge of each module at the first limit
    allowed: float | None  # W at which no module passes its continuous limit over the whole discharge


def is_unlike(modules: Sequence[Module]) -> bool:
    """Are these modules unlike in capacity, or in resistance times capacity."""
    parts = [parts_of(module) for module in modules]
    known = [part for part in parts if part.capacity_ah]
    if len(known) < 2:
        return False
    capacity = np.array([part.capacity_ah or 0.0 for part in known])
    product = capacity * [part.ohmic.nominal for part in known]
    return bool(max(np.ptp(capacity) / capacity.mean(), np.ptp(product) / product.mean()) > UNLIKE)


def bank_charge(soc: Sequence[float], capacity_ah: Sequence[float]) -> float:
    """State of charge of a bank: weighed by capacity, not the plain mean. [-]"""
    return float(np.dot(soc, capacity_ah) / np.sum(capacity_ah))


def _modules(bank: Bank) -> RunModules:
    parts = [parts_of(module) for module in bank.modules]
    curve = curves_of(bank.modules[0].kind)[0]
    return run_modules(
        curve.table,
        [part.capacity_ah or 100.0 for part in parts],
        [part.ohmic.nominal for part in parts],
        names=tuple(part.name for part in parts),
        cells=bank.modules[0].kind.cells,
        metal=[part.metal for part in parts],
        branch_1=branches(parts)[0],
        branch_2=branches(parts)[1],
        factor_table=resistance_table(),
        temperature_degc=_air(bank),
        heat_capacity=[module.kind.heat_capacity or np.inf for module in bank.modules],
        limits=_ends(run_limits(bank.modules, "low")),
    )


def _ends(limits: Limits) -> Limits:
    """A kind that gives no end of discharge ends where Plan takes it to end, not at the foot of the curve."""
    low = np.where(np.isneginf(limits.cell_low), cell_voltage("empty").value, limits.cell_low)
    return replace(limits, cell_low=low)


def _air(bank: Bank) -> float:
    """Warmest air at the modules that the file names, inside the table of resistance; else 25 degC."""
    high = bank.site.ambient_high_degc
    return 25.0 if high is None else float(np.clip(high + (bank.site.rack_rise or 0.0), -25.0, 44.0))


def _loads(bank: Bank, ports: Ports, scale: float, power: float | None) -> tuple[list[RunLoad], float]:
    """Loads of a full discharge: inverters at rated power and loads as given, or what is asked; else 0.5 C."""
    rated = {name: value for name, value in asked_of(bank).items() if name in ports.load_names}
    if not rated:
        rated = {ports.load_names[0]: half_an_hour_rate(bank)}
    total = sum(rated.values())
    wanted = (power or total) * scale
    loads = [RunLoad(name, "power", Profile.constant(wanted * value / total)) for name, value in rated.items()]
    return loads, wanted


def _charge_loads(bank: Bank, ports: Ports) -> list[RunLoad]:
    found = []
    for charger in bank.chargers:
        if charger.name in ports.load_names and charger.kind.current:
            cells = bank.modules[0].kind.cells
            ceiling = charger.kind.setting or charger.kind.voltage_high or 3.55 * cells
            found.append(
                RunLoad(charger.name, "charger", Profile.constant(charger.kind.current), ceiling=ceiling, tail=2.0)
            )
    return found


def extension(bank: Bank, power: float | None = None, start: float = FULL) -> Extension:
    """Run the cycle; `power` in W from the bank, else the inverters' rated power."""
    ports, _, _ = bank_ports(bank)
    modules = _modules(bank)
    loads, asked = _loads(bank, ports, 1.0, power)
    found = run(ports, modules, loads, until=LONGEST, soc=np.full(len(bank.modules), start), tolerance=2e-4)
    what, at, time = _first_limit(found)
    place = len(found.time) - 1 if time is None else max(found.at(time - 1e-3), 0)
    left = found.soc[place]
    loads_in = _charge_loads(bank, ports)
    back = None
    if loads_in and left.min() > modules.soc_ends[0].max() + 1e-3:
        kept = (found.branches[0, place], found.branches[1, place])
        back = run(ports, modules, loads_in, until=LONGEST, soc=left, branches=kept, tolerance=2e-4)
    runs = [(found.module_current[: place + 1], found.time[: place + 1])]
    runs += [] if back is None else [(back.module_current, back.time)]
    sizes = np.concatenate([np.abs(current) for current, _ in runs])
    times = np.concatenate([time for _, time in runs])
    within = np.concatenate([np.full(len(times_), number) for number, (_, times_) in enumerate(runs)])
    worst = sizes.argmax(axis=0)
    shares = [_shares(found.module_current[k]) for k in (found.at(60.0), place)]
    allowed = _allowed(bank, ports, modules, power, start)
    return Extension(
        modules.names,
        asked,
        found,
        back,
        shares[0],
        shares[1],
        frozen(sizes.max(axis=0)),
        frozen(times[worst]),
        tuple(RUNS[number] for number in within[worst]),
        what,
        at,
        time,
        frozen(left),
        allowed,
    )


def _shares(current: Array) -> Array:
    total = current.sum()
    return frozen(current / total if abs(total) > 1e-9 else np.full_like(current, np.nan))


def _first_limit(found: Run) -> tuple[str, str, float | None]:
    for event in found.events:
        if any(word in event.what for word in ("opens", "blocks", "stops", "lost", "leaves")):
            return event.what, event.at, event.time
    return "none within two days", "", None


def _limits(bank: Bank) -> Array | None:
    given = [module.kind.discharge.continuous for module in bank.modules]
    return None if None in given else np.array(given, dtype=float)


def _allowed(bank: Bank, ports: Ports, modules: RunModules, power: float | None, start: float) -> float | None:
    """Largest power at which no module passes its continuous limit before the first limit of voltage, by bisection."""
    limits = _limits(bank)
    if limits is None:
        return None

    def fits(scale: float) -> bool:
        loads, _ = _loads(bank, ports, scale, power)
        found = run(ports, modules, loads, until=LONGEST, soc=np.full(len(limits), start), tolerance=5e-4)
        _, _, time = _first_limit(found)
        end = len(found.time) if time is None else found.at(time - 1e-3) + 1
        return bool((np.abs(found.module_current[:end]) <= limits).all()) and (time is None or time > 60.0)

    low, high = 0.0, 1.0
    while fits(high) and high < 16:
        low, high = high, high * 2
    for _ in range(9):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low * _loads(bank, ports, 1.0, power)[1]


def _warmest(bank: Bank, found: Extension) -> list[Finding]:
    """The warmest module at the end of the discharge, where its heat capacity is known."""
    known = [k for k, name in enumerate(found.names) if bank.module(name).kind.heat_capacity]
    if not known:
        return []
    degc = found.discharge.temperature_degc.max(axis=0)
    k = max(known, key=lambda place: degc[place])
    kind = bank.module(found.names[k]).kind
    figure, most = Figure(float(degc[k]), "temperature_degc"), kind.discharge.highest_degc
    inputs = (
        ()
        if most is None
        else (
            Input(
                "T_max", f"highest for {kind.name}", Figure(most, "temperature_degc"), FileKey(f"{kind.path}.discharge")
            ),
        )
    )
    return [
        cards.WARMEST.found(
            found.names[k],
            figure,
            (None, most),
            say("{module} ends at {degc} at most", module=found.names[k], degc=figure),
            say("Give the rack air, or ask less of the bank for as long."),
            inputs=inputs,
            case="full discharge",
        )
    ]


def extension_findings(bank: Bank, found: Extension) -> tuple[Finding, ...]:
    """The worst module current of the cycle, what may be asked for, and where a limit is hit first."""
    allowed = () if found.allowed is None else (_power(bank, found, found.allowed),)
    return (_peak(bank, found), *allowed, *_warmest(bank, found), _where_first(found))


def _peak(bank: Bank, found: Extension) -> Finding:
    """The module that comes nearest to its continuous limit, or carries most where no limit is given."""
    limits = _limits(bank)
    k = int(np.argmax(found.peak / limits if limits is not None else found.peak))
    name, peak = found.names[k], Figure(float(found.peak[k]), "current")
    limit = None if limits is None else float(limits[k])
    first, last = (Figure(float(share[k]), "share") for share in (found.first_share, found.last_share))
    key = FileKey(f"{bank.module(name).kind.path}.discharge.continuous")
    return cards.PEAK.found(
        name,
        peak,
        (None, limit),
        say(
            "{name} carries {peak} at its worst, {time} into the {run}; its share goes from {first} in the first "
            "minute to {last}",
            name=name,
            peak=peak,
            first=first,
            last=last,
            time=Figure(float(found.peak_time[k]), "time"),
            run=found.peak_in[k],
        ),
        say("Ask less of the bank, or give {name} a neighbour of its kind.", name=name),
        inputs=() if limit is None else (Input("I_max", f"continuous limit of {name}", Figure(limit, "current"), key),),
        case="full cycle",
    )


def _power(bank: Bank, found: Extension, power: float) -> Finding:
    """What may be asked of the bank without any module passing its limit. [W]"""
    asked, allowed = Figure(found.asked, "power"), Figure(power, "power")
    where, assumed = asked_words(bank)
    return cards.POWER.found(
        found.names[:1],
        allowed,
        (found.asked, None),
        say(
            "At {allowed} no module passes its limit over a whole discharge; {asked} is asked ({where})",
            where=where,
            allowed=allowed,
            asked=asked,
        ),
        say("Ask no more than {allowed} of the bank, or add a module.", allowed=allowed),
        inputs=(Input("P", f"asked of the bank: {where}", asked, Computed(where), assumed),),
        case="full discharge",
        more=found.names[1:],
    )


def _where_first(found: Extension) -> Finding:
    left = ", ".join(f"{n} {100 * float(z):.0f} %" for n, z in zip(found.names, found.left, strict=True))
    when = "" if found.first_limit_time is None else f" after {found.first_limit_time / 3600:.1f} h"
    return cards.FIRST_LIMIT.found(
        found.first_limit_at or found.names[0],
        None,
        (None, None),
        say(
            "First limit of a full discharge: {what}",
            what=f"{found.first_limit_at} {found.first_limit}{when}; left: {left}",
        ),
        say("Plan with the charge that is reached then, not with the sum of the plates."),
    )
