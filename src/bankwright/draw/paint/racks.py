"""Paints racks and modules: rails, floor, faces with name, figure and share line, posts.

Gives: painted_racks(). Modules come last, their posts cover the ends of cables.
Limits: the share line is the gauge in its smallest size; the larger ones are in charts.
"""

from __future__ import annotations

from bankwright.bank.model import Module
from bankwright.draw.arrange.layout import Layout
from bankwright.draw.paint.currents import amperes
from bankwright.draw.paint.look import Look, balloon_at, pretty
from bankwright.draw.pen.letters import fitted, room
from bankwright.draw.pen.svg import Markup, box, group, joined, line, words
from bankwright.draw.pen.symbols import polarity, post

__all__ = ["painted_racks"]


def _rack(lay: Layout, column: int, top: float, floor: float, label: str | None) -> list[Markup]:
    left, right = lay.left[column], lay.right[column]
    parts = [line(x, top - 5, x, floor + 6, "rail") for x in (left - 5, right + 5)]
    parts.append(line(left - 12, floor + 6, right + 12, floor + 6, "floor"))
    if label:
        parts.append(words((left + right) / 2, floor + 22, label, "d b mid"))
    return parts


def _limit(module: Module, current: float) -> float | None:
    return module.kind.charge.continuous if current < 0 else module.kind.discharge.continuous


def _share_line(look: Look, x0: float, x1: float, y: float, current: float, *, limit: float | None) -> list[Markup]:
    """The gauge in its smallest size: bar, stop, hatching; no limit given: an empty dashed frame for the wall."""
    amount = abs(current)
    full = limit * 1.2 if limit else max(look.most, amount, 1.0) * 1.2
    scale = (x1 - x0) / full
    bar = box(x0, y, min(amount, full) * scale, 4, "fill" + (" over" if limit is not None and amount > limit else ""))
    parts = [bar, line(x0, y + 4.7, x1, y + 4.7, "hair")]
    if limit is None:
        return [*parts, box(x0 + (x1 - x0) * 0.86, y - 3, (x1 - x0) * 0.14, 8, "free")]
    wall = x0 + limit * scale
    hatch = f"url(#{look.prefix}-hatch)"
    return [*parts, box(wall, y - 3, x1 - wall, 8, "hatch", fill=hatch), line(wall, y - 3, wall, y + 6, "stop2")]


def _words(lay: Layout, look: Look, module: Module) -> tuple[str, str]:
    """What the module says at the right, and its class."""
    low = lay.heights.pitch < 52
    said = look.texts.get(module.name)
    if said is not None:
        return said, "mod low end" if low else "mod end"
    current = look.current(module.name) if look.made is None else None
    if current is not None:
        return amperes(current), "mod low end" if low else "mod end" if lay.size.two_lines else "fig end"
    return (f"slot {module.slot}" if module.slot is not None else ""), "d soft end"


def _title(module: Module, look: Look) -> str:
    where = f", slot {module.slot}" if module.slot is not None else ""
    current = look.current(module.name)
    if module.name in look.texts:
        return f"{module.name}{where}: {look.texts[module.name]}"
    if current is None:
        return f"{module.name}{where}"
    limit = _limit(module, current)
    verb = "takes" if current < 0 else "gives"
    against = "limit not given" if limit is None else f"limit {amperes(limit)}"
    return f"{module.name}{where}: {verb} {amperes(abs(current))}, {against}"


def _module(lay: Layout, look: Look, module: Module, column: int) -> Markup:
    left, right = lay.left[column], lay.right[column]
    y, height = lay.heights.face(module.name)
    x0, x1, low = left + lay.size.text_inset, right - lay.size.text_inset, height < 46
    marked = " marked" if module.name in look.marked else ""
    parts = [box(left, y, right - left, height, f"face{marked}")]
    current = look.current(module.name) if look.made is None and module.name not in look.texts else None
    base = y + (16 if low else 24) if current is not None else y + height / 2 + 5.5
    said, cls = _words(lay, look, module)
    size = 15.0 if low else 16.0
    space = x1 - x0 - (22 if module.name in look.marks else 4)
    name = fitted(module.name, space - room(said, 18 if "fig" in cls else size, True), size, True)
    if name != module.name and current is None:  # words give way before a name does
        cls, name = "d soft end", fitted(module.name, space - room(said, 13), size, True)
    parts.append(words(x0, base, name, "mod" + (" low" if low else "")))
    if said:
        parts.append(words(x1, base, said, cls))
    if current is not None:
        line_y = y + height - (9 if low else 15)
        parts += _share_line(look, x0, x1, line_y, current, limit=_limit(module, current))
    for name_of, pole in _posts(module):
        x = left + lay.size.inset if pole == "+" else right - lay.size.inset
        parts += _post(lay, name_of, pole, x)
    mark = balloon_at(look, module.name, x0 + room(name, size, True) + 12, base - 5.5)
    return group(*parts, mark, title=_title(module, look), cls="module", data_place=module.name)


def _posts(module: Module) -> list[tuple[str, str]]:
    return [(name, "+" if name[len(module.name) :].startswith("+") else "-") for name in module.posts]


def _post(lay: Layout, name: str, pole: str, x: float) -> list[Markup]:
    """A post, with a plate over all cable ends that it holds."""
    radius = min(6.5, lay.heights.pitch * 0.15)
    y = lay.heights.post[name]
    ends = [at for (_, where), at in lay.heights.end.items() if where == name]
    plate = []
    if ends and max(ends) - min(ends) > 2:
        plate = [line(x, min(ends), x, max(ends), f"plate {polarity(pole)}")]
    return [*plate, post(x, y, pole, radius, pretty(name))]


def painted_racks(lay: Layout, look: Look) -> Markup:
    """All racks with their modules."""
    painted: list[Markup] = []
    for shelf, top, floor in lay.heights.shelf:
        painted += _rack(lay, shelf.column, top, floor, shelf.label)
    for shelf, _, _ in lay.heights.shelf:
        painted += [_module(lay, look, module, shelf.column) for module in shelf.modules]
    return joined(painted)
