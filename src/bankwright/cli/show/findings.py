"""Findings and lists on a terminal of 80 columns.

Gives: show_findings(), show_closing(), show_explained(), tally(), wrap(), verdict_word(). Words carry everything;
colour only repeats them, and only on a terminal that shows it.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Iterable, Mapping

import click

from bankwright.cli.terminal import Colour, coloured, width
from bankwright.forms.codes import in_places
from bankwright.forms.finding import VERDICTS, Finding, Input, Verdict, summary, worst_first
from bankwright.forms.finding_text import against, headline, places_text, sentence_of, verdict_text
from bankwright.forms.grouping import numbered
from bankwright.forms.wording import figure_text, range_text

__all__ = [
    "finding_lines",
    "hung",
    "rule",
    "show_closing",
    "show_explained",
    "show_findings",
    "tally",
    "verdict_word",
    "wrap",
]

_WIDE = 60  # columns below which a deep indent leaves no room for words
_HEADING = re.compile(r"[A-Z][A-Za-z ]*: ")
_MARKS = {"fail": "x", "caution": "!", "unknown": "?", "assumed": "~", "pass": "."}
_COLOURS: dict[Verdict, Colour] = {
    "fail": "red",
    "caution": "yellow",
    "unknown": "magenta",
    "assumed": "cyan",
    "pass": "green",
}


def verdict_word(verdict: Verdict, width: int = 0) -> str:
    """Print a verdict: mark and word, padded, coloured on a terminal."""
    return coloured(f"{_MARKS[verdict]} {verdict_text(verdict)}".ljust(width), _COLOURS[verdict])


def tally(count: Mapping[Verdict, int], verdicts: Iterable[Verdict] = VERDICTS) -> str:
    """Count by verdict, worst first; what rests on assumed values apart from the passes."""
    return "   ".join(f"{count[verdict]} {verdict_text(verdict)}" for verdict in verdicts)


def wrap(text: str, indent: int = 0, first: str = "") -> str:
    """Fold text to the width, indented; `first` stands before the first line."""
    room = width()
    indent = indent if room >= _WIDE or indent <= 4 else 4
    lead = first.ljust(indent)
    lead += " " if first and not lead.endswith(" ") else ""  # what stands first may be wider than the indent
    lines = textwrap.wrap(
        text, room, initial_indent=lead, subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False
    )
    return "\n".join(lines)


def hung(text: str) -> str:
    """Fold a line to the width, all but its first line indented."""
    return (
        "\n".join(
            textwrap.wrap(text, width(), subsequent_indent="    ", break_long_words=False, break_on_hyphens=False)
        )
        or text
    )


def rule(words: str = "") -> str:
    """Print a ruled line with words on it."""
    return f"-- {words} ".ljust(width(), "-") if words else "-" * width()


def finding_lines(number: int | None, finding: Finding, units: str) -> Iterable[str]:
    """Print one finding: title and code, sentence, figure against limit, place, what is missing, what to do."""
    word = verdict_word(finding.verdict, 10)
    room = max(width() - 7 - max(10, len(verdict_text(finding.verdict)) + 2) - len(finding.place), 12)
    titles = textwrap.wrap(finding.title, room) or [""]
    yield f"{number or '':>3}  {word} {titles[0].ljust(room)} {finding.place}"
    yield from (" " * 16 + line for line in titles[1:])
    yield wrap(_sentence(finding, units), 16)
    where = places_text((*finding.at, *finding.more))
    parts = [f"at {where}" if where else "", f"case {finding.case}" if finding.case else ""]
    parts.append("assumed: a published range stands in for a value not given" if finding.assumed else "")
    line = "; ".join(part for part in parts if part)
    if line:
        yield wrap(line[0].upper() + line[1:] + ".", 16)
    do = finding.do.text(units)
    for missing in finding.missing:
        if missing.how not in do and (missing.question or missing.how) not in do:
            yield wrap(f"Needs: {missing.how}", 16)
    if finding.verdict != "pass":
        yield wrap(do, 16, "            Do: ")


def _sentence(finding: Finding, units: str) -> str:
    """What the check says in words, then range and margin; figure and limit where there are no words."""
    parts = against(finding, units)
    said = sentence_of(finding)
    words = said.text(units).rstrip(".") if said else ""
    head = words or ", ".join(part for part in (parts.figure, parts.limit) if part)
    band = f"range {parts.band}" if parts.band else ""
    tail = "; ".join(part for part in (band, parts.margin) if part)
    return f"{head}: {tail}." if tail else f"{head}."


def show_findings(
    findings: tuple[Finding, ...],
    units: str = "metric",
    passes: bool = False,
    elsewhere: Collection[Finding] = (),
) -> None:
    """Print findings worst first under their numbers, passes one line each when asked for.

    Those in `elsewhere` are counted with the others and printed by the caller.
    """
    ordered = worst_first(findings)
    count = summary(ordered)
    click.echo(hung(headline(ordered)))
    click.echo(wrap(tally(count)))
    click.echo(rule())
    for number, finding in numbered(findings):
        if finding in elsewhere:
            continue
        click.echo("\n".join(finding_lines(number, finding, units)))
        click.echo("")
    passed = [finding for finding in ordered if finding.verdict == "pass"]
    if passes:
        for finding in passed:
            click.echo(_pass_line(finding, units))
    elif passed:
        click.echo(wrap(f"{_counted(len(passed), 'pass is', 'passes are')} folded; --all prints {_it(len(passed))}."))


def show_closing(lines: Iterable[str]) -> None:
    """Print what was not checked: the end of every report of findings."""
    click.echo(rule("not checked"))
    click.echo(wrap("; ".join(lines) + ".", 0))


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _it(number: int) -> str:
    return "it" if number == 1 else "them"


def _pass_line(finding: Finding, units: str) -> str:
    said = str(against(finding, units))
    where = places_text((*finding.at, *finding.more), 2)
    text = "; ".join(part for part in (finding.title, where, said) if part)
    return wrap(f"{text} [{finding.place}]", 16, f"     {verdict_word('pass', 10)} ")


def _input_row(item: Input, units: str) -> str:
    value = item.figure if isinstance(item.figure, str) else figure_text(item.figure, units)
    band = "" if isinstance(item.figure, str) else range_text(item.figure, units)
    amount = f"{value} ({band})" if band else value
    note = " (assumed)" if item.assumed else ""
    return f"{wrap(f'{amount}: {item.name}{note}', 9, item.symbol + ' ')}\n{wrap(f'from {item.origin}', 12)}"


def _paragraphs(why: str) -> Iterable[str]:
    """The text of a check, folded anew: a line that begins with a heading begins a paragraph."""
    for block in textwrap.dedent(f"    {why.strip()}").strip().split("\n\n"):
        lines: list[str] = []
        for line in block.splitlines():
            if not lines or _HEADING.match(line):
                lines.append(line.strip())
            else:
                lines[-1] += f" {line.strip()}"
        yield "\n".join(wrap(line) for line in lines)


def show_explained(findings: tuple[Finding, ...], why: str, units: str = "metric") -> None:
    """Print everything of the findings of one check: formula, numbers put in, where each came from, source."""
    click.echo("\n\n".join(_paragraphs(in_places(why))))
    for finding in findings:
        where = places_text((*finding.at, *finding.more))
        click.echo(
            "\n" + rule(textwrap.shorten(f"{where}; {finding.case or 'no case'}", width() - 6, placeholder=" ..."))
        )
        click.echo(wrap(_sentence(finding, units), 10, verdict_word(finding.verdict, 9) + " "))
        if finding.formula:
            click.echo(wrap(finding.formula, 9, "formula"))
        for item in finding.inputs:
            click.echo(_input_row(item, units))
        for missing in finding.missing:
            click.echo(wrap(f"{missing.key}: {missing.how}", 9, "missing"))
        click.echo(wrap(str(finding.source), 9, "source"))
        if finding.verdict != "pass":
            click.echo(wrap(finding.do.text(units), 9, "do"))
