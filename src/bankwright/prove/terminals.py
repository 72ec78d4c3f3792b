"""Temperature of a terminal at full current, with the heat of the joint on it.

Gives: Terminal, at_full(), full_current(), rating_of(), settled_part(). Air of the hottest day, the rise of the cable
by its own current, and the joint's heat over what its conductors lead away: one cable and a post; cable and both ways
of a bar; two cables at a device.
Limits: covers, neighbours and plating are not in it, the film is a guess: +-50 % on what is led away.
Sources: circuit/of_bank/warming (law of the ambient correction); physics/joint.led_away; insulation 2 mm thick where
the cable's outer diameter is not given [from memory].
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Joint, Link, Post
from bankwright.bank.model_kinds import CableKind
from bankwright.circuit.steady import Steady, Worst
from bankwright.forms.finding import Missing
from bankwright.forms.wording import Figure
from bankwright.physics.joint import heat, led_away
from bankwright.physics.reading import reached, time_constant
from bankwright.prove.share_subject import LACKING, missing_of

__all__ = ["Terminal", "at_full", "full_current", "rating_of", "settled_part"]

SPREAD = 0.5  # of what is led away
INSULATION = 2e-3  # m
FILM, BAR_FILM = 10.0, 6.0  # W/(m2 K)


@dataclass(frozen=True, slots=True)
class Terminal:
    """Temperature with its band, the lowest rating there and whose it is; what is missing. [degC]"""

    value: Figure | None
    rating: float | None
    whose: str
    current: float
    missing: tuple[Missing, ...]


def full_current(steady: Steady, link: str) -> Worst:
    """The case in which a link carries its largest steady current; CircuitError for what the file lacks."""
    return steady.worst(link)


def at_full(bank: Bank, steady: Steady, joint: Joint, ohms: Figure) -> Terminal:
    """The terminal under a joint of some resistance at the largest steady current of its link."""
    link = bank.link(joint.link)
    rating, whose, gaps = rating_of(bank, joint)
    if bank.site.ambient_high_degc is None:
        gaps += (asking("site.ambient"),)
    if link.cable is None and not link.straight:
        gaps += (asking(f"{link.origin.path}.cable"),)
    try:
        worst = full_current(steady, link.name)
    except LACKING as error:
        return Terminal(None, rating, whose, 0.0, (*gaps, *missing_of(error)))
    if gaps:
        return Terminal(None, rating, whose, abs(worst.current), gaps)
    away = _led(bank, joint, link)
    metal = steady.metal_degc(steady.case(worst.case), link.name)
    warm = [metal + float(heat(worst.current, value)) / (away * part) for value, part in _ends(ohms)]
    figure = Figure(warm[0], "temperature_degc", warm[1], warm[2])
    return Terminal(figure, rating, whose, abs(worst.current), ())


def _ends(ohms: Figure) -> tuple[tuple[float, float], ...]:
    """Value, best and worst end: resistance with the part of the heat that is led away."""
    low = ohms.value if ohms.low is None else ohms.low
    high = ohms.value if ohms.high is None else ohms.high
    return (ohms.value, 1.0), (low, 1.0 + SPREAD), (high, 1.0 - SPREAD)


def rating_of(bank: Bank, joint: Joint) -> tuple[float | None, str, tuple[Missing, ...]]:
    """Lowest rating of lug, post and device; every one that is not given is asked for."""
    rated: list[tuple[float, str]] = []
    gaps: list[Missing] = []
    for value, whose, key in _rated(bank, joint):
        if value is None:
            gaps.append(asking(key))
        else:
            rated.append((value, whose))
    least = min(rated, default=(None, ""))
    return least[0], least[1], tuple(gaps)


def _rated(bank: Bank, joint: Joint) -> list[tuple[float | None, str, str]]:
    found: list[tuple[float | None, str, str]] = []
    post = next((post for post in bank.posts if post.name == joint.post), None)
    device = next((item for item in bank.devices if item.name == joint.device), None)
    if post is not None and post.owner_kind != "junction":
        found.append((post.spec.rating_degc, f"post {post.name}", _key(bank, post)))
    if device is not None:
        terminals = device.kind.terminals
        rating = None if terminals is None else terminals.rating_degc
        found.append((rating, f"terminals of {device.name}", f"{device.kind.path}.terminals.rating"))
    if joint.lug is not None and joint.lug.is_lug:
        found.append((joint.lug.rating_degc, f"lug {joint.lug.name}", f"{joint.lug.path}.rating"))
    if not found:
        found.append((None, "", f"{joint.origin.path}.lug"))
    return found


def _key(bank: Bank, post: Post) -> str:
    """The file key of a post's rating."""
    kinds = {m.name: f"{m.kind.path}.posts.rating" for m in bank.modules}
    kinds |= {i.name: f"{i.kind.path}.terminals.rating" for i in bank.inverters}
    kinds |= {c.name: f"{c.kind.path}.terminals.rating" for c in bank.chargers}
    kinds |= {load.name: f"{load.origin.path}.terminals.rating" for load in bank.loads}
    kinds |= {bar.name: f"{bar.origin.path}.temperature_rating" for bar in bank.bars}
    return kinds.get(post.owner, f"{post.origin.path}.rating")


def _led(bank: Bank, joint: Joint, link: Link) -> float:
    """Heat led away from a joint, a kelvin of rise: its cable, and what lies on the other side. [W/K]"""
    cable = 0.0 if link.cable is None else float(led_away(_outside(link.cable), link.cable.area))
    if joint.device is not None:
        return 2.0 * cable
    bar = next((bar for bar in bank.bars if joint.post in bar.posts), None)
    if bar is None or bar.width is None or bar.thickness is None:
        return cable
    ways = 1 if joint.post in (bar.posts[0], bar.posts[-1]) else 2
    section = bar.width * bar.thickness
    return cable + ways * float(led_away(2 * (bar.width + bar.thickness), section, BAR_FILM))


def _outside(cable: CableKind) -> float:
    """Perimeter over the insulation. [m]"""
    return cable.around(INSULATION)


def settled_part(bank: Bank, joint: Joint, seconds: float) -> float:
    """Part of its final rise that a terminal has after a time: that of the slower of its cable and its bar. [-]"""
    cable, parts = bank.link(joint.link).cable, [1.0]
    if cable is not None:
        parts.append(reached(seconds, time_constant(cable.area, _outside(cable), FILM)))
    bar = next((bar for bar in bank.bars if joint.post in bar.posts), None)
    if bar is not None and bar.width is not None and bar.thickness is not None:
        around = 2.0 * (bar.width + bar.thickness)
        parts.append(reached(seconds, time_constant(bar.width * bar.thickness, around, BAR_FILM)))
    return min(parts)
