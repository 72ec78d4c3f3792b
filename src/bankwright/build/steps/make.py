"""Making a step: its digest follows from what it rests on in the bank file, so that a change opens it again.

Gives: make_step(), Ground, said(), caution(), switch_finding(), LIVE, DROPPED: cautions that several steps share.
Limits: no step is made here; see build/steps/frame, modules, cables, mount, wiring, end.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.bank.pieces.piece import Piece
from bankwright.build import cards
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.sheets import Caution, ReadingWanted, Step, Tick
from bankwright.forms.wording import Figure, Say, say

__all__ = [
    "DROPPED",
    "LIVE",
    "ORDER_SOURCE",
    "Ground",
    "caution",
    "make_step",
    "off_findings",
    "said",
    "switch_finding",
]

ORDER_SOURCE = Source(
    "order of work", place="principles from IEC 62485-5 and NFPA 70E 120, 320", how_known="common practice, no source"
)
_PPE = Source("NFPA 70E", "", "article 320, risk assessment", "from memory")


@dataclass(frozen=True, slots=True)
class Ground:
    """What all steps are made from: the bank, its pieces, solved currents by link, computed figures by name."""

    bank: Bank
    pieces: tuple[Piece, ...]
    currents: Mapping[str, float] | None
    figures: Mapping[str, Figure | str]

    def ids(self, *starts: str, at: Iterable[str] | None = None) -> tuple[str, ...]:
        """Ids of pieces that begin so, at these places where places are given."""
        places = None if at is None else set(at)
        return tuple(
            piece.id
            for piece in self.pieces
            if piece.id.startswith(starts) and (places is None or places & set(piece.at))
        )


def said(*sentences: str) -> tuple[Say, ...]:
    """Plain sentences as acts; braces in names stay as they are."""
    return tuple(Say("{text}", MappingProxyType({"text": sentence})) for sentence in sentences)


def caution(words: str, source: Source | None = None) -> Caution:
    """A caution in a plain sentence."""
    return Caution(said(words)[0], source)


LIVE = caution(
    "Treat every post as live, even when the module is off. Insulated tools, covers on every row you are not "
    "working on.",
    _PPE,
)
DROPPED = caution(
    "A tool dropped across the poles is a short circuit. Metal off wrists, neck and fingers; eyes covered.", _PPE
)


def make_step(
    id_: str,
    title: str,
    acts: Sequence[str | Say],
    done: str | Say,
    rests: Mapping[str, str],
    *,
    at: Sequence[str] = (),
    cautions: Sequence[Caution] = (),
    tools: Sequence[str] = (),
    pieces: Sequence[str] = (),
    hands: Literal["one person", "two people", "a lift"] = "one person",
    readings: Sequence[ReadingWanted] = (),
    ticks: Sequence[Tick] = (),
    after: Sequence[str] = (),
    findings: Iterable[Finding] = (),
    counted: Iterable[Finding] | None = None,
    source: Source | None = None,
) -> Step:
    """Make a step; findings that pass are left out, what they miss is listed with the step.

    `counted`: the findings that its digest counts, where they are not those that it tells.
    """
    if hands == "one person" and LIVE in cautions:
        hands = "two people"  # nobody works alone on posts that may be live
    told = tuple(finding for finding in findings if finding.verdict != "pass")
    grounds = _grounds(rests, told if counted is None else counted)
    missing = tuple(dict.fromkeys(item for finding in told for item in finding.missing))
    return Step(
        id_, title, tuple(said(act)[0] if isinstance(act, str) else act for act in acts),
        said(done)[0] if isinstance(done, str) else done, at=tuple(at), cautions=tuple(cautions), tools=tuple(tools),
        pieces=tuple(pieces), hands=hands, readings=tuple(readings), ticks=tuple(ticks),
        after=tuple(dict.fromkeys(after)), findings=told, missing=missing, source=source or ORDER_SOURCE,
        digest=_digest(id_, grounds), rests=MappingProxyType(grounds),
    )  # fmt: skip


def _grounds(rests: Mapping[str, str], findings: Iterable[Finding]) -> dict[str, str]:
    """What a step rests on: what it was told, and the verdicts that are no pass."""
    counts = [finding for finding in findings if finding.verdict != "pass"]
    return {**rests, **{" at ".join(part for part in (f.code, ", ".join(f.at)) if part): f.verdict for f in counts}}


def _digest(id_: str, rests: Mapping[str, str]) -> str:
    text = "\n".join([id_, *(f"{key}={value}" for key, value in sorted(rests.items()))])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def off_findings(module: Module) -> Iterator[Finding]:
    """Unknown where the file names no breaker: then nobody knows whether the module's posts can be made dead."""
    if module.kind.breaker is None:
        do = say(
            "Ask whether {module} can be switched off and what opens its posts. Until then they are live: its last "
            "cable joins it to the bank, so Match comes before that cable.",
            module=module.name,
        )
        missing = (asking(f"{module.kind.path}.breaker"),)
        yield cards.OFF.found(module.name, None, (None, None), None, do, missing=missing)


def switch_finding(bank: Bank) -> tuple[Finding, ...]:
    """Unknown where the bank file has no main switch: an inverter cable must end at an open one."""
    if any(device.kind.type == "disconnect" for device in bank.devices):
        return ()
    missing = (asking("devices"),)
    do = say("Do not bolt an inverter's cable, nor go on to Match, without a switch that keeps the inverters away.")
    return (cards.SWITCH.found((), None, (None, None), None, do, missing=missing),)
