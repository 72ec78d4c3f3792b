"""A data sheet's proposals on a terminal: key, value, the line it came from; then what must be asked.

Gives: data_sheet_lines(), spot_text().
"""

from __future__ import annotations

from collections.abc import Mapping

from bankwright.cli.show.findings import rule, wrap
from bankwright.job.sheets import Answer, Said, Spot, shown

__all__ = ["data_sheet_lines", "spot_text"]


def data_sheet_lines(kind: str, title: str, answers: Mapping[str, Answer]) -> list[str]:
    """Every proposal of one model; questions last."""
    said = {key: answer for key, answer in answers.items() if isinstance(answer, Said)}
    asked = {key: answer for key, answer in answers.items() if not isinstance(answer, Said)}
    lines = [rule(f"{kind}, {title}: {len(said)} values, {len(asked)} questions")]
    wide = max((len(key) for key in answers), default=0)
    for key, answer in said.items():
        lines.append(wrap(f"{shown(answer.value)}", wide + 3, key))
        lines.append(wrap(spot_text(answer.spot), wide + 5, ""))
    if asked:
        lines.append(rule("the sheet leaves open"))
    for key, question in asked.items():
        choices = " or ".join(shown(choice.value) for choice in question.choices)
        lines.append(wrap(f"{choices}? {question.why.capitalize()}.", wide + 3, key))
        lines += [wrap(spot_text(spot), wide + 5, "") for spot in dict.fromkeys(c.spot for c in question.choices)]
    lines.append("Proposals: nothing was written. --into BANK_FILE confirms them one by one.")
    return lines


def spot_text(spot: Spot) -> str:
    """Where it is printed."""
    where = f"page {spot.page}" if spot.page else f"line {spot.line_no}" if spot.line_no else ""
    line = spot.line if len(spot.line) <= 160 else spot.line[:157] + "..."
    return f'{where}: "{line}"' if where else f'"{line}"'
