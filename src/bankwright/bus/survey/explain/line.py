"""What concerns the whole line: another master, another protocol, wrong speed, a stuck driver, echo, rest level.

Gives: RULES: functions of the facts that yield explanations.
Sources: signatures of wrong speed, parity and swapped pair: own receiver model, bit by bit (uart.py, tests).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from bankwright.bus.exchange import Exchange
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.modbus.others import frames_in
from bankwright.bus.modbus.taken import FRAMING
from bankwright.bus.survey.explain.told import Explanation, listing, meter_test, named
from bankwright.bus.survey.facts import Facts, text_frames
from bankwright.bus.uart import heard, wave
from bankwright.forms.wording import Figure, Say

__all__ = ["RULES", "texts_of", "tries_of"]

LEAST_FRAMES = 2  # of Modbus among text: one passes its check by chance once in 65536 places


def tries_of(facts: Facts) -> list[Exchange]:
    """Every request of the survey."""
    return [each for asked in facts.asked.values() for each in asked.tries]


def _all_bytes(facts: Facts) -> bytes:
    return facts.before.got.data + b"".join(each.got.data for each in tries_of(facts))


def texts_of(facts: Facts) -> tuple[bytes, ...]:
    """Whole frames of another protocol than the bank file says, among all that was heard."""
    heard = _all_bytes(facts)
    if facts.expected.language == "modbus":
        return text_frames(heard)
    found = [heard[frame.start : frame.end] for frame in frames_in(heard)]
    return tuple(found) if len(found) >= LEAST_FRAMES else ()


def second_master(facts: Facts) -> Iterator[Explanation]:
    """Requests that this computer did not send."""
    own = {each.request for each in tries_of(facts)}
    pairs = facts.before.foreign
    if not pairs and not any(f.role == "request" for e in tries_of(facts) for f in e.taken.strangers):
        return
    units = sorted({request.unit for request, _ in pairs})
    known = facts.expected.masters
    writes = any(request.writes for request, _ in pairs)
    seconds = Figure(facts.before.seconds, "time")
    words = f"{len(pairs)} requests to {listing(named(facts, u) for u in units)} in {{seconds}} that this computer "
    words += "did not send." + (" Some of them change settings." if writes else "")
    words += "" if own else " So this computer asked nothing and only listened."
    why = f"the file names {listing(known)} as master" if known else "who it is cannot be heard"
    what = f"{known[0]}'s" if known else "the inverter's"
    test = Say(
        f"Switch {what} data link off at its own panel for 1 min and listen again. If the requests stop, it was that. "
        "Then let it ask and this computer only listen."
    )
    observed = Say(words, {"seconds": seconds})
    yield Explanation("BUS-MASTER", "Somebody else asks on this line", "caution", known, observed, "certain", why, test)


def _kind(frame: bytes) -> str:
    if frame[:1] == b":":
        return "Modbus ASCII"
    return "text frames that begin with ~, as of YD/T 1363" if frame[:1] == b"~" else "Modbus RTU frames"


def other_protocol(facts: Facts) -> Iterator[Explanation]:
    """The line is right, the language is another: of all, or of somebody beside the others."""
    found = texts_of(facts)
    own = "Modbus" if facts.expected.language == "modbus" else "text"
    if not found or facts.spoken:
        return
    alone = not facts.found
    rest = f"and no {own} frame" if alone else f"beside the {own} frames of others"
    observed = Say(f"{len(found)} whole {_kind(found[0])} were heard at {facts.framing}, {rest}.")
    then = "the same line often speaks Modbus RTU after it" if own == "Modbus" else "many kinds speak both"
    test = Say(
        f"Look in the module's manual for a switch or a setting of the protocol, and for the other sockets: {then}. "
        "Set one module, wake it again, and ask it alone."
    )
    why = "whole frames cannot come by chance: wires, speed and parity are right"
    title = "The modules speak another protocol" if alone else "Somebody on this line speaks another protocol"
    at = () if alone else tuple(target.name for target in facts.silent)
    verdict: Literal["fail", "caution"] = "fail" if alone or at else "caution"
    yield Explanation("BUS-PROTOCOL", title, verdict, at, observed, "certain", why, test)


_LANGUAGES = {"modbus": "Modbus RTU", "ascii frames": "ASCII frames, as of YD/T 1363"}


def answered_otherwise(facts: Facts) -> Iterator[Explanation]:
    """Who was silent answered when asked in the other language."""
    if not facts.spoken:
        return
    first = facts.spoken[0]
    at = tuple(named(facts, each.unit) for each in facts.spoken)
    other, own = _LANGUAGES[first.language], _LANGUAGES[facts.expected.language]
    observed = Say(f"{listing(at)} did not answer to {own} and answered to {other}, twice, at {first.framing}.")
    what = "modbus" if first.language == "modbus" else "ascii frames"
    test = Say(
        f'Write protocol = "{what}" under [bus] with a map of that kind, or set the protocol to {own} by the module\'s '
        "switches or its software; then survey again."
    )
    alone = not facts.found
    who = f"{listing(at)} {'speaks' if len(at) == 1 else 'speak'}"
    title = "The modules speak another protocol" if alone else f"{who} another protocol than the others"
    why = "whole answers with a right check: wires, speed and address are right"
    yield Explanation("BUS-PROTOCOL", title, "fail", at, observed, "certain", why, test)


def wrong_speed(facts: Facts) -> Iterator[Explanation]:
    """Answers, or whole frames of others, came with another speed or parity."""
    for tuned in facts.tuned:
        names = tuple(named(facts, unit) for unit in tuned.answered)
        who = f"{listing(names)} answered" if names else "Whole frames of another master were heard"
        others = [u for u in facts.found if u not in tuned.answered]
        observed = Say(f"{who} at {tuned.framing}, and not at {facts.framing}, which the bank file says.")
        same_baud = facts.framing is not None and tuned.framing.baud == facts.framing.baud
        title = "Another parity than the file says" if same_baud else "Another speed than the file says"
        if tuned.listened is not None and not names:
            title = "Another master speaks with another speed or parity"
        if others:
            test = Say(f"Set {listing(names)} to {facts.framing} by its switches or its software, and wake it again.")
        else:
            baud, parity = tuned.framing.baud, tuned.framing.parity
            test = Say(f'Write baud = {baud} and parity = "{parity}" under [bus] in the bank file, and survey again.')
        sure = "whole replies with a right check, twice"
        yield Explanation("BUS-SPEED", title, "fail", names, observed, "certain", sure, test)


def babble(facts: Facts) -> Iterator[Explanation]:
    """Bytes without end, and never a frame."""
    before = facts.before
    if not before.flooded or facts.tuned:
        return
    marks = before.got.marked(FRAMING)
    share = Figure(min(before.load, 1.0), "share")
    observed = Say(
        f"{len(before.got.data)} characters before anything was asked, the line busy {{share}} of the time, no whole "
        f"frame among them at any speed tried; {marks} without a stop bit.",
        {"share": share},
    )
    test = Say(
        "Pull the data plugs one after the other, from the far end, listening each time. Where it becomes quiet, the "
        "device whose plug is out was sending."
    )
    why = "a device that sends without end, or noise on a line without a rest level, look alike"
    yield Explanation("BUS-BABBLE", "Somebody sends without end", "fail", (), observed, "likely", why, test)


def _turned_heads(facts: Facts) -> set[bytes]:
    """How the first two characters of a reading request to any planned module sound with the pair swapped."""
    framing = facts.framing
    if framing is None:
        return set()
    said = [bytes((target.unit, code, 0)) for target in facts.expected.modules for code in (3, 4)]
    if facts.expected.language == "ascii frames":
        known = facts.expected.register_map
        version = known.version if isinstance(known, MessageMap) else 0x20
        said = [f"~{version:02X}".encode("ascii")]
    return {heard(wave(each, framing, 0.0, framing, inverted=True), framing).data[:2] for each in said}


def swapped(facts: Facts) -> Iterator[Explanation]:
    """What others say sounds as a swapped pair turns it."""
    got = facts.before.got.data
    count = sum(got.count(head) for head in _turned_heads(facts) if len(head) == 2)
    chance = len(got) * len(_turned_heads(facts)) / 65536
    if facts.tuned or facts.before.frames or count < 3 + 5 * chance:
        return
    observed = Say(
        f"{count} times two characters came that a reading request to a planned module becomes with every level turned."
    )
    test = Say("Swap the two data wires at the adapter and survey again: a swap harms nothing.")
    why = f"chance alone would give {chance:.1f}"
    title = "The pair is swapped at this computer"
    yield Explanation("BUS-SWAPPED", title, "fail", (), observed, "nearly certain", why, test)


def stuck(facts: Facts) -> Iterator[Explanation]:
    """The line is held: one character without a stop bit, then nothing; or the own echo comes as zeros."""
    got = facts.before.got
    broken = bool(got.data) and not any(got.data) and len(got.data) <= 3 and got.marked(FRAMING) > 0
    echoes = [e for e in tries_of(facts) if e.got.data and not any(e.got.data) and len(e.got.data) < 8]
    if facts.found or not (broken or len(echoes) >= 2):
        return
    what = "One character without a stop bit, then silence" if broken else "Only zeros"
    tail = f", and zeros instead of this computer's own request {len(echoes)} times" if len(echoes) >= 2 else ""
    test = meter_test(
        facts.expected,
        "Then, with the adapter on and all data plugs out but the adapter's, listen again; put the plugs back one by "
        "one. The device after which the line is dead holds it, or has its two wires swapped.",
    )
    title = "The line is held at one level"
    observed = Say(f"{what}{tail}. Nobody answers.")
    why = "a driver that does not let go, a short, and a pair swapped at the adapter look alike"
    yield Explanation("BUS-STUCK", title, "fail", (), observed, "likely", why, test)


def echo(facts: Facts) -> Iterator[Explanation]:
    """The adapter hears itself: harmless, once known; an altered echo is a collision."""
    tries = tries_of(facts)
    altered = [each for each in tries if each.taken.echo_differs]
    if facts.echo:
        count = sum(each.taken.echo for each in tries)
        observed = Say(f"{count} of {len(tries)} requests came back to this computer unchanged before the reply.")
        why = "the bytes are the request's own; they are left out of the reply"
        yield Explanation("BUS-ECHO", "The adapter hears itself", "pass", (), observed, "certain", why)
    if len(altered) >= 2:
        observed = Say(f"{len(altered)} of {len(tries)} own requests came back altered.")
        test = Say("Pull the plug of every other device that may ask (inverter, display, gateway) and survey again.")
        why = "two senders at once alter what is heard"
        title = "Somebody speaks at the same time as this computer"
        yield Explanation("BUS-CLASH", title, "fail", (), observed, "nearly certain", why, test)


RULES = (second_master, other_protocol, answered_otherwise, wrong_speed, babble, swapped, stuck, echo)
