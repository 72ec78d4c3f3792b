"""Drawings for the manual that show no bank: the parts of a chain and of a bar by name; where to look for an answer.

Gives: named_parts(), where_to_look(). Laid out by hand; sizes are not to scale.
"""

from bankwright.draw.pen.paper import Drawing, sheet
from bankwright.draw.pen.svg import Markup, box, circle, group, joined, line, words
from bankwright.draw.pen.symbols import converter, device, post, wire
from bankwright.draw.plates import plate

LEFT, RIGHT = 136.0, 372.0  # where names end, left of the chain, and where they begin, right of it
PLUS, MINUS = 186.0, 306.0


def _left(y: float, name: str, to_x: float, to_y: float) -> list[Markup]:
    """A name that ends where a thin line to the thing begins."""
    return [words(LEFT, y, name, "d b end"), line(LEFT + 5, y - 5, to_x, to_y, "lead")]


def _right(x: float, y: float, name: str, to_x: float, to_y: float) -> list[Markup]:
    """A name that begins where a thin line from the thing ends."""
    return [words(x, y, name, "d b"), line(x - 5, y - 5, to_x, to_y, "lead")]


def _chain() -> list[Markup]:
    """Two modules, a link a pole, the mains with a fuse and a switch up to the inverter."""
    parts = [
        wire(f"M {PLUS} 284 L {PLUS} 230", 6, "+"),
        wire(f"M {MINUS} 284 L {MINUS} 230", 8, "-"),
        wire(f"M {PLUS} 190 L {PLUS} 66 L 231 66", 8, "+"),
        wire(f"M {MINUS} 190 L {MINUS} 66 L 261 66", 8, "-"),
        box(166, 176, 160, 66, "face"),
        box(166, 272, 160, 66, "face"),
        words(246, 215, "M2", "mod mid"),
        words(246, 311, "M1", "mod mid"),
        device("fuse", PLUS, 148),
        device("disconnect", PLUS, 100, closed=True),
        converter(246, 66),
    ]
    for y in (190, 228, 286, 324):
        parts += [post(PLUS, y, "+"), post(MINUS, y, "-")]
    names = [
        *_left(71, "main cable, main+", PLUS - 5, 76),
        *_left(105, "switch S1", PLUS - 10, 100),
        *_left(153, "fuse F1", PLUS - 10, 148),
        *_left(195, "post M2+", PLUS - 8, 190),
        *_left(262, "link L1+", PLUS - 5, 257),
        *_left(329, "second post M1+b", PLUS - 8, 324),
        *_right(RIGHT, 71, "inverter I1", 263, 62),
        *_right(RIGHT, 195, "joint: one lug bolted to one post", MINUS + 8, 190),
        *_right(RIGHT, 262, "link L1−", MINUS + 6, 257),
        *_right(RIGHT, 311, "module", 328, 306),
    ]
    return [*parts, *names]


def _bar() -> list[Markup]:
    """One module with its lead to a stud of a bar."""
    parts = [
        box(640, 76, 14, 230, "bar pos"),
        wire("M 730 240 L 647 240", 6, "+"),
        wire("M 647 96 L 647 44", 8, "+"),
        box(718, 208, 120, 66, "face"),
        words(786, 246, "M1", "mod mid"),
        device("fuse", 692, 240, lying=True),
        post(734, 240, "+"),
        *(circle(647, y, 5, "part") for y in (96, 168, 240, 286)),
    ]
    names = [
        *_right(684, 62, "main cable", 652, 57),
        *_right(684, 116, "bar bar+", 655, 111),
        *_right(684, 173, "stud bar+2", 653, 168),
        *_right(684, 312, "lead L1+, with a fuse of its own", 668, 244),
    ]
    return [*parts, *names]


def named_parts() -> Drawing:
    """The parts of a bank by name: a chain on the left, a bar on the right."""
    heads = [words(16, 26, "A chain", "head"), words(640, 26, "A bar", "head")]
    body = joined([*heads, *_chain(), *_bar()])
    title = "The parts of a bank by name"
    return sheet(910, 352, title, "A chain and a bar with the names of their parts", "w", body=body)


def where_to_look() -> Drawing:
    """The small drawings of the first conversation side by side, each with what it tells."""
    rows = (
        (16, 36, "plate:capacity", "Plate of a module: capacity, cells, currents, mass"),
        (424, 36, "breaker:interrupts", "Breaker: rated current, and what it interrupts"),
        (16, 216, "page:DC input range", "Manual of the inverter: lowest battery voltage"),
        (424, 216, "post", "Post: its thread, across the tops"),
        (16, 360, "jacket:size", "Jacket of a cable: size, temperature, strands"),
        (424, 360, "lug", "Lug: its hole and the size of its cable"),
    )
    parts = [
        joined([words(x, y - 14, told, "d b"), group(plate(name) or Markup(""), transform=f"translate({x} {y})")])
        for x, y, name, told in rows
    ]
    desc = "Plate, breaker, page of a manual, post, jacket and lug, each with the place that tells marked"
    return sheet(820, 448, "Where to look", desc, "k", body=joined(parts), cls="plate-of")
