"""From the written bank to the model: patterns become named links, joints, bars and posts;
everything keeps its file key.

Gives: unfolded(). Takes what the rules found right; gives the Bank, or faults that only show once names exist.
Limits: no engineering: resistances are those of the file, of the size label and of the bar's section.
"""

from __future__ import annotations

import hashlib
from types import MappingProxyType

from bankwright.bank.file.quantity_text import parse, parse_range
from bankwright.bank.file.spans import path_text
from bankwright.bank.model import Bank, Earthing, Rack, Site
from bankwright.bank.model_house import Bonds
from bankwright.bank.model_kinds import DeviceKind
from bankwright.bank.unfold.bus import bus
from bankwright.bank.unfold.check import loose_parts, names_twice
from bankwright.bank.unfold.devices import add_devices
from bankwright.bank.unfold.draft import Draft
from bankwright.bank.unfold.kinds import device_kind, lug_kind, rack_kind
from bankwright.bank.unfold.links import add_listed, make_links
from bankwright.bank.unfold.pattern import add_busbar, add_chain, add_feed
from bankwright.bank.unfold.posts import add_consumers, add_modules
from bankwright.bank.unfold.sets import add_sets
from bankwright.bank.unfold.strings import sun_strings
from bankwright.bank.unfold.watch import watch
from bankwright.bank.written.site import InstrumentW, SiteW
from bankwright.bank.written.told import Told
from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instrument

__all__ = ["unfolded"]


def unfolded(told: Told) -> tuple[Bank | None, list[Fault]]:
    """Unfold a written bank; with faults there is none."""
    draft = Draft(told)
    add_modules(draft)
    add_consumers(draft)
    pattern = told.written.wiring.pattern
    if pattern == "chain":
        add_chain(draft)
    elif pattern == "busbar":
        add_busbar(draft)
    if pattern != "listed":
        add_feed(draft)
    add_listed(draft)
    add_sets(draft)
    devices = {
        name: device_kind(name, path_text(("kinds", "device", name)), w) for name, w in told.kinds.device.items()
    }
    add_devices(draft, devices)
    bank = _bank(draft, devices)
    draft.faults += names_twice(bank)
    if not draft.faults:
        draft.faults += loose_parts(draft)
    return (None if draft.faults else bank), draft.faults


def _bank(draft: Draft, devices: dict[str, DeviceKind]) -> Bank:
    told, w = draft.told, draft.told.written
    lugs = {name: lug_kind(name, path_text(("kinds", "lug", name)), lug) for name, lug in told.kinds.lug.items()}
    racks = {name: rack_kind(name, path_text(("kinds", "rack", name)), rack) for name, rack in told.kinds.rack.items()}
    links, joints = make_links(draft, lugs)
    return Bank(
        title=w.title,
        file=told.where.name,
        digest=_digest(told),
        book=w.rules,
        storage_rules=w.storage_rules,
        units=w.units,
        site=_site(draft, w.site),
        modules=tuple(draft.modules),
        posts=tuple(draft.posts.values()),
        links=links,
        joints=joints,
        bars=tuple(draft.bars),
        pieces=tuple(draft.pieces),
        devices=tuple(draft.devices),
        inverters=tuple(draft.inverters),
        chargers=tuple(draft.chargers),
        loads=tuple(draft.loads),
        racks=tuple(Rack(r.name, racks[r.kind], told.where.key(path)) for path, r in told.entries("racks")),
        strings=sun_strings(told),
        instruments=tuple(_instrument(i) for i in w.instruments),
        bus=bus(w.bus),
        watch=watch(w.watch),
        pattern=w.wiring.pattern,
        feed=w.wiring.feed,
        feed_posts=(tuple(draft.feed_posts["+"]), tuple(draft.feed_posts["-"])),
        device_kinds=MappingProxyType(devices),
        lug_kinds=MappingProxyType(lugs),
        places=MappingProxyType(told.where.all_places()),
    )


def _digest(told: Told) -> str:
    """SHA-256 of the bank file's text and of the included files, in the order of their names."""
    total = hashlib.sha256(told.where.main.text.encode())
    seen = {name: document for document, name in told.where.included.values()}
    for name in sorted(seen):
        total.update(seen[name].text.encode())
    return total.hexdigest()


def _site(draft: Draft, w: SiteW) -> Site:
    low, high = w.ambient or (None, None)
    earth = w.earthing
    return Site(
        origin=draft.told.where.key(("site",)),
        place=w.place,
        ambient_low_degc=low,
        ambient_high_degc=high,
        rack_rise=w.rack_rise,
        earthing=Earthing(
            earth.pole,
            _earthing_posts(draft, earth.at or ()),
            earth.detector,
            earth.bond,
            earth.detector_resistance,
            earth.detector_alarm,
            earth.bond_length,
        ),
        bonds=Bonds(w.bonds.utility, w.bonds.island, w.bonds.generator, w.bonds.neutral, w.bonds.protective),
        extension=w.extension,
        listing=tuple(w.listing),
        spacing=w.spacing,
        door=w.door,
        dwelling=w.dwelling,
        other_energy_kwh=w.other_energy,
        floor_load=w.floor_load,
        seismic=w.seismic,
        helpers=w.helpers,
        control_message=w.control_message,
        emergency_number=w.emergency_number,
        most_drop=w.most_drop,
        most_drop_charge=w.most_drop_charge,
        altitude=w.altitude,
        wet=w.wet,
    )


def _earthing_posts(draft: Draft, names: tuple[str, ...]) -> tuple[str, ...]:
    """Earthing points as posts; a bar's name stands for its first stud."""
    first = {bar.name: bar.posts[0] for bar in draft.bars if bar.posts}
    found = []
    for name in names:
        post = first.get(name, name)
        if post in draft.posts:
            found.append(post)
        elif not draft.told.holes.excuses(name):
            known = ", ".join([*first, *draft.posts][:12])
            draft.fault(
                ("site", "earthing", "at"),
                "unknown-post",
                f'found "{name}"; there is no such post',
                "",
                f"Posts: {known}",
            )
    return tuple(found)


def _instrument(w: InstrumentW) -> Instrument:
    name = {"temperature": "temperature_degc"}.get(w.quantity, w.quantity)
    percent, digits = w.accuracy or (None, None)
    low, high = parse_range(w.range, name) if w.range else (None, None)
    count = parse(w.resolution, name).nominal if w.resolution else None
    return Instrument(w.name, name, percent, digits, count, low, high, w.zero, w.place)
