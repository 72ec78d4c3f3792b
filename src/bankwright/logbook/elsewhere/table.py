"""Find the table in a text: delimiter, headings, what stands above them, decimal mark, decimals that were split.

Gives: found_table(). Everything it settles is told with its reason; what has two readings is asked.
Limits: times and quantities of the columns are propose.py.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from bankwright.forms.faults import Fault
from bankwright.logbook.elsewhere.asked import Asked
from bankwright.logbook.elsewhere.headings import meaning_of
from bankwright.logbook.elsewhere.layout import Layout, parted, unwrapped
from bankwright.logbook.elsewhere.moments import shape_of
from bankwright.logbook.elsewhere.numbers import is_missing
from bankwright.logbook.elsewhere.source import Sample
from bankwright.logbook.elsewhere.told import NotUnderstood, Told
from bankwright.logbook.elsewhere.units import written_unit

__all__ = ["DELIMITERS", "found_table"]

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "pipe": "|", "blank": " "}
_NAMES = {mark: name for name, mark in DELIMITERS.items()} | {" ": "blanks"}
_ORDER = ("\t", ";", "|", ",", " ")
_LOOK = 400  # lines
_DIGITS_FIRST = re.compile(r"\s*[+\-−.,(]?\s*\d")
_LIKE_NUMBER = re.compile(r"[^A-Za-z]*(?:[A-Za-z°℃Ω]{1,4}|[ap]\.?m\.?)?[^A-Za-z]*|0[xX][0-9a-fA-F]+")


def found_table(path: Path, sample: Sample, asked: Asked, told: Told) -> Layout:
    """Find the table; NotUnderstood where there is none."""
    lines = sample.head[:_LOOK]
    wrapped = _are_wrapped(lines)
    if wrapped:
        lines = unwrapped(lines)
        told.settle("lines", "taken out of quotes", "every line stands in quotes as a whole")
    start, hinted = _hint(lines)
    comment = _comment(lines)
    delimiter, shown = _delimiter(path, lines[start:], comment, asked, hinted)
    told.settle("delimiter", _NAMES[delimiter], shown)
    quoted = delimiter != " " and _quotes_are_whole(lines)
    if delimiter != " " and not quoted and any('"' in line for line in lines):
        told.settle("quotes", "letters like others", "they do not come in pairs around fields")
    rows = parted(lines, delimiter, quoted)
    data = _first_data(rows, lines, comment, start)
    header, names, first = _headings(path, rows, lines, data, comment, asked=asked, told=told)
    usual = _usual_width(rows[first - 1 :])
    layout = Layout(delimiter, names, header, first, quoted, comment, wrapped=wrapped)
    return _fitted(path, layout, usual, rows[first - 1 :], told)


def _are_wrapped(lines: Sequence[str]) -> bool:
    """Whether each line is one field in quotes that holds delimiters."""
    full = [line.strip() for line in lines if line.strip()]
    return len(full) > 1 and all(
        len(line) > 2
        and line[0] == line[-1] == '"'
        and '"' not in line[1:-1].replace('""', "")
        and re.search(r"[,;\t|]", line)
        for line in full
    )


def _hint(lines: Sequence[str]) -> tuple[int, str | None]:
    """A spreadsheet's first line `sep=;`."""
    found = re.fullmatch(r'"?sep=(.)"?\s*', lines[0]) if lines else None
    return (1, found[1]) if found else (0, None)


def _comment(lines: Sequence[str]) -> str:
    for mark in ("#", "//", "%", "!"):
        if any(line.lstrip().startswith(mark) for line in lines) and not all(
            line.lstrip().startswith(mark) for line in lines if line.strip()
        ):
            return mark
    return ""


def _delimiter(path: Path, lines: Sequence[str], comment: str, asked: Asked, hinted: str | None) -> tuple[str, str]:
    """The mark that parts most lines into the same number of fields."""
    body = [line for line in lines if line.strip() and not (comment and line.lstrip().startswith(comment))]
    if asked.delimiter is not None:
        mark = DELIMITERS.get(asked.delimiter, asked.delimiter)
        if mark not in _NAMES:
            words = f"found {asked.delimiter!r}"
            raise NotUnderstood(Fault("--delimiter", "wrong-option", words, hint=", ".join(DELIMITERS)))
        return mark, "as told"
    if hinted in _NAMES and hinted is not None:
        return hinted, "the first line says so"
    tail = body[len(body) // 3 :]
    tries = {mark: max(_share(body, mark), _share(tail, mark)) for mark in _ORDER}
    if max(tries[mark][0] for mark in _ORDER[:-1]) >= 0.5:
        tries[" "] = (0.0, 0)  # dates hold blanks: only where no other mark parts the lines
    best = max(share for share, _ in tries.values())
    if best < 0.5:
        one = len(body) > 1 and all(_DIGITS_FIRST.match(line) for line in body[1:])
        why = "there is one column only" if one else "its lines do not part into columns"
        hint = "A log has a time and at least one value in each row; is it the right file? --delimiter names the mark"
        raise NotUnderstood(Fault(path.name, "no-table", why, hint=hint))
    mark = next(mark for mark in _ORDER if tries[mark][0] >= 0.9 * best)
    share, width = tries[mark]
    return mark, f"it parts {share:.0%} of the lines into {width} fields"


def _share(lines: Sequence[str], mark: str) -> tuple[float, int]:
    """Share of lines with the usual number of fields (or one more, empty, at the end), and that number."""
    rows = parted(lines, mark, _quotes_are_whole(lines))
    widths = Counter(len(row) - (1 if row and row[-1].strip() == "" and len(row) > 2 else 0) for row in rows)
    width, count = max(widths.items(), key=lambda item: (item[1], item[0])) if widths else (0, 0)
    return (count / len(rows), width) if width >= 2 else (0.0, width)


def _quotes_are_whole(lines: Sequence[str]) -> bool:
    with_quotes = [line for line in lines if '"' in line]
    return not with_quotes or sum(line.count('"') % 2 for line in with_quotes) < len(with_quotes) / 2


def _is_number(text: str) -> bool:
    """A number, with its unit perhaps, or a moment."""
    if not _DIGITS_FIRST.match(text):
        return shape_of(text.strip()) is not None
    return _LIKE_NUMBER.fullmatch(text.strip()) is not None or shape_of(text.strip()) is not None


def _is_data(row: Sequence[str]) -> bool:
    """Mostly numbers, dates and ways of saying none, with at least one of the first two."""
    full = [field for field in row if field.strip()]
    if len(row) < 2 or not full:
        return False
    numbers = sum(1 for field in full if _is_number(field))
    none = sum(1 for field in full if is_missing(field))
    words = len(full) - numbers - none
    return numbers >= 1 and (numbers + none >= words or (numbers >= 2 and len(full) > 4 and numbers >= words / 2))


def _is_heading(row: Sequence[str], width: int) -> bool:
    full = [field for field in row if field.strip()]
    texts = [field for field in full if not _is_number(field)]
    meant = any(_means_something(field) for field in full)
    return len(full) >= 2 and 2 * len(texts) > len(full) and (meant or len(full) >= width - 1)


def _means_something(text: str) -> bool:
    meaning = meaning_of(text.strip())
    return bool(meaning.quantity or meaning.time or meaning.long or meaning.unit)


def _first_data(rows: Sequence[Sequence[str]], lines: Sequence[str], comment: str, start: int) -> int | None:
    """Index of the first row of data: most of the rows behind it are as wide."""
    wide = Counter(len(row) for row in rows if _is_data(row))
    if not wide:
        return None
    usual = {width for width, count in wide.items() if count >= max(wide.values()) / 4}
    for index, row in enumerate(rows):
        if index >= start and not _is_comment(lines[index], comment) and len(row) in usual and _is_data(row):
            return index
    return None


def _is_comment(line: str, comment: str) -> bool:
    return bool(comment) and line.lstrip().startswith(comment)


def _usual_width(rows: Sequence[Sequence[str]]) -> int:
    widths = Counter(len(row) for row in rows if _is_data(row))
    return max(widths, key=lambda width: widths[width]) if widths else 0


def _headings(
    path: Path, rows: Sequence[Sequence[str]], lines: Sequence[str], data: int | None, comment: str, *, asked: Asked,
    told: Told,
) -> tuple[int, tuple[str, ...], int]:  # fmt: skip
    """Line of the headings, the headings, line of the first row of data."""
    if asked.columns:
        if data is None:
            raise _no_rows(path, len(rows))
        told.settle("headings", "as told", f"the first row of numbers is line {data + 1}")
        return 0, asked.columns, data + 1
    place = asked.header - 1 if asked.header else _place_of_heading(rows, lines, data, comment)
    if asked.header is not None and not 0 < asked.header <= len(rows):
        words = f"line {asked.header} is none of the first {len(rows)}"
        raise NotUnderstood(Fault("--header", "wrong-option", words))
    if data is None or (place is not None and data <= place):
        data = next((k for k in range((place or 0) + 1, len(rows)) if _is_data(rows[k])), None)
    if data is None:
        raise _no_rows(path, len(rows))
    if place is None:
        shown = ", ".join(rows[data][:6])
        hint = '--columns "time,voltage V,current A": one name a column; a column without use may be "-"'
        words = f"there are no headings above the first row of numbers ({shown})"
        raise NotUnderstood(Fault(f"{path.name}:{data + 1}", "no-headings", words, hint=hint))
    names = _bare_names(rows[place], comment)
    names = _with_group(rows, place, names, told)
    names = _with_units(rows, place, data, names, told)
    told.settle("headings", f"line {place + 1}", _why_heading(place, data))
    return place + 1, names, data + 1


def _no_rows(path: Path, count: int) -> NotUnderstood:
    words = "there is a heading and no row under it" if count == 1 else "no row of numbers was found"
    hint = "Export a stretch of time that holds readings"
    return NotUnderstood(Fault(path.name, "no-rows", words, hint=hint))


def _why_heading(place: int, data: int) -> str:
    above = (
        f"{place} line{'' if place == 1 else 's'} above {'is' if place == 1 else 'are'} kept as notes; "
        if place
        else ""
    )
    return f"{above}the first row of numbers is line {data + 1}"


def _bare_names(row: Sequence[str], comment: str) -> tuple[str, ...]:
    names = [field.strip().strip('"').strip() for field in row]
    if comment and names and names[0].startswith(comment):
        names[0] = names[0][len(comment) :].strip()
    return tuple(names)


def _place_of_heading(
    rows: Sequence[Sequence[str]], lines: Sequence[str], data: int | None, comment: str
) -> int | None:
    """The nearest row of names above the data, as wide as it (or nearly)."""
    end = len(rows) if data is None else data
    width = len(rows[data]) if data is not None else max((len(row) for row in rows), default=0)
    units = None
    for place in range(end - 1, max(end - 12, -1), -1):
        row = _bare_names(rows[place], comment if _is_comment(lines[place], comment) else "")
        if not any(row) or not 2 * len([f for f in row if f]) > min(width, len(row)):
            continue
        if _is_units(row):
            units = place
            continue
        is_note = _is_comment(lines[place], comment) and len(row) != width
        if _is_heading(row, width) and 2 * len(row) >= width and not is_note:
            return place
    return units if units is not None and _is_heading(rows[units], width) else None


def _is_units(row: Sequence[str]) -> bool:
    full = [field.strip(" []()") for field in row if field.strip()]
    known = [field for field in full if written_unit(field) is not None]
    return (
        len(known) >= 1
        and 2 * len(known) >= len(full)
        and len(set(full)) < max(len(full), 2) + 1
        and all(len(field) <= 8 for field in known)
    )


def _with_units(
    rows: Sequence[Sequence[str]], place: int, data: int, names: tuple[str, ...], told: Told
) -> tuple[str, ...]:
    """Headings with the units of a row of units behind them."""
    for row in rows[place + 1 : data]:
        if _is_units(row) and len(row) >= len(names) - 1:
            told.settle("units", "a row of their own", "it stands between headings and numbers")
            units = [*(field.strip(" []()") for field in row), *[""] * len(names)]
            return tuple(
                f"{name} [{unit}]" if written_unit(unit) is not None else name
                for name, unit in zip(names, units, strict=False)
            )
    return names


def _with_group(rows: Sequence[Sequence[str]], place: int, names: tuple[str, ...], told: Told) -> tuple[str, ...]:
    """Headings with the names of groups from the row above: `Pack 1,,,Pack 2,,`."""
    above = rows[place - 1] if place else []
    filled = [field.strip() for field in above]
    groups = [field for field in filled if field]
    if len(above) < len(names) - 1 or len(groups) < 2 or len(set(names)) == len([n for n in names if n]):
        return names
    if not all(re.search(r"\d", group) for group in groups[-2:]):
        return names
    told.settle("groups", ", ".join(groups[:4]), "headings repeat, and the row above names groups of them")
    out, group = [], ""
    for name, over in zip(names, [*filled, *[""] * len(names)], strict=False):
        group = over or group
        out.append(f"{group} {name}".strip())
    return tuple(out)


def _fitted(path: Path, layout: Layout, usual: int, rows: Sequence[Sequence[str]], told: Told) -> Layout:
    """Headings as many as fields; decimals that were split are rejoined."""
    names = layout.names
    if usual < len(names):
        empty = len(names) - usual
        if not any(names[usual:]):
            names = names[:usual]
        elif empty > 0 and not any(len(row) == len(names) for row in rows if _is_data(row)):
            raise _do_not_fit(path, layout, usual)
        return replace(layout, names=_unique(names))
    if usual > len(names):
        last = [row for row in rows if len(row) == usual and _is_data(row)]
        if usual == len(names) + 1 and all(not row[-1].strip() for row in last):
            told.settle("last field", "left out", "every row ends with a delimiter and nothing behind it")
            return replace(layout, names=_unique((*names, "")))
        if usual == len(names) + 1 and layout.delimiter in (" ",):
            return replace(layout, names=_unique(("", *names)))
        return _split_decimals(path, layout, usual, last, told)
    return replace(layout, names=_unique(names))


def _split_decimals(path: Path, layout: Layout, usual: int, rows: Sequence[Sequence[str]], told: Told) -> Layout:
    """Decimal commas in a file parted by commas: one field more for each column of numbers."""
    extra = usual - len(layout.names)
    meanings = [meaning_of(name) for name in layout.names]
    values = [k for k, meaning in enumerate(meanings) if not meaning.time or meaning.quantity]
    firsts = {row[0] for row in rows[:50]}
    if extra != len(values) or layout.delimiter != "," or len(firsts) < 1:
        raise _do_not_fit(path, layout, usual)
    fitted = replace(layout, names=_unique(layout.names), rejoin=tuple(values))
    from bankwright.logbook.elsewhere.layout import rejoined

    if not all(rejoined(list(row), fitted) for row in rows):
        raise _do_not_fit(path, layout, usual)
    why = f"{usual} fields under {len(layout.names)} headings: the comma parts columns and decimals"
    told.settle("decimals", "were split over two fields and rejoined", why)
    return fitted


def _do_not_fit(path: Path, layout: Layout, usual: int) -> NotUnderstood:
    words = f"rows have {usual} fields under {len(layout.names)} headings"
    hint = "--header LINE or --columns NAMES settles which name stands over which field; --delimiter another mark"
    return NotUnderstood(Fault(f"{path.name}:{layout.first}", "wrong-width", words, hint=hint))


def _unique(names: Sequence[str]) -> tuple[str, ...]:
    """Headings that differ: a second `V` becomes `V (2)`."""
    seen: Counter[str] = Counter()
    out = []
    for name in names:
        seen[name] += 1
        out.append(name if seen[name] == 1 or not name else f"{name} ({seen[name]})")
    return tuple(out)
