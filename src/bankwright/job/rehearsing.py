"""A rehearsal of first power-up: the sheet of this bank, a pretend hand, the pretend rack on the data bus.

Gives: rehearsal(), usual_faults(); FAULTS, Found, Planted, Rehearsal, planted from the rooms below.
Limits: everything that is read is invented; nothing outside the program is opened and nothing is kept.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from bankwright.bus.of_bank import START, expected_of, framing_of, map_of, targets_of
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.troubles import trouble
from bankwright.bus.pretend.virtual import VirtualWire
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.explain.every import explain
from bankwright.prove.rehearse.planted import FAULTS, Planted, planted
from bankwright.prove.rehearse.walk import Found, Rehearsal, Survey, rehearse
from bankwright.prove.sheet.due import SurveyTold

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.job import Job

__all__ = ["FAULTS", "Found", "Planted", "Rehearsal", "planted", "rehearsal", "usual_faults"]

WHEN = "rehearsal"


def usual_faults(bank: Bank) -> tuple[Planted, ...]:
    """One of each sort that this bank can have, apart from each other."""
    modules = [module.name for module in bank.modules]
    middle = modules[len(modules) // 2]
    joint = next((j.name for j in bank.joints if j.post is not None and j.post.startswith(middle)), None)
    mains = {link.name for link in bank.links if link.role == "main"}
    device = next((d.name for d in bank.devices if d.on in mains and d.kind.resistance is not None), None)
    texts = [f"reversed:{modules[-1]}", *((f"low:{middle}", *_unplug(bank)) if len(modules) > 1 else ())]
    texts += ["bond"] if bank.inverters else []
    texts += [f"tired:{device}"] if device else []
    texts += [f"loose:{joint}"] if joint else []
    return tuple(planted(text, bank) for text in texts)


def _unplug(bank: Bank) -> tuple[str, ...]:
    targets = targets_of(bank) if bank.bus else ()
    return (f"unplug:{targets[-1].name}",) if len(targets) > 1 else ()


def rehearsal(job: Job, faults: tuple[Planted, ...]) -> Rehearsal:
    """Walk the whole sequence on a pretend bank with these faults."""
    return rehearse(job.bank, faults, _asked(job))


def _asked(job: Job) -> Survey | None:
    """How the pretend rack answers a survey; None without a data bus or its map."""
    bank = job.bank
    register_map = map_of(bank, job.path.parent) if bank.bus is not None else None
    if register_map is None:
        return None
    places = [Place(target.name, target.unit) for target in targets_of(bank)]
    names = tuple(place.name for place in places)
    values = {name: {"voltage": 53.2, "current": 0.0, "soc": 0.6} for name in names}
    wanted = replace(expected_of(bank, register_map), serials={})
    known: dict[tuple[str, ...], tuple[SurveyTold, ...]] = {}

    def told(faults: tuple[Planted, ...]) -> tuple[SurveyTold, ...]:
        pulled = tuple(fault.at for fault in faults if fault.sort == "unplug")
        if pulled not in known:
            troubles = [trouble(f"unplug:{name}", names) for name in pulled]
            line = pretend_line(places, register_map, framing_of(bank) or START, lambda _: values, troubles)
            found = explain(survey(VirtualWire(line), wanted, How()))
            known[pulled] = tuple(
                SurveyTold(e.code, e.verdict, e.at, e.title, e.test.text() if e.test else "", WHEN) for e in found
            )
        return known[pulled]

    return told
