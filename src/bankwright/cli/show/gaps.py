"""What is not known, on a terminal: checks that wait for data, questions to makers, measurements, decisions.

Gives: show_gaps(). A check that could not even give a figure is one line that names, by number, what it waits for.
Limits: the first ten of each list, those that settle most; all of them when asked.
"""

from __future__ import annotations

from collections.abc import Mapping

import click

from bankwright.cli.show.findings import rule, wrap
from bankwright.forms.finding import Finding, by_name
from bankwright.job.planning import Gap, decisions, measurements, questions, waiting

__all__ = ["show_gaps"]

SHOWN = 10


def show_gaps(findings: tuple[Finding, ...], everything: bool = False) -> None:
    """Print the checks that wait, unless everything is printed already, and the three lists."""
    lists = (
        ("questions to the makers", questions(findings)),
        ("measurements to take", measurements(findings)),
        ("to decide and write into the file", decisions(findings)),
    )
    numbers: dict[str, int] = {}
    for _, gaps in lists:
        for gap in gaps:
            number = len(numbers) + 1
            numbers.update(dict.fromkeys((gap.text,), number))
    if not everything:
        _show_waiting(waiting(findings), numbers)
    for words, gaps in lists:
        _show_list(words, gaps, numbers, everything)


def _show_waiting(found: tuple[Finding, ...], numbers: Mapping[str, int]) -> None:
    """One line a check: what it would say waits for the numbers behind it."""
    by_check: dict[tuple[str, str], set[int]] = {}
    for finding in found:
        needed = {numbers[text] for item in finding.missing if (text := item.question or item.how) in numbers}
        by_check.setdefault((finding.place, finding.title), set()).update(needed)
    if not by_check:
        return
    click.echo(rule("unknown for want of data; the numbers are those of the lists below"))
    for (place, title), needed in sorted(by_check.items(), key=lambda row: by_name(row[0][0])):
        refs = f" ({', '.join(map(str, sorted(needed)))})" if needed else ""
        click.echo(wrap(f"{title}{refs}", 17, f"? {place}"))


def _show_list(words: str, gaps: tuple[Gap, ...], numbers: Mapping[str, int], everything: bool) -> None:
    if not gaps:
        return
    click.echo(rule(words))
    shown = gaps if everything or len(gaps) <= SHOWN + 1 else gaps[:SHOWN]
    for gap in shown:
        click.echo(wrap(f"{gap.text} (settles {gap.findings})", 4, f"{numbers[gap.text]}."))
    if len(shown) < len(gaps):
        click.echo(f"    {len(gaps) - len(shown)} more that settle fewer; --all prints them.")
