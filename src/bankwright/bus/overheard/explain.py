"""What a survey of a bus means on which nothing is asked: who was heard, who was not, what lacks, what cannot be.

Gives: explain_overheard(): the rules that every such source shares, behind those of its own.
Limits: silence has more causes here than on a line that is asked: a module may speak seldom.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from bankwright.bus.overheard.facts import Overheard
from bankwright.bus.survey.explain.told import Explanation, counted, listing
from bankwright.forms.readings import NOT_AVAILABLE, OUTSIDE
from bankwright.forms.wording import Figure, Say

__all__ = ["Rule", "explain_overheard"]

Rule = Callable[[Overheard], Iterator[Explanation]]
_ORDER = {"fail": 0, "unknown": 1, "caution": 2, "pass": 3}
MOST_NAMED = 8


def explain_overheard(facts: Overheard, own: Iterable[Explanation]) -> tuple[Explanation, ...]:
    """All explanations, worst first; `own` are those of the source."""
    shared = (each for rule in (unheard, strangers, frozen, lacking, impossible, heard) for each in rule(facts))
    found = [*own, *shared]
    if not any(each.verdict == "fail" for each in found):
        found += nobody(facts)
    return tuple(sorted(found, key=lambda each: _ORDER[each.verdict]))


def _names(facts: Overheard, is_heard: bool) -> list[str]:
    return [each.name for each in facts.expected.modules if bool(facts.heard(each.name)) == is_heard]


def nobody(facts: Overheard) -> Iterator[Explanation]:
    """Not one module was heard, and nothing else says why."""
    lost = _names(facts, False)
    if not lost or _names(facts, True):
        return
    observed = Say(f"In {facts.seconds:g} s nothing came that is a value of {listing(lost)}.")
    test = Say("See what came instead, told below: numbers of other modules, values too old, frames too short.")
    why = "each that came was looked up"
    yield Explanation("BUS-UNHEARD", "No module is heard", "fail", tuple(lost), observed, "certain", why, test)


def unheard(facts: Overheard) -> Iterator[Explanation]:
    """Some are heard and some are not."""
    lost, there = _names(facts, False), _names(facts, True)
    if not lost or not there:
        return
    observed = Say(f"In {facts.seconds:g} s {listing(there)} spoke, {listing(lost)} did not.")
    unknown = f" Numbers heard that the bank does not have: {', '.join(facts.strangers)}." if facts.strangers else ""
    test = Say(
        f"Is {lost[0]} awake, and is its number set?{unknown} Pull the data plug of one that is heard and see which "
        "name falls silent: so numbers and modules are matched for certain."
    )
    title = f"{listing(lost)} {'is' if len(lost) == 1 else 'are'} not heard"
    yield Explanation(
        "BUS-UNHEARD", title, "fail", tuple(lost), observed, "certain", "the others were heard meanwhile", test
    )


def strangers(facts: Overheard) -> Iterator[Explanation]:
    """Somebody speaks whom the bank file does not know."""
    if not facts.strangers:
        return
    told = ", ".join(f"{name} ({counted(times, 'time')})" for name, times in list(facts.strangers.items())[:MOST_NAMED])
    observed = Say(f"What came fits the map, but no module of the bank: {told}.")
    test = Say(
        "Compare with the addresses in the bank file: counting from 0 instead of 1 is the usual cause. In the map, "
        "offset puts a count right, names (CAN) or modules (MQTT) name each."
    )
    yield Explanation(
        "BUS-STRANGERS", "Modules are heard that the bank does not have", "caution", (), observed, "certain",
        "they spoke", test,
    )  # fmt: skip


def frozen(facts: Overheard) -> Iterator[Explanation]:
    """A module whose values stand still while those of others move."""
    if not facts.still:
        return
    observed = Say(f"{listing(facts.still)} sent the same values again and again, while others moved.")
    test = Say(f"Hold the display of {facts.still[0]} beside it while a load comes and goes; then restart its board.")
    title = f"The values of {listing(facts.still)} stand still"
    yield Explanation(
        "BUS-FROZEN", title, "caution", facts.still, observed, "likely",
        "coarse steps of a module at rest look the same", test,
    )  # fmt: skip


def lacking(facts: Overheard) -> Iterator[Explanation]:
    """Values of the map that never came, of modules that speak."""
    names = [value.name for value in facts.values]
    lost = {module: [n for n in names if n not in facts.heard(module)] for module in _names(facts, True)}
    lost = {module: left for module, left in lost.items() if left}
    if not lost:
        return
    alike: dict[tuple[str, ...], list[str]] = {}
    for module, left in lost.items():
        alike.setdefault(tuple(left), []).append(module)
    told = "; ".join(f"{listing(modules)}: {_some(names)}" for names, modules in alike.items())
    observed = Say(f"Within {facts.seconds:g} s these did not come. {told}.")
    test = Say("Listen longer (--listen 60): some values are sent once a minute. Then look the names up in the map.")
    yield Explanation(
        "BUS-LACKING", "Some values of the map do not come", "caution", tuple(lost), observed, "possible",
        "values that are sent seldom look the same", test,
    )  # fmt: skip


def _some(names: Sequence[str]) -> str:
    """The first names, and how many more."""
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def impossible(facts: Overheard) -> Iterator[Explanation]:
    """Values outside what can be, and values that say they are none."""
    kinds = {value.name: value.quantity for value in facts.values}
    odd = [
        (module, name, arrival.value.value)
        for module in facts.standing
        for name, arrival in facts.heard(module).items()
        if arrival.value.quality == OUTSIDE
    ]
    if odd:
        module, name, value = odd[0]
        words = f"{counted(len(odd), 'value')} outside what can be; {name} of {module} reads {{value}}."
        observed = Say(words, {"value": Figure(value, kinds[name])})
        test = Say("Compare with the module's own display: scale, unit, byte order and sign are what maps get wrong.")
        yield Explanation(
            "BUS-VALUES", "Values that cannot be", "fail", tuple(dict.fromkeys(m for m, _, _ in odd)), observed,
            "likely", "a range of the map may be too narrow", test,
        )  # fmt: skip
    yield from _empty(facts)


def _empty(facts: Overheard) -> Iterator[Explanation]:
    for module in _names(facts, True):
        found = facts.heard(module)
        none = [name for name, each in found.items() if each.value.quality == NOT_AVAILABLE]
        if none and len(none) == len(found):
            observed = Say(f"{module} sends, and every value of it is the sign for no value.")
            test = Say(f"Is {module} switched on? Its data board may run while its power part is off.")
            title = f"{module} speaks and says nothing"
            why = "the map names these signs"
            yield Explanation("BUS-EMPTY", title, "caution", (module,), observed, "certain", why, test)


def heard(facts: Overheard) -> Iterator[Explanation]:
    """All planned modules were heard."""
    if not facts.expected.modules or _names(facts, False):
        return
    names = [target.name for target in facts.expected.modules]
    count = sum(len(facts.heard(name)) for name in names)
    observed = Say(f"{listing(names)} spoke within {facts.seconds:g} s: {counted(count, 'value')}.")
    test = Say("Hold one module's voltage, and the sign of its current while it charges, beside its own display.")
    yield Explanation(
        "BUS-HEARD", "All modules are heard", "pass", tuple(names), observed, "certain",
        "each spoke under its own number", test,
    )  # fmt: skip
