"""The logbook on a terminal of 80 columns: by time, by place, by step; each entry in the words of the trade.

Gives: show_by_time(), show_by_place(), show_by_step(), entry_words(). Entries keep the order in which they were
stored; a corrected one stays, with the number of what replaced it. `?` behind a time: the clock was not known to be
right; `~`: worked out later from the same start of the machine.
Limits: no file is opened here (cli/log.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import rule, wrap

if TYPE_CHECKING:
    from bankwright.job.logs import Entry

Newer = Mapping[str, str]  # by the id of an entry: what replaced it, in words

__all__ = ["entry_words", "show_by_place", "show_by_step", "show_by_time"]


def show_by_time(entries: Sequence[Entry], every: Sequence[Entry], newer: Newer, units: str) -> None:
    """Print entries in the order they were stored, days on rules."""
    day = ""
    times = _times(every)
    for entry in entries:
        date, clock = times[entry.seq]
        if date != day:
            click.echo(rule(date))
            day = date
        place = entry.at or ""
        words = entry_words(entry, units, False, newer.get(entry.id, ""))
        click.echo(wrap(f"{place}  {words}" if place else words, 16, f"{entry.seq:>6}  {clock:<7} "))
    _legend(times, entries)


def show_by_place(entries: Sequence[Entry], every: Sequence[Entry], newer: Newer, units: str) -> None:
    """Print entries under the place they belong to; what belongs to none comes last."""
    _grouped(entries, every, newer, lambda entry: entry.at or "", "no place", units=units)


def show_by_step(entries: Sequence[Entry], every: Sequence[Entry], newer: Newer, units: str) -> None:
    """Print entries under the step they belong to; what belongs to none comes last."""
    _grouped(entries, every, newer, lambda entry: entry.step or "", "no step", units=units)


def _grouped(
    entries: Sequence[Entry],
    every: Sequence[Entry],
    newer: Newer,
    key: Callable[[Entry], str],
    none: str,
    *,
    units: str,
) -> None:
    times = _times(every)
    names = dict.fromkeys(key(entry) for entry in entries)
    for name in [*(n for n in names if n), *(n for n in names if not n)]:
        click.echo(rule(name or none))
        for entry in entries:
            if key(entry) == name:
                words = entry_words(entry, units, none != "no place", newer.get(entry.id, ""))
                click.echo(wrap(words, 26, f"{entry.seq:>6}  {' '.join(times[entry.seq]):<17} "))
    _legend(times, entries)


def _times(every: Sequence[Entry]) -> dict[int, tuple[str, str]]:
    """Date and clock of each entry, corrected where a later row of the same boot knew better."""
    from bankwright.job.logs import corrected

    known = {e.stored.boot: e.stored for e in every if e.stored and e.stored.boot and e.stored.clock_known}
    found = {}
    for entry in every:
        moment, mark = entry.moment, ""
        if moment.clock_known is False:
            better = corrected(moment, known[moment.boot]) if moment.boot in known else None
            moment, mark = (better, "~") if better else (moment, "?")
        found[entry.seq] = (moment.wall[:10], moment.wall[11:16] + mark)
    return found


def _legend(times: dict[int, tuple[str, str]], entries: Iterable[Entry]) -> None:
    marks = {times[entry.seq][1][5:] for entry in entries}
    if "?" in marks:
        click.echo(wrap("? the clock was not known to be right"))
    if "~" in marks:
        click.echo(wrap("~ time worked out later, when the clock was known to be right"))


def entry_words(entry: Entry, units: str, place: bool = True, replaced: str = "") -> str:
    """Say an entry in words."""
    words = {
        "reading": _reading,
        "tick": _tick,
        "note": lambda e, _: f'struck out: "{e.note}"' if e.corrects else f'note: "{e.note}"',
        "photo": lambda e, _: f"photo {e.body['path']}",
        "event": _event,
        "result": lambda e, _: f"{e.body['kind']} handed over (format {e.body['format']})",
        "instrument": _instrument,
    }[entry.kind](entry, units)
    parts = [f"{entry.at}  {words}" if place and entry.at else words]
    if entry.kind not in ("note", "instrument") and entry.note:
        parts.append(f'"{entry.note}"')
    if entry.who and entry.who != "logbook":
        parts.append(entry.who)
    if replaced:
        parts.append(replaced)
    return "; ".join(parts)


def _reading(entry: Entry, units: str) -> str:
    from bankwright.forms.wording import amount_text

    name = (entry.quantity or "").removesuffix("_degc").removesuffix("_ah").removesuffix("_kwh").replace("_", " ")
    value = entry.as_typed or amount_text(entry.value or 0.0, entry.quantity or "ratio", units)
    band = ""
    if entry.low is not None and entry.high is not None and entry.quantity:
        low, high = (amount_text(end, entry.quantity, units, digits=4) for end in (entry.low, entry.high))
        band = f" ({low} to {high})"
    meter = f", {entry.instrument}" if entry.instrument else ""
    return f"{name} {value}{band}{meter}"


def _tick(entry: Entry, _: str) -> str:
    box = f"{entry.step} / {entry.body['tick']}" if entry.body["tick"] else f"{entry.step}"
    return f"{box} {'done' if entry.body['done'] else 'open again'}"


def _event(entry: Entry, _: str) -> str:
    body = entry.body
    if body["code"] == "clock-jump":
        way = "forward" if body["seconds"] > 0 else "back"
        return f"the clock jumped {way} by {_span(abs(body['seconds']))}"
    if body["code"] == "log-end-cut":
        return f"an end of the log could not be read; it is kept as {body['kept_as']}"
    detail = ", ".join(f"{key} {value}" for key, value in body.items() if key != "code")
    return f"{body['code']}{': ' if detail else ''}{detail}"


def _span(seconds: float) -> str:
    if seconds >= 5400:
        return f"{seconds / 3600:.1f} h"
    return f"{seconds / 60:.0f} min" if seconds >= 90 else f"{seconds:.1f} s"


def _instrument(entry: Entry, _: str) -> str:
    body = entry.body
    share, digits = body["percent_of_reading"], body["digits"]
    accuracy = (
        "accuracy not known" if share is None else f"{share * 100:g} %" + (f" + {digits:g} digits" if digits else "")
    )
    return f"instrument {body['name']} ({body['quantity'].replace('_', ' ')}): {accuracy}"
