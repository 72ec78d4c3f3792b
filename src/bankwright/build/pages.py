"""The sheet written out: JSON, and one page to print with sheet, lifts, labels, upkeep and the page on faults and fire.

Gives: build_page(), lift_rows(), wanted_words().
Limits: no terminal layout (cli/build), no drawing (draw/), no label layout (report/).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from bankwright.bank.model import Bank
from bankwright.build.emergency import Emergency, emergency
from bankwright.build.labels import Label
from bankwright.build.occasions import occasions
from bankwright.build.rack.lifts import Lift, lifts
from bankwright.build.upkeep import JOINT_RULE, upkeep
from bankwright.forms.carried import NOTHING, Carried, failed_part
from bankwright.forms.finding import Finding
from bankwright.forms.finding_text import against, places_text, verdict_text
from bankwright.forms.paper import heading, listed, page, paragraph, table
from bankwright.forms.sheets import ReadingWanted, Sheet, Step
from bankwright.forms.wording import amount_text

__all__ = ["LIFT_HEAD", "build_page", "finding_words", "lift_rows", "no_lifts", "sheet_page", "wanted_words"]


def wanted_words(wanted: ReadingWanted, units: str) -> str:
    """A reading that is asked for, with its limits."""
    low = "" if wanted.low is None else f"at least {amount_text(wanted.low, wanted.quantity, units)}"
    high = "" if wanted.high is None else f"at most {amount_text(wanted.high, wanted.quantity, units)}"
    limits = " and ".join(part for part in (low, high) if part)
    return f"{wanted.at}: {wanted.quantity.replace('_', ' ')}, {wanted.words}" + (f" ({limits})" if limits else "")


def finding_words(finding: Finding, units: str) -> str:
    """A finding in one line: verdict, what, figure, what to do."""
    words, figures = finding.text.text(units).rstrip(".") if finding.text else "", against(finding, units)
    if figures.figure and not figures.band and figures.figure in words:
        figures = dataclasses.replace(figures, figure="")
    said = "; ".join(part for part in (words, str(figures)) if part)
    if finding.at and not any(name in said for name in finding.at):
        said = f"{places_text(finding.at)}: {said}" if said else places_text(finding.at)
    how = " ".join(missing.how for missing in finding.missing) or finding.do.text(units)
    where = f" (also {places_text(finding.more)})" if finding.more else ""
    return f"{verdict_text(finding.verdict)}: {finding.title}{'. ' + said if said else ''}{where}. {how}"


def lift_rows(bank: Bank) -> list[tuple[str, ...]]:
    """Lift table: module, mass, from, to, one person's limit, index for one, two, three people, who lifts."""
    return [_lift_row(bank, lift) for lift in lifts(bank)]


def no_lifts(bank: Bank) -> str:
    """Why some modules have no row in the lift table, and what would give them one; empty where all have."""
    told = {lift.module for lift in lifts(bank)}
    left = [module for module in bank.modules if module.name not in told]
    if not left:
        return ""
    gaps = (
        [f"the slot of {', '.join(m.name for m in left if m.slot is None)}"]
        if any(m.slot is None for m in left)
        else []
    )
    low = dict.fromkeys(m.kind.path for m in left if m.kind.height is None)
    gaps += [f"{path}.height" for path in low]
    names = ", ".join(module.name for module in left)
    missing = " and ".join(gaps) or "a rack, or its place in it,"
    return f"No lift can be computed for {names}: {missing} is not given. Until then: a lift table, or three people."


def _lift_row(bank: Bank, lift: Lift) -> tuple[str, ...]:
    units = bank.units
    mass = "?" if lift.mass is None else amount_text(lift.mass, "mass", units)
    index = ["-" if value > 1e6 else f"{value:.1f}" for value in lift.index.values()]
    who = "lift table" if lift.people is None else f"{lift.people} people" if lift.people > 1 else "one person"
    heights = (amount_text(lift.start, "height", units), amount_text(lift.end, "height", units))
    return (lift.module, mass, *heights, amount_text(lift.allowed, "mass", units), *index, who)


LIFT_HEAD = ("Module", "Mass", "From", "To", "One may lift", "Index 1", "2", "3 people", "By")


def build_page(bank: Bank, sheet: Sheet, labels: Sequence[Label], carried: Carried = NOTHING) -> str:
    """One page to print: the sheet with boxes, then lifts, labels, upkeep, faults and fire."""
    units = bank.units
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}. {len(sheet.steps)} steps.", "note")]
    body += failed_part(carried, units)
    body += [paragraph(note.text(units), "note") for note in sheet.notes]
    for number, step in enumerate(sheet.steps, 1):
        body.append(_step_html(number, step, units, carried.mark(step.at)))
    body.append(heading("Lifts"))
    if why := no_lifts(bank):
        body.append(paragraph(why, "caution"))
    body.append(table(LIFT_HEAD, lift_rows(bank), range(1, 8)))
    body.append(
        paragraph(
            "NIOSH 94-110 (rev. 2021), metric, fair coupling, few lifts; team factors UK HSE L23. Index: goal 1, "
            "above 3 not by hand. Low slots and kneeling lie outside the equation: read it as a lower bound.",
            "note",
        )
    )
    body.append(heading("Labels"))
    body.append(
        table(("Where", "Text", "Source"), [(item.place, " / ".join(item.lines), str(item.source)) for item in labels])
    )
    body.append(heading("Upkeep"))
    body.append(table(("When", "What", "Source"), [(task.when, task.task, str(task.source)) for task in upkeep(bank)]))
    body.append(paragraph(JOINT_RULE))
    for occasion in occasions(bank):
        body += [heading(occasion.title, 3), listed(occasion.acts, boxes=True)]
    body += _emergency_html(emergency(bank))
    return page(sheet.title, body)


def sheet_page(bank: Bank, sheet: Sheet) -> str:
    """One sheet alone to print, with boxes."""
    body = [paragraph(f"{bank.file}, {bank.digest[:12]}. {len(sheet.steps)} steps.", "note")]
    body += [paragraph(note.text(bank.units), "note") for note in sheet.notes]
    body += [_step_html(number, step, bank.units, "") for number, step in enumerate(sheet.steps, 1)]
    return page(sheet.title, body)


def _step_html(number: int, step: Step, units: str, failed: str) -> str:
    parts = [
        heading(f"{number}. {step.title}", 3),
        paragraph("; ".join(part for part in (step.hands, ", ".join(step.tools)) if part), "note"),
    ]
    parts += [paragraph(f"This step is {failed}.", "caution")] if failed else []
    parts += [paragraph(caution.words.text(units), "caution") for caution in step.cautions]
    parts += [paragraph(finding_words(finding, units), "caution") for finding in step.findings]
    parts.append(listed(act.text(units) for act in step.acts))
    parts.append(listed((tick.words for tick in step.ticks), boxes=True))
    parts.append(listed((f"{wanted_words(wanted, units)}: ________" for wanted in step.readings), boxes=True))
    parts.append(paragraph(f"Done when: {step.done.text(units)}"))
    return f'<section class="step">{"".join(parts)}</section>'


def _emergency_html(sheet: Emergency) -> list[str]:
    body = [heading(sheet.title)]
    body.append(paragraph(f"Emergency number: {sheet.number or '________'}"))
    for head, lines in sheet.parts:
        body += [heading(head, 3), listed(lines)]
    return [*body, paragraph(sheet.closing), paragraph(str(sheet.source), "note")]
