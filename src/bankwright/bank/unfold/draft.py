"""A bank while it is being unfolded: posts, links before their joints and devices are known, faults.

Gives: Draft, LinkDraft, Consumer. Filled by unfold_posts, unfold_pattern, unfold_links and unfold_devices,
in this order.
Limits: the only mutable thing of this floor; nothing outside unfold sees it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from bankwright.bank.file.spans import Path
from bankwright.bank.model import Bar, BarPiece, Charger, Device, Inverter, Load, Module, OwnerKind, Pole, Post
from bankwright.bank.model_kinds import PostSpec
from bankwright.bank.unfold.conductors import Layers
from bankwright.bank.written.told import Told
from bankwright.bank.written.wiring import ConductorW
from bankwright.forms.faults import Fault

__all__ = ["POLES", "Consumer", "Draft", "LinkDraft", "Role"]

POLES: tuple[Pole, Pole] = ("+", "-")
Role = Literal["link", "lead", "main", "branch"]


@dataclass
class LinkDraft:
    """A link with its ends and conductor; devices come later."""

    name: str
    a: str
    b: str
    pole: Pole
    role: Role
    conductor: Layers
    origin: Path
    group: str | None = None
    devices: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Consumer:
    """An inverter, charger or load with its own cables."""

    name: str
    kind: OwnerKind
    lead: ConductorW | None
    path: Path
    spec: PostSpec


@dataclass
class Draft:
    """Everything that unfolding has found so far."""

    told: Told
    posts: dict[str, Post] = field(default_factory=dict)
    modules: list[Module] = field(default_factory=list)
    pieces: list[BarPiece] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)
    consumers: list[Consumer] = field(default_factory=list)
    inverters: list[Inverter] = field(default_factory=list)
    chargers: list[Charger] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    links: list[LinkDraft] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    feed_posts: dict[Pole, list[str]] = field(default_factory=lambda: {"+": [], "-": []})
    faults: list[Fault] = field(default_factory=list)
    hubs: set[str] = field(default_factory=set)  # bars between the mains and what is fed

    def add_post(self, name: str, owner: str, kind: OwnerKind, spec: PostSpec, path: Path) -> None:
        """Add a post; its pole is the last sign in its name."""
        pole: Pole = "+" if name.rfind("+") > name.rfind("-") else "-"
        self.posts[name] = Post(name, owner, kind, pole, spec, self.told.where.key(path))

    def add_link(self, link: LinkDraft) -> None:
        """Add a link of a pattern or a listed one."""
        self.links.append(link)

    def fault(
        self, path: Path, code: str, found: str, expected: str = "", hint: str = "", *, also: Path | None = None
    ) -> None:
        """Note a fault."""
        self.faults.append(self.told.where.fault(path, code, found, expected, hint, also=also))

    def link(self, name: str) -> LinkDraft | None:
        """Find a link by name."""
        return next((link for link in self.links if link.name == name), None)

    def nearness(self, post: str) -> int:
        """How near a post is to the modules: 2 a module or the bar they sit on, 1 a bar beyond the mains, else 0."""
        owner = self.posts[post]
        if owner.owner_kind not in ("module", "bar"):
            return 0
        return 1 if owner.owner in self.hubs else 2

    def links_at(self, post: str) -> list[LinkDraft]:
        """Links that land on a post."""
        return [link for link in self.links if post in (link.a, link.b)]

    def replaced_layers(self, link: LinkDraft, w: ConductorW, path: Path) -> None:
        """Lay what one [[links]] entry says over a link of the pattern."""
        self.links[self.links.index(link)] = replace(link, conductor=link.conductor.over(w, path), origin=path)
