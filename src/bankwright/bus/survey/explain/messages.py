"""What concerns a message map: return codes in words, answers that are longer or shorter than the map reads.

Gives: RULES: functions of the facts that yield explanations.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from bankwright.bus.ascii.reply import Information, TextRefusal
from bankwright.bus.messages.asks import MessageAsk, message_asks
from bankwright.bus.messages.decode import ReadMessage
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.survey.explain.told import Explanation, counted, listing, named
from bankwright.bus.survey.facts import Asked, Facts
from bankwright.forms.wording import Say

__all__ = ["RULES"]

_TESTS = {
    1: "Write version under the map as the module's manual prints it (VER), then survey again.",
    2: "Its own check of what arrived failed: see what the survey says of noise, and of the terminators.",
    3: "Its own check of what arrived failed: see what the survey says of noise, and of the terminators.",
    4: "Compare the codes CID1 and CID2 with the manual: group and command of the map.",
}
_ASKED = (
    "Compare the information that the manual sends with this command with `ask` of the map: nothing, FF, or address."
)


def refused(facts: Facts) -> Iterator[Explanation]:
    """Return codes: the wire is right, and the question is not."""
    known = facts.expected.register_map
    own = known.returns if isinstance(known, MessageMap) else {}
    found: dict[int, list[int]] = {}
    for unit, asked in facts.asked.items():
        for code in {each.code for each in asked.refusals if isinstance(each, TextRefusal)}:
            found.setdefault(code, []).append(unit)
    for code, units in found.items():
        who = tuple(named(facts, unit) for unit in sorted(units))
        words = own.get(code) or TextRefusal(code).words
        observed = Say(
            f"{listing(who)} answered with return code {code:02X}: {words}. Wires, speed and addresses are right."
        )
        test = Say(_TESTS.get(code, _ASKED))
        why = "return codes come with a right check"
        yield Explanation("BUS-MAP", "The message map does not fit", "fail", who, observed, "certain", why, test)


def _readings(asked: Asked, asks: tuple[MessageAsk, ...]) -> Iterator[tuple[MessageAsk, ReadMessage]]:
    """The last answer to each message."""
    for ask in asks:
        wanted = ask.request(asked.unit)
        replies = [each.reply for each in asked.tries if each.request == wanted and isinstance(each.reply, Information)]
        read = ask.read(replies[-1]) if replies else None
        if read is not None:
            yield ask, read


def _misfit(read: ReadMessage) -> str:
    """In words, without the module; empty where it fits."""
    if read.fits:
        return ""
    short = " and wants more" if read.short else ""
    words = [f"has {counted(read.size, 'byte')}; the map reads {read.used}{short}"]
    words += [f"{count} of {title} are counted, and the map keeps fewer" for title, count in read.over.items()]
    return "; ".join(words)


def misfits(facts: Facts) -> Iterator[Explanation]:
    """Answers whose length is not what the map reads, and lists longer than it keeps."""
    known = facts.expected.register_map
    asks = message_asks(known, ("fast", "slow", "once")) if isinstance(known, MessageMap) else ()
    found: dict[tuple[str, str, bool], list[int]] = {}
    for unit, asked in facts.asked.items():
        for ask, read in _readings(asked, asks):
            key = (f"{ask.message.command.value:02X}", _misfit(read), read.short or bool(read.over))
            if key[1]:
                found.setdefault(key, []).append(unit)
    for (code, words, is_wrong), units in found.items():
        who = tuple(named(facts, unit) for unit in sorted(units))
        observed = Say(f"The answer of {listing(who)} to {code} {words}.")
        verdict: Literal["fail", "caution"] = "fail" if is_wrong else "caution"
        why = "lengths come with their own check"
        title = "The message map does not fit"
        yield Explanation("BUS-MAP", title, verdict, who, observed, "certain", why, _COUNT_BYTES)


_COUNT_BYTES = Say(
    "Count the bytes of the answer in the manual, field by field, against the map: a count before a list that was left "
    "out, a list that is longer, or bytes that belong to nothing (skip)."
)

RULES = (refused, misfits)
