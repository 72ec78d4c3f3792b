"""Poles of a floating bank against the frame, where a detector's two halves are heard.

Gives: frame_finding(), FRAME, Halves, halves().
Limits: two equal resistors from the poles to the frame; leaks that are equal at both poles are not seen by them, and
that is said. A bank whose pole is earthed reads 0 at it by design: nothing is judged.
Sources: halves of a healthy floating bank, 0 and the whole at a bolted fault: a trade page, and a paper of the Battcon
conference on ground faults (228) [copy]; 5 % of the whole before it is a leak: own choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.physics.insulation import leak_beside
from bankwright.watch.section import Asked

__all__ = ["FRAME", "Halves", "frame_finding", "halves"]

FRAME = Card(
    "W-LIMIT-3", "No pole of a floating bank leaks to the frame", "|U+ - U-| < 5 % of U",
    Source("Battcon paper 228, ground faults", how_known="copy, beside a trade page"),
    why="The first fault of a floating bank trips nothing. The second, on the other pole, is a short: so the first one"
    " is an alarm.",
)  # fmt: skip
EQUAL, BOLTED = 0.05, 0.02  # of the whole
DAY = 86400.0

Kind = Literal["none", "bolted", "partial"]


@dataclass(frozen=True, slots=True)
class Halves:
    """What the two halves say: kind of fault, the pole it lies at, and its resistance where it can be told. [ohm]"""

    kind: Kind
    pole: Literal["plus", "minus"] | None = None
    ohms: float | None = None


def halves(plus: float, minus: float, resistor: float | None) -> Halves:
    """Classify; `plus`, `minus`: sizes of both poles to the frame [V]; `resistor` of each pole to the frame [ohm]."""
    whole = plus + minus
    if not whole > 0 or abs(plus - minus) <= EQUAL * whole:
        return Halves("none")
    low = min(plus, minus)
    pole: Literal["plus", "minus"] = "plus" if plus < minus else "minus"
    ohms = None if resistor is None else leak_beside(low, max(plus, minus), resistor)
    return Halves("bolted" if low <= BOLTED * whole else "partial", pole, ohms)


def frame_finding(asked: Asked) -> Iterator[Finding]:
    """The last hour in which both halves were heard; nothing where none are, or where a pole is earthed."""
    earthing = asked.bank.site.earthing
    read = _read(asked)
    if read is None or earthing.pole in ("plus", "minus"):
        return
    plus, minus = read
    found = halves(plus, minus, earthing.detector_resistance)
    gaps: dict[str, Figure | str] = {
        "plus": Figure(plus, "frame_voltage"), "minus": Figure(minus, "frame_voltage"),
    }  # fmt: skip
    figure = Figure(abs(plus - minus), "frame_voltage")
    do = say("Do not earth or touch the other pole. Let an electrician find the fault, with the bank opened module by"
             " module: at the second fault there is a short.")  # fmt: skip
    if found.kind == "none":
        text = say("The poles stand {plus} and {minus} from the frame: no leak, or two equal ones, which this cannot"
                   " see", **gaps)  # fmt: skip
        yield FRAME.found("bank", figure, (None, None), text, do)
        return
    words = "The poles stand {plus} and {minus} from the frame: "
    words += "the {pole} pole lies at the frame" if found.kind == "bolted" else "the {pole} pole leaks to the frame"
    gaps["pole"] = str(found.pole)
    if found.ohms is not None:
        words += ", {ohms}"
        gaps["ohms"] = Figure(found.ohms, "resistance")
    yield FRAME.found("bank", figure, (None, None), say(words, **gaps), do, forced="fail")


def _read(asked: Asked) -> tuple[float, float] | None:
    """Sizes of plus and minus to the frame in the last hour in which both were heard. [V]"""
    bank: Bank = asked.bank
    poles = {post.name: post.pole for post in bank.posts} | {"bank.plus": "+", "bank.minus": "-"}
    heard = [s.at for s in asked.telemetry.signals() if s.quantity == "frame_voltage" and s.at in poles]
    sides = [[at for at in heard if poles[at] == pole] for pole in ("+", "-")]
    if not all(sides):
        return None
    places = (sides[0][0], sides[1][0])
    hours = asked.telemetry.rollup("frame_voltage", places, max(asked.since, asked.until - DAY), asked.until + 1).mean
    both = hours.value[np.isfinite(hours.value).all(axis=1)]
    return (abs(float(both[-1, 0])), abs(float(both[-1, 1]))) if len(both) else None
