"""Troubles on command: what can go wrong in the pretend rack, as a closed list.

Gives: Trouble, TROUBLES (name -> what happens), trouble(), TroubleFault. Written `late:M3=0.4 s`, `unplug:M2@30`.
Limits: one value each; those that concern the whole line take no module.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bus.timing import BAUDS

__all__ = ["TROUBLES", "Trouble", "TroubleFault", "trouble"]

# name -> (what it wants as value, what happens)
TROUBLES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "drop": ("share", "that share of replies is not sent"),
        "damage": ("share", "one character of that share of replies is altered"),
        "cut": ("share", "that share of replies ends early"),
        "late": ("time", "replies begin that much later"),
        "off": ("", "the module is off"),
        "unplug": ("", "its data cable is pulled: it and all behind it are gone"),
        "reboot": ("time", "the module is silent for that long"),
        "doubled": ("module", "it has that other module's address: both speak at once"),
        "follower": ("module", "it has that other module's address, and answers behind the other"),
        "polite": ("module", "it has that other module's address: who hears the other first keeps silent"),
        "serial": ("text", "it has another serial number"),
        "frozen": ("", "its values stay as they are"),
        "sentinel": ("", "its values are those that stand for no value"),
        "refuse": ("", "it refuses every register"),
        "shifted": ("", "its registers stand one higher than the map says"),
        "leader": ("", "it alone answers, for the whole group"),
        "speed": ("baud", "it speaks and listens at another speed"),
        "parity": ("parity", "it has another parity"),
        "swapped": ("", "its pair is swapped; without a module: the computer's"),
        "text": ("", "it sends text frames between 7E and 0D by itself, and answers nothing else"),
        "other": ("", "it speaks the other language: text frames for Modbus, Modbus for text frames"),
        "echo": ("", "the adapter hears itself"),
        "noise": ("share", "characters of noise before and behind that share of replies"),
        "floating": ("", "the line has no rest level: a character of noise before each reply"),
        "stuck": ("", "a driver is stuck and holds the line at 0"),
        "babble": ("", "somebody sends without end"),
        "master": ("time", "a second master asks the first module so often"),
    }
)
LINE_ONLY = frozenset({"echo", "floating", "stuck", "babble", "master"})
SHARED = LINE_ONLY | {
    "noise",
    "drop",
    "damage",
    "cut",
    "swapped",
    "late",
    "text",
    "other",
    "speed",
    "parity",
    "refuse",
    "shifted",
}
_TEXT = re.compile(r"(?P<kind>[a-z]+)(?::(?P<at>[^=@]+))?(?:=(?P<value>[^@]+))?(?:@(?P<since>[0-9.]+))?")


class TroubleFault(ValueError):
    """A trouble that does not exist, or lacks what it needs."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that goes wrong, from a moment on."""

    kind: str
    at: str = ""  # module; empty: everywhere
    value: str = ""
    amount: float = math.nan  # of a share, a time, a speed
    since: float = 0.0
    until: float = math.inf

    def on(self, module: str, now: float) -> bool:
        """True when it concerns this module now."""
        return self.at in ("", module) and self.since <= now < self.until


def _amount(kind: str, wants: str, value: str) -> float:
    if wants == "baud":
        if value not in map(str, BAUDS):
            raise TroubleFault(f"{kind}: found {value!r}; speeds are {', '.join(map(str, BAUDS))}")
        return float(value)
    if wants in ("share", "time"):
        try:
            return parse(value, wants).nominal
        except QuantityFault as fault:
            raise TroubleFault(f"{kind}: {fault}") from None
    if wants == "parity" and value not in ("even", "odd", "none"):
        raise TroubleFault(f"{kind}: found {value!r}; parity is even, odd or none")
    return math.nan


def trouble(text: str, modules: tuple[str, ...]) -> Trouble:
    """Read one trouble: KIND[:MODULE][=VALUE][@SECONDS]."""
    match = _TEXT.fullmatch(text.strip())
    if match is None or match["kind"] not in TROUBLES:
        raise TroubleFault(f"found {text!r}; known are {', '.join(TROUBLES)}, as in late:M3=0.4s")
    kind, at, value = match["kind"], match["at"] or "", (match["value"] or "").strip()
    wants = TROUBLES[kind][0]
    if at and (kind in LINE_ONLY or at not in modules):
        why = "concerns the whole line" if kind in LINE_ONLY else f"there is no module {at!r}"
        raise TroubleFault(f"{kind}: {why}")
    if not at and kind not in SHARED:
        raise TroubleFault(f"{kind}: name the module, as in {kind}:{modules[0]}")
    if bool(wants) != bool(value):
        raise TroubleFault(f"{kind}: {f'give a {wants}' if wants else 'takes no value'}")
    if wants == "module" and (value not in modules or value == at):
        raise TroubleFault(f"{kind}: found {value!r}; name another module")
    since = float(match["since"] or 0)
    amount = _amount(kind, wants, value)
    until = since + amount if kind == "reboot" else math.inf
    return Trouble(kind, at, value, amount, since, until)
