"""The booklet: one HTML file that prints on few sheets of Letter or A4: bank, fire, parts, steps, upkeep, what is open.

Gives: booklet(). The paper is chosen when it is printed; every sheet bears the bank's name, its file and "sheet x of y"
in its margin (page-margin boxes). Steps run on in two columns, no line is torn, no step begins a sheet of its own.
Limits: 4 to 8 sheets for a bank of a few modules, about one more for each ten steps. No finding with its figures
(plan --all), no cut plan (buy --html). A browser without page-margin boxes prints its own foot with the page's number.
Sources: CSS Paged Media Level 3, 4.2 and 6 (page-margin boxes, counters), W3C working draft [from memory].
"""

from __future__ import annotations

import re
from itertools import groupby

from bankwright.bank.model import Bank
from bankwright.buy.lines import PartLine
from bankwright.buy.pages import order_words
from bankwright.draw.wiring import wiring
from bankwright.forms.finding_text import places_text
from bankwright.forms.paper import escaped, heading, listed, paragraph, table
from bankwright.forms.sheets import Step
from bankwright.job import Job
from bankwright.job.building import JOINT_RULE, emergency, finding_words, labels, upkeep, wanted_words

__all__ = ["booklet"]

_STYLE = """
:root { color-scheme: light }
body { font: 8.3pt/1.25 "Avenir Next", "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; color: #000;
       background: #fff; margin: 0; font-variant-numeric: tabular-nums }
h1 { font-size: 20pt; margin: 0 0 1mm }
h2 { font-size: 12.5pt; margin: 0 0 1.2mm; border-bottom: 2px solid #000; break-after: avoid }
h3 { font-size: 9.2pt; margin: 0 0 .4mm; break-after: avoid }
p { margin: 0 0 1mm } ul { margin: 0 0 .8mm; padding-left: 4.2mm } li, p { break-inside: avoid }
table { border-collapse: collapse; width: 100%; font-size: 8pt }
th { text-align: left; border-bottom: 1.5px solid #000 }
td, th { padding: .35mm 1.5mm .35mm 0; vertical-align: top } td { border-bottom: 1px solid #999 }
tr { break-inside: avoid } .note { color: #333; font-size: 7.6pt }
.sheet + .sheet { break-before: page } .sheet.on { break-before: auto; margin-top: 3mm }
.flow { columns: 2; column-gap: 7mm } .step { margin-bottom: 1.8mm; border-top: 1px solid #000; padding-top: .6mm }
.step p { break-after: avoid } .parts li { border-bottom: 1px solid #bbb; padding: .3mm 0 }
.caution { border-left: 5px solid #000; padding-left: 2mm; margin-bottom: .6mm; font-weight: 600 }
.boxes { list-style: none; padding-left: 0 } .box { display: inline-block; width: 3mm; height: 3mm;
       border: 1.3px solid #000; margin-right: 1.5mm; vertical-align: -.5mm }
.call { font-size: 22pt; font-weight: 700; line-height: 1.1; margin: 1mm 0 }
.framed { border: 3px solid #000; padding: 2mm 4mm; break-inside: avoid } .fire { columns: 2; column-gap: 7mm }
.fire section { break-inside: avoid; margin-bottom: 1mm } .drawn { text-align: center }
.drawn svg { max-width: 100%; max-height: 84mm; height: auto; filter: grayscale(1) contrast(1.3) }
@media screen { body { max-width: 190mm; margin: 8mm auto; padding: 0 4mm } }
@media screen and (max-width: 700px) { .flow, .fire { columns: 1 } table { overflow-wrap: anywhere } }
"""


def _said(text: str) -> str:
    """A string of CSS in which every sign that could end it is written by its number."""
    return '"' + "".join(c if c.isalnum() or c in " .,:" else f"\\{ord(c):x} " for c in text) + '"'


def _page_rule(job: Job) -> str:
    bank = job.bank
    left = f"{bank.title or bank.file}: {bank.file}, {bank.digest[:8]}, {bank.book or 'no rule book'}, {bank.units}"
    return (
        "@page { margin: 12.7mm 12.7mm 15mm 19mm;\n"
        f"  @bottom-left {{ content: {_said(left[:110])}; font: 8pt sans-serif }}\n"
        '  @bottom-right { content: "sheet " counter(page) " of " counter(pages); font: 700 9pt sans-serif } }\n'
    )


def booklet(job: Job) -> str:
    """One HTML file to print: text without script, nothing fetched."""
    bank = job.bank
    parts = (_first(job), _parts(job), _steps(job), _after(job))
    title = escaped(f"{bank.title or bank.file}: booklet")
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{title}</title>\n'
        f"<style>{_STYLE}{_page_rule(job)}</style>\n</head>\n<body>\n{''.join(parts)}\n</body>\n</html>\n"
    )


def _first(job: Job) -> str:
    """The bank, its drawing, and what to do in a fire."""
    bank = job.bank
    body = [heading(bank.title or bank.file, 1)]
    if job.carried:
        body.append(paragraph(job.carried.headline, "caution"))
    body.append(f'<div class="drawn">{wiring(bank, None, ()).text}</div>')
    body.append(_fire(bank))
    return f'<section class="sheet">{"".join(body)}</section>'


def _fire(bank: Bank) -> str:
    sheet = emergency(bank)
    call = f'<p class="call">Call {escaped(sheet.number or "________")}</p>'
    parts = "".join(f"<section>{heading(head, 3)}{listed(lines)}</section>" for head, lines in sheet.parts)
    closing = paragraph(f"{sheet.closing} {sheet.source}.", "note")
    return f'<div class="framed">{heading(sheet.title)}{call}<div class="fire">{parts}</div>{closing}</div>'


def _part(line: PartLine, units: str, failed: str) -> str:
    words = f"{line.words} (not settled)" if line.open else line.words
    uses = line.uses[:2] if line.uses != ("the work",) else ()
    more = f" and {len(line.uses) - 2} more" if len(line.uses) > 2 else ""
    where = f'<span class="note">: {escaped(", ".join(uses) + more)}</span>' if uses else ""
    mark = f" <b>{escaped(failed)}</b>" if failed else ""
    order = f"<b>{escaped(order_words(line, units)[0])}</b>"
    return f'<li><span class="box"></span>{order} {escaped(words)}{where}{mark}</li>'


def _parts(job: Job) -> str:
    rows = "".join(_part(line, job.units, job.carried.mark(line.at)) for line in job.parts.lines)
    said = paragraph("Counted without stock; lengths and prices of your own shop: bankwright buy.", "note")
    fails = f'{heading("What Plan fails")}<div class="flow">{listed(job.carried.lines(job.units))}</div>'
    first = fails if job.carried else ""
    return f'<section class="sheet">{first}{heading("Parts")}<ul class="boxes parts flow">{rows}</ul>{said}</section>'


def _masked(step: Step, names: re.Pattern[str], units: str) -> str:
    """All words of a step with the names of the bank's things taken out: alike steps have the same."""
    said = [caution.words.text(units) for caution in step.cautions] + [act.text(units) for act in step.acts]
    said += [tick.words for tick in step.ticks] + [wanted_words(wanted, units) for wanted in step.readings]
    said += [finding_words(finding, units) for finding in step.findings]
    return names.sub("*", "\n".join((step.title, *said)))


def _alike(job: Job) -> list[list[tuple[int, Step]]]:
    """Steps in their order; those that follow each other and differ only in the names of things stand together."""
    bank = job.bank
    known = {t.name for group in (bank.modules, bank.posts, bank.links, bank.joints) for t in group}
    names = re.compile("|".join(re.escape(name) for name in sorted(known, key=len, reverse=True)) or "$^")
    numbered = enumerate(job.sheet.steps, 1)
    return [list(group) for _, group in groupby(numbered, key=lambda pair: _masked(pair[1], names, job.units))]


def _steps(job: Job) -> str:
    heard: set[str] = set()
    steps = "".join(_step(group, job.units, heard) for group in _alike(job))
    notes = "".join(paragraph(note.text(job.units), "note") for note in job.sheet.notes)
    return (
        f'<section class="sheet on">{heading("Building, step by step")}{notes}<div class="flow">{steps}</div></section>'
    )


def _boxes(step: Step, units: str) -> list[str]:
    """One box for each thing to tick, one line for each value to write in."""
    boxes = [tick.words for tick in step.ticks] or [f"Done: {step.done.text(units)}"]
    return boxes + [f"{wanted_words(wanted, units)}: ________" for wanted in step.readings]


def _cautions(step: Step, units: str, heard: set[str]) -> list[str]:
    """Fails; cautions, whole where they come first, then by their first sentence; what is not settled, by name."""
    said = [finding_words(f, units) for f in step.findings if f.verdict == "fail"]
    for caution in step.cautions:
        words = caution.words.text(units)
        said.append(words if words not in heard else words.split(". ")[0].rstrip(".") + ".")
        heard.add(words)
    places = ((f.title, places_text((*f.at, *f.more))) for f in step.findings if f.verdict == "unknown")
    open_ = dict.fromkeys(f"{title} ({where})" if where else title for title, where in places)
    return said + ([f"Not settled yet: {'; '.join(open_)}."] if open_ else [])


def _step(group: list[tuple[int, Step]], units: str, heard: set[str]) -> str:
    """A step; alike ones after it share its words and have boxes of their own."""
    number, step = group[0]
    body = [heading(f"{number}. {step.title}", 3)]
    body.append("".join(paragraph(words, "caution") for words in _cautions(step, units, heard)))
    body.append(listed(act.text(units) for act in step.acts))
    body.append(listed(_boxes(step, units), boxes=True))
    for other, alike in group[1:]:
        body.append(paragraph(f"{other}. {alike.title}: as {number}, with its own names."))
        body.append(listed(_boxes(alike, units), boxes=True))
    return f'<section class="step">{"".join(body)}</section>'


def _after(job: Job) -> str:
    """Labels, upkeep, and what no check looked at."""
    signs = labels(job.bank, job.solved.figures)
    rows = [(item.place, " / ".join(item.lines)) for item in signs if len(item.lines) > 1]
    ends = ", ".join(item.lines[0] for item in signs if len(item.lines) == 1)
    rows += [("both ends of each cable", f"its name: {ends}")] if ends else []
    told = heading("Labels") + table(("Where", "Text"), rows)
    kept = heading("Upkeep") + table(("When", "What"), [(task.when, task.task) for task in upkeep(job.bank)])
    left = heading("Not checked") + f'<div class="flow">{listed(job.not_checked)}</div>'
    last = paragraph("It advises only. Local codes and a licensed electrician have the last word.", "note")
    return f'<section class="sheet on">{told}<br>{kept}{paragraph(JOINT_RULE)}{left}{last}</section>'
