"""Values typed for Build that are judged and not stored: drops across joints, answers on a torque.

Gives: show_drops(), show_answers(). Drops are stored with `bankwright log add`.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding
    from bankwright.job import Job
    from bankwright.job.joints import JointCheck

__all__ = ["show_answers", "show_drops"]


def _wrong(option: str, found: str, right: str) -> Exception:
    from bankwright.forms.faults import Fault, QuestionError

    return QuestionError((Fault(option, "wrong-value", found, right),), "the options")


def _amount(option: str, text: str, quantity: str, example: str) -> float:
    from bankwright.job.quantity import QuantityFault, parse

    try:
        return parse(text, quantity).nominal
    except QuantityFault as bad:
        raise _wrong(option, bad.found, bad.hint or f'Write "{example}"') from None


def show_drops(job: Job, texts: Iterable[str], current: str | None, today: date) -> tuple[Finding, ...]:
    """Print each joint: resistance, heat at full current, ratio to the lowest of its like, next look."""
    from bankwright.cli.show.findings import show_findings, wrap
    from bankwright.job.building import joint_findings
    from bankwright.job.joints import joints_checked

    amps = _amps(current)
    checks = joints_checked(job, _drops(job, texts), amps)
    click.echo(f"{'Joint':<24} {'Resistance':>11} {'Heat, full':>11} {'To lowest':>9} {'To first':>8}  Look again")
    for check in checks:
        _show_joint(check, job.units, today)
    click.echo(
        wrap(
            "Like: cables of one role on studs of one size. Nothing was stored; `bankwright log add` stores, "
            "and what stands there first is what a joint is held against."
        )
    )
    findings = tuple(finding for finding in joint_findings(checks) if finding.verdict != "pass")
    if findings:
        click.echo("")
        show_findings(findings, job.units)
    return findings


def _amps(current: str | None) -> float:
    """The current at which the drops were read. [A]"""
    if current is None:
        raise _wrong("--current", "the current at which the drops were read is missing", 'Write --current "80 A"')
    amps = _amount("--current", current, "current", "80 A")
    if amps <= 0:
        raise _wrong("--current", f'found "{current}"', "The drops need a current above zero")
    return amps


def _drops(job: Job, texts: Iterable[str]) -> dict[str, float]:
    """Drops by joint. [V]"""
    known = {joint.name for joint in job.bank.joints}
    drops: dict[str, float] = {}
    for text in texts:
        name, equals, value = text.rpartition("=")
        if not equals or name not in known:
            right = "Write JOINT=VALUE, for example " + f'"{next(iter(sorted(known)), "L1+@M1+")}=1.2 mV"'
            raise _wrong("--drop", f'found "{text}"', right)
        drops[name] = abs(_amount("--drop", value, "voltage", "1.2 mV"))
    return drops


def _show_joint(check: JointCheck, units: str, today: date) -> None:
    from bankwright.forms.wording import amount_text

    ohms, heat = amount_text(check.resistance, "resistance", units), amount_text(check.heat, "power", units)
    again = (today + timedelta(days=check.next_check_days)).isoformat()
    first = "-" if check.against_first is None else f"{check.against_first:.2f}"
    click.echo(f"{check.joint:<24} {ohms:>11} {heat:>11} {check.against_lowest:>9.2f} {first:>8}  {again}")


def show_answers(texts: tuple[str, ...], units: str) -> None:
    """Print answers on a torque side by side, with what is odd about each; none is chosen."""
    from bankwright.cli.show.findings import wrap
    from bankwright.forms.wording import amount_text
    from bankwright.job.building import torque_answers

    for answer in torque_answers(texts):
        said = "not read"
        if answer.low is not None and answer.high is not None:
            low, high = (amount_text(value, "torque", units) for value in (answer.low, answer.high))
            said = low if low == high else f"{low} to {high}"
        odd = f"  ? {'; '.join(answer.questions)}" if answer.questions else ""
        click.echo(wrap(f"{answer.as_given} is {said}{odd}", 4))
    click.echo(wrap("None is chosen: the figure of the terminal's maker rules, and nothing stands in for it."))
