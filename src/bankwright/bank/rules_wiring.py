"""Rules on wiring, site, loads and instruments: what pattern, feed and listed parts may say together.

Gives: RULES.
Limits: links and posts by name are checked while they are unfolded (bank/unfold_links); graph errors are the
circuit's.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.hubs import is_hub
from bankwright.bank.quantity_text import QuantityFault, example, parse, parse_range
from bankwright.bank.told import Told
from bankwright.forms.faults import Fault

__all__ = ["RULES"]

FEED = ("wiring", "feed")


def feed_fits_pattern(told: Told) -> Iterator[Fault]:
    """A chain or a bar needs its feed; a listed bank shows it by its links, a bar with studs by its studs."""
    if told.is_lost("wiring") or told.holes.has("wiring", "feed") or told.holes.has("bars"):
        return
    w = told.written.wiring
    on_studs = [path for path, bar in told.entries("bars") if bar.studs is not None and not is_hub(told, bar)]
    if w.pattern == "listed" and w.feed is not None:
        yield told.where.fault(
            FEED,
            "feed-contradicts",
            f'found "{w.feed}", but the pattern is "listed"',
            "The listed mains show the feed",
            "Leave feed out",
        )
    if w.pattern == "busbar" and w.feed is not None and on_studs:
        yield told.where.fault(
            FEED,
            "feed-contradicts",
            f'found "{w.feed}", but the studs are listed',
            "The studs show where the mains meet the bar",
            "Leave feed out, or studs",
            also=(*on_studs[0], "studs"),
        )
    needs = w.pattern == "chain" and len(told.written.modules) > 1
    needs |= w.pattern == "busbar" and len(on_studs) < 2 and not on_studs
    if needs and w.feed is None and not told.is_lost("modules"):
        yield told.where.fault(
            FEED,
            "key-missing",
            'the key "feed" is missing',
            "Where the mains meet the bank",
            'Write feed = "opposite ends"',
        )
    if w.feed == "both ends" and w.main is None and not told.holes.has("wiring", "main"):
        yield told.where.fault(
            FEED,
            "feed-contradicts",
            'found "both ends", but wiring.main is not given',
            "",
            "Write main = { cable = ..., length = ... }",
        )


def bars_fit_pattern(told: Told) -> Iterator[Fault]:
    """At most one bar a pole for the modules and one for what is fed; the name's sign is its pole."""
    seen: dict[tuple[str, bool], tuple[str, tuple[str | int, ...]]] = {}
    pattern = told.written.wiring.pattern
    for path, bar in told.entries("bars"):
        if bar.name[-1:] != bar.pole:
            yield told.where.fault(
                (*path, "name"),
                "not-a-name",
                f'found "{bar.name}" with pole "{bar.pole}"',
                "A bar's name ends with its pole",
                f'Write "{bar.name.rstrip("+-")}{bar.pole}"',
            )
        hub = is_hub(told, bar)
        if (pattern == "busbar" or (hub and pattern != "listed")) and (bar.pole, hub) in seen:
            name, other = seen[bar.pole, hub]
            yield told.where.fault(
                (*path, "pole"),
                "bar-twice",
                f"{name} already is the {bar.pole} bar{' of the mains' if hub else ''} (line {told.where.line(other)})",
                f"The pattern {pattern} has one bar a pole{' where the mains end' if hub else ' for the modules'}",
                'Write pattern = "listed"',
                also=other,
            )
        seen.setdefault((bar.pole, hub), (bar.name, path))
        if pattern == "chain" and bar.studs is not None and not hub:
            yield told.where.fault(
                (*path, "studs"),
                "not-here",
                "the modules of a chain sit on no bar",
                "On its studs sit main, inverters, chargers and loads",
                'Write pattern = "busbar", or list links that end at the bar',
            )


def listed_pattern_lists_links(told: Told) -> Iterator[Fault]:
    """The pattern `listed` needs links."""
    if (
        told.written.wiring.pattern == "listed"
        and not told.is_lost("wiring")
        and not told.written.links
        and not told.holes.has("links")
    ):
        yield told.where.fault(
            ("wiring", "pattern"),
            "key-missing",
            'found "listed", but no link is listed',
            "",
            "Write a [[links]] block for each link",
        )


def loads_take_one_thing(told: Told) -> Iterator[Fault]:
    """A load takes a power or a current."""
    for path, load in told.entries("loads"):
        if load.power is not None and load.current is not None:
            yield told.where.fault(
                (*path, "current"), "given-twice", "power is given too", "Give one of the two", also=(*path, "power")
            )


def earthing_is_one_thing(told: Told) -> Iterator[Fault]:
    """A bank with no pole earthed has no earthing points."""
    earth = told.written.site.earthing
    if earth.pole == "none" and earth.at is not None:
        yield told.where.fault(
            ("site", "earthing", "at"),
            "contradicts",
            'found earthing points, but pole is "none"',
            "",
            "Leave at out, or name the pole",
            also=("site", "earthing", "pole"),
        )
    sign = {"minus": "-", "plus": "+"}.get(earth.pole or "", "")
    for point in earth.at or ():
        if sign and sign not in point:
            yield told.where.fault(
                ("site", "earthing", "at"),
                "contradicts",
                f'found "{point}", but the earthed pole is {earth.pole}',
                f'Posts of that pole bear "{sign}"',
            )


def instruments_read_their_quantity(told: Told) -> Iterator[Fault]:
    """Range and resolution are of the quantity that the instrument measures."""
    for path, w in told.entries("instruments"):
        name = {"temperature": "temperature_degc"}.get(w.quantity, w.quantity)
        for key, text in (("range", w.range), ("resolution", w.resolution)):
            if text is None:
                continue
            try:
                low, high = parse_range(text, name) if key == "range" else (0.0, parse(text, name).nominal)
            except QuantityFault as fault:
                yield told.where.fault((*path, key), fault.code, fault.found, "", fault.hint)
                continue
            if not low < high and name != "temperature_degc":
                right = f'Write "{example(name)}"' if key == "resolution" else "Write both ends of the range"
                yield told.where.fault((*path, key), "out-of-range", f'found "{text}"', "", right)


RULES = (
    feed_fits_pattern,
    bars_fit_pattern,
    listed_pattern_lists_links,
    loads_take_one_thing,
    earthing_is_one_thing,
    instruments_read_their_quantity,
)
