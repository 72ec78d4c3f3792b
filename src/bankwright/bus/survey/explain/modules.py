"""What concerns modules: who is there, who is not, two at one address, late ones, strangers.

Gives: RULES: functions of the facts that yield explanations.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bus.exchange import Outcome
from bankwright.bus.survey.explain.line import texts_of
from bankwright.bus.survey.explain.told import Explanation, Sure, listing, meter_test, named
from bankwright.bus.survey.facts import Asked, Facts
from bankwright.forms.wording import Figure, Say

__all__ = ["RULES", "doubled_units"]

BEHIND = 2  # modules silent in a row at the far end: the cable before them rather than they


def _damaged_here(asked: Asked) -> bool:
    """Damaged again and again at this address: half of all tries, three at least."""
    spoken = len(asked.tries) - asked.count(Outcome.SILENCE)
    return asked.damaged >= 3 and asked.damaged * 2 >= spoken


def doubled_units(facts: Facts) -> dict[int, str]:
    """Addresses at which more than one module answers, and by what it is seen."""
    found: dict[int, str] = {}
    for unit, asked in facts.asked.items():
        if len(set(asked.serials)) > 1:
            found[unit] = "serials"
        elif asked.followers >= 2:
            found[unit] = "followers"
        elif _damaged_here(asked) and not _everywhere(facts) and not facts.tuned and not texts_of(facts):
            found[unit] = "damage"
        elif asked.jumps >= 3:
            found[unit] = "jumps"
    return found


def _everywhere(facts: Facts) -> bool:
    """Damage at every address is the line's, not an address's."""
    spoken = [a for a in facts.asked.values() if a.count(Outcome.SILENCE) < len(a.tries)]
    return len(spoken) > 1 and all(_damaged_here(each) for each in spoken)


def everyone(facts: Facts) -> Iterator[Explanation]:
    """All planned modules, each at its address, no doubled one."""
    if facts.silent or not facts.found or doubled_units(facts) or not facts.expected.modules:
        return
    if any(speaker.whose.by_number is not None for speaker in facts.expected.speakers):
        return  # one device speaks for all: explain/sunspec.py
    count = len(facts.expected.modules)
    serials = [set(facts.asked[t.unit].serials) for t in facts.expected.modules if t.unit in facts.asked]
    apart = bool(serials) and all(serials) and len(set().union(*serials)) == count
    if bool(serials) and all(serials) and not apart:
        return
    observed = Say(f"{count} of {count} modules answer, each at its own address.")
    why = "serial numbers all differ" if apart else "serial numbers were not read, but as many answer as are installed"
    sure: Sure = "certain" if apart else "nearly certain"
    yield Explanation("BUS-ALL", "All modules are heard", "pass", (), observed, sure, why)


_SEEN = {
    "serials": ("{n} serial numbers came from this address in turn: {serials}.", "certain"),
    "followers": ("{n} of {of} replies were followed by another whole reply that nobody had asked for.", "certain"),
    "damage": ("{n} of {of} replies had a wrong check sum; other addresses are clean.", "likely"),
    "jumps": ("Slow values jumped {n} times between two readings a moment apart.", "likely"),
}  # fmt: skip


def doubled(facts: Facts) -> Iterator[Explanation]:
    """Two modules at one address, in its four ways."""
    for unit, how in doubled_units(facts).items():
        asked = facts.asked[unit]
        count = {"serials": len(set(asked.serials)), "followers": asked.followers, "damage": asked.damaged}
        words, sure = _SEEN[how]
        observed = words.format(
            n=count.get(how, asked.jumps), of=len(asked.tries), serials=", ".join(sorted(set(asked.serials)))
        )
        missing = [target.name for target in facts.silent if target.unit != unit]
        if missing:
            sure = "nearly certain" if sure == "likely" else sure
            observed += f" {listing(missing)} {'does' if len(missing) == 1 else 'do'} not answer."
        at = (named(facts, unit), *missing)
        pull = missing[0] if missing else f"one of the modules that may be at {unit}"
        test = Say(
            f"Pull the data plug of {pull} and ask at {unit} again. If one clean answer is left, both had this "
            "address: set the switches as the address sheet says, with the module off."
        )
        title = f"More than one module answers at address {unit}"
        why = "a module too few is found, and it can only be here" if missing else "nothing else sounds like this"
        yield Explanation("BUS-DOUBLED", title, "fail", at, Say(observed), sure, why, test)  # type: ignore[arg-type]


def nobody(facts: Facts) -> Iterator[Explanation]:
    """Silence at every address, at every speed tried."""
    if facts.found or facts.held_back or not facts.asked or facts.tuned or facts.spoken:
        return
    tries = (each for asked in facts.asked.values() for each in asked.tries)
    heard = any(each.got.data[each.request.length * each.taken.echo :] for each in tries)
    if heard or facts.before.got.data:
        return
    if facts.framing is None:
        observed = Say("The connection stands, and no module answers behind it.")
        test = Say("Ask with the gateway's own page or lamps: does it send on the serial side? Then check its speed.")
        title, why = "The gateway answers, no module does", "the serial side cannot be seen from here"
        yield Explanation("BUS-NOBODY", title, "fail", (), observed, "certain", why, test)
        return
    echo = "The own requests come back, so the adapter sends." if facts.echo else ""
    observed = Say(
        f"{facts.requests} requests at {facts.framing} and at the other speeds and parities, not one character came "
        f"back. {echo}".strip()
    )
    test = meter_test(
        facts.expected,
        "If it is right, swap the two data wires at the adapter: half of all labels A and B are exchanged, and a swap "
        "harms nothing. Then try the module's other sockets, one module alone.",
    )
    why = "swapped pair, wrong socket, a module asleep and a missing common wire all sound like this"
    yield Explanation("BUS-NOBODY", "Nobody answers", "fail", (), observed, "possible", why, test)


def alike(facts: Facts) -> Iterator[Explanation]:
    """One serial number at two addresses."""
    holders: dict[str, list[int]] = {}
    for unit, asked in facts.asked.items():
        for serial in set(asked.serials):
            holders.setdefault(serial, []).append(unit)
    for serial, units in holders.items():
        if len(units) < 2:
            continue
        names = tuple(named(facts, unit) for unit in sorted(units))
        observed = Say(f"{listing(names)} give one serial number, {serial}.")
        test = Say(f"Pull the data plug of {names[-1]}: if its address still answers, one module answers at both.")
        why = "one module at two addresses, a leader that answers for others, or a number that was never set"
        title = "Two addresses give one serial number"
        yield Explanation("BUS-SERIAL", title, "caution", names, observed, "possible", why, test)


def exchanged(facts: Facts) -> Iterator[Explanation]:
    """A module answers at the address that the plan gives to another: its serial number is that of another plate."""
    plates = {serial.strip(): name for name, serial in facts.expected.serials.items()}
    for target in facts.expected.modules:
        planned = facts.expected.serials.get(target.name)
        asked = facts.asked.get(target.unit)
        read = {serial.strip() for serial in asked.serials if serial.strip()} if asked else set()
        if planned is None or len(read) != 1 or planned.strip() in read:
            continue
        (serial,) = read
        yield _other_plate(target.name, target.unit, planned, serial, plates.get(serial, ""))


def _other_plate(name: str, unit: int, planned: str, serial: str, owner: str) -> Explanation:
    at: tuple[str, ...] = (name,)
    observed = Say(f"Address {unit} gives {serial}; the file says that {name} has {planned}.")
    if owner:
        title, at, verdict = f"{owner} answers at the address of {name}", (name, owner), "fail"
        test = f"Switch {owner} off: if address {unit} falls silent, the two are exchanged: new switches, or the file."
    else:
        title, verdict = f"Another module than the file names answers for {name}", "caution"
        test = f"Read the plate of {name}, then switch it off: its address falls silent. Correct serial in the file."
    why = "serial numbers are read from the modules"
    return Explanation("BUS-EXCHANGED", title, verdict, at, observed, "nearly certain", why, Say(test))  # type: ignore[arg-type]


def one_only(facts: Facts) -> Iterator[Explanation]:
    """One answers, the others do not: the commonest of all."""
    expected = facts.expected.modules
    if len(facts.found) != 1 or len(expected) < 2 or doubled_units(facts) or facts.held_back:
        return
    (unit,) = facts.found
    first = expected[0]
    others = [target.name for target in facts.mute if target.unit != unit]
    if len(others) < len(expected) - 1:
        return
    observed = Say(f"Only {named(facts, unit)} answers, clean, at address {unit}. {listing(others)} are silent.")
    test = Say(
        f"Plug the adapter straight into {others[0]}, with its link to the others out, and survey. If it answers at "
        f"{unit} too, the addresses were never set; if at its own, the cable or the socket between was wrong; if not "
        "at all, this kind speaks to a computer through its group leader only: its manual says so."
    )
    near = "it is the nearest to the computer" if unit == first.unit else "it is not the nearest to the computer"
    why = f"{near}; addresses not set, a wrong socket, or only the group leader is asked: all sound alike"
    yield Explanation(
        "BUS-ONE", "One module answers, the others do not", "fail", tuple(others), observed, "possible", why, test
    )


def missing(facts: Facts) -> Iterator[Explanation]:
    """Some answer and some do not: the tail of the cable, or single ones."""
    twins = doubled_units(facts)
    silent = [target for target in facts.mute if target.unit not in twins]
    gone = {name for tuned in facts.tuned for name in (named(facts, u) for u in tuned.answered)}
    silent = [target for target in silent if target.name not in gone]
    if not silent or len(facts.found) < 2 or facts.held_back or len(twins) >= len(silent):
        return
    order = [target.name for target in facts.expected.modules]
    tail = order[len(order) - len(silent) :] == [target.name for target in silent]
    if tail and len(silent) >= BEHIND:
        yield _behind(order, [t.name for t in silent])
        return
    for target in silent:
        yield _single(facts, target.name, target.unit)


def _behind(order: list[str], silent: list[str]) -> Explanation:
    last = order[len(order) - len(silent) - 1]
    observed = Say(f"{listing(silent)} are silent: all that lie behind {last} on the cable; the others are clean.")
    test = Say(
        f"With the modules off, pull the cable from {last} to {silent[0]} out at both ends and ring each wire "
        f"through; look whether it sits in {last}'s link socket. Put another cable in its place and survey again."
    )
    why = "so many at once, in a row, to the end"
    return Explanation(
        "BUS-BEHIND", f"The line ends at {last}", "fail", tuple(silent), observed, "nearly certain", why, test
    )


def _single(facts: Facts, name: str, unit: int) -> Explanation:
    strange = [u for u in facts.found if u not in facts.expected.names]
    tail = f" {listing(f'address {u}' for u in strange)} answered without being planned." if strange else ""
    observed = Say(f"No answer at {unit} ({name}); modules before and behind it on the cable answer.{tail}")
    test = Say(
        f"Look whether {name} is awake and its data plug is in. Then plug the adapter into {name} alone and survey "
        "addresses 1 to 247: it answers at the address that its switches really say."
    )
    why = (
        "off, another address, another speed, its pair swapped, or the address of a module that answers in its place: "
        "a clean reply does not prove that only one is there"
    )
    return Explanation("BUS-SILENT", f"{name} does not answer", "fail", (name,), observed, "possible", why, test)


def strangers(facts: Facts) -> Iterator[Explanation]:
    """Addresses that answer without being planned; switches read from the other end explain many."""
    planned = facts.expected.names
    silent = {target.name: target.unit for target in facts.silent}
    for unit in (unit for unit in facts.found if unit not in planned):
        turned = _turned(facts, unit)
        if turned in silent:
            bits = facts.expected.switches[turned]
            observed = Say(
                f"Address {unit} answers and {silent[turned]} ({turned}) does not: the same {bits} switches, read from "
                "the other end."
            )
            test = Say(f"Set {turned}'s switches the other way round (the sheet prints both), with the module off.")
            title, why = f"{turned}'s switches count from the other end", f"{silent[turned]} read backwards is {unit}"
            yield Explanation("BUS-TURNED", title, "fail", (turned,), observed, "likely", why, test)
        else:
            observed = Say(f"Address {unit} answers and no module is planned there.")
            test = Say(f"Pull the data plugs one by one, asking at {unit}: whose plug ends the answer has it.")
            why = "a whole answer, twice"
            yield Explanation(
                "BUS-UNPLANNED", f"Somebody is at address {unit}", "caution", (), observed, "certain", why, test
            )


def _turned(facts: Facts, unit: int) -> str:
    """A silent module whose address, its switches read from the other end, is this one."""
    for target in facts.silent:
        bits = facts.expected.switches.get(target.name, 0)
        if bits and target.unit < 2**bits and int(f"{target.unit:0{bits}b}"[::-1], 2) == unit:
            return target.name
    return ""


def late(facts: Facts) -> Iterator[Explanation]:
    """Whole answers that came after the limit."""
    for unit, asked in facts.asked.items():
        slow = [e for e in asked.tries if e.outcome is Outcome.LATE and e.delay is not None]
        if not slow:
            continue
        most = max(e.delay for e in slow if e.delay is not None)
        name = named(facts, unit)
        observed = Say(
            f"{len(slow)} of {len(asked.tries)} answers of {name} came after {{most}}.", {"most": Figure(most, "time")}
        )
        test = Say('Write timeout = "{more}" under [bus] and survey again.', {"more": Figure(1.5 * most, "time")})
        yield Explanation("BUS-LATE", f"{name} answers late", "caution", (name,), observed, "certain", "measured", test)


RULES = (everyone, alike, exchanged, doubled, nobody, one_only, missing, strangers, late)
