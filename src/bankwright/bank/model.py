"""The bank, unfolded: no pattern, no shorthand; everything has a name and knows its file key.

Gives: Bank and what stands in it: Module, Post, Link, Joint, Bar, BarPiece, Device, Inverter, Charger, Load, Site,
Earthing, Rack. Names are unique over the whole bank: bank["L3+"] finds any of them.
Signs and names: poles "+" and "-". Posts `M1+` `M1-`, second posts `M1+b` `M1-b`, `bar+3`, `I1+`, `J+` where several
cables meet without a bar. Joints `L3+@M4+`, at a device in a cable `main+@F1a` (side of `a`) and `main+@F1b`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from bankwright.bank.model_bus import Bus
from bankwright.bank.model_house import Bonds, SunString
from bankwright.bank.model_kinds import (
    CableKind,
    ChargerKind,
    DeviceKind,
    InverterKind,
    LugKind,
    ModuleKind,
    PostSpec,
    RackKind,
)
from bankwright.bank.model_watch import Watch
from bankwright.forms.assumed import Assumed
from bankwright.forms.origin import FileKey, Place
from bankwright.forms.readings import Instrument
from bankwright.forms.toleranced import Toleranced

__all__ = [
    "Bank",
    "Bar",
    "BarPiece",
    "Charger",
    "Device",
    "Earthing",
    "Inverter",
    "Joint",
    "Link",
    "Load",
    "Module",
    "Pole",
    "Post",
    "Rack",
    "Site",
    "Thing",
]

Pole = Literal["+", "-"]
OwnerKind = Literal["module", "bar", "inverter", "charger", "load", "junction"]


@dataclass(frozen=True, slots=True)
class Post:
    """A stud or terminal that a lug is bolted to; a node of the network."""

    name: str
    owner: str  # name of the module, bar, inverter ...; the post's own name for a junction
    owner_kind: OwnerKind
    pole: Pole
    spec: PostSpec
    origin: FileKey


@dataclass(frozen=True, slots=True)
class Module:
    """One rack battery."""

    name: str
    kind: ModuleKind
    slot: int | None
    posts: tuple[str, ...]  # "M1+", "M1-", and "M1+b", "M1-b" with two pairs
    origin: FileKey
    rack: str | None = None
    unit: int | None = None  # rack unit of its lower edge, counted from 1
    capacity_ah: float | None = None  # measured, where it differs from the kind
    resistance_factor: Toleranced | None = None  # measured or aged, against the kind
    address: int | None = None
    serial: str | None = None  # of its plate


@dataclass(frozen=True, slots=True)
class Link:
    """One made-up cable with a lug at each end, between two posts; devices sit in it, in order from `a` to `b`."""

    name: str
    a: str  # post
    b: str  # post
    pole: Pole
    role: Literal[
        "link", "lead", "main", "branch"
    ]  # module to module; module to bar; bank to junction; to one inverter
    cable: CableKind | None
    length: float | None
    joints: tuple[str, ...]  # names, in order from a to b
    devices: tuple[str, ...]
    lug_a: LugKind | None
    lug_b: LugKind | None
    origin: FileKey
    colour: str | None = None
    group: str | None = None  # links that must be equal share a group
    resistance: Toleranced | None = None  # of its cable as measured at 20 degC, joints and devices left out
    straight: bool = False  # no conductor: a module's post bolted straight on a bar, one joint

    @property
    def is_cable(self) -> bool:
        """True for a cable, chosen or not; not for a strap, nor for a post straight on a bar."""
        return not self.straight and (self.cable is None or self.cable.strap is None)


@dataclass(frozen=True, slots=True)
class Joint:
    """One lug bolted to one post, or to one terminal of a device."""

    name: str
    link: str
    post: str | None  # None at a device
    device: str | None
    resistance: Toleranced | None
    stud: str | None
    torque: float | None  # N m, from the kind of the post's owner; never a default
    lug: LugKind | None
    origin: FileKey


@dataclass(frozen=True, slots=True)
class BarPiece:
    """A stretch of solid metal between two posts: inner bar of a module (`M1+inner`), bar segment (`bar+[1-2]`)."""

    name: str
    a: str
    b: str
    pole: Pole
    role: Literal["inner", "segment"]
    owner: str
    resistance: Toleranced | None
    origin: FileKey


@dataclass(frozen=True, slots=True)
class Bar:
    """A busbar; its studs in their order are posts `bar+1` ..."""

    name: str
    pole: Pole
    width: float | None
    thickness: float | None
    material: str
    hole: float | None
    rating: float | None
    rated_ambient_degc: float | None
    spacing: float | None  # between studs
    lugs_per_stud: int | None
    posts: tuple[str, ...]
    spec: PostSpec
    origin: FileKey
    layers: int = 1  # stacked on each other; `thickness` is that of the whole stack


@dataclass(frozen=True, slots=True)
class Device:
    """What sits in a line."""

    name: str
    kind: DeviceKind
    on: str  # link
    distance: float | None  # m of conductor from the link's `a`; None: somewhere on it
    origin: FileKey
    also_on: tuple[str, ...] = ()  # further links that the same handle opens (two-pole switch)
    poles_used: int | None = None  # poles in series in this link
    at: str | None = None  # as written: "bank end"
    reach: str | None = None  # where the hand finds it
    labels: tuple[str, ...] = ()
    reversed: bool | None = None  # line and load marks against current out of the bank


@dataclass(frozen=True, slots=True)
class Inverter:
    """An inverter with its two posts."""

    name: str
    kind: InverterKind
    posts: tuple[str, str]
    origin: FileKey
    phase: str | None = None
    remote_off: bool | None = None


@dataclass(frozen=True, slots=True)
class Charger:
    """A charger with its two posts (those of its inverter, where it is the charging side of one)."""

    name: str
    kind: ChargerKind
    posts: tuple[str, str]
    origin: FileKey
    of: str | None = None  # name of the inverter it is part of


@dataclass(frozen=True, slots=True)
class Load:
    """A direct load on the bus."""

    name: str
    posts: tuple[str, str]
    origin: FileKey
    power: float | None = None
    current: float | None = None
    highest_input: float | None = None
    lowest_input: float | None = None
    sense: bool = False  # a sense or control wire


@dataclass(frozen=True, slots=True)
class Earthing:
    """Which pole is earthed, where, and what watches it."""

    pole: Literal["none", "minus", "plus"] | None = None
    at: tuple[str, ...] = ()  # the earthing points: posts
    detector: bool | None = None
    bond: str | None = None  # size label of the frame's bond
    detector_resistance: float | None = None  # of the detector, from each pole to the frame
    detector_alarm: float | None = None  # resistance to the frame at which it gives alarm
    bond_length: float | None = None  # m, frame to earthing point


@dataclass(frozen=True, slots=True)
class Site:
    """The room and what rules it."""

    origin: FileKey
    place: str | None = None
    ambient_low_degc: float | None = None
    ambient_high_degc: float | None = None
    rack_rise: float | None = None  # K
    earthing: Earthing = Earthing()
    bonds: Bonds = field(default_factory=Bonds)
    extension: int = 0  # modules to come
    listing: tuple[str, ...] = ()  # of the whole system
    spacing: float | None = None  # between racks or units, m
    door: float | None = None  # to the nearest door or window, m
    dwelling: bool | None = None
    other_energy_kwh: float | None = None  # elsewhere in the house
    floor_load: float | None = None  # Pa, allowed
    seismic: float | None = None  # S_DS, m/s2
    helpers: int | None = None
    control_message: bool | None = None  # chargers obey the modules' message
    emergency_number: str | None = None
    most_drop: float | None = None  # of nominal voltage, at full discharge
    most_drop_charge: float | None = None  # the same at full charge
    altitude: float | None = None  # m above sea level
    wet: bool | None = None  # rain, spray or hosing reaches it


@dataclass(frozen=True, slots=True)
class Rack:
    """A frame; modules name it."""

    name: str
    kind: RackKind
    origin: FileKey


Thing = Post | Module | Link | Joint | Bar | BarPiece | Device | Inverter | Charger | Load | Rack | SunString


@dataclass(frozen=True)
class Bank:
    """Everything on one DC bus."""

    title: str
    file: str  # name of the bank file
    digest: str  # sha256 of its text (and of included kinds)
    book: str | None  # id of the rule book: "nec-2023"
    storage_rules: str | None
    units: Literal["metric", "us"]
    site: Site
    modules: tuple[Module, ...]
    posts: tuple[Post, ...]
    links: tuple[Link, ...]
    joints: tuple[Joint, ...]
    bars: tuple[Bar, ...] = ()
    pieces: tuple[BarPiece, ...] = ()
    devices: tuple[Device, ...] = ()
    inverters: tuple[Inverter, ...] = ()
    chargers: tuple[Charger, ...] = ()
    loads: tuple[Load, ...] = ()
    racks: tuple[Rack, ...] = ()
    strings: tuple[SunString, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    bus: Bus | None = None
    watch: Watch = field(default_factory=Watch)
    pattern: Literal["chain", "busbar", "listed"] = "listed"
    feed: Literal["same end", "opposite ends", "opposite ends, plus first", "both ends"] | None = None
    feed_posts: tuple[tuple[str, ...], tuple[str, ...]] = (
        (),
        (),
    )  # positive, negative: where the mains meet the bank
    device_kinds: Mapping[str, DeviceKind] = field(default_factory=lambda: MappingProxyType({}))
    lug_kinds: Mapping[str, LugKind] = field(default_factory=lambda: MappingProxyType({}))
    places: Mapping[str, Place] = field(default_factory=lambda: MappingProxyType({}))  # every path of the file
    assumed: tuple[Assumed, ...] = ()  # values that stand in for what the file does not give; none in a bank as read

    @cached_property
    def _by_name(self) -> Mapping[str, Thing]:
        found: dict[str, Thing] = {}
        for thing in self.things():
            found[thing.name] = thing
        return MappingProxyType(found)

    def things(self) -> Iterator[Thing]:
        """Everything that has a name."""
        yield from self.modules
        yield from self.links
        yield from self.joints
        yield from self.bars
        yield from self.pieces
        yield from self.devices
        yield from self.inverters
        yield from self.chargers
        yield from self.loads
        yield from self.racks
        yield from self.strings
        yield from self.posts

    def __getitem__(self, name: str) -> Thing:
        """Find a thing by name; KeyError when the bank has none of that name."""
        return self._by_name[name]

    def __contains__(self, name: str) -> bool:
        """True when the bank has something of that name."""
        return name in self._by_name

    def names(self) -> tuple[str, ...]:
        """All names, in the order of things()."""
        return tuple(self._by_name)

    def module(self, name: str) -> Module:
        """Find a module; KeyError for any other name."""
        thing = self[name]
        if not isinstance(thing, Module):
            raise KeyError(name)
        return thing

    def link(self, name: str) -> Link:
        """Find a link; KeyError for any other name."""
        thing = self[name]
        if not isinstance(thing, Link):
            raise KeyError(name)
        return thing

    def devices_on(self, link: str) -> tuple[Device, ...]:
        """All devices that open this link, by their own or a shared handle."""
        return self._on_links.get(link, ())

    @cached_property
    def _on_links(self) -> dict[str, tuple[Device, ...]]:
        found: dict[str, tuple[Device, ...]] = {}
        for device in self.devices:
            for link in dict.fromkeys((device.on, *device.also_on)):
                found[link] = (*found.get(link, ()), device)
        return found

    def joints_of(self, link: str) -> tuple[Joint, ...]:
        """All joints of a link, from `a` to `b`."""
        return tuple(joint for joint in self.joints if joint.link == link)

    def key(self, path: str) -> FileKey:
        """Return the file key of a path, with the place of its nearest written parent when it is not written itself."""
        part = path
        while part not in self.places and "." in part:
            part = part.rsplit(".", 1)[0]
        return FileKey(path, self.places.get(part))

    def replaced(self, **changes: object) -> Bank:
        """Return a bank with other values; the old one stays."""
        return dataclasses.replace(self, **changes)  # type: ignore[arg-type]

    def without(self, name: str) -> Bank:
        """Return the bank without one module, its posts, inner bars, and every link that ends at it."""
        module = self.module(name)
        gone = set(module.posts)
        links = tuple(link for link in self.links if link.a not in gone and link.b not in gone)
        kept = {link.name for link in links}
        return dataclasses.replace(
            self,
            modules=tuple(m for m in self.modules if m.name != name),
            posts=tuple(post for post in self.posts if post.name not in gone),
            links=links,
            joints=tuple(joint for joint in self.joints if joint.link in kept),
            pieces=tuple(piece for piece in self.pieces if piece.owner != name),
            devices=tuple(device for device in self.devices if device.on in kept),
        )
