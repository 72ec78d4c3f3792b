"""An old log on a terminal: what was decided and why, three rows, what was kept and not, what is open.

Gives: show_look().
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path

import click

from bankwright.cli.show.findings import rule, wrap
from bankwright.forms.disk import bytes_text
from bankwright.forms.quantities import quantity
from bankwright.job.bringing import ColumnTaken, Decided, Look, Tally, columns_of, rejected_of, segments_of, when

__all__ = ["show_look"]

_GAPS, _LEFT, _VALUES = 5, 12, 24
_SPANS = ((86400.0, "d"), (3600.0, "h"), (60.0, "min"), (1.0, "s"))
_OPEN_PLACE = "?"


def show_look(log: Path, look: Look, storing: bool = False) -> None:
    """Everything, in the order a person checks it; `storing`: its rows are stored right after."""
    click.echo(f"{log.name}: {bytes_text(look.source.size)}")
    click.echo(rule("what was decided, and why"))
    _decided(look.told.decided)
    _columns(look)
    if look.looked is not None:
        _samples(look)
        _rows(look, look.looked.tally)
    if look.told.checks:
        click.echo(rule("held against each other"))
        _decided(look.told.checks)
    if look.told.open or not storing:
        _open(look)


def _say(text: str) -> None:
    click.echo(wrap(text, 4, "  "))


def _item(text: str) -> None:
    click.echo(wrap(text, 4, "  - "))


def _decided(rows: Iterable[Decided]) -> None:
    for each in rows:
        _say(f"{each.what}: {each.value} ({each.why})")


def _value(value: float | None, name: str) -> str:
    """A value with its unit, with all its digits."""
    if value is None or math.isnan(value):
        return "no value"
    if name == "soc":
        return f"{value * 100:.6g} %"
    unit = quantity(name).unit
    return f"{value:.9g} {'°C' if unit == 'degC' else unit}"


def _words(name: str) -> str:
    plain = name.removesuffix("_degc").removesuffix("_kwh").removesuffix("_ah").replace("_", " ")
    return "state of charge" if plain == "soc" else plain


def _place(at: str) -> str:
    part = at.partition(".")[2]
    if at.startswith("@"):
        return f"the row's own module{f' ({part})' if part else ''}"
    if not at.startswith(_OPEN_PLACE):
        return at
    return f"a module still to be told{f' ({part})' if part else ''}"


def _columns(look: Look) -> None:
    click.echo(rule("columns that are taken"))
    taken = columns_of(look)
    for _, group in groupby(taken, key=_alike):
        _group(list(group), look.looked.tally if look.looked is not None else Tally())
    left = look.told.left
    if left:
        _say("Not taken: " + "; ".join(f"{each.what} ({each.why})" for each in left[:_LEFT]) + ".")
    if len(left) > _LEFT:
        click.echo(f"  and {len(left) - _LEFT} more (--json lists them)")


def _alike(one: ColumnTaken) -> tuple[str, str, str, bool]:
    """Cells of one module, probes of one module stand in one line."""
    numbered = one.at[-1:].isdigit() and "." in one.at
    return (one.quantity, one.at.partition(".")[0] if numbered else one.at, one.written, numbered)


def _group(group: Sequence[ColumnTaken], tally: Tally) -> None:
    first, last = group[0], group[-1]
    several = len(group) > 1
    heading = f"{first.heading} to {last.heading}" if several else first.heading
    at = f"{_place(first.at)} to {_place(last.at)}" if several else _place(first.at)
    lows, highs = (
        [v for v in values if v is not None] for values in zip(*((g.low, g.high) for g in group), strict=True)
    )
    count = sum(g.count for g in group)
    span = f"; {count} value{'' if count == 1 else 's'}"
    if lows:
        span += f", {_value(min(lows), first.quantity)} to {_value(max(highs), first.quantity)}"
    total = tally.over_time.get(f"{first.quantity} {first.at}")
    if total is not None:
        size = f"{total / 3.6e6:.4g} kWh" if first.quantity == "power" else f"{total / 3600:.4g} Ah"
        span += f"; over time {size}"
    _say(f"{heading}: {_words(first.quantity)} at {at}, written in {first.written}{span}")


def _samples(look: Look) -> None:
    assert look.looked is not None
    click.echo(rule("rows as they would be stored"))
    is_open = any(each.what in ("zone", "start") for each in look.told.open)
    for row in look.looked.samples:
        click.echo(wrap(f"line {row.line}: {row.text}", 4, "  "))
        time = row.time.removesuffix("Z") + (" (date or zone still to be told)" if is_open else " UTC")
        values = ", ".join(f"{at} {_value(value, name)}" for name, at, value in row.values[:_VALUES])
        more = f" and {len(row.values) - _VALUES} more" if len(row.values) > _VALUES else ""
        click.echo(wrap(f"{time}: {values}{more}", 6, "    "))


def _rows(look: Look, tally: Tally) -> None:
    click.echo(rule("rows"))
    rejected = rejected_of(tally)
    count = sum(one.count for one in rejected)
    first, last = (when(None if t is None else t / 1000) for t in (tally.first, tally.last))
    usual = f", usually one every {_span(look.mapping.step)}" if tally.kept > 1 else ""
    _say(f"{tally.kept} kept of {tally.rows}, {count} rejected; from {first} to {last}{usual}.")
    for one in rejected:
        lines = ", ".join(map(str, one.lines)) + (" ..." if one.count > len(one.lines) else "")
        example = f": {one.example}" if one.example else ""
        _item(f"rejected {one.count}: {one.reason} (line {lines}){example}")
    for reason, number in tally.marked.items():
        line = tally.marked_at.get(reason)
        if number:
            _item(f"{number} without a value: {reason} (first in line {line})" if line else f"{number} {reason}")
    _order(tally)
    _segments(tally)
    if look.before is not None:
        _say(f"{look.before.rows} rows of this file are stored already, under {look.before.source}.")
    if look.overlaps:
        others = ", ".join(look.overlaps)
        _say(f"In the same time the logbook holds rows of: {others}. Rows of both will stand beside each other.")


def _segments(tally: Tally) -> None:
    for one in segments_of(tally):
        mean = ""
        if one.mean is not None:
            unit = quantity(one.quantity).unit
            mean = f"; mean over time {one.mean:.6g} {unit}, times time {one.over_time:.6g} {unit} s"
        _item(f"{one.at} {_words(one.quantity)}: {one.rows} rows {one.kind}, {one.start} to {one.end}{mean}")


def _order(tally: Tally) -> None:
    if tally.backwards:
        times = "once" if tally.backwards == 1 else f"{tally.backwards} times"
        _item(f"{times} a row is earlier than the one before; the order of the file is kept")
    if tally.repeated:
        rows = "1 row has" if tally.repeated == 1 else f"{tally.repeated} rows have"
        _item(f"{rows} the time of the row before; all are kept, in the order of the file")
    if tally.gap_count:
        longest = ", ".join(f"{_span(gap.seconds)} from {when(gap.start)}" for gap in tally.gaps[:_GAPS])
        gaps = "1 gap" if tally.gap_count == 1 else f"{tally.gap_count} gaps"
        _item(f"{gaps} (nothing is filled in), the longest: {longest}")


def _span(seconds: float) -> str:
    """`29 h`, `11 h 45 min 35.1 s`."""
    parts = []
    for size, name in _SPANS[:-1]:
        count = int(seconds // size)
        if count:
            parts.append(f"{count} {name}")
            seconds -= count * size
    if round(seconds, 3) or not parts:
        parts.append(f"{round(seconds, 3):g} s")
    return " ".join(parts)


def _open(look: Look) -> None:
    click.echo("")
    if look.before is not None and look.before.bytes >= look.source.size:
        click.echo(wrap("Nothing new: every row of this file is stored already."))
        return
    if not look.told.open:
        click.echo(wrap("Nothing is open, and nothing is written yet: --store stores these rows."))
        return
    click.echo(rule("still open"))
    for each in look.told.open:
        _say(f"{each.what}: {each.words}")
        click.echo(wrap(f"Settle it with {each.option}", 6, "      "))
    what = "converted" if look.looked is None else "stored"
    it_is = "this is" if len(look.told.open) == 1 else f"these {len(look.told.open)} are"
    click.echo("")
    click.echo(wrap(f"Nothing was written: nothing can be {what} before {it_is} settled."))
