"""Torque of each joint: always the maker's figure, never a default; figures that look wrong are questioned.

Gives: torque_words(), torque_findings(), ask_torque(), TorqueAnswer, torque_answers(). The figure comes from the
kind of the post's owner; a joint without one is `unknown`, with the question to send.
Limits: published fastener torques serve for plausibility alone: M8 spans 13 to 28 N m there, and module terminals
are often far lower. A figure above that of copper busbar joints of the same thread is one for a steel joint: it
strips a terminal.
Sources: NEC 110.14(D) (2017 calibrated tool, 2020 approved means, read); handbook/data/torque_plausible.toml.
"""

from __future__ import annotations

import re
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank, Joint
from bankwright.bank.pieces.bolts import Bolt
from bankwright.bank.pieces.wiring import terminal_name
from bankwright.bank.terminals import stud_missing, terminal_of
from bankwright.build import cards
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, amount_text, say
from bankwright.handbook.tables import OutsideTable, look_up

__all__ = [
    "TorqueAnswer",
    "ask_torque",
    "shared_bolt_findings",
    "torque_answers",
    "torque_findings",
    "torque_words",
]

TORQUE_SOURCE = Source("NEC", "2017, 2020", "110.14(D): as marked or instructed by the maker", "read")
OUTLIER = 2.0  # a figure more than twice the middle of the others is questioned; common practice, no source
SAME_TORQUE = 0.01  # makers' figures this close are one figure; rounding of units
_BARE = re.compile(r"\s*\d+(?:\.\d+)?\s*")


def ask_torque(bank: Bank, joint: Joint) -> Missing:
    """What to ask, and whom."""
    terminal = terminal_of(bank, joint)
    if not terminal.path:
        return stud_missing(bank, joint)
    how = f"Ask the maker for the torque of the terminals of {terminal.kind}; no table can stand in."
    return asking(f"{terminal.path}.torque", how)


def torque_words(joint: Joint, units: str = "metric") -> str:
    """The torque of a joint as the hand needs it."""
    return "torque not known" if joint.torque is None else amount_text(joint.torque, "torque", units)


def torque_findings(bank: Bank, joint: Joint) -> Iterator[Finding]:
    """Unknown where the maker's figure is missing; a caution where it looks like one for a steel joint."""
    terminal = terminal_of(bank, joint)
    if joint.torque is None:
        yield cards.TORQUE.found(
            joint.name,
            None,
            (None, None),
            say("The file gives no torque for {owner}.", owner=terminal.owner),
            say("Do not tighten {joint} before the maker's torque is in the file.", joint=joint.name),
            missing=(ask_torque(bank, joint),),
        )
        return
    try:
        usual = look_up("published/torque", "copper busbar joints", (joint.stud or "").lower())
    except (OutsideTable, KeyError):
        return
    if joint.torque > usual.value:
        assert isinstance(usual.origin, Source)
        inputs = (
            Input("T", "torque in the file", Figure(joint.torque, "torque"), bank.key(f"{terminal.path}.torque")),
        )
        text = say(
            "{joint}: {torque}; copper joints of this thread are published with {usual}.",
            joint=joint.name,
            torque=Figure(joint.torque, "torque"),
            usual=Figure(usual.value, "torque"),
        )
        yield cards.TORQUE_ODD.found(
            joint.name,
            Figure(joint.torque, "torque"),
            (None, usual.value),
            text,
            say("Ask the maker of {owner} again: a steel-joint torque strips a terminal.", owner=terminal.owner),
            source=usual.origin,
            inputs=inputs,
        )


def shared_bolt_findings(bolt: Bolt) -> Iterator[Finding]:
    """A caution where two makers give different torques for what sits under one nut."""
    owner = bolt.owner
    for other in bolt.joints:
        if other.device is None or other is owner or other.torque is None or owner.torque is None:
            continue
        if abs(other.torque - owner.torque) > SAME_TORQUE * owner.torque:
            text = say(
                "{one} {torque} and {other} {second} are under one nut.",
                one=terminal_name(owner),
                torque=Figure(owner.torque, "torque"),
                other=terminal_name(other),
                second=Figure(other.torque, "torque"),
            )
            yield cards.ONE_NUT.found(
                owner.name,
                None,
                (None, None),
                text,
                say("Ask both makers which torque rules; the one whose stud it is stands on the sheet."),
                forced="caution",
                more=(other.name,),
            )


@dataclass(frozen=True, slots=True)
class TorqueAnswer:
    """One of several answers to the question of a torque: converted, and what is odd about it."""

    as_given: str
    low: float | None  # N m
    high: float | None
    questions: tuple[str, ...]


def torque_answers(texts: Sequence[str]) -> tuple[TorqueAnswer, ...]:
    """Lay answers side by side in N m; outliers and figures without a unit are questioned, none is chosen."""
    read = [_read(text) for text in texts]
    middles = [(low + high) / 2 for low, high in read if low is not None and high is not None]
    answers = []
    for text, (low, high) in zip(texts, read, strict=True):
        questions = []
        if low is None or high is None:
            bare = _BARE.fullmatch(text) is not None
            questions.append("no unit: N m, in-lb or ft-lb?" if bare else "not a torque that can be read")
        else:
            others = list(middles)
            others.remove((low + high) / 2)
            middle = statistics.median(others) if others else None
            if middle is not None and (low + high) / 2 > OUTLIER * middle:
                questions.append(f"more than twice the others ({middle:.1f} N m in the middle): for a steel joint?")
            elif middle is not None and (low + high) / 2 < middle / OUTLIER:
                questions.append(f"less than half of the others ({middle:.1f} N m in the middle): another unit?")
        answers.append(TorqueAnswer(text, low, high, tuple(questions)))
    return tuple(answers)


def _read(text: str) -> tuple[float | None, float | None]:
    spread = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*(\D.*)", text)
    try:
        if spread:
            return parse(f"{spread[1]} {spread[3]}", "torque").nominal, parse(
                f"{spread[2]} {spread[3]}", "torque"
            ).nominal
        value = parse(text, "torque")
    except QuantityFault:
        return None, None
    return value.low, value.high
