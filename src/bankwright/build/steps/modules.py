"""Steps of the modules: in from the bottom, each screwed before the next; then read alone, addressed, on the data line.

Gives: module_steps().
Limits: what the readings mean for joining is Match's question; here they are taken and written down.
Sources: order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.addresses import AddressRow, address_plan, double_addresses, switch_picture
from bankwright.bank.data_line import cable_order, line_plan, ohm_words
from bankwright.bank.model import Bank, Module
from bankwright.bank.places import Seat, rack_of, seats, standing_order
from bankwright.build import cards
from bankwright.build.rack.lifts import Hands, Lift, hands_for, lift_findings, lifts
from bankwright.build.rack.stability import stage_findings
from bankwright.build.steps.frame import known_stages
from bankwright.build.steps.make import DROPPED, LIVE, Ground, caution, make_step, off_findings
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import Figure, amount_text, say
from bankwright.handbook.cells import cell_voltage

__all__ = ["module_steps"]

_ADDRESS = Source("address plan of the bank file", how_known="derived")


def module_steps(ground: Ground) -> Iterator[Step]:
    """Lift, read, address, data line."""
    bank = ground.bank
    ordered = _ordered(bank)
    last = tuple(f"build.nuts.{rack.name}" for rack in bank.racks) or ("build.bond.frame",)
    for module, seat in ordered:
        yield _lift(ground, module, seat, last)
        last = (f"build.module.{module.name}",)
    for module, _ in ordered:
        yield _read(module, last)
    reads = tuple(f"build.read.{module.name}" for module, _ in ordered)
    yield _addresses(bank, reads)
    yield _data(ground, [module for module, _ in ordered])


def _ordered(bank: Bank) -> list[tuple[Module, Seat | None]]:
    placed = {seat.module: seat for seat in seats(bank)}
    return [(module, placed.get(module.name)) for module in standing_order(bank)]


def _lift(ground: Ground, module: Module, seat: Seat | None, after: tuple[str, ...]) -> Step:
    bank, name = ground.bank, module.name
    lift = next((item for item in lifts(bank) if item.module == name), None)
    where = f"unit {seat.unit} of {seat.rack or 'the rack'}" if seat is not None else "its place"
    hands: Hands = hands_for(lift) if lift is not None and seat is not None else "a lift"
    mass = "mass not given" if module.kind.mass is None else amount_text(module.kind.mass, "mass", bank.units)
    return make_step(
        f"build.module.{name}",
        f"{name} into {where}",
        _lift_acts(name, seat, where, hands),
        "It sits on its rails, all front screws are in, the switch is off."
        if seat is not None
        else "It stands firm and cannot slide or fall, the switch is off.",
        {"kind": module.kind.name, "place": where, "mass": mass, "helpers": str(bank.site.helpers)},
        at=(name,),
        cautions=(
            caution(_lift_words(lift, mass, bank.units)),
            caution("Let a falling module fall. Feet and hands stay out from under it."),
        ),
        tools=("lift table",) if hands == "a lift" else (),
        hands=hands,
        after=after,
        findings=_lift_findings(bank, module, seat, lift),
        pieces=ground.ids(f"module/{name}", f"rack screw/{name}/"),
        ticks=(
            Tick("screwed", "In its place, screwed" if seat is not None else "In its place, fixed"),
            Tick("off", "Switched off, breaker open"),
        ),
    )


def _lift_findings(bank: Bank, module: Module, seat: Seat | None, lift: Lift | None) -> list[Finding]:
    """The lift itself, and how the rack stands when the module is in it."""
    found: list[Finding] = list(lift_findings(bank, lift)) if lift is not None else []
    rack = rack_of(bank, module)
    if rack is not None and seat is not None:
        known, _ = known_stages(bank, rack)
        here = [stage for stage in known if stage.loaded and stage.loaded[-1] == module.name]
        found += [f for stage in here for f in stage_findings(bank, rack, stage)]
    return found


_HOW: dict[Hands, str] = {
    "one person": "Lift it close to the body, back straight, and slide it in.",
    "two people": "Lift it together, on a word, and slide it in.",
    "a lift": "Raise it with a lift table to the height of its rails and slide it in; do not reach under it.",
}


def _lift_acts(name: str, seat: Seat | None, where: str, hands: Hands) -> tuple[str, ...]:
    off = f"Check that {name} is switched off, its breaker open, covers on its posts."
    if seat is None:
        return (
            off,
            "Bring it to its place on a lift table and slide it over; do not reach under it. Place: as its maker "
            "shows it.",
            "Fix it by its maker's sheet before the next one is lifted: upright, on a base that carries all of them.",
        )
    return (
        off,
        f"{_HOW[hands]} Place: {where}.",
        "Screw it to the frame before the next one is lifted; fit its rear bracket if it has one.",
    )


def _lift_words(lift: Lift | None, mass: str, units: str) -> str:
    if lift is None or lift.mass is None:
        return f"{mass}: use a lift table."
    if lift.people is not None:
        return f"{mass}; the equation gives this lift to {_people(lift.people)}."
    return (
        f"{mass}; one person may lift {amount_text(lift.allowed, 'mass', units)} here. Not even three by hand: "
        f"lifting index "
        f"{lift.index[max(lift.index)]:.1f}, goal 1."
        if lift.allowed > 0
        else f"{mass}; this slot is above what anybody should lift to."
    )


def _people(count: int) -> str:
    return "one person" if count == 1 else f"{count} people"


def _read(module: Module, after: tuple[str, ...]) -> Step:
    name, kind = module.name, module.kind
    found = tuple(off_findings(module))
    plus, minus = module.posts[0], module.posts[1]
    acts = (
        f"Nothing is connected to {name}. Switch {name} alone on; every other module stays off.",
        f"Read the voltage, red lead on {plus}, black on {minus}. A minus sign means that polarity is reversed: stop.",
        f"Switch {name} off again, covers back on its posts.",
    )
    low, high = (kind.cells * cell_voltage(end).value for end in ("empty", "full"))
    wanted = ReadingWanted("voltage", name, f"{plus} to {minus}, alone and at rest", low, high)
    return make_step(
        f"build.read.{name}",
        f"Voltage and polarity of {name}",
        acts,
        say(
            "The voltage is written down, between {low} and {high}, and positive; {module} is off.",
            low=Figure(low, "voltage"),
            high=Figure(high, "voltage"),
            module=name,
        ),
        {"kind": kind.name, "cells": str(kind.cells)},
        at=(name,),
        cautions=(LIVE, DROPPED),
        tools=("meter", "meter leads"),
        readings=(wanted,),
        after=after,
        findings=found,
        ticks=(Tick("polarity", "Polarity right"), Tick("off", "Off again, covered")),
    )


def _address_finding(rows: tuple[AddressRow, ...]) -> Iterator[Finding]:
    do = say("Set every module to its own address, within its switches.")
    for row in rows:
        missing = () if row.missing is None else (row.missing,)
        if row.fault or missing:
            text = say(
                "{module}: {fault}.", module=row.module, fault=row.fault or "the kind does not say how it counts"
            )
            yield cards.ADDRESS.found(
                row.module, None, (None, None), text, do, missing=missing, forced="fail" if row.fault else None
            )
    for address, names in double_addresses(rows).items():
        text = say("{names} share address {address}.", names=" and ".join(names), address=str(address))
        yield cards.ADDRESS.found(names[:1], None, (None, None), text, do, forced="fail", more=names[1:])


def _counting(bank: Bank) -> str:
    turned = {m.name for m in bank.modules if m.kind.address.order == "first is highest"}
    first = "the highest" if len(turned) == len(bank.modules) else "the lowest"
    others = f" (the other way at {', '.join(sorted(turned))})" if turned and first == "the lowest" else ""
    wakes = all(m.kind.address.wakes is not False for m in bank.modules)
    late = " Set the switches with the module off: they may be read only when it wakes." if wakes else ""
    return f"Switch 1 is taken as {first} bit{others}; the module's manual has the last word.{late}"


def _addresses(bank: Bank, after: tuple[str, ...]) -> Step:
    rows = address_plan(bank)
    acts = []
    for row in rows:
        picture = ", ".join(f"{n} {'on' if on else 'off'}" for n, on in enumerate(row.switches, 1))
        address = "not known" if row.address is None else str(row.address)
        acts.append(f"{row.module}: address {address}" + (f"; switches {picture}." if picture else "."))
    pictures = "\n".join(f"{row.module}\n" + "\n".join(switch_picture(row)) for row in rows if row.switches)
    return make_step(
        "build.addresses",
        "Set the addresses",
        acts,
        "Every module shows its own address; none is used twice.",
        {"addresses": "; ".join(f"{row.module} {row.address}" for row in rows), "pictures": pictures},
        at=tuple(row.module for row in rows),
        after=after,
        findings=_address_finding(rows),
        source=_ADDRESS,
        cautions=(caution(_counting(bank)),),
        ticks=tuple(
            Tick(f"address/{row.module}", f"{row.module}: {row.address if row.address is not None else '?'}")
            for row in rows
        ),
    )


def _data(ground: Ground, modules: list[Module]) -> Step:
    line = ground.bank.bus
    names = list(cable_order(ground.bank)) if line is not None else [module.name for module in modules]
    acts = [f"{a} to {b}." for a, b in pairwise(names)]
    ends = "One terminator at each end of the line, none between; none where the device ends the line itself."
    if line is not None and line.wire in ("serial", "can"):
        ohms = ohm_words(line_plan(ground.bank))
        ends += (
            f" At the reader's plug, everything off, the two data wires should measure {ohms}; about 0 Ω is a short."
        )
    return make_step(
        "build.data",
        "Data cables, before any power cable",
        [*acts, f"{names[0] if names else 'The first module'} to the reader.", ends],
        f"{max(len(names) - 1, 0)} cables between the modules and one to the reader, clear of where the power "
        f"cables will lie.",
        {"chain": " - ".join(names)},
        at=tuple(names),
        pieces=ground.ids("data/", "terminator/"),
        after=("build.addresses",),
        ticks=(Tick("data", "Data line plugged"), Tick("ends", "Ends of the line settled")),
        cautions=(caution("Everything stays off: the data line does not need power yet."),),
    )
