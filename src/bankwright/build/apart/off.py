"""Steps that take cables and modules off a bank that was proved dead.

Gives: cable_steps(), out_steps(). One pole whole before the other, the end at the modules first, each end capped and
covered before the next is opened.
Limits: none of these is done before build/apart/dead.
Source: the reverse of build/joints/order; order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bankwright.bank.model import Bank, Joint, Link, Module
from bankwright.build.joints.order import Bolting, first_pole, stack_of
from bankwright.build.steps.make import DROPPED, LIVE, caution, make_step
from bankwright.forms.sheets import Step, Tick

__all__ = ["cable_steps", "out_steps"]


def cable_steps(bank: Bank, links: Sequence[Bolting], currents: Mapping[str, float] | None) -> Iterator[Step]:
    """One cable a step; one pole whole before the other."""
    last = "apart.proved"
    poles = [bank.link(bolting.link).pole for bolting in links]
    for bolting in _one_pole_at_a_time(bank, links):
        step = _cable(bank, bank.link(bolting.link), bolting, last, currents)
        yield step
        last = step.id
    if len(set(poles)) == 2 and bank.site.earthing.pole in ("minus", "plus") and len(links) == len(bank.links):
        yield _earth(bank, last)


def _one_pole_at_a_time(bank: Bank, links: Sequence[Bolting]) -> Iterator[Bolting]:
    """The pole that was bolted last comes off first, whole; each in the reverse of its bolting."""
    first = first_pole(bank)
    yield from (bolting for bolting in links if bank.link(bolting.link).pole != first)
    yield from (bolting for bolting in links if bank.link(bolting.link).pole == first)


def _cable(bank: Bank, link: Link, bolting: Bolting, after: str, currents: Mapping[str, float] | None) -> Step:
    joints = [joint for name in reversed(bolting.joints) for joint in bank.joints if joint.name == name]
    places = [joint.name.split("@", 1)[1] for joint in joints]
    return make_step(
        f"apart.link.{link.name}",
        f"Take off {link.name}: {link.a} to {link.b}",
        (
            f"Covers off at {places[0]} alone. Nut off, lug off, a cap over the lug, the cover back over the post.",
            *_others(bank, joints, currents),
            f"Then the next: {', then '.join(places[1:])}. Cap, cover, before anything else is opened.",
            "The cable leaves the rack, named at both ends; nothing hangs free.",
        )
        if len(places) > 1
        else (
            f"Covers off at {places[0]} alone. Nut off, this lug off, a cap over it, tied back; the cable's other end "
            "stays bolted.",
            *_others(bank, joints, currents),
        ),
        "What was opened is off and capped; no post is bare.",
        {"ends": f"{link.a} to {link.b}"},
        at=(link.name, *(joint.name for joint in joints)),
        after=(after,),
        hands="two people",
        tools=("insulated tools", "lug caps"),
        cautions=(
            LIVE,
            caution(f"One pole at a time: only {'plus' if link.pole == '+' else 'minus'} is open now."),
            DROPPED,
        ),
        ticks=(
            *(Tick(f"off/{joint.name}", f"{joint.name.split('@', 1)[1]} off, capped, covered") for joint in joints),
        ),
    )


def _others(bank: Bank, joints: list[Joint], currents: Mapping[str, float] | None) -> Iterator[str]:
    """What lies under or over a lug on its post, so that the hand knows what it meets."""
    for joint in joints:
        stack = [] if joint.post is None else [j.link for j in stack_of(bank, joint.post, currents)]
        if len(stack) > 1:
            yield (
                f"On {joint.post}, from the post outward: {', '.join(stack)}. What stays there gets its washers, its "
                "nut and its torque again, with a new line."
            )


def _earth(bank: Bank, after: str) -> Step:
    earthing = bank.site.earthing
    return make_step(
        "apart.earth",
        f"Earthing conductor of the {earthing.pole} pole off, last",
        (
            "Only now, with both poles bare: the conductor from "
            f"{' and '.join(earthing.at) or 'its post'} to the earth bar.",
        ),
        "The conductor is off; the bond of the frame stays until the modules are out.",
        {"pole": str(earthing.pole)},
        at=tuple(post for post in earthing.at if post in bank),
        after=(after,),
        hands="two people",
        cautions=(caution("An electrician's: the earth bar belongs to the house."),),
        ticks=(Tick("off", "Off at both ends"),),
    )


def out_steps(bank: Bank, what: str | None, links: Sequence[Bolting]) -> Iterator[Step]:
    """Modules out of the rack from the top; or one of them, and how it comes back."""
    last = f"apart.link.{links[-1].link}" if links else "apart.proved"
    modules = [m for m in reversed(bank.modules) if what in (None, m.name)]
    for module in modules:
        yield _module_out(module, last)
        last = f"apart.module.{module.name}"
    if what is None:
        return
    yield _back(bank, what, bool(modules), last)


def _module_out(module: Module, after: str) -> Step:
    name = module.name
    return make_step(
        f"apart.module.{name}",
        f"{name} out of its place",
        (
            f"Data cables of {name} off; its neighbours' ends are not left hanging in the line.",
            f"Covers on all posts of {name}. Front screws out last; its rails carry it.",
            "Slide it onto a lift table at the height of its rails. Nobody stands below it.",
        ),
        f"{name} stands upright, covered, off, away from anything that burns.",
        {"kind": module.kind.name},
        at=(name,),
        after=(after,),
        hands="a lift",
        tools=("lift table",),
        cautions=(caution("Let a falling module fall. Feet and hands stay out from under it."),),
        ticks=(Tick("out", f"{name} out, covered"),),
    )


def _back(bank: Bank, what: str, module: bool, after: str) -> Step:
    acts = ["Bolt what came off in the reverse of this sheet, each nut to its maker's torque, a new line over it."]
    if module:
        acts += [
            "A new module: receiving card first, its data in the file, Plan again; it goes in as in Build.",
            "Then Match, all modules read again: it is joined in the order that Match gives, never by its volts alone.",
            f"Its baseline begins anew: joints, resistance and share of {what} from its first readings. Write that "
            f"down: bankwright build FILE --anew {what}",
        ]
    else:
        acts += [
            "Read the joints that were opened under load and write them down: they begin a new baseline, which is "
            f"written down by bankwright build FILE --anew {what}"
        ]
    acts.append("Each pole to the frame again, before the first module is switched on.")
    return make_step(
        "apart.back",
        f"Before the bank is closed again without or with {what}",
        acts,
        "What was opened is closed by Build's rules; nothing is joined before Match says so.",
        {"what": what},
        at=(what,) if what in bank else (),
        after=(after,),
        hands="two people",
        cautions=(LIVE,),
        ticks=(
            Tick("torque", "Torqued, lines, photos"),
            Tick("covers", "Every cover back"),
            Tick("match", "Match asked"),
        ),
    )
