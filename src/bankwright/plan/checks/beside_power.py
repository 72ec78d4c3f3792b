"""What is not power and yet decides whether the bank stands and is heard: the frame's load and height, the data line.

Gives: CHECKS (P-PLACE-7, P-PLACE-8, P-LINE-1). Limits: floor, anchors, tipping and lifts are Build's; what the
file does not say of the data line is asked by the address sheet, which says all of it.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import wanted
from bankwright.bank.data_line import Remark, line_plan
from bankwright.bank.model import Bank, Rack
from bankwright.bank.places import seats, whole_units
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, words
from bankwright.forms.wording import Figure, Say, say
from bankwright.plan.context import Plan

__all__ = ["CHECKS"]

_FRAME = Card(
    "P-PLACE-7",
    "The frame may carry its modules",
    "sum of the modules' masses <= load of the frame's sheet",
    Source("the frame's data sheet", how_known="read"),
    "code",
)
_HEIGHT = Card(
    "P-PLACE-8",
    "The frame is tall enough for its modules",
    "rack unit of the highest module's upper edge <= units of the frame",
    Source("EIA-310", "D", "unit of 1.75 in", "read on secondary pages"),
    "code",
)
_LINE = Card(
    "P-LINE-1",
    "The data line is laid as its standard asks",
    "terminators at the two ends alone, rest level above 200 mV, lengths and number inside the standard's",
    Source("MODBUS over Serial Line", "V1.02", "3.4; CAN: ISO 11898-2 from memory", "read"),
    "code",
    "caution",
)
_SAID_ELSEWHERE = ("bus.isolated",)  # a computer that earths the bank: P-EARTH-1


@check(_FRAME.code, _FRAME.title)
def frame_carries_its_modules(plan: Plan) -> Iterator[Finding]:
    """What stands in a frame weighs no more than its sheet lets it carry; asked where the sheet's load is given.

    Why: shelves bend, rails pull out, and the whole load comes down on who stands before it.
    Not seen here: floor, wheels, anchors, tipping, the lifts (Build).
    Source: the frame's sheet.
    """
    yield from _FRAME.over([rack for rack in plan.bank.racks if rack.kind.module_load], lambda rack: _frame(plan, rack))


def _frame(plan: Plan, rack: Rack) -> Finding | None:
    inside = _standing_in(plan.bank, rack)
    if not inside:
        return None
    masses = [wanted(m.kind.mass, f"{m.kind.path}.mass") for m in inside]
    total, most = Figure(sum(masses), "mass"), rack.kind.module_load or 0.0
    text = say(
        "{count} modules of {total} stand in {rack}; its frame may carry {most}",
        count=str(len(inside)), total=total, rack=rack.name, most=Figure(most, "mass"),
    )  # fmt: skip
    inputs = (
        given("N", "modules in it", len(inside), "count", plan.bank.key("modules")),
        given("m", f"mass of a module, {inside[0].kind.name}", masses[0], "mass", plan.bank.key(inside[0].kind.path)),
        given("load", f"load of {rack.kind.name}", most, "mass", plan.bank.key(f"{rack.kind.path}.module_load")),
    )
    do = say("Take a frame for the load, or fewer modules in it.")
    return _FRAME.found(rack.name, total, (None, most), text, do, inputs=inputs)


@check(_HEIGHT.code, _HEIGHT.title)
def frame_is_tall_enough(plan: Plan) -> Iterator[Finding]:
    """The modules that stand in a frame end inside its rack units; asked where the frame is counted in units.

    Case: each module in its slot or unit, those without one above the others; a module takes whole units.
    Why: what does not go in is found when the last module hangs on the hoist.
    Not seen here: depth between the rails, shelves, air between modules; modules to come (P-NUMBER-2).
    Source: EIA-310 unit of 1.75 in [read on secondary pages].
    """
    yield from _HEIGHT.over([rack for rack in plan.bank.racks if rack.kind.units], lambda rack: _height(plan, rack))


def _height(plan: Plan, rack: Rack) -> Finding | None:
    inside, units = _standing_in(plan.bank, rack), rack.kind.units or 0
    if not inside:
        return None
    for module in inside:
        wanted(module.kind.height, f"{module.kind.path}.height")
    placed = {seat.module: seat for seat in seats(plan.bank)}
    top = max((placed[m.name].unit + placed[m.name].units - 1 for m in inside if m.name in placed), default=0)
    top += sum(whole_units(m.kind.height or 0.0) for m in inside if m.name not in placed)
    taken, most = Figure(top, "count"), Figure(units, "count")
    text = say(
        "{count} modules in {rack} end at rack unit {top}; the frame has {most}",
        count=str(len(inside)), rack=rack.name, top=taken, most=most,
    )  # fmt: skip
    height = inside[0].kind.height or 0.0
    inputs = (
        given("N", "modules in it", len(inside), "count", plan.bank.key("modules")),
        given("h", f"height of a module, {inside[0].kind.name}", height, "length", plan.bank.key(inside[0].kind.path)),
        given("units", f"units of {rack.kind.name}", units, "count", plan.bank.key(f"{rack.kind.path}.units")),
    )
    do = say("Take a taller frame, a second one, or fewer modules in it.")
    return _HEIGHT.found(rack.name, taken, (None, units), text, do, inputs=inputs)


def _standing_in(bank: Bank, rack: Rack):  # type: ignore[no-untyped-def]
    """Modules of a rack; with one rack those too that name none."""
    return [m for m in bank.modules if m.rack == rack.name or (m.rack is None and len(bank.racks) == 1)]


@check(_LINE.code, _LINE.title)
def data_line_is_laid(plan: Plan) -> Iterator[Finding]:
    """The data line keeps to its standard: a terminator at each of its two ends and nowhere else, a rest level that
    receivers decide on, lengths and devices inside the standard's; ends at caution. Only what the file gives is judged.

    Why: a third terminator pulls the line down, and modules fall silent one by one on the first cold morning.
    Not seen here: what the file does not say of the line; the address sheet asks for it.
    Source: MODBUS over Serial Line V1.02, 3.4 [read]; CAN: ISO 11898-2, CiA 301 [from memory].
    """
    if plan.bank.bus is None:
        return
    line = line_plan(plan.bank)
    wrong = [r for r in line.remarks if r.verdict in ("fail", "caution") and r.key not in _SAID_ELSEWHERE]
    if not wrong and any(remark.verdict == "pass" for remark in line.remarks):
        inputs = (words("bus", "the data line", plan.bank.bus.wire, plan.bank.key("bus")),)
        text = say("What is given of the data line keeps to its standard")
        yield _LINE.found(line.order[0], None, (None, None), text, say("Nothing to do."), inputs=inputs)
    for remark in wrong:
        yield _remarked(plan, remark, line.order)


def _remarked(plan: Plan, remark: Remark, order: tuple[str, ...]) -> Finding:
    bus = plan.bank.bus
    named = [name for name in (bus.terminators or ()) if name in order] if bus is not None else []
    at = named if remark.key == "bus.terminators" and named else [order[-1]]
    text = Say(remark.says.words.rstrip("."), remark.says.figures)
    inputs = (words("key", "what is given", remark.key, plan.bank.key(remark.key)),)
    do = say("See to the line before any module is asked: `bankwright address` has the whole of it.")
    more = tuple(at[1:])
    return _LINE.found(at[0], None, (None, None), text, do, inputs=inputs, forced="caution", more=more)


CHECKS = (frame_carries_its_modules, frame_is_tall_enough, data_line_is_laid)
