"""Capacity test, baseline and the file as built, on a terminal of 80 columns.

Gives: show_capacity(), show_baseline(), show_as_built().
Limits: no engineering; words and figures come from prove/.
"""

from __future__ import annotations

from collections.abc import Sequence

import click

from bankwright.cli.show.findings import finding_lines, rule, tally, wrap
from bankwright.forms.finding import summary
from bankwright.forms.wording import amount_text
from bankwright.job.baseline import AsBuilt, Baseline, CapacityTest, Gathered, Measured

__all__ = ["show_as_built", "show_baseline", "show_capacity"]

CLOSING = "It advises only. Local codes and a licensed electrician have the last word."


def show_capacity(found: CapacityTest, units: str, kept: int | None, *, passes: bool) -> None:
    """Capacity of bank and modules with the band, then findings."""
    click.echo(f"Capacity test: +-{100 * found.band:.1f} % (95 %)")
    if found.offset is not None:
        click.echo(f"Offset of the sensor: {amount_text(found.offset, 'current', units)}, taken off.")
    if found.shift >= 0.0005:
        hidden = f"{100 * found.shift:.1f} %"
        click.echo(wrap(f"Rate and warmth of this test hide {hidden} (table lfp/capacity-test): added below."))
    for each in found.told:
        counted, name = each.counted, each.name
        ends = " to ".join(amount_text(value or 0.0, "capacity_ah", units, 4) for value in (counted.low, counted.high))
        part = "" if not name else f", {counted.value / name:.1%} of {amount_text(name, 'capacity_ah', units)}"
        click.echo(f"  {each.at:<8} {amount_text(counted.value, 'capacity_ah', units, 4)} ({ends}){part}")
    for finding in found.findings:
        if finding.code == "V-CAPACITY-5" and finding.text is not None:
            click.echo(wrap(f"Weakest cell: {finding.text.text(units)}.", 4))
    click.echo(tally(summary(found.findings)))
    for finding in found.findings:
        if finding.verdict != "pass" or passes:
            click.echo("\n".join(finding_lines(finding.number, finding, units)))
    if kept is not None:
        click.echo(f"Kept in the logbook as {kept}.")
    click.echo(f"\n{CLOSING}")


def show_baseline(stands: Baseline | None, made: Gathered, units: str, sealed: Sequence[Measured] | None) -> None:
    """What stands, what began anew, what a seal would add, what is not known."""
    if sealed is not None:
        click.echo(f"Sealed now: {len(sealed)} values.")
    if stands is None:
        click.echo("No baseline was sealed yet.")
    else:
        click.echo(f"Baseline, last sealed {stands.sealed[:16].replace('T', ' ')}: {len(stands.values)} values")
        for what in dict.fromkeys(each.what for each in stands.values):
            click.echo(rule(what))
            for each in stands.of(what).values():
                click.echo(wrap(f"{each.at}: {_said(each, units)}", 6, "  "))
        if stands.anew:
            click.echo(wrap(f"Begun anew: {', '.join(stands.anew)}."))
    if made.fresh and sealed is None:
        click.echo(
            wrap(f"{len(made.fresh)} values of the logbook are not in it: bankwright prove baseline FILE --seal")
        )
    if made.open:
        click.echo(rule("not known"))
        for words in made.open:
            click.echo(wrap(words, 6, "  "))


def _said(each: Measured, units: str) -> str:
    parts = [amount_text(each.value, each.quantity, units, 4)]
    if each.low is not None and each.high is not None and each.low < each.high:
        ends = " to ".join(amount_text(value, each.quantity, units) for value in (each.low, each.high))
        parts[0] += f" ({ends})"
    warm = "temperature not read" if each.degc is None else amount_text(each.degc, "temperature_degc", units)
    stated = (
        "" if each.stated_degc is None else f", brought to {amount_text(each.stated_degc, 'temperature_degc', units)}"
    )
    parts.append(warm + stated)
    parts += [] if each.age is None else [f"{amount_text(each.age, 'time', units)} after the step"]
    parts += [] if each.current is None else [f"at {amount_text(each.current, 'current', units)}"]
    return "; ".join([*parts, f"{each.source}, {each.when[:10]}{', ' + each.who if each.who else ''}"])


def show_as_built(made: Sequence[AsBuilt], taken: Sequence[AsBuilt]) -> None:
    """What is, what would be; or what was put in."""
    if taken:
        click.echo(f"Put into the file: {len(taken)}. The text before is kept beside it.")
    done = {each.path + each.block for each in taken}
    for each in made:
        if each.path + each.block in done:
            continue
        if not each.edit:
            click.echo(wrap(f"{each.at}: nothing is proposed: {each.words}.", 6, "  - "))
            continue
        key = f"[[links]] {each.block}: {each.path}" if each.block else each.path
        click.echo(wrap(f"{each.at}: {key}", 6, "  + "))
        click.echo(wrap(f"is {each.before}", 8, "      "))
        click.echo(wrap(f"would be {each.after}   ({each.words})", 8, "      "))
    if not made:
        click.echo("The baseline holds nothing that the file has a key for.")
    elif not taken and any(each.edit for each in made):
        click.echo(wrap("Take what you want: --put-in M3, once for each place, or --put-in all. What you leave stays."))
