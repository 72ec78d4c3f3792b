"""What the anchors of a rack must hold in an earthquake, by ASCE 7.

Gives: anchor_findings(), ANCHOR_ACTS. At or below grade, both horizontal directions, the shallow one governs.
Limits: capacity of the anchor in this concrete or wood is its own listing's or an engineer's matter; coefficients
and the load combination are from memory and say so. The IRC has no general rule for such racks in houses: ask the
building department; the equations are good engineering.
Sources: ASCE 7-16 13.3.1, 13.4.2, 13.6; handbook/data/seismic_coefficients.toml; a guide of a public earthquake
programme for battery racks (steel angle at each leg, 1/2 in bolts; into studs, never into plasterboard alone).
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Rack
from bankwright.build import cards
from bankwright.build.rack.stability import Stage
from bankwright.forms.constants import GRAVITY
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import look_up
from bankwright.physics.anchoring import bounded, force_7_16, overturning, resisting, shear, tension

__all__ = ["ANCHOR_ACTS", "anchor_findings"]

COMPONENT = "batteries and inverters"
EXEMPT = 1780.0  # N, ASCE 7 13.1.4: attached, Ip 1.0, at most 4 ft above the floor [read in the 7-05 text]
ANCHOR_ACTS = (
    "Set anchors that are listed for this floor or wall; into concrete or framing, never into plasterboard alone.",
    "Public earthquake guidance for battery racks: steel angle 5 x 3 x 3/8 in at each leg, 1/2 in expansion bolts into "
    "the floor, bolts to the rack; a rack on a wall with 3/8 x 4 in lag screws into studs.",
    "Leave slack in every cable, spacers between cases.",
)


def anchor_findings(bank: Bank, rack: Rack, full: Stage) -> Iterator[Finding]:
    """Tension and shear of one anchor; unknown without the site's acceleration."""
    kind, at = rack.kind, (rack.name,)
    sds = None if bank.site.seismic is None else bank.site.seismic / GRAVITY  # in g
    source = Source("ASCE 7-16", "", "13.3.1, 13.4.2; load combination 2.3.6 and 12.4.2", "from memory, equations read")
    do = say("Take anchors listed for the tension and shear named here, or have an engineer design them.")
    if kind.on == "wheels":
        text = say("A rack on wheels is not anchored.")
        yield cards.ANCHOR.found(
            at,
            None,
            (None, None),
            text,
            say("Park it on bolted feet where the ground shakes."),
            source=source,
            forced="caution",
            ends_at="caution",
        )
        return
    if sds is None:
        missing = asking("site.seismic")
        yield cards.ANCHOR.found(
            at, None, (None, kind.anchor_tension), None, do, source=source, missing=(missing,), ends_at="caution"
        )
        return
    yield _tension(bank, rack, full, sds, source)


def _tension(bank: Bank, rack: Rack, full: Stage, sds: float, source: Source) -> Finding:
    kind = rack.kind
    ap, rp, omega = (look_up("asce-7/13.6-1", COMPONENT, column) for column in ("ap", "rp", "omega"))
    weight = full.mass * GRAVITY
    force = bounded(force_7_16(weight, sds, ap.value, rp.value), weight, sds)
    count = kind.anchors or 4
    rows = 2 * full.edge
    pull = tension(
        overturning(force, full.height, omega.value), resisting(weight, full.edge, sds), rows, max(count // 2, 1)
    )
    side = shear(force, count, omega.value)
    missing = [asking(f"{kind.path}.anchor_tension", "Read the allowable tension in the anchor's listing.")]
    inputs = (
        Input("S_DS", "design acceleration", Figure(sds * GRAVITY, "acceleration"), bank.key("site.seismic")),
        Input("W", "weight", Figure(weight, "force"), Computed("masses of the bank file")),
        Input("Fp", "seismic force, within its bounds", Figure(force, "force"), ap.origin),
        Input("Omega", "overstrength on anchors in concrete", Figure(omega.value, "ratio"), omega.origin),
        Input("h", "centre of gravity", Figure(full.height, "height"), Computed("rack units")),
        Input("n", "anchors", str(count), bank.key(f"{kind.path}.anchors"), kind.anchors is None),
    )
    exempt = " Below 1780 N, attached and at most 1.2 m up, it may be exempt (13.1.4)." if weight <= EXEMPT else ""
    text = say(
        "Each anchor: tension {pull}, shear {side}, coefficients from memory.{exempt}",
        pull=Figure(pull, "force"),
        side=Figure(side, "force"),
        exempt=exempt,
    )
    return cards.ANCHOR.found(
        rack.name,
        Figure(pull, "force"),
        (None, kind.anchor_tension),
        text,
        say("Take anchors listed for the tension and shear named here, or have an engineer design them."),
        source=source,
        inputs=inputs,
        missing=() if kind.anchor_tension is not None else tuple(missing),
    )
