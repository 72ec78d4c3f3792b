"""The baseline: what was measured when the bank was proved, value by value; later readings are held against it.

Gives: Measured, Baseline, WHAT, BASELINE, ANEW, baseline_of(), seal(), unsealed(), anew_places(). A value is sealed
once: a later seal adds what was not there yet and never replaces. Where a place begins anew (event ANEW: a module was
replaced, a cable or joint remade) its values no longer count, and the next seal may give new ones; all others stand.
Limits: what is gathered, and from where, is Prove's; nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, fields
from types import MappingProxyType
from typing import Any

from bankwright.bank.model import Bank
from bankwright.logbook.entries import Stored
from bankwright.logbook.logbook import Logbook

__all__ = ["ANEW", "BASELINE", "WHAT", "Baseline", "Measured", "anew_places", "baseline_of", "seal", "unsealed"]

BASELINE, ANEW = "baseline", "baseline anew"
FORMAT = 1
WHAT: Mapping[str, str] = MappingProxyType(
    {  # what a value is of -> its quantity
        "resistance": "resistance",  # module, link, joint, device
        "insulation": "resistance",  # both poles together against the frame, at the plus pole
        "zero current": "current",  # of a module, nothing on
        "current": "current",  # of a module or main under load
        "share": "share",  # of a module: its current over the mean, zero taken off
        "rest voltage": "voltage",
        "sag": "voltage_drop",  # at rest less under load, of the bank
        "drop": "voltage_drop",  # along a main or a run, as a size
        "precharge time": "time",
        "precharge left": "voltage_drop",
        "stop time": "time",
        "rise": "temperature_difference",  # of a terminal over the room after an hour
        "capacity": "capacity_ah",  # of a module, or of `bank`
        "current offset": "current",  # of a sensor: bus less clamp
        "current gain": "ratio",
        "open voltage": "voltage",  # of a string of solar modules
        "short current": "current",
        "island voltage": "ac_voltage",  # at two conductors of the AC side, `I1.L-N`
        "utility voltage": "ac_voltage",
        "generator voltage": "ac_voltage",
        "trip time": "time",  # of the slowest residual-current device
    }
)


@dataclass(frozen=True, slots=True)
class Measured:
    """One value of the baseline with what it was measured at. SI, degC, s."""

    what: str  # a key of WHAT
    at: str  # a name in the bank, or "bank"
    value: float
    low: float | None = None  # limits of the value, flat between
    high: float | None = None
    degc: float | None = None  # of what was measured, when it was; None: nobody read it
    stated_degc: float | None = None  # temperature that the value is brought to; None: as read
    age: float | None = None  # s after the step; None: not after a step
    current: float | None = None  # A through it
    when: str = ""  # ISO 8601
    who: str = ""
    source: str = ""  # "share test", "millivolt test", "B6" ...
    entry: int = 0  # number of the logbook's entry it comes from

    @property
    def quantity(self) -> str:
        """The quantity of the value."""
        return WHAT.get(self.what, "ratio")


@dataclass(frozen=True, slots=True)
class Baseline:
    """All values that stand, and what began anew since."""

    values: tuple[Measured, ...]
    sealed: str = ""  # when the newest of them was sealed
    bank_digest: str = ""  # of the file at that time
    anew: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))  # place -> when it began anew
    open: tuple[str, ...] = ()  # what was not known at the last seal, with what would settle it

    def value(self, what: str, at: str) -> Measured | None:
        """One value; None where it was not measured, or where its place began anew."""
        return next((each for each in self.values if (each.what, each.at) == (what, at)), None)

    def of(self, what: str) -> dict[str, Measured]:
        """All values of a kind by place."""
        return {each.at: each for each in self.values if each.what == what}


def anew_places(bank: Bank, place: str) -> frozenset[str]:
    """All whose values end when a place begins anew: module with links and joints at its posts; link with its joints;
    joint with its link."""
    owner = {post.name: post.owner for post in bank.posts}
    found = {place}
    for joint in bank.joints:
        if place in (joint.name, joint.link) or (joint.post is not None and owner.get(joint.post) == place):
            found |= {joint.name, joint.link}
    return frozenset(found)


def _anew(book: Logbook, bank: Bank) -> dict[str, tuple[int, str]]:
    """Place -> number and time of the last entry with which it began anew."""
    found: dict[str, tuple[int, str]] = {}
    for entry in book.entries(kind="event"):
        if entry.body.get("code") == ANEW and entry.at is not None:
            found.update(dict.fromkeys(anew_places(bank, entry.at), (entry.seq, entry.moment.wall)))
    return found


def baseline_of(book: Logbook, bank: Bank) -> Baseline | None:
    """The baseline as it stands; None where none was sealed."""
    anew, values = _anew(book, bank), dict[tuple[str, str], Measured]()
    last: tuple[str, str, tuple[str, ...]] | None = None
    for entry in book.entries(kind="result", standing=True):
        if entry.body.get("kind") != BASELINE or int(entry.body.get("format", 0)) > FORMAT:
            continue
        payload = entry.body["payload"]
        for each in map(_measured, payload.get("values", ())):
            if anew.get(each.at, (0, ""))[0] < each.entry:
                values.setdefault((each.what, each.at), each)
        last = entry.moment.wall, str(entry.body.get("bank_digest", "")), tuple(payload.get("open", ()))
    if last is None:
        return None
    began = {place: when for place, (_, when) in anew.items()}
    return Baseline(tuple(values.values()), last[0], last[1], MappingProxyType(began), last[2])


def _measured(row: Mapping[str, Any]) -> Measured:
    known = {item.name for item in fields(Measured)}
    return Measured(**{name: value for name, value in row.items() if name in known})


def unsealed(book: Logbook, bank: Bank, values: Iterable[Measured]) -> tuple[Measured, ...]:
    """Those that a seal would take: not in the baseline yet, and not read before their place began anew."""
    before, anew = baseline_of(book, bank), _anew(book, bank)
    have = set() if before is None else {(each.what, each.at) for each in before.values}
    fresh = {
        (each.what, each.at): each
        for each in values
        if (each.what, each.at) not in have and anew.get(each.at, (0, ""))[0] < each.entry
    }
    return tuple(fresh.values())


def seal(
    book: Logbook, bank: Bank, values: Iterable[Measured], *, open_: Iterable[str] = (), who: str = ""
) -> tuple[Stored | None, tuple[Measured, ...]]:
    """Seal the values that are not in the baseline yet and did not end; the receipt (None: nothing new) and they."""
    fresh = unsealed(book, bank, values)
    if not fresh:
        return None, ()
    payload = {"values": [asdict(each) for each in fresh], "open": list(open_)}
    return book.hand_over(BASELINE, payload, format=FORMAT, who=who), fresh
