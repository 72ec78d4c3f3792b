"""What an earlier stage failed, carried into the later ones: said on top, and marked where a thing rests on it.

Gives: Carried, NOTHING, carried_of(), failed_part() for a page to print, BOX. A thing rests on a failed finding where
its places and the finding's share a name, or where it is a joint of a link that failed.
Limits: a finding that names no place marks nothing and stands on top alone; nothing is blocked, the person decides.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from bankwright.forms.finding import Finding
from bankwright.forms.finding_text import against, places_text
from bankwright.forms.paper import listed, paragraph

__all__ = ["BOX", "NOTHING", "Carried", "carried_of", "failed_part"]

BOX = ("plan.fails", "known")  # step and box of the tick "I know" in the logbook
MARK = "of the failed design"


@dataclass(frozen=True, slots=True)
class Carried:
    """The fails of Plan as the stages after it tell them."""

    fails: tuple[Finding, ...]

    def __bool__(self) -> bool:
        """Is there anything to tell."""
        return bool(self.fails)

    @property
    def digest(self) -> str:
        """Changes when other things fail: then "I know" is asked anew."""
        rows = sorted(f"{f.code}@{','.join((*f.at, *f.more))}" for f in self.fails)
        return hashlib.sha256("\n".join(rows).encode()).hexdigest()[:16]

    @property
    def headline(self) -> str:
        """One sentence for the top."""
        count = len(self.fails)
        checks = "1 check of Plan fails" if count == 1 else f"{count} checks of Plan fail"
        return f'{checks}. What rests on {"it" if count == 1 else "them"} is marked "{MARK}".'

    def lines(self, units: str) -> tuple[str, ...]:
        """One line a fail: place on the sheet, what, where, figure against limit."""
        return tuple(_line(finding, units) for finding in self.fails)

    def touching(self, at: Iterable[str]) -> tuple[Finding, ...]:
        """The fails that a thing at these places rests on."""
        names = {part for name in at for part in (name, name.split("@", 1)[0])}
        return tuple(f for f in self.fails if names & {*f.at, *f.more})

    def mark(self, at: Iterable[str]) -> str:
        """`of the failed design: Plan 3.1`; empty where nothing that failed touches these places."""
        found = dict.fromkeys(finding.place for finding in self.touching(at))
        return f"{MARK}: {', '.join(found)}" if found else ""


NOTHING = Carried(())


def _line(finding: Finding, units: str) -> str:
    where = f", at {places_text((*finding.at, *finding.more))}" if finding.at else ""
    said = str(against(finding, units))
    return f"{finding.place} {finding.title}{where}" + (f": {said}" if said else "")


def failed_part(carried: Carried, units: str) -> list[str]:
    """What Plan fails, for the top of a printed page; nothing where nothing fails."""
    if not carried:
        return []
    return [paragraph(carried.headline, "caution"), listed(carried.lines(units)), listed(("I know",), boxes=True)]


def carried_of(findings: Iterable[Finding]) -> Carried:
    """The fails among findings, in their order."""
    return Carried(tuple(finding for finding in findings if finding.verdict == "fail"))
