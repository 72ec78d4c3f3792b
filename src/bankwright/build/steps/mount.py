"""The step that mounts what is neither module nor bar: inverters, chargers, switches, holders, shunts, blocks.

Gives: mount_step().
Limits: masses of inverters are not in the bank file; their alternating-current side is the electrician's. Nothing
is connected here, no fuse goes in.
Sources: order of work common practice, no source; lock-out NFPA 70E 120.5 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.build.steps.make import Ground, caution, make_step
from bankwright.forms.origin import Source
from bankwright.forms.sheets import Step, Tick

__all__ = ["mount_step"]

_LOCK = Source("NFPA 70E", "2021", "120.5", "from memory")
_BODY = {"fuse": "holder, without its fuse", "breaker": "breaker, open", "disconnect": "switch, open"}


def mount_step(ground: Ground) -> Step:
    """Everything fixed in its place, open and unconnected."""
    bank = ground.bank
    names = [name for name, _ in _things(bank)]
    return make_step(
        "build.mount",
        "Mount inverters, switches, holders, blocks",
        (
            "Fix each to its plate or wall by its maker's sheet: direction, distances, screws.",
            *(words for _, words in _things(bank)),
            *(
                f"{inverter.name}: its AC side is the electrician's; AC and PV stay open and locked."
                for inverter in bank.inverters
            ),
        ),
        "Everything hangs firm; every switch is open and locked, every holder empty; AC and PV are locked out.",
        dict(_things(bank)) or {"devices": "none"},
        at=names,
        cautions=(
            caution(
                "AC input, PV and every other source of an inverter are open, locked and tagged until Prove asks for "
                "them: an inverter that is fed from there makes its DC terminals live.",
                _LOCK,
            ),
            caution("An inverter or charger is heavy: two people, or a lift; weigh it first."),
        ),
        tools=("insulated tools", "level and square"),
        pieces=ground.ids(
            "inverter/", "charger/", "fuse holder/", "breaker/", "disconnect/", "shunt/", "junction/", "protection/lock"
        ),
        hands="two people" if bank.inverters or bank.chargers else "one person",
        after=("build.data",),
        ticks=(
            *(Tick(f"mounted/{name}", f"{name} mounted") for name in names),
            *(Tick(f"open/{name}", f"{name} open, locked, tagged") for name in _switches(bank)),
            Tick("locked", "AC and PV open, locked, tagged"),
        ),
    )


def _switches(bank: Bank) -> Iterator[str]:
    """What keeps the inverters away while the bank is wired."""
    yield from (device.name for device in bank.devices if device.kind.type in ("disconnect", "breaker"))


def _things(bank: Bank) -> Iterator[tuple[str, str]]:
    for inverter in bank.inverters:
        path = inverter.kind.precharge
        resistor = "" if path is None or path.resistor is None else f", pre-charge resistor {path.resistor:g} ohm"
        yield inverter.name, f"{inverter.name}: {inverter.kind.name}{resistor}; nothing connected."
    for charger in bank.chargers:
        if not charger.of:
            yield charger.name, f"{charger.name}: {charger.kind.name}; nothing connected."
    for device in bank.devices:
        body = _BODY.get(device.kind.type, device.kind.type)
        where = f"; {device.reach}" if device.reach else ""
        yield device.name, f"{device.name}: {device.kind.name}, {body}, in {device.on}{where}."
    for post in bank.posts:
        if post.owner_kind == "junction":
            yield post.name, f"{post.name}: block where cables meet."
