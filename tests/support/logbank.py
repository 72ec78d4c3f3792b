"""A bank of two modules for tests of the logbook, its clock, and short hands to enter things. All values are invented.

Gives: two_modules(), StepClock, clamp(), volts(), CLAMP.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

from bankwright.bank.model import Bank, Joint, Link, Module, Post, Site
from bankwright.bank.model_kinds import DischargeLimits, ModuleKind, PostSpec
from bankwright.forms.origin import FileKey
from bankwright.forms.readings import Instant, Instrument, Reading, band

__all__ = ["CLAMP", "StepClock", "two_modules", "volts"]

CLAMP = Instrument("clamp", "voltage", percent_of_reading=0.005, digits=2, resolution=0.1, low=0.0, high=60.0)
_START = datetime(2026, 3, 1, 9, 0, 0, tzinfo=timezone(timedelta(hours=1)))


class StepClock:
    """A clock that is set by hand: `wall` and `monotonic` are moved apart by a test."""

    def __init__(self, known: bool | None = True) -> None:
        self.wall, self.monotonic, self.boot, self.known = 0.0, 100.0, "boot-a", known

    def passes(self, seconds: float) -> None:
        self.wall += seconds
        self.monotonic += seconds

    def now(self) -> Instant:
        wall = (_START + timedelta(seconds=self.wall)).isoformat(timespec="milliseconds")
        return Instant(wall, self.boot, self.monotonic, self.known)


def two_modules() -> Bank:
    key = FileKey("modules[0]")
    spec = PostSpec(stud="M8", torque=10.0)
    kind = ModuleKind("M100", "kinds.module.M100", cells=16, discharge=DischargeLimits(continuous=100.0), posts=spec)
    modules = tuple(Module(n, kind, k, (f"{n}+", f"{n}-"), key) for k, n in enumerate(("M1", "M2"), 1))
    posts = tuple(Post(f"{m.name}{p}", m.name, "module", p, spec, key) for m in modules for p in ("+", "-"))  # type: ignore[arg-type]
    joints = tuple(Joint(f"L1+@{post}", "L1+", post, None, None, "M8", 10.0, None, key) for post in ("M1+", "M2+"))
    link = Link("L1+", "M1+", "M2+", "+", "link", None, 0.32, tuple(j.name for j in joints), (), None, None, key)
    return Bank("Test", "orchard.toml", "0" * 64, None, None, "metric", Site(key), modules, posts, (link,), joints,
                instruments=(CLAMP,))  # fmt: skip


def volts(at: str, value: float, id_: str = "", when: Instant | None = None, corrects: str | None = None) -> Reading:
    limits = band(value, CLAMP)
    assert limits is not None
    moment = when or Instant("2026-03-01T09:00:00+01:00", "boot-a", 100.0, True)
    return Reading("voltage", at, value, *limits, "clamp", f"{value:g} V", "Kim", moment, id=id_, corrects=corrects)
