"""Rules on wiring, site, loads and instruments: what pattern, feed and listed parts may say together.

Gives: RULES.
Limits: links and posts by name are checked while they are unfolded (bank/unfold/links);
graph errors are the circuit's.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.file.quantity_text import QuantityFault, example, parse, parse_range
from bankwright.bank.file.spans import Path
from bankwright.bank.unfold.conductors import wire_resistance
from bankwright.bank.unfold.hubs import is_hub
from bankwright.bank.written.told import Told
from bankwright.bank.written.wiring import ConductorW
from bankwright.forms.faults import Fault

__all__ = ["RULES"]

FEED = ("wiring", "feed")


def feed_fits_pattern(told: Told) -> Iterator[Fault]:
    """A chain or a bar needs its feed; a listed bank shows it by its links, a bar with studs by its studs."""
    if told.is_lost("wiring") or told.holes.has("wiring", "feed") or told.holes.has("bars"):
        return
    w, where = told.written.wiring, told.where
    on_studs = [path for path, bar in told.entries("bars") if bar.studs is not None and not is_hub(told, bar)]
    if w.pattern == "listed" and w.feed is not None:
        found, right = f'found "{w.feed}", but the pattern is "listed"', "The listed mains show the feed"
        yield where.fault(FEED, "feed-contradicts", found, right, "Leave feed out")
    if w.pattern == "busbar" and w.feed is not None and on_studs:
        found, right = f'found "{w.feed}", but the studs are listed', "The studs show where the mains meet the bar"
        also = (*on_studs[0], "studs")
        yield where.fault(FEED, "feed-contradicts", found, right, "Leave feed out, or studs", also=also)
    needs = w.pattern == "chain" and len(told.written.modules) > 1
    needs |= w.pattern == "busbar" and len(on_studs) < 2 and not on_studs
    if needs and w.feed is None and not told.is_lost("modules"):
        found, right = 'the key "feed" is missing', "Where the mains meet the bank"
        yield where.fault(FEED, "key-missing", found, right, 'Write feed = "opposite ends"')
    if w.feed == "both ends" and w.main is None and not told.holes.has("wiring", "main"):
        found, hint = 'found "both ends", but wiring.main is not given', "Write main = { cable = ..., length = ... }"
        yield where.fault(FEED, "feed-contradicts", found, "", hint)


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


def measured_resistance_fits_the_cable(told: Told) -> Iterator[Fault]:
    """A measured resistance is no less than half of what its cable and length have; more may be a poor crimp."""
    for path, w in _conductors(told):
        if w.resistance is None or w.cable is None or w.length is None:
            continue
        least = 0.5 * wire_resistance(w.cable, w.strands) * w.length
        if w.resistance.high < least:
            yield told.where.fault(
                (*path, "resistance"),
                "resistance-contradicts",
                f"found {w.resistance.nominal * 1e3:.3g} mohm, where {w.length:g} m of {w.cable} have "
                f"{2e3 * least:.3g} mohm",
                "A cable measures no less than half of what its metal has",
                "Measure again with four wires, or mend size or length",
            )


def _conductors(told: Told) -> list[tuple[Path, ConductorW]]:
    """Every conductor as written, with its path."""
    wiring = told.written.wiring
    own = (("link", wiring.link), ("main", wiring.main), ("branch", wiring.branch))
    written: list[tuple[Path, ConductorW]] = [(("wiring", key), w) for key, w in own if w is not None]
    written += [(path, link) for path, link in told.entries("links")]
    for key in ("inverters", "chargers", "loads"):
        written += [((*path, "lead"), entry.lead) for path, entry in told.entries(key) if entry.lead is not None]
    return written


OF_CABLES = ("cable", "strands", "lug", "lug_from", "lug_to", "bundled", "conduit", "outer_diameter", "bend_radius")


def a_strap_is_no_cable(told: Told) -> Iterator[Fault]:
    """A strap, or a post straight on the bar, has none of the keys of a cable beside it; a strap is not both."""
    for path, w in _conductors(told):
        what = "straight" if w.straight else "strap" if w.strap is not None else None
        if what is None:
            continue
        also = ("strap", "length", "resistance", "method", "spacing") if w.straight else ()
        for key in (*OF_CABLES, *also):
            if getattr(w, key) is not None:
                found = f"found {key} beside {what}"
                right = "A post straight on the bar has no cable" if w.straight else "A strap has no cable, no lugs"
                yield told.where.fault(
                    (*path, key), "contradicts", found, right, f"Leave {key} out, or {what}", also=(*path, what)
                )
        if w.strap is not None and w.method == "raceway":
            yield told.where.fault(
                (*path, "method"), "contradicts", "found a strap in a raceway", "", 'Leave method out, or "free air"'
            )


RULES = (
    measured_resistance_fits_the_cable,
    a_strap_is_no_cable,
    feed_fits_pattern,
    bars_fit_pattern,
    listed_pattern_lists_links,
    loads_take_one_thing,
    earthing_is_one_thing,
    instruments_read_their_quantity,
)
