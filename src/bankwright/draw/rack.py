"""Front of the racks, to scale: rack units, modules at theirs, masses, heights of lifting.

Gives: rack(). A module whose unit or height is not given stands dashed beside the scale, and says so.
Limits: heights and units of bank/places; no posts (wiring), no stability (build).
"""

from __future__ import annotations

from bankwright.bank.model import Bank, Module, Rack
from bankwright.bank.places import Seat, base_height, rack_of, seats
from bankwright.draw.pen.letters import fitted, room
from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, group, joined, line, words
from bankwright.forms.wording import amount_text

__all__ = ["rack"]

UNIT = 22.0  # px a rack unit
FACE, NUMBERS, HEIGHTS, BETWEEN, TOP = 190.0, 40.0, 92.0, 24.0, 58.0
GUESS = 2  # rack units that a module of unknown height is drawn with, dashed


def _mass_words(modules: list[Module], units: str) -> str:
    known = [m.kind.mass for m in modules if m.kind.mass is not None]
    if len(known) < len(modules):
        return f"{len(modules) - len(known)} of {len(modules)} masses not given"
    return f"modules {amount_text(sum(known), 'mass', units)}"


def _frame(name: str, frame: Rack | None, count: int, x: float, floor: float) -> list[Markup]:
    """Rails, unit numbers from 1 at the bottom, floor, name."""
    top = floor - count * UNIT
    parts = [line(at, top - 6, at, floor + 8, "rail") for at in (x - 6, x + FACE + 6)]
    parts += [line(x - 12, floor + 8, x + FACE + 12, floor + 8, "floor")]
    for unit in range(1, count + 1):
        y = floor - (unit - 1) * UNIT
        parts.append(line(x - 6, y, x - 11, y, "hair2"))
        parts.append(words(x - 14, y - UNIT / 2 + 4.5, str(unit), "small soft end"))
    parts.append(words(x + FACE / 2, 22, name, "mod low mid"))
    of = "units not given" if frame is None or frame.kind.units is None else f"{frame.kind.units} U"
    parts.append(words(x + FACE / 2, 38, of, "soft mid"))
    return parts


def _box(module: Module, x: float, y: float, height: float, units: str, *, cls: str, note: str) -> Markup:
    mass = "mass not given" if module.kind.mass is None else amount_text(module.kind.mass, "mass", units)
    middle = y + height / 2
    parts = [box(x, y + 1.5, FACE, height - 3, cls)]
    name = fitted(module.name, FACE - room(mass, 13) - 30, 15, True)
    low = height < 38
    below = bool(note) and not low and fitted(note, FACE - room(mass, 13) - 30, 13) == note  # cut words say nothing
    parts.append(words(x + 10, middle + (-2 if below else 5), name, "mod low"))
    if below:
        parts.append(words(x + 10, middle + 14, note, "soft"))
    parts.append(words(x + FACE - 10, middle + 5, mass, "b end"))
    title = ", ".join(part for part in (module.name, note, mass) if part)
    return group(*parts, title=title, cls="module", data_place=module.name)


def _seated(bank: Bank, seat: Seat, x: float, floor: float, units: str) -> list[Markup]:
    module = bank.module(seat.module)
    y = floor - (seat.unit - 1 + seat.units) * UNIT
    last = seat.unit + seat.units - 1
    note = f"U{seat.unit} to U{last}" if last > seat.unit else f"U{seat.unit}"
    painted = [_box(module, x, y, seat.units * UNIT, units, cls="face", note=note)]
    if seat.from_floor:
        edge = floor - (seat.unit - 1) * UNIT
        height = amount_text(round(seat.bottom, 3), "height", units)
        painted += [
            line(x + FACE + 8, edge, x + FACE + 16, edge, "hair2"),
            words(x + FACE + 20, edge + 4.5, height, "small soft"),
        ]
    return painted


def _count(frame: Rack | None, placed: list[Seat], loose: list[Module]) -> int:
    """Rack units to draw."""
    need = max([seat.unit + seat.units - 1 for seat in placed] + [len(loose) * GUESS if not placed else 1])
    given = frame.kind.units if frame is not None else None
    return max(need, given or 0)


def rack(bank: Bank, *, embedded: bool = False, prefix: str = "k") -> Drawing:
    """Draw the front of every rack, side by side."""
    groups: dict[str, list[Module]] = {}
    frames: dict[str, Rack | None] = {}
    for module in bank.modules:
        frame = rack_of(bank, module)
        name = frame.name if frame is not None else module.rack or "rack not given"
        groups.setdefault(name, []).append(module)
        frames[name] = frame
    at = {seat.module: seat for seat in seats(bank)}
    counts = {
        name: _count(frames[name], [at[m.name] for m in own if m.name in at], [m for m in own if m.name not in at])
        for name, own in groups.items()
    }
    floor = TOP + max(counts.values(), default=1) * UNIT
    painted: list[Markup] = []
    x = NUMBERS
    for name, own in groups.items():
        painted += _frame(name, frames[name], counts[name], x, floor)
        painted += _modules(bank, own, at, x, floor)
        painted += _foot(frames[name], own, x, floor, bank.units)
        x += FACE + HEIGHTS + BETWEEN + NUMBERS
    desc = "; ".join(
        f"{name}: {', '.join(m.name for m in own)}, {_mass_words(own, bank.units)}" for name, own in groups.items()
    )
    return sheet(
        x - NUMBERS,
        floor + 62,
        "Front of the racks",
        desc,
        prefix,
        body=joined(painted),
        cls="rackfront",
        embedded=embedded,
    )


def _modules(bank: Bank, own: list[Module], at: dict[str, Seat], x: float, floor: float) -> list[Markup]:
    painted: list[Markup] = []
    for module in own:
        if module.name in at:
            painted += _seated(bank, at[module.name], x, floor, bank.units)
    loose = sorted((m for m in own if m.name not in at), key=lambda m: m.slot or 0)
    top = max([at[m.name].unit + at[m.name].units - 1 for m in own if m.name in at], default=0)
    for i, module in enumerate(loose):
        y = floor - (top + (i + 1) * GUESS) * UNIT
        painted.append(_box(module, x, y, GUESS * UNIT, bank.units, cls="face free", note="unit or height not given"))
    return painted


def _foot(frame: Rack | None, own: list[Module], x: float, floor: float, units: str) -> list[Markup]:
    """Masses under the rack, and how high unit 1 stands."""
    mass = None if frame is None else frame.kind.mass
    parts = [_mass_words(own, units)]
    parts.append("frame not given" if mass is None else f"frame {amount_text(mass, 'mass', units)}")
    painted = [words(x + FACE / 2, floor + 28, ", ".join(parts), "soft mid")]
    base = base_height(frame)
    if base is not None:
        said = f"unit 1 is {amount_text(base, 'height', units)} above the floor"
        painted.append(words(x + FACE / 2, floor + 45, said, "small soft mid"))
    return painted
