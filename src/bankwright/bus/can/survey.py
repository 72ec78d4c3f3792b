"""A survey of a CAN bus: listen for a while, look at the interface, explain.

Gives: survey_can(), explain_can().
Limits: in listen-only a controller tells of damage only where its driver does; a bus on which one module and this
computer are alone stays silent, because nobody acknowledges.
Sources: acknowledgement, error states: ISO 11898-1, from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Literal

from bankwright.bus.can.signals import CanMap
from bankwright.bus.can.source import CanSource
from bankwright.bus.can.status import LinkStatus, setting_commands
from bankwright.bus.can.tally import Tally, error_words
from bankwright.bus.overheard.explain import explain_overheard
from bankwright.bus.overheard.facts import Overheard, overheard
from bankwright.bus.poll import Target
from bankwright.bus.survey.explain.told import Explanation, counted
from bankwright.forms.wording import Say

__all__ = ["explain_can", "survey_can"]

MOST_NAMED = 8
TOO_OFTEN, LEAST_OFTEN = 1.6, 8  # times the DBC's pace; frames at least: common practice, no source
ALONE = (
    "One module alone with this computer never gets its frame acknowledged, and repeats it for ever: plug a second one "
    "in, or the inverter"
)
METER = (
    "Switch all off and measure between CAN-H and CAN-L: 60 ohm with two terminators, 120 ohm with one, about 0 is "
    "a short"
)


def survey_can(
    source: CanSource, can_map: CanMap, targets: Sequence[Target], seconds: float, tell: Callable[[str], None]
) -> tuple[Overheard, Tally]:
    """Listen so long; what was heard and the counts."""
    tell(f"listening {seconds:g} s; nothing is asked on a CAN bus")
    source.listen(source.now() + seconds)
    unknown = {str(number): times for number, times in source.tally.strangers.most_common(MOST_NAMED)}
    facts = overheard(source.standing, targets, can_map.signals, seconds=seconds, now=source.now(), strangers=unknown)
    return facts, source.tally


def explain_can(
    facts: Overheard, tally: Tally, can_map: CanMap, status: LinkStatus | None, bit_rate: float | None
) -> tuple[Explanation, ...]:
    """All explanations, worst first. `bit_rate` is what the bank file says. [bit/s]"""
    own = [*_interface(status, bit_rate), *_nothing(facts, tally, status), *_damaged(tally)]
    own += _doubled(facts, tally, can_map)
    own += [*_foreign(tally, can_map), *_short(tally, can_map), *_remote(tally)]
    return explain_overheard(facts, own)


def _interface(status: LinkStatus | None, bit_rate: float | None) -> Iterator[Explanation]:
    if status is None or status.is_virtual:
        return
    if bit_rate is not None and status.bit_rate is not None and round(bit_rate) != status.bit_rate:
        observed = Say(f"{status.name} is set to {status.bit_rate} bit/s, the bank file says {bit_rate:.0f} bit/s.")
        test = Say(f"Set it right, as administrator: {setting_commands(status.name, bit_rate)}")
        title = "The interface has another bit rate than the file"
        yield Explanation("BUS-RATE", title, "fail", (), observed, "certain", "read back from the system", test)
    if status.state in ("BUS-OFF", "STOPPED", "ERROR-PASSIVE"):
        observed = Say(f"The system says of {status.name}: {status.state}.")
        test = Say(f"{METER}. Then: {setting_commands(status.name, bit_rate or status.bit_rate)}")
        off = "The controller has left the bus"
        title = "The controller hears too many faults" if status.state == "ERROR-PASSIVE" else off
        yield Explanation("BUS-OFF", title, "fail", (), observed, "certain", "read back from the system", test)


def _nothing(facts: Overheard, tally: Tally, status: LinkStatus | None) -> Iterator[Explanation]:
    if tally.frames or tally.remote:
        return
    seconds = f"{facts.seconds:g} s"
    if tally.errors:
        words = "; ".join(error_words(tally.classes)) or "not said which"
        observed = Say(f"In {seconds} not one whole frame, and {counted(tally.errors, 'error frame')}: {words}.")
        test = Say(f"Try the other usual bit rates: 500, 250, 125 kbit/s. {_rate_words(status)}If none helps: {METER}.")
        title = "Frames are sent, and none comes whole: the bit rate is wrong, or the wires"
        yield Explanation("BUS-DAMAGED", title, "fail", (), observed, "likely", "swapped wires sound the same", test)
        return
    virtual = status is None or status.is_virtual
    if virtual:
        observed = Say(f"In {seconds} nothing came on this bus inside the machine.")
        test = Say("Is the pretend rack running, and is the name the one that it printed?")
        yield Explanation("BUS-NOTHING", "Nobody sends", "fail", (), observed, "certain", "nothing came", test)
        return
    observed = Say(f"In {seconds} not one frame and not one error frame.")
    test = Say(f"{METER}. {ALONE}. {_rate_words(status)}A wrong bit rate shows no error where the driver reports none.")
    why = "modules asleep, an open wire, swapped wires and a wrong bit rate are left"
    yield Explanation("BUS-NOTHING", "Nobody is heard", "fail", (), observed, "possible", why, test)


def _rate_words(status: LinkStatus | None) -> str:
    if status is None:
        return ""
    rate = f"The interface is set to {status.bit_rate} bit/s. " if status.bit_rate else ""
    counted_before = f"It counted {status.errors} damaged frames since it was made. " if status.errors else ""
    return rate + counted_before


def _damaged(tally: Tally) -> Iterator[Explanation]:
    if not tally.errors or not (tally.frames or tally.remote):
        return
    words = "; ".join(error_words(tally.classes)) or "not said which"
    share = tally.errors / (tally.errors + tally.frames)
    observed = Say(f"{counted(tally.errors, 'error frame')} beside {counted(tally.frames, 'whole frame')}: {words}.")
    verdict: Literal["fail", "caution"] = "fail" if share > 0.1 else "caution"
    why, test = "the controller counted them", Say(f"{METER}.")
    yield Explanation("BUS-DAMAGED", "Frames are damaged", verdict, (), observed, "certain", why, test)


def _doubled(facts: Overheard, tally: Tally, can_map: CanMap) -> Iterator[Explanation]:
    """A message of a module comes about twice as often as the DBC says: two may have one number."""
    paces = {
        route.message.name: route.message.cycle
        for route in can_map.routes.values()
        if route.message.cycle and not route.message.is_multiplexed and not any(m.number_in for m in route.meant)
    }
    for (message, module), count in tally.told.items():
        cycle = paces.get(message)
        if cycle is None or count < LEAST_OFTEN or count < TOO_OFTEN * (facts.seconds / cycle + 1):
            continue
        due = facts.seconds / cycle
        observed = Say(
            f"{message} of {module} came {count} times in {facts.seconds:g} s; the DBC says about {due:.0f}."
        )
        test = Say(
            f"Pull the data plug of {module}: if values of {module} still come, another module has its number. "
            "Count the modules heard against those installed."
        )
        title, why = f"More than one module may send as {module}", "a faster setting of the module looks the same"
        yield Explanation("BUS-DOUBLED", title, "caution", (module,), observed, "possible", why, test)
        return


def _foreign(tally: Tally, can_map: CanMap) -> Iterator[Explanation]:
    if not tally.foreign:
        return
    told = _ids(tally.foreign)
    if tally.decoded:
        observed = Say(f"Identifiers that the map does not know: {told}.")
        title = "Others send on this bus too"
        why = "frames of the map came as well"
        yield Explanation("BUS-FOREIGN", title, "pass", (), observed, "certain", why, None)
        return
    observed = Say(f"Frames came, none of them of the map. Identifiers: {told}.")
    test = Say(f"{_near(tally, can_map)}Compare with the identifiers in the module's manual.")
    title = "The map knows none of the frames"
    yield Explanation("BUS-FOREIGN", title, "fail", (), observed, "certain", "every frame was looked up", test)


def _near(tally: Tally, can_map: CanMap) -> str:
    """Which single thing would make some of them fit."""
    wanted, foreign = set(can_map.routes), set(tally.foreign)
    if any((number & can_map.keep, not extended) in wanted for number, extended in foreign):
        return "They would fit with the other length of identifier (11 or 29 bits: bit 31 in the DBC). "
    low = {(number & ~0xFF & can_map.keep, extended) for number, extended in foreign}
    if low & {(number & ~0xFF, extended) for number, extended in wanted}:
        return "They would fit if the lowest 8 bits did not matter (ignore = 0xFF: a source address). "
    return ""


def _short(tally: Tally, can_map: CanMap) -> Iterator[Explanation]:
    for found, what in (
        (tally.short, "shorter than the DBC says"),
        (tally.undecoded, "with a multiplexer value that the DBC lacks"),
    ):
        if not found:
            continue
        names = {
            can_map.routes[n & can_map.keep, ext].message.name
            for n, ext in found
            if (n & can_map.keep, ext) in can_map.routes
        }
        observed = Say(f"{counted(sum(found.values()), 'frame')} {what}: {', '.join(sorted(names))} ({_ids(found)}).")
        test = Say("Is the DBC that of this kind and version of module? Nothing is taken out of such frames.")
        title = "Frames that are not as the DBC says"
        yield Explanation("BUS-SHORT", title, "caution", (), observed, "certain", "counted frame by frame", test)


def _remote(tally: Tally) -> Iterator[Explanation]:
    if tally.remote:
        observed = Say(
            f"{counted(tally.remote, 'remote frame')} came: somebody asks for data on this bus, not this program."
        )
        title = "Somebody asks by remote frames"
        yield Explanation("BUS-REMOTE", title, "pass", (), observed, "certain", "they were heard", None)


def _ids(found: Counter[tuple[int, bool]]) -> str:
    told = (f"{number:08X}" if extended else f"{number:03X}" for (number, extended), _ in found.most_common(MOST_NAMED))
    more = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
    return ", ".join(told) + more
