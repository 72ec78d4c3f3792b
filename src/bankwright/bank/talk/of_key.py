"""An answer box for any key of the bank file: what may be typed, how it is heard, how it stands in the file.

Gives: Box, box_of(), hear_box(), put(), where_to_look(), opens_as(). The form comes from the written models, so that a
key that is new has its box.
Limits: one value at a time; points of a curve and whole tables have no box (then None); the page's forms have them.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from bankwright.bank.file.document import Document
from bankwright.bank.file.spans import path_of
from bankwright.bank.talk.hearing import Heard, hear_choice, hear_value, hear_whole, hear_words
from bankwright.bank.texts.manual import example
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.keys import form_of, keys, model_at, table_of
from bankwright.bank.written.values import Form
from bankwright.forms.quantities import QUANTITIES

__all__ = ["Box", "box_of", "hear_box", "opens_as", "put", "where_to_look"]

LONG = 1.0  # m; what is shorter is told in inches, not in feet (common practice, no source)
MOST_UNITS = 4  # buttons of one box; every other unit may be typed
_LEAF = {  # a table that is asked for as a whole begins with this key of it
    "breaker": "breaker.interrupts", "precharge": "precharge.resistor", "resistance": "resistance.dc",
    "earthing": "earthing.pole", "charger": "charger.current", "posts": "posts.stud", "terminals": "terminals.stud",
}  # fmt: skip
_PRINTED = {  # what is printed on the thing, where that is not the unit of the general example: unit, example
    "interrupts": ("kA", "20 kA"), "insulation": ("degC", "90 degC"), "rating.temperature_degc": ("degC", "75 degC"),
    "hole": ("mm", "8.4 mm"), "thickness": ("mm", "10 mm"), "spacing": ("mm", "50 mm"),
    "joint": ("uohm", "20 uohm"), "precharge.resistor": ("ohm", "33 ohm"), "volts": ("V", "80 V"),
    "highest_input": ("V", "62 V"), "cut_out": ("V", "44 V"), "resistance.ohmic": ("mohm", "6 mohm +- 1 mohm"),
}  # fmt: skip
_FIRST_AMOUNT = re.compile(r'"([+-]?[0-9.]+ ([^"]+))"')  # as a file holds it
_STUDS, _WIRES = "M8 or 3/8 in", "4/0 AWG or 70 mm2"
_LOOK: tuple[tuple[str, str, str], ...] = (  # end of the key, where to look, picture
    ("posts.stud", "Nut off one free post, breaker off, others capped: across the tops of the thread.", "post"),
    ("terminals.stud", "Across the tops of the thread with a caliper, nothing connected.", "post"),
    ("posts.lugs", "In the manual, where it shows the cables put on.", "page:posts"),
    ("posts.through", 'In the manual, at wiring in parallel: "bus current", "through current".', "page:parallel"),
    ("posts.rating", "In the manual, at terminals; not the temperature of the cells.", "page:terminals"),
    ("breaker.interrupts", 'On its side: "Icu" or "IR", in kA, at 60 V DC or more.', "breaker:interrupts"),
    ("breaker.rating", "On its front or lever, in A.", "breaker:rating"),
    ("breaker.volts", "On its side, the figure with DC or the level stroke.", "breaker:interrupts"),
    ("discharge.trip", "In the manual, at protection: current and delay, as in 150 A for 3 s.", "page:protection"),
    ("charge.trip", "In the manual, at protection: current and delay.", "page:protection"),
    ("capacity", "On the plate.", "plate:capacity"), ("mass", "On the plate, or on the box.", "plate:mass"),
    ("discharge.continuous", "On the plate: not the peak.", "plate:discharge"),
    ("charge.continuous", "On the plate or in the manual.", "plate:charge"),
    ("address.switches", "On the front, beside the data sockets: count the sliders.", "switches"),
    ("resistance.dc", "The maker; or a step of load and a meter at the posts (Prove).", "page:resistance"),
    ("resistance.ohmic", "The maker; or a four-wire tester at 1 kHz, at the posts.", "page:resistance"),
    ("insulation", "Printed along the jacket, every metre or so.", "jacket:insulation"),
    ("strands", "On the jacket, or look at the cut end.", "jacket:strands"), ("cable", "On the jacket.", "jacket:size"),
    ("lug", "Stamped on its tongue: size of cable and of stud.", "lug"),
    ("hole", "Stamped on the lug, or a caliper.", "lug"),
    ("inverter.power", "On its plate.", "plate:power"), ("phases", "In its manual, at AC output.", "page:AC output"),
    ("surge_power", "On its plate or in its manual, with its time.", "plate:power"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Box:
    """What may be typed for a key. `units` are what a bare number may be in, the first is the one shown."""

    key: str
    words: str
    sample: str
    units: tuple[str, ...]
    choices: tuple[str, ...]
    form: Form

    @property
    def number(self) -> bool:
        """Whether a keypad of numbers is enough."""
        return bool(self.units) and not self.choices and " for " not in self.sample and " to " not in self.sample


def opens_as(key: str) -> str:
    """The key that is asked first where a whole table is missing; the key itself otherwise."""
    head, _, last = key.rpartition(".")
    return f"{head}.{_LEAF[last]}" if last in _LEAF and head and _is_table(key) else key


def _field(key: str) -> Any:
    try:
        parts = path_of(key)
    except ValueError:
        return None
    model = model_at(Written, parts[:-1])
    return keys(model).get(str(parts[-1])) if model is not None and parts else None


def _is_table(key: str) -> bool:
    field = _field(key)
    return field is not None and table_of(field) is not None


def box_of(key: str, document: Document, units: str = "metric") -> Box | None:
    """The box of a key of this file; None for a table, a curve, or a name of which there is none to choose."""
    field = _field(key)
    if field is None or table_of(field) is not None:
        return None
    form = form_of(field)
    if form.words.startswith(("points", "what sits", "name, or list")):
        return None
    choices = _choices(key, form, document)
    if key.endswith(".lug") and not choices:
        return None
    unit, sample = _printed(key, form, units)
    shown = tuple(dict.fromkeys((unit, *_units(form, units))))[:MOST_UNITS] if unit else _units(form, units)
    return Box(key, form.words, sample, shown, choices, form)


def _printed(key: str, form: Form, units: str) -> tuple[str, str]:
    """Unit and example for this very key; "" and the general example where there is no better one."""
    for end, found in _PRINTED.items():
        leaf, _, quantity = end.rpartition(".") if end.endswith(form.quantity) and form.quantity else (end, "", "")
        if (key == leaf or key.endswith("." + leaf)) and (not quantity or quantity == form.quantity):
            return found
    if form.words.startswith(("stud", "wire")):
        return "", _STUDS if form.words.startswith("stud") else _WIRES
    if form.words in ("text", "one of", "true or false") or form.words.startswith("list"):
        return "", ""
    unit, sample = _own(key, form) or ("", form.sample.strip('"').split('", or')[0])
    return (_in_us(sample, form.quantity) if units == "us" else None) or (unit, sample)


def _in_us(sample: str, name: str) -> tuple[str, str] | None:
    """Unit and example where US units show another one, to two digits: 440 mm is 17 in, 2.4 m is 7.9 ft."""
    row, parts = QUANTITIES.get(name), sample.split(" ", 1)
    written = row.unit_named(parts[-1]) if row is not None and row.show_us else None
    if row is None or written is None or len(parts) < 2:
        return None
    inside = float(parts[0]) * written.factor + written.offset
    shown = row.unit_named(row.show_us[-1 if name == "length" and abs(inside) < LONG else 0])
    if shown is None or shown == written:
        return None
    amount = float(f"{(inside - shown.offset) / shown.factor:.2g}")
    return shown.symbol, f"{amount:g} {shown.symbol}"


def _own(key: str, form: Form) -> tuple[str, str] | None:
    """Unit and example of the key as the manual has it: 10 kA for a switch, 20 mA in standby; None for none."""
    path, row = path_of(key), QUANTITIES.get(form.quantity)
    model = model_at(Written, path[:-1])
    text = example(model, str(path[-1])) if model is not None and row is not None else None
    found = _FIRST_AMOUNT.fullmatch(text or "")
    if row is None or found is None:
        return None
    fits = [unit.symbol for unit in row.units if f"{found[2]} ".startswith(f"{unit.symbol} ")]
    return (max(fits, key=len), found[1]) if fits else None


def _choices(key: str, form: Form, document: Document) -> tuple[str, ...]:
    if form.words == "one of":
        return tuple(part.strip().strip('"') for part in form.sample.split("|"))
    if form.words == "true or false":
        return ("yes", "no")
    if key.endswith(".lug"):
        lugs = document.data.get("kinds", {}).get("lug", {})
        return tuple(map(str, lugs)) if isinstance(lugs, dict) else ()
    return ()


def _units(form: Form, units: str) -> tuple[str, ...]:
    """The unit of the example first; in US units the one that is shown there."""
    row = QUANTITIES.get(form.quantity)
    if row is None:
        return ()
    shown = row.show_us if units == "us" and row.show_us else ()
    first = shown or tuple(
        u.symbol for u in row.units if form.sample.rstrip('"').split(" +-")[0].endswith(" " + u.symbol)
    )
    ordered = dict.fromkeys((*first[:1], *(unit.symbol for unit in row.units)))
    return tuple(ordered)[:MOST_UNITS]


def hear_box(box: Box, typed: str, unit: str = "") -> Heard:
    """Hear what was typed into a box."""
    if box.choices:
        return hear_choice(typed, box.choices)
    if box.words.startswith("whole number") or box.words[:1].isdigit():
        return hear_whole(typed, 0, 10_000)
    if box.form.read is None or box.words.startswith(("list", "text")):
        return hear_words(typed)
    shown = unit if unit in box.units else (box.units or ("",))[0]
    return hear_value(typed, box.form.read, shown, box.units)


def put(document: Document, box: Box, text: str) -> Document:
    """The document with an answer in its place; a kind that stands in an included file is changed there."""
    value: Any = text
    if box.words == "true or false":
        value = text == "yes"
    elif (
        box.words.startswith("whole number") or box.words[:1].isdigit() or (text.isdecimal() and box.words == "one of")
    ):
        value = int(text)
    elif box.words.startswith("list"):
        value = [part.strip() for part in text.split(",") if part.strip()]
    return home_of(document, box.key).with_value(box.key, value)


def home_of(document: Document, key: str) -> Document:
    """The document in which a kind stands: the file itself, or the first of its included files that gives it."""
    parts = path_of(key)
    if parts[0] != "kinds" or len(parts) < 3 or document.has(parts[:3]):
        return document
    for name in document.data.get("include", ()):
        try:
            found = Document.read(FilePath(document.path).parent / str(name))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
            continue
        if found.has(parts[:3]):
            return found
    return document


def where_to_look(key: str) -> tuple[str, str]:
    """Where an answer is found, and the picture of it; empty where nothing better than the question is known."""
    for end, words, picture in _LOOK:
        if key == end or key.endswith("." + end):
            return words, picture
    return "", ""
