"""Steps until nothing on the bus is live: loads, sources, main switch, every module, the proof.

Gives: dead_steps().
Limits: what cannot be switched off stays live, and the step says so.
Sources: proving dead and lock-out NFPA 70E 120.5 (from memory); order of work common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.build.steps.make import DROPPED, LIVE, caution, make_step
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick

__all__ = ["dead_steps"]

DEAD_VOLTS = 1.0  # V, between bars and to the frame once all is off; common practice, no source
LOCKED = Source("NFPA 70E", "2021", "120.5", "from memory")


def dead_steps(bank: Bank) -> Iterator[Step]:
    """From the loads to the proof that nothing is live but the modules' own posts."""
    yield make_step(
        "apart.people",
        "People, protection, tools",
        (
            "A second person is there who can switch off and call for help; both are dressed as for building.",
            "Rings, watch, chains and all other metal come off and stay off.",
            "Write down, and photograph, how every cable lies: which post, which side, which order on the stud.",
        ),
        "Both people are ready; the photos are kept.",
        {"sheet": "apart"},
        hands="two people",
        tools=("insulated tools", "meter", "meter leads", "lug caps"),
        cautions=(caution("Nobody works alone, tired, or on a bank that somebody else can switch on."), DROPPED),
        ticks=(Tick("people", "Two people, metal off, photos taken"),),
    )
    yield _loads(bank)
    yield _sources(bank)
    yield _main(bank)
    yield _modules(bank)
    yield _proved(bank)


def _loads(bank: Bank) -> Step:
    names = [inverter.name for inverter in bank.inverters] + [load.name for load in bank.loads]
    return make_step(
        "apart.loads",
        "Loads off",
        (
            "Switch off what the bank feeds, the largest first; then each inverter by its own button.",
            *(f"{inverter.name}: output breaker open, then off by its own button." for inverter in bank.inverters),
            *(f"{load.name}: off by its own switch." for load in bank.loads),
        ),
        "No current is drawn from the bank.",
        {"loads": ", ".join(names) or "none in the file"},
        at=tuple(names),
        after=("apart.people",),
        cautions=(caution("A switch that is opened under load may arc for longer than it lasts: loads go first."),),
        ticks=tuple(Tick(f"off/{name}", f"{name} off") for name in names) or (Tick("off", "Everything fed is off"),),
    )


def _sources(bank: Bank) -> Step:
    chargers = [charger.name for charger in bank.chargers if not charger.of]
    acts = [f"{name}: off by its own switch, then its supply open." for name in chargers]
    for inverter in bank.inverters:
        acts.append(f"{inverter.name}: AC input open and locked; sun's strings open at their switch and locked.")
    acts.append("A generator cannot start by itself: its start battery or its key is off.")
    names = (*chargers, *(inverter.name for inverter in bank.inverters))
    return make_step(
        "apart.sources",
        "Chargers, sun, AC and generator off and locked",
        acts,
        "Nothing that could feed the bus is on; every lock's one key is in the pocket of whoever has hands on bars.",
        {"sources": ", ".join(names) or "none in the file"},
        at=names,
        after=("apart.loads",),
        source=LOCKED,
        cautions=(
            caution("An inverter fed from AC or sun makes its DC terminals live, with the bank away too.", LOCKED),
            caution("Never part a solar connector under current: open the switch first."),
        ),
        ticks=(
            *(Tick(f"off/{name}", f"{name} off, open, locked") for name in names),
            Tick("others", "Sun, AC input and generator open and locked, or not there"),
        ),
    )


def _main(bank: Bank) -> Step:
    switches = [device for device in bank.devices if device.kind.type in ("disconnect", "breaker")]
    on_main = [d for d in switches if any(bank.link(name).role == "main" for name in (d.on, *d.also_on))] or switches
    names = [device.name for device in on_main]
    others = [device.name for device in switches if device.name not in names]
    acts = [f"Open {name}{_where(bank, name)}; lock and tag it." for name in names]
    acts += [f"Then open and lock {', '.join(others)}."] if others else []
    acts += ["Wait until the capacitors of the inverters have run down: by their sheets, five minutes at least."]
    none = "No switch is in the bank file: with the loads and sources off, the modules' own switches part the bus."
    return make_step(
        "apart.main",
        "Main switch open and locked",
        acts if names else [none, *acts],
        "The main switch is open, locked, tagged.",
        {"switches": ", ".join([*names, *others]) or "none in the file"},
        at=(*names, *others),
        after=("apart.sources",),
        hands="two people",
        source=LOCKED,
        cautions=(caution("Face away, left hand behind the back, once."),),
        ticks=tuple(Tick(f"open/{name}", f"{name} open, locked, tagged") for name in [*names, *others])
        or (Tick("open", "No main switch: loads and sources are locked off instead"),),
    )


def _where(bank: Bank, name: str) -> str:
    reach = next(device.reach for device in bank.devices if device.name == name)
    return f" ({reach})" if reach else ""


def _modules(bank: Bank) -> Step:
    names = tuple(module.name for module in bank.modules)
    silent = [module.name for module in bank.modules if module.kind.breaker is None]
    acts = [
        "One module after the other: off by its own button, then its breaker open.",
        "Read the voltage at its posts before and after; prove the meter on the first reading and again at the end.",
    ]
    if silent:
        acts.append(
            f"{', '.join(silent)}: the file gives no breaker. If it cannot be switched off, its posts stay live and so "
            "does all that is bolted to them: work on it as on a live battery, or leave it to those who may."
        )
    return make_step(
        "apart.modules",
        "Every module off, and proved",
        acts,
        "Every module is off and its posts were read; what still shows a voltage is marked live.",
        {"modules": ", ".join(names), "without breaker": ", ".join(silent)},
        at=names,
        after=("apart.main",),
        hands="two people",
        tools=("meter", "meter leads"),
        cautions=(LIVE, DROPPED),
        ticks=tuple(Tick(f"off/{name}", f"{name} off, breaker open, posts read") for name in names),
    )


def _proved(bank: Bank) -> Step:
    pairs = [tuple(bar.name for bar in bank.bars if bar.pole == pole)[:1] for pole in ("+", "-")]
    feeds = [post for pole in bank.feed_posts for post in pole if post in bank][:2]
    places = tuple(name for pair in pairs for name in pair) if all(pairs) else tuple(feeds)
    return make_step(
        "apart.proved",
        "Nothing on the bus: proved",
        (
            "Meter proved on a source you know, before and after.",
            "Three readings at the bars, or where the mains meet the bank, and the same at each inverter's terminals: "
            "plus to minus, plus to the frame, minus to the frame.",
            f"Each shows less than {DEAD_VOLTS:g} V. More: something still feeds the bus. Find it before a cover "
            "comes off.",
        ),
        "Three readings near zero at every place; the meter was proved before and after.",
        {"places": ", ".join(places)},
        at=places,
        after=("apart.modules",),
        hands="two people",
        tools=("meter", "meter leads"),
        source=LOCKED,
        readings=tuple(
            ReadingWanted("frame_voltage", place, "to the frame, all off", -DEAD_VOLTS, DEAD_VOLTS) for place in places
        ),
        cautions=(LIVE, DROPPED),
        ticks=(
            Tick("bus", "Plus to minus, and each pole to the frame: near zero"),
            Tick("meter", "Meter proved before and after"),
        ),
    )
