"""Findings for drawings: one verdict or another at a place. Invented; they test where balloons stand."""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

__all__ = ["finding_at", "findings_everywhere"]

SOURCE = Source("invented for tests", how_known="derived")


def finding_at(place: str, verdict: str, code: str = "T-PLACE-1") -> Finding:
    """A finding of one verdict at one place."""
    return Finding(
        code=code,
        title=f"A finding at {place}",
        at=(place,),
        figure=Figure(104.0, "current", 95.0, 114.0),
        limits=(None, {"fail": 100.0, "caution": 118.0, "unknown": None, "pass": 200.0}[verdict]),
        source=SOURCE,
        do=say("Nothing."),
        missing=_missing() if verdict == "unknown" else (),
    )


def _missing() -> tuple[object, ...]:
    from bankwright.forms.finding import Missing

    return (Missing("wiring.link.insulation", "Read the print on the jacket."),)


def findings_everywhere(bank: Bank) -> tuple[Finding, ...]:
    """One finding at every place that a drawing shows, the verdicts in turn."""
    things = (*bank.modules, *bank.links, *bank.devices, *bank.bars, *bank.inverters, *bank.chargers, *bank.loads)
    verdicts = ("fail", "caution", "unknown")
    return tuple(finding_at(thing.name, verdicts[i % 3]) for i, thing in enumerate(things))
