"""Making a step: its digest follows from what it rests on in the bank file, so that a change opens it again.

Gives: make_step(), pieces_at(), LIVE, DROPPED: cautions that several steps share.
Limits: no step is made here; see steps_frame, steps_modules, steps_wiring, steps_end.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.bank.piece import Piece
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.sheets import Caution, ReadingWanted, Step, Tick
from bankwright.forms.wording import Figure, Say, say

__all__ = ["DROPPED", "LIVE", "ORDER_SOURCE", "Ground", "caution", "make_step", "said", "switch_finding"]

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
    source: Source | None = None,
) -> Step:
    """Make a step; findings that pass are left out, what they miss is listed with the step."""
    told = tuple(finding for finding in findings if finding.verdict != "pass")
    grounds = {**rests, **{" at ".join(part for part in (f.code, ", ".join(f.at)) if part): f.verdict for f in told}}
    missing = tuple(dict.fromkeys(item for finding in told for item in finding.missing))
    return Step(
        id_,
        title,
        tuple(said(act)[0] if isinstance(act, str) else act for act in acts),
        said(done)[0] if isinstance(done, str) else done,
        tuple(at),
        tuple(cautions),
        tuple(tools),
        tuple(pieces),
        hands,
        tuple(readings),
        tuple(ticks),
        tuple(dict.fromkeys(after)),
        told,
        missing,
        source or ORDER_SOURCE,
        digest=_digest(id_, grounds),
        rests=MappingProxyType(grounds),
    )


def _digest(id_: str, rests: Mapping[str, str]) -> str:
    text = "\n".join([id_, *(f"{key}={value}" for key, value in sorted(rests.items()))])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def switch_finding(bank: Bank) -> tuple[Finding, ...]:
    """Unknown where the bank file has no main switch: an inverter cable must end at an open one."""
    if any(device.kind.type == "disconnect" for device in bank.devices):
        return ()
    missing = (Missing("devices", "List the main switch: a disconnect on the mains.", "decide"),)
    do = say("Do not bolt an inverter's cable, nor go on to Match, without a switch that keeps the inverters away.")
    title = "There is a main switch to keep open"
    return (Finding("BLD-SWITCH", title, (), None, (None, None), ORDER_SOURCE, do, "code", missing=missing),)
