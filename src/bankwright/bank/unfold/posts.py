"""Modules, bars, inverters, chargers and loads with their posts and the metal between posts.

Gives: add_modules(), add_bar(), add_consumers(). Posts: `M1+` `M1-`, second posts `M1+b` `M1-b`, `bar+1`, `I1+`.
Limits: links are in bank/unfold/pattern; a bar whose section or spacing is not given has segments of unknown
resistance.
"""

from __future__ import annotations

from bankwright.bank.file.spans import Path, path_text
from bankwright.bank.model import Bar, BarPiece, Charger, Inverter, Load, Module, Pole
from bankwright.bank.model_kinds import ChargerKind, InverterKind, ModuleKind, PostSpec
from bankwright.bank.unfold.conductors import metal_resistivity
from bankwright.bank.unfold.draft import POLES, Consumer, Draft
from bankwright.bank.unfold.kinds import charger_kind, inverter_kind, module_kind, post_spec
from bankwright.bank.written.wiring import BarW
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.physics.conductor import resistance

__all__ = ["add_bar", "add_consumers", "add_modules"]

Studs = tuple[tuple[str, ...], ...]


def add_modules(draft: Draft) -> None:
    """Add modules with their posts and inner bars."""
    told = draft.told
    made: dict[str, ModuleKind] = {}
    for path, w in told.entries("modules"):
        if w.kind not in made:
            made[w.kind] = module_kind(w.kind, path_text(("kinds", "module", w.kind)), told.kinds.module[w.kind])
        kind = made[w.kind]
        names = [f"{w.name}{pole}{second}" for second in ("", "b")[: kind.posts.pairs] for pole in POLES]
        for name in names:
            draft.add_post(name, w.name, "module", kind.posts, path)
        module = Module(
            name=w.name,
            kind=kind,
            slot=w.slot,
            posts=tuple(names),
            origin=told.where.key(path),
            rack=w.rack,
            unit=w.unit,
            capacity_ah=w.capacity,
            resistance_factor=w.resistance_factor,
            address=w.address,
            serial=w.serial,
        )
        draft.modules.append(module)
        _add_inner(draft, module, w.kind)


def _add_inner(draft: Draft, module: Module, kind: str) -> None:
    if module.kind.posts.pairs < 2:
        return
    origin = draft.told.where.key(("kinds", "module", kind, "posts", "inner"))
    for pole in POLES:
        a = f"{module.name}{pole}"
        draft.pieces.append(
            BarPiece(f"{a}inner", a, f"{a}b", pole, "inner", module.name, module.kind.posts.inner, origin)
        )


def add_bar(draft: Draft, name: str, pole: Pole, w: BarW | None, path: Path, *, count: int) -> list[str]:
    """Add a bar with `count` studs and the segments between them; return its posts."""
    spec = PostSpec() if w is None else PostSpec(1, None, w.stud, w.lugs_per_stud, w.torque, None, w.temperature_rating)
    posts = [f"{name}{k}" for k in range(1, count + 1)]
    for post in posts:
        draft.add_post(post, name, "bar", spec, path)
    origin = draft.told.where.key(path)
    draft.bars.append(
        Bar(
            name=name,
            pole=pole,
            width=w.width if w else None,
            thickness=w.thickness * w.layers if w and w.thickness else None,
            material=w.material if w else "copper",
            hole=w.hole if w else None,
            rating=w.rating if w else None,
            rated_ambient_degc=w.rated_ambient if w else None,
            spacing=w.spacing if w else None,
            lugs_per_stud=w.lugs_per_stud if w else None,
            posts=tuple(posts),
            spec=spec,
            origin=origin,
            layers=w.layers if w else 1,
        )
    )
    resistance = _segment(w)
    for k in range(1, count):
        segment = f"{name}[{k}-{k + 1}]"
        draft.pieces.append(BarPiece(segment, posts[k - 1], posts[k], pole, "segment", name, resistance, origin))
    return posts


def _segment(w: BarW | None) -> Toleranced | None:
    """Resistance between neighbouring studs: as given, or from metal, section and spacing."""
    if w is None:
        return None
    if w.resistance is not None:
        return exact(w.resistance)
    if w.width is None or w.thickness is None or w.spacing is None:
        return None
    return exact(
        float(resistance(w.spacing, w.width * w.thickness * w.layers, resistivity=metal_resistivity(w.material)))
    )


def add_consumers(draft: Draft) -> None:
    """Add inverters, chargers and loads with their posts; the charging side of an inverter shares its posts."""
    told = draft.told
    for path, w in told.entries("inverters"):
        kind = inverter_kind(w.kind, path_text(("kinds", "inverter", w.kind)), told.kinds.inverter[w.kind])
        posts = _consumer(draft, Consumer(w.name, "inverter", w.lead, path, kind.terminals or PostSpec()))
        draft.inverters.append(Inverter(w.name, kind, posts, told.where.key(path), w.phase, w.remote_off))
        _charging_side(draft, w.name, kind, posts, path)
    for path, w in told.entries("chargers"):
        charger = charger_kind(w.kind, path_text(("kinds", "charger", w.kind)), told.kinds.charger[w.kind])
        posts = _consumer(draft, Consumer(w.name, "charger", w.lead, path, charger.terminals or PostSpec()))
        draft.chargers.append(Charger(w.name, charger, posts, told.where.key(path)))
    for path, w in told.entries("loads"):
        posts = _consumer(draft, Consumer(w.name, "load", w.lead, path, post_spec(w.terminals) or PostSpec()))
        current = 0.0 if w.sense_wire and w.power is None and w.current is None else w.current
        takes = (w.power, current, w.highest_input, w.lowest_input)
        draft.loads.append(Load(w.name, posts, told.where.key(path), *takes, sense=bool(w.sense_wire)))


def _charging_side(draft: Draft, name: str, kind: InverterKind, posts: tuple[str, str], path: Path) -> None:
    side: ChargerKind | None = kind.charger
    if side is not None:
        draft.chargers.append(Charger(f"{name}.charger", side, posts, draft.told.where.key(path), of=name))


def _consumer(draft: Draft, consumer: Consumer) -> tuple[str, str]:
    draft.consumers.append(consumer)
    plus, minus = f"{consumer.name}+", f"{consumer.name}-"
    for post in (plus, minus):
        draft.add_post(post, consumer.name, consumer.kind, consumer.spec, consumer.path)
    return plus, minus
