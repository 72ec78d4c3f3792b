"""Steps from the empty floor to the bonded frame: place, frame, anchors, bond, cage nuts.

Gives: frame_steps(), known_stages(), number_finding().
Limits: a bank without racks gets the place alone; its modules stand where their maker says.
Sources: order of work common practice, no source; figures with their own source in the findings.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Rack
from bankwright.bank.places import Seat, hole_heights, screw_holes, seats
from bankwright.build import cards
from bankwright.build.rack.anchors import ANCHOR_ACTS, anchor_findings
from bankwright.build.rack.clearances import clearances
from bankwright.build.rack.load import rack_findings
from bankwright.build.rack.stability import Stage, stage_findings, stages
from bankwright.build.steps.make import Ground, caution, make_step
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import amount_text, figure_text, say

__all__ = ["frame_steps", "known_stages", "number_finding"]

_READY = Source("NFPA 70E", "", "article 320, risk assessment; glove class IEC 60903", "from memory")
_RACK = Source("EIA-310", "D (1992) and later", "universal hole pattern", "read on secondary pages")


def known_stages(bank: Bank, rack: Rack) -> tuple[tuple[Stage, ...], tuple[Missing, ...]]:
    """Stages of loading, or what is missing for them."""
    found = stages(bank, rack)
    if found and isinstance(found[0], Missing):
        return (), tuple(item for item in found if isinstance(item, Missing))
    return tuple(item for item in found if isinstance(item, Stage)), ()


def frame_steps(ground: Ground) -> Iterator[Step]:
    """All steps before the first module is lifted."""
    bank = ground.bank
    yield _place(ground)
    yield _ready(ground)
    for rack in bank.racks:
        yield _frame(ground, rack)
        yield _anchor(ground, rack)
        yield _bond(ground, rack.name, f"build.anchor.{rack.name}")
        yield _nuts(ground, rack)
    if not bank.racks:
        yield _bond(ground, "frame", "build.people")


def _place(ground: Ground) -> Step:
    bank = ground.bank
    acts = [
        f"{item.words}: at least {figure_text(item.least, bank.units)} ({item.source})." for item in clearances(bank)
    ]
    rests = {
        "place": bank.site.place or "not given",
        "emergency number": bank.site.emergency_number or "not given",
        "modules": ", ".join(f"{s.module} at unit {s.unit}" for s in seats(bank)),
        "rule book": bank.book or "not given",
        "loaded mass": ", ".join(_mass_words(bank, rack) for rack in bank.racks),
    }
    what = bank.site.place or "the place (not given in the file)"
    return make_step(
        "build.place",
        "Place and floor",
        (
            f"Clear {what}: level, dry, no flammable things, free way out.",
            *(acts or ["Distances to doors, windows and walls, room to work: ask; they are the local code's."]),
            "Hang the page on faults and fire by the door.",
        ),
        "The place is clear, the distances are measured, the page hangs by the door.",
        rests,
        tools=("level and square",),
        pieces=ground.ids("sign/emergency"),
        findings=(*_floor_findings(bank), number_finding(bank)),
        cautions=(caution("Ask the building department and an electrician before anything is bought for this place."),),
        ticks=(Tick("permit", "Permit and electrician asked"), Tick("clear", "Place clear, distances measured")),
    )


def _floor_findings(bank: Bank) -> Iterator[Finding]:
    """What the loaded rack asks of the floor."""
    for rack in bank.racks:
        known, missing = known_stages(bank, rack)
        if known:
            asked = ("BLD-FLOOR", "BLD-HEAVY", "BLD-LOW", "BLD-STOP")
            yield from (f for f in rack_findings(bank, rack, known[-1]) if f.code in asked)
        elif missing:
            yield _no_stability(rack, missing)


def _ready(ground: Ground) -> Step:
    """Who is there, what is worn, what lies ready."""
    kit = [piece for piece in ground.pieces if piece.group in ("tools", "protection") and "/lock" not in piece.id]
    names = {
        group: tuple(dict.fromkeys(piece.id.split("/")[1] for piece in kit if piece.group == group))
        for group in ("tools", "protection")
    }
    return make_step(
        "build.people",
        "People, protection, tools",
        (
            "A second person is there who can switch off and call for help.",
            "Rings, watch, chains and all other metal come off and stay off.",
            f"Lay ready, and look each over: {', '.join(names['tools'])}.",
            f"For both of you: {', '.join(names['protection'])}.",
            "Prove the meter on a source you know, now and again after each reading that shows nothing.",
        ),
        "Both people are dressed for it; nothing has a worn jacket or a bare shaft.",
        {group: ", ".join(found) for group, found in names.items()},
        pieces=tuple(piece.id for piece in kit),
        hands="two people",
        after=("build.place",),
        source=_READY,
        cautions=(
            caution("Nobody works alone, tired, or on a bank that somebody else can switch on."),
            caution(
                "Do not use gloves that are past their test date or scratched. Inflate each glove and look for leaks.",
                _READY,
            ),
        ),
        ticks=(Tick("people", "Two people, metal off, dressed"), Tick("tools", "Tools and meter looked over")),
    )


def number_finding(bank: Bank) -> Finding:
    """Unknown where the page by the door would bear no number."""
    how = "Write the number of the fire service into the file; it stands on the page by the door."
    missing = () if bank.site.emergency_number else (asking("site.emergency_number", how),)
    return cards.NUMBER.found(
        (), None, (None, None), None, say("Write it in by hand until it is in the file."), missing=missing
    )


def _said(value: float | None, quantity: str, units: str) -> str:
    return "not given" if value is None else amount_text(value, quantity, units)


def _mass_words(bank: Bank, rack: Rack) -> str:
    known, _ = known_stages(bank, rack)
    return f"{rack.name} {amount_text(known[-1].mass, 'mass', bank.units)}" if known else f"{rack.name} not known"


def _no_stability(rack: Rack, missing: tuple[Missing, ...]) -> Finding:
    source = Source("statics", how_known="derived")
    return cards.TILT.found(
        rack.name,
        None,
        (10.0, None),
        None,
        say("Give mass and size of the frame, and the mass of the modules."),
        source=source,
        missing=missing,
    )


def _frame(ground: Ground, rack: Rack) -> Step:
    bank, kind = ground.bank, rack.kind
    known, missing = known_stages(bank, rack)
    found = list(stage_findings(bank, rack, known[0])) if known else [_no_stability(rack, missing)]
    if known:
        found += [f for f in rack_findings(bank, rack, known[-1]) if f.code in ("BLD-FRAME", "BLD-CASTER")]
    size = " x ".join(amount_text(v, "height", bank.units) if v else "?" for v in (kind.width, kind.depth, kind.height))
    acts = (
        f"Stand {rack.name} ({kind.name}, {size}) with unit 1 at the bottom and the square holes to the front.",
        "Measure both diagonals, front and back; square it before any screw is tightened.",
        "Level it; then tighten from the bottom up.",
    )
    return make_step(
        f"build.frame.{rack.name}",
        f"Put up the frame {rack.name}",
        acts,
        "Both diagonals are equal, the level is true, every frame screw is tight.",
        {
            "frame": kind.name,
            "size": size,
            "stands on": kind.on or "not given",
            "mass": _said(kind.mass, "mass", bank.units),
        },
        at=(rack.name,),
        cautions=(caution("The empty frame tips easily: one holds, one screws."),),
        hands="two people",
        tools=("level and square",),
        pieces=ground.ids(f"rack/{rack.name}", f"caster/{rack.name}"),
        after=("build.people",),
        findings=found,
        ticks=(Tick("square", "Diagonals equal"), Tick("level", "Level, tight")),
    )


def _anchor(ground: Ground, rack: Rack) -> Step:
    bank, kind = ground.bank, rack.kind
    known, _ = known_stages(bank, rack)
    found = list(anchor_findings(bank, rack, known[-1])) if known else []
    if kind.on == "wheels":
        acts: tuple[str, ...] = ("Lock the wheels and set the feet or jacks down; block it on both sides.",)
        done = "The rack cannot roll and does not rock."
    else:
        acts = ANCHOR_ACTS
        done = f"{kind.anchors or 'All'} anchors are set and tight; the frame does not move when pushed at the top."
    return make_step(
        f"build.anchor.{rack.name}",
        f"Anchor {rack.name}",
        acts,
        done,
        {
            "anchors": str(kind.anchors or "not given"),
            "stands on": kind.on or "not given",
            "acceleration": _said(bank.site.seismic, "acceleration", bank.units),
            "modules": ", ".join(s.module for s in seats(bank) if s.rack == rack.name),
            "loaded mass": _mass_words(bank, rack),
        },
        at=(rack.name,),
        pieces=ground.ids(f"anchor/{rack.name}"),
        after=(f"build.frame.{rack.name}",),
        findings=found,
        cautions=(caution("Before drilling: no pipe, cable or heating in the floor or wall."),),
        ticks=(Tick("anchored", "Anchored or blocked"),),
    )


def _bond(ground: Ground, name: str, after: str) -> Step:
    bank = ground.bank
    size = bank.site.earthing.bond
    at = (name,) if name in bank else ()
    what = name if at else "the frame or shelf that carries the modules"
    acts = (
        f"Connect bare metal of {what} to the earth bar with {size or 'the bonding cable (size not given)'}; "
        f"toothed washer "
        "through the paint.",
        f"Measure from the frame's far corner to the earth bar{'' if at else ', and write it down'}.",
    )
    wanted = tuple(ReadingWanted("resistance", rack, "frame to the earth bar", None, 0.1) for rack in at)
    missing = () if size else (asking("site.earthing.bond"),)
    finding = cards.BOND.found(
        at, None, (None, None), None, say("Have the electrician name the bond."), missing=missing
    )
    return make_step(
        f"build.bond.{name}",
        f"Bond {name if at else 'the frame'} to earth",
        acts,
        "The meter shows a steady tenth of an ohm or less.",
        {"bond": size or "not given"},
        at=at,
        pieces=ground.ids(f"bond/{name}", f"bond lug/{name}", f"bond washer/{name}"),
        readings=wanted,
        after=(after,),
        findings=(finding,),
        tools=("meter",),
        cautions=(caution("The earth bar belongs to the house: an electrician connects there."),),
        ticks=(Tick("bonded", "Bonded"),),
    )


def _holes(seat: Seat, units: str) -> str:
    parts = []
    for unit, hole in screw_holes(seat.unit, seat.units):
        height = hole_heights(unit)[hole - 1]
        count = 3 * (unit - 1) + hole
        parts.append(
            f"hole {count} from the bottom (unit {unit}, {amount_text(height, 'height', units, 4)} above unit 1)"
        )
    return " and ".join(parts)


def _nuts(ground: Ground, rack: Rack) -> Step:
    bank = ground.bank
    here = [seat for seat in seats(bank) if seat.rack == rack.name]
    acts = [f"{seat.module}: {_holes(seat, bank.units)}, both front posts." for seat in here]
    lead = (
        "Count the holes from the bottom on all four posts. A unit begins between the two holes that are close "
        "together: "
        "one off, and nothing above it fits. Hold one module's ears against the post first."
    )
    return make_step(
        f"build.nuts.{rack.name}",
        f"Cage nuts and rails in {rack.name}",
        (lead, *acts, "Rails at the lower edge of each module, front and back at one height."),
        "Two cage nuts a side for each module, rails level front to back.",
        {"places": "; ".join(f"{s.module} unit {s.unit}, {s.units} U" for s in here)},
        at=(rack.name, *(s.module for s in here)),
        pieces=ground.ids("cage nut/", "rails/", at=[s.module for s in here]),
        after=(f"build.bond.{rack.name}",),
        source=_RACK,
        cautions=(
            caution("Cage nuts spring: eyes covered."),
            caution("Screws locate, rails carry: no module hangs on its front screws."),
        ),
        ticks=tuple(Tick(f"nuts/{s.module}", f"{s.module}: nuts and rails in") for s in here)
        or (Tick("nuts", "Nuts and rails in"),),
    )
