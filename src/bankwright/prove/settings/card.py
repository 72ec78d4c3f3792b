"""The settings card: every row of every inverter and charger, and the finding of each.

Gives: SettingsCard, Grounds, settings_card(), CARDS. A row that was not entered yet is unknown; what
was set is judged against its window. Nothing is ever written to a device.
Limits: settings of the AC side are not in this file.
Sources: with each row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Missing, Verdict
from bankwright.forms.grouping import ordered
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.prove.settings.charge_rows import charge_rows
from bankwright.prove.settings.discharge_rows import discharge_rows
from bankwright.prove.settings.setting import Entered, Held, Setting
from bankwright.prove.settings.word_rows import word_rows

__all__ = ["CARDS", "Grounds", "SettingsCard", "settings_card"]

_SHEETS = Source("data sheets of module, inverter and charger", how_known="read")
_NEXT = "Not seen here: a device that shows one value and uses another; prove it under load."


def _card(code: str, title: str, formula: str, why: str, test: str = "code", *, ends_at: str = "fail") -> Card:
    return Card(code, title, formula, _SHEETS, test, ends_at, f"{why}\n\n{_NEXT}\nSource: the sheets, with each row.")  # type: ignore[arg-type]


CARDS: Mapping[str, Card] = MappingProxyType(
    {
        "charge voltage": _card(
            "V-SET-1",
            "Charge voltage as set",
            "3.2 V x cells <= U <= trip, sheet",
            "The charge voltage fills the cells and trips none.\n\nWhy: a wrong one drives all modules "
            "into their trip at once.",
        ),
        "charge ceiling": _card(
            "V-SET-2",
            "Highest voltage of any stage",
            "U <= trip, sheet, highest inputs",
            "No stage of a charger may lift the bus above what modules and devices stand.\n\nWhy: "
            "equalising is a setting that lead-acid left behind.",
        ),
        "float": _card(
            "V-SET-3",
            "Float as set",
            "U <= 3.40 V x cells",
            "Float is off, or holds the bank without filling it further.\n\nWhy: full cells that are kept on "
            "charge age.",
        ),
        "charge current": _card(
            "V-SET-4",
            "Charge current as set",
            "I < what holds with one module away",
            "Every module stays inside its charge limit with any other away and the message lost.\n\n"
            "Why: a module that trips hands its part to the others.",
            "physical",
        ),
        "discharge current": _card(
            "V-SET-5",
            "Discharge current as set",
            "I < what holds with one module away",
            "Every module stays inside its discharge limit with any other away and the message "
            "lost.\n\nWhy: a module that trips hands its part to the others.",
            "physical",
        ),
        "low stop": _card(
            "V-SET-6",
            "Low stop as set",
            "n U_trip + (n - 1) dU <= U <= 3.10 V x cells",
            "The inverter stops before the weakest cell trips its module, read at no load.\n\nWhy: else the "
            "modules open one by one, and the last carries the whole load.",
        ),
        "restart": _card(
            "V-SET-7",
            "Restart as set",
            "U > low stop + rebound",
            "The voltage that comes back by itself does not start the inverter again.\n\nWhy: it would start "
            "and stop until the cells are empty.",
            "code",
            ends_at="caution",
        ),
        "without the message": _card(
            "V-MESSAGE-2",
            "Without the message",
            "stops, or own limits",
            "A device that hears nothing stops or keeps to its own figures.\n\nWhy: a cable that "
            "falls out is the commonest fault of all (practice).",
            "statement",
            ends_at="caution",
        ),
        "chemistry": _card(
            "V-SET-8",
            "Type of battery as set",
            "voltages set by hand",
            "The type of battery does not overrule what was set.\n\nWhy: a list entry brings voltages of its own.",
            "statement",
            ends_at="caution",
        ),
        "message": _card(
            "V-MESSAGE-1",
            "Cable of the message",
            "socket, cable, pins, terminator, module asked first",
            "The message comes by the right socket, pins and terminator, from the module that is asked "
            "first.\n\nWhy: on one wrong pin there is silence.",
            "statement",
            ends_at="caution",
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Grounds:
    """What the rows rest on beside the bank: what all together may carry, rebound [V] by inverter or what it lacks."""

    charge: Held
    discharge: Held
    rebound: Mapping[str, float | tuple[Missing, ...]] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class SettingsCard:
    """All rows in the order of the devices, what was entered by id, and the findings, worst first."""

    rows: tuple[Setting, ...]
    entered: Mapping[str, Entered]
    verdicts: Mapping[str, Verdict]  # by id
    findings: tuple[Finding, ...]
    notes: tuple[Say, ...]


def settings_card(bank: Bank, grounds: Grounds, entered: Mapping[str, Entered] | None = None) -> SettingsCard:
    """The card of a bank; `entered`: what was set, by the id of its row."""
    known = dict(entered or {})
    rows = tuple(_rows(bank, grounds, known))
    found = {row.id: _finding(row, known.get(row.id)) for row in rows}
    notes = (
        say("Bankwright sets nothing: a person sets it at the device, reads it back there, and enters what it shows."),
        say("A fuller message may ask for less at any time; these figures hold when it is silent."),
    )
    mine = MappingProxyType({key: value for key, value in known.items() if key in found})
    verdicts = MappingProxyType({key: finding.verdict for key, finding in found.items()})
    return SettingsCard(rows, mine, verdicts, ordered(found.values()), notes)


def _rows(bank: Bank, grounds: Grounds, entered: Mapping[str, Entered]) -> Iterator[Setting]:
    sides = {charger.of: charger for charger in bank.chargers if charger.of is not None}
    for inverter in bank.inverters:
        if inverter.name in sides:
            yield from charge_rows(bank, sides[inverter.name], grounds.charge)
        lacking = grounds.rebound.get(inverter.name, (asking(f"{inverter.kind.path}.power"),))
        yield from discharge_rows(bank, inverter, grounds.discharge, lacking, entered)
        yield from word_rows(bank, inverter.name, inverter.kind.path, inverter.kind.message)
    for charger in bank.chargers:
        if charger.of is None:
            yield from charge_rows(bank, charger, grounds.charge)
            yield from word_rows(bank, charger.name, charger.kind.path, charger.kind.message)


def _finding(row: Setting, entered: Entered | None) -> Finding:
    card = CARDS[row.what]
    if entered is None:
        how = f'Set it at {row.device} and enter what it shows: --set "{row.id}=..."'
        if row.set_to is None:
            return card.unknown(row.device, row.missing)
        return card.unknown(row.device, (asking(f"setting of {row.id}", how),))
    if row.quantity == "words":
        return _words(card, row, entered)
    assert entered.value is not None
    figure = Figure(entered.value, row.quantity)
    text = say("{id} stands at {value} since {when}", id=row.id, value=figure, when=entered.when)
    do = say("Set it to {value}, and read it back.", value=_to_set(row))
    return card.found(
        row.device,
        figure,
        row.window,
        text,
        do,
        inputs=row.inputs,
        missing=row.missing,
        caution_limits=row.soft,
        source=row.source,
        case=row.id,
    )


def _to_set(row: Setting) -> Figure | str:
    return "what the missing values say" if row.set_to is None else row.set_to


def _words(card: Card, row: Setting, entered: Entered) -> Finding:
    bad = row.what == "without the message" and entered.typed.strip().lower() == "goes on"
    text = say("{id} was entered as {typed} at {when}", id=row.id, typed=entered.typed, when=entered.when)
    do = say(
        "Keep the figures of this card in every device; have the maker say how it stops."
        if bad
        else "Compare it with what the card says."
    )
    return card.found(
        row.device, None, (None, None), text, do, forced="caution" if bad else None, source=row.source, case=row.id
    )
