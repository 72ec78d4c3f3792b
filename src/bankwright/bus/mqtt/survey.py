"""A survey of a broker's topics: listen for a while, explain.

Gives: survey_mqtt(), explain_mqtt().
Limits: a broker does not say who else is connected; a topic that nobody writes to looks like one that does not exist.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from bankwright.bus.mqtt.signals import MqttMap
from bankwright.bus.mqtt.source import MqttSource, MqttTally
from bankwright.bus.overheard.explain import explain_overheard
from bankwright.bus.overheard.facts import Overheard, overheard
from bankwright.bus.poll import Target
from bankwright.bus.survey.explain.told import Explanation, counted
from bankwright.forms.wording import Say

__all__ = ["explain_mqtt", "survey_mqtt"]

MOST_NAMED = 8


def survey_mqtt(
    source: MqttSource, mqtt_map: MqttMap, targets: Sequence[Target], seconds: float, tell: Callable[[str], None]
) -> tuple[Overheard, MqttTally]:
    """Listen so long; what was heard and the counts."""
    tell(f"listening {seconds:g} s to {', '.join(mqtt_map.filters[:MOST_NAMED])}")
    source.listen(source.now() + seconds)
    unknown = dict(source.tally.strangers.most_common(MOST_NAMED))
    facts = overheard(source.standing, targets, mqtt_map.signals, seconds=seconds, now=source.now(), strangers=unknown)
    return facts, source.tally


def explain_mqtt(facts: Overheard, tally: MqttTally, mqtt_map: MqttMap) -> tuple[Explanation, ...]:
    """All explanations, worst first."""
    own = [*_nothing(facts, tally, mqtt_map), *_kept(facts, tally), *_unread(tally), *_old(tally)]
    return explain_overheard(facts, own)


def _nothing(facts: Overheard, tally: MqttTally, mqtt_map: MqttMap) -> Iterator[Explanation]:
    if tally.messages:
        return
    asked = ", ".join(f'"{each}"' for each in mqtt_map.filters[:MOST_NAMED])
    observed = Say(f"The broker let us read {asked}, and in {facts.seconds:g} s nothing came.")
    test = Say(
        "Listen to everything for a minute with any other program and compare the topics letter by letter: large and "
        "small letters and a slash at the beginning count. Some devices write once a minute, or on a change alone."
    )
    why = "a wrong topic, a device that is off and one that writes seldom look the same"
    yield Explanation("BUS-NOTHING", "Nothing comes on these topics", "fail", (), observed, "possible", why, test)


def _kept(facts: Overheard, tally: MqttTally) -> Iterator[Explanation]:
    if not tally.kept:
        return
    is_all = tally.kept == tally.messages
    observed = Say(
        f"{counted(tally.kept, 'message')} of {tally.messages} had been kept by the broker: their age is not known, so "
        "they are not stored and prove no life."
    )
    test = Say(
        f"Wait for the next message ({facts.seconds:g} s was not enough), or give the payload's own time in the map: "
        "time."
    )
    title = "All that came had been kept by the broker" if is_all else "Some of it had been kept by the broker"
    yield Explanation(
        "BUS-KEPT", title, "fail" if is_all else "pass", (), observed, "certain", "the broker marks them",
        test if is_all else None,
    )  # fmt: skip


def _unread(tally: MqttTally) -> Iterator[Explanation]:
    if not tally.faults:
        return
    told = "; ".join(f"{words} ({counted(count, 'time')})" for words, count in tally.faults.most_common())
    observed = Say(f"Messages came that are not what the map says: {told}.")
    test = Say("Look at one payload as it is sent, and put the path in the map right; a decimal comma is no number.")
    title = "Payloads that are not what the map says"
    yield Explanation("BUS-PAYLOAD", title, "fail", (), observed, "certain", "each was tried", test)


def _old(tally: MqttTally) -> Iterator[Explanation]:
    if not tally.old:
        return
    observed = Say(f"{counted(tally.old, 'value')} with a time of their own that is too long ago to stand.")
    test = Say("Compare the device's clock with this computer's; the map's stale says how old a value may be.")
    title = "Values that were too old when they came"
    yield Explanation("BUS-OLD", title, "caution", (), observed, "certain", "the payload says the time", test)
