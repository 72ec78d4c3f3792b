"""The questions of the first conversation, in their order: sentence, where to look, what "I do not know" brings.

Gives: Question, Choice, QUESTIONS, question(), hear(). Each is heard by one of the readers of hearing.
Limits: which of them apply, and in which state the conversation stands, is in talk;
pictures are named here and drawn by draw/plates.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from bankwright.bank.file.quantity_text import parse
from bankwright.bank.sizes import stud_label
from bankwright.bank.talk.hearing import Heard, hear_amount, hear_choice, hear_label, hear_whole, hear_words

__all__ = ["ENOUGH", "QUESTIONS", "Choice", "Question", "hear", "question"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to choose, and its price: what it saves, what it cannot do."""

    text: str
    price: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `quantity` with `units` for an amount, `ends` for a whole number, `choices` for a choice."""

    key: str  # the answer's name in texts/starter.Start
    short: str
    ask: str
    where: str
    unknown: str  # what happens when it is not known
    picture: str = ""  # "plate:capacity"
    quantity: str = ""
    units: tuple[str, ...] = ()  # the first is the one shown, the metric one
    us: str = ""  # the one shown where the output is in US units
    ends: tuple[int, int] | None = None
    choices: tuple[Choice, ...] = ()
    sample: str = ""
    label: bool = False  # a stud
    stands_in: str = ""  # what is written where the file cannot do without
    span: tuple[float, float] | None = None  # what a bare number may be at all, in SI; our choice

    def unit(self, units: str) -> str:
        """The unit that a bare number takes."""
        return (self.us or (self.units[0] if self.units else "")) if units == "us" else (self.units or ("",))[0]


_OPEN = "It stays open in the file, and Plan says which checks wait for it"
_BREAKER = (
    "On the front of the module, on the lever or beside it. No lever and no fuse inside: say that you do not know"
)

QUESTIONS: tuple[Question, ...] = (
    Question(
        "modules", "Modules", "How many alike modules are there?",
        "Modules of one product and one age. A second product is added to the file later.",
        "4 stands in until you know; everything is counted with it",
        ends=(1, 64), sample="4", picture="rack", stands_in="4",
    ),
    Question(
        "units", "Units", "In which units do you measure?",
        "Both are understood everywhere; this one is shown, and a bare number takes it.",
        "Metric stands in",
        choices=(Choice("metric", "mm, kg, °C"), Choice("us", "in, lb, °F")), stands_in="metric",
    ),
    Question(
        "capacity", "Capacity of one module", "What capacity has one module?",
        'On the plate, in Ah. "5.12 kWh" is its energy, not asked here.',
        f"{_OPEN}; how long the bank lasts cannot be told",
        picture="plate:capacity", quantity="capacity_ah", units=("Ah",), span=(5.0, 2000.0), sample="100",
    ),
    Question(
        "cells", "Cells in series", "How many cells has one module in series?",
        'On the plate, or from its nominal voltage: "51.2 V" is 16 cells, "48 V" is 15, at 3.2 V each. '
        "14, 15 and 16 are common.",
        "16 stands in until you have looked: every voltage rests on it, so look before you buy",
        picture="plate:cells", ends=(1, 32), sample="16", stands_in="16",
    ),
    Question(
        "discharge", "Current out, all the time", "What current may one module give all the time?",
        'On the plate or in the manual: "continuous discharge". Not the peak, not "for 10 s".',
        f"{_OPEN}: nothing can be said of sharing against a limit",
        picture="plate:discharge", quantity="current", units=("A",), span=(1.0, 2000.0), sample="100",
    ),
    Question(
        "charge", "Current in, all the time", "What current may one module take in all the time?",
        'In the manual: "continuous charge". Often half of what it may give.',
        f"{_OPEN}: nothing can be said of charging against a limit",
        picture="plate:charge", quantity="current", units=("A",), span=(1.0, 2000.0), sample="50",
    ),
    Question(
        "inverters", "Inverters", "How many inverters does the bank feed?",
        "Boxes that make AC from the bank. None: 0.", "1 stands in",
        ends=(0, 16), sample="1", picture="inverter", stands_in="1",
    ),
    Question(
        "power", "Power of one inverter", "What power does one inverter give all the time?",
        "On its plate, in kW or W. Not the surge. In VA it is no power: take the figure in W.",
        f"{_OPEN}: without it no current is known, and hardly anything can be computed",
        picture="plate:power", quantity="power", units=("kW", "W"), span=(100.0, 100e3), sample="5",
    ),
    Question(
        "lowest_voltage", "Lowest voltage of the inverter",
        "Down to which battery voltage does it still give that power?",
        'In its manual: "DC input range", the lower end at full power. There its current is largest.',
        f"{_OPEN}: the cells' own end of discharge stands in for the largest current",
        picture="page:DC input range", quantity="voltage", units=("V",), span=(8.0, 100.0), sample="44",
    ),
    Question(
        "pattern", "Wiring", "How are the modules joined?",
        "As they are now, or as you mean to do it; Plan can compare the two.",
        "Busbar stands in: nothing in Plan stands against it as such",
        choices=(
            Choice("chain", "Short links from module to module, few parts. It has no place for a fuse at each module: "
                            "it needs modules whose own breaker interrupts what all the others feed into a short."),
            Choice("busbar", "Every module has its own lead, with a fuse, to a bar a pole. More parts and more cable."),
        ),
        picture="patterns", stands_in="busbar",
    ),
    Question(
        "feed", "Where the main cables meet the bank", "Where do the two main cables meet the bank?",
        "Look where plus and minus leave it.", "Opposite ends stands in",
        choices=(
            Choice("opposite ends", "Plus at one end, minus at the other: the modules share more evenly."),
            Choice("same end", "Both at one end: easier to lay, the nearest module works hardest."),
            Choice("both ends", "A main cable of each pole at each end: twice the main cables."),
        ),
        stands_in="opposite ends",
    ),
    Question(
        "breaker", "Breaker inside a module", "What is the rated current of the breaker inside one module?",
        f"{_BREAKER}.", f"{_OPEN}. In a chain it decides whether the bank may be built so",
        picture="breaker:rating", quantity="current", units=("A",), span=(5.0, 2000.0), sample="125",
    ),
    Question(
        "interrupts", "What that breaker interrupts", "What DC current can that breaker interrupt?",
        'On its side: "Icu" or "IR", in kA, at 60 V DC or more. The AC figure does not count.',
        f"{_OPEN}; ask the maker for the DC figure and its voltage",
        picture="breaker:interrupts", quantity="current", units=("kA", "A"), span=(500.0, 200e3), sample="10",
    ),
    Question(
        "stud", "Thread of the posts", "What thread have the posts of one module?",
        "Take the nut off one free post, breaker off, the other posts capped. Measure across the tops of the thread.",
        f"{_OPEN}: lugs, washers and torque wait for it",
        picture="post", choices=tuple(map(Choice, ("M6", "M8", "M10", "1/4 in", "5/16 in", "3/8 in"))), label=True,
    ),
    Question(
        "pairs", "Posts a pole", "How many posts has each pole of one module?",
        "1: one plus, one minus. 2: two of each, so that a link comes in on one and leaves by the other.",
        "1 stands in: then links share a post, and Plan looks at the lugs on it",
        picture="posts", ends=(1, 2), sample="2", stands_in="1",
    ),
    Question(
        "mass", "Mass of one module", "What does one module weigh?",
        "On the plate or the box. It decides how it is lifted.", f"{_OPEN}: how many hands a lift needs is not told",
        picture="plate:mass", quantity="mass", units=("kg", "lb"), span=(1.0, 500.0), us="lb", sample="45",
    ),
    Question(
        "height", "Height in the rack", "How high is one module?",
        "In rack units (U), or with a tape.", f"{_OPEN}: the rack is drawn with even spaces",
        picture="rack", quantity="height", units=("U", "mm", "in"), span=(0.03, 2.5), sample="3",
    ),
    Question(
        "rules", "Rule book", "Which rule book does your inspector go by?",
        "nec-2023 in the USA and where it is adopted, iec-60364 nearly everywhere else.",
        "iec-60364 stands in with metric units, nec-2023 with US units",
        choices=(Choice("nec-2023"), Choice("iec-60364")), stands_in="*",
    ),
    Question(
        "place", "Where it stands", "Where does the bank stand?",
        "It decides which limits of storage hold: detached garage, attached garage, utility room, basement, outdoors.",
        f"{_OPEN}: the rules of storage wait for it",
        sample="detached garage",
    ),
    Question(
        "title", "Name of the bank", "What is the bank called?",
        "It stands on every sheet.", '"My bank" stands in', sample="Garage", stands_in="My bank",
    ),
)  # fmt: skip
ENOUGH = ("modules", "cells", "power", "lowest_voltage", "pattern")  # with these a first Plan says something

COMMON_CELLS = (14, 15, 16)  # in series in a module for a 48 V inverter; common practice, no source
CELL_VOLTS = 3.2  # V, nominal, of an LFP cell
_COMMON = "Common in a module of a home bank are 14, 15 and 16: look at the plate again."
_CELLS = re.compile(r"([0-9]+) *cells?", re.IGNORECASE)
_BY_KEY: Mapping[str, Question] = MappingProxyType({each.key: each for each in QUESTIONS})


def question(key: str) -> Question:
    """The question of an answer; KeyError for none."""
    return _BY_KEY[key]


def hear(asked: Question, typed: str, unit: str) -> Heard:
    """Hear what was typed to a question; `unit` is the one shown."""
    if asked.quantity:
        return _likely(hear_amount(typed, asked.quantity, unit), asked)
    if asked.key == "cells":
        return _hear_cells(typed)
    if asked.ends is not None:
        return hear_whole(typed, *asked.ends)
    if asked.label:
        return hear_label(typed, stud_label)
    if asked.choices:
        return hear_choice(typed, tuple(choice.text for choice in asked.choices))
    return hear_words(typed)


def _hear_cells(typed: str) -> Heard:
    """Hear a count of cells, or the nominal voltage of the plate at 3.2 V a cell (LFP); an unusual count is confirmed.

    "3" is asked back, "3 cells" is taken and stays so: it is heard again when the conversation goes on.
    """
    confirmed = _CELLS.fullmatch(typed.strip())
    heard = hear_whole(confirmed[1] if confirmed else typed, 1, 32)
    if heard.how == "taken" and not confirmed and int(heard.text) not in COMMON_CELLS:
        return Heard("mended", typed, words=_unusual(int(heard.text)), offers=(_count(int(heard.text)),))
    if heard.how == "taken":
        return Heard("taken", typed, _count(int(heard.text)))
    if heard.how == "mended":
        return replace(heard, offers=tuple(_count(int(offer)) for offer in heard.offers))
    if heard.how != "refused" or not typed.strip().lower().rstrip("olts").endswith("v"):
        return replace(heard, typed=typed)
    volts = hear_amount(typed, "voltage", "V")
    text = volts.text if volts.how == "taken" else volts.offers[0] if volts.how == "mended" else ""
    count = round(float(text.split()[0]) / CELL_VOLTS) if text.endswith(" V") else 0
    if not 1 <= count <= 32:
        return heard
    words = f"{text} is the voltage of {_count(count, always=True)} at {CELL_VOLTS:g} V."
    more = "" if count in COMMON_CELLS else f" {_COMMON}"
    return Heard("mended", typed, words=words + more, offers=(_count(count),))


def _count(cells: int, always: bool = False) -> str:
    """An answer that is taken: "16", and "3 cells" where the count is unusual."""
    if cells in COMMON_CELLS and not always:
        return str(cells)
    return f"{cells} cell{'' if cells == 1 else 's'}"


def _unusual(cells: int) -> str:
    return f"{_count(cells)} in series {'is' if cells == 1 else 'are'} {CELL_VOLTS * cells:.1f} V nominal. {_COMMON}"


def _likely(heard: Heard, asked: Question) -> Heard:
    """Ask back where a bare number, with the unit shown, is far from anything that is sold: 6500 kW, or 6500 W?"""
    if heard.how != "taken" or asked.span is None or not heard.typed.strip()[-1:].isdigit():
        return heard
    low, high = asked.span

    def si(text: str) -> float:
        return parse(text, asked.quantity).nominal

    if low <= si(heard.text) <= high:
        return heard
    number = heard.text.split()[0]
    others = tuple(t for unit in asked.units if low <= si(t := f"{number} {unit}") <= high)
    return Heard(
        "mended", heard.typed, words=f"{heard.text} is far from what is sold.", offers=(*others, heard.text)[:3]
    )
