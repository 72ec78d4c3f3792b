"""Torque of each terminal against its stud: far too much strips it, far too little clamps nothing.

Gives: CHECKS (P-JOINT-6). Limits: the maker's torque is the torque, and no table stands in for one that is not given;
joint by joint, and with what sits under one nut, it is Build's matter.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Joint
from bankwright.bank.sizes import stud_diameter
from bankwright.bank.terminals import terminal_of
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, by_name
from bankwright.forms.origin import Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import load
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import Usual

__all__ = ["CHECKS"]

# of the torque of copper busbar joints: a fail below, a caution below; common practice, no source
LOOSE, BARELY = 0.1, 0.2
MORE = 1.2  # of the largest torque published for copper joints: a caution on a bar; common practice, no source
STRONGER = 1.4  # bolts of class 10.9 over those of 8.8, proof stress 830 over 600 MPa, ISO 898-1 [from memory]
PUBLISHED = Source("published fastener torques", "", "copper busbar joints; steel of class 8.8", "read")
_CARD = Card(
    "P-JOINT-6",
    "The torque suits the stud",
    "T <= 1.4 T_8.8; T >= 0.1 T_Cu; a caution above T_8.8, on a bar 1.2 T_Cu,max, and below 0.2 T_Cu",
    PUBLISHED,
    "code",
)


@check(_CARD.code, _CARD.title)
def torque_suits_the_stud(plan: Plan) -> Iterator[Finding]:
    """The torque that the file gives for a terminal is no more than a dry steel bolt of class 10.9 of that thread takes
    (a caution above class 8.8, on a bar above 1.2 times the most published for copper), and no less than a tenth of a
    copper busbar joint's (a caution below a fifth).

    Why: 12 ft lb and 12 N m, 12 in lb and 12 N m are easily exchanged: the one shears a terminal's stud, the other
    leaves a lug loose that burns.
    Not seen here: torques that are wrong and yet likely; module terminals are often far below published ones.
    Source: published fastener torques (handbook/data/torque_plausible.toml) [read]; class 10.9 by
    its proof stress [from memory]; other threads by the cube of the diameter [derived]; a tenth and a fifth: common
    practice, no source.
    """
    told: dict[tuple[str, str, float], list[Joint]] = {}
    for joint in sorted(plan.bank.joints, key=lambda each: by_name(each.name)):
        path = terminal_of(plan.bank, joint).path
        if path and joint.stud is not None and joint.torque is not None:
            told.setdefault((path, joint.stud, joint.torque), []).append(joint)
    for (path, stud, torque), joints in told.items():
        yield _judged(plan, path, stud, torque, joints)


def ends_of(stud: str, on_a_bar: bool = False) -> Usual:
    """Ends of the torque of a stud, in general or on a bar. [N m]"""
    across, table = stud_diameter(stud) * 1000.0, load("published/torque")
    columns = {float(name[1:]): name for name in table.columns if name != table.key}
    near = min(columns, key=lambda each: abs(each - across))
    scale = 1.0 if abs(near - across) < 0.5 else (across / near) ** 3
    busbar = (table.value(table.row("copper busbar joints"), columns[near]) or 0.0) * scale
    dry = (table.value(table.row("steel class 8.8, dry"), columns[near]) or 0.0) * scale
    most = (table.value(table.row("main-circuit copper connections"), columns[near]) or 0.0) * scale
    return Usual(LOOSE * busbar, BARELY * busbar, min(dry, MORE * most) if on_a_bar else dry, STRONGER * dry)


def _judged(plan: Plan, path: str, stud: str, torque: float, joints: list[Joint]) -> Finding:
    owner = terminal_of(plan.bank, joints[0])
    copper = owner.kind.startswith("bar ")
    ends, what = ends_of(stud, copper), "1.2 times the most for copper" if copper else "a dry bolt of steel 8.8"
    most = Figure(ends.high or 0.0, "torque")
    text = say(
        "{owner} is given {torque} for its {stud}; {what} is {most}",
        owner=owner.kind,
        torque=Figure(torque, "torque"),
        stud=stud,
        what=what,
        most=most,
    )
    inputs = (
        given("T", f"torque of {owner.kind}", torque, "torque", plan.bank.key(f"{path}.torque")),
        Input("T_max", f"{what}, {stud}", most, PUBLISHED),
        Input("T_Cu", f"copper busbar joint, {stud}", Figure((ends.low or 0.0) / BARELY, "torque"), PUBLISHED),
    )
    who = "Read it again, with its unit; copper and its studs take" if copper else f"Ask {owner.kind}'s maker for"
    do = say("{how}", how=f"{who} " + ("less than bolts of steel." if copper else "the torque, with unit."))
    places = dict.fromkeys(joint.post or joint.device or joint.name for joint in joints)
    return _CARD.found(
        (owner.owner, joints[0].name),
        Figure(torque, "torque"),
        ends.possible,
        text,
        do,
        inputs=inputs,
        caution_limits=ends.steps,
        more=tuple(place for place in places if place != owner.owner),
    )


CHECKS = (torque_suits_the_stud,)
