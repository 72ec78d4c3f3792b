"""What the file says of one thing: each end of each figure from both sides, and what such a finding names."""

from __future__ import annotations

from typing import Any

import pytest

from bankwright.forms.finding import Finding
from bankwright.plan.checks import CHECKS
from bankwright.plan.checks.switching import height_said
from bankwright.plan.checks.torque import ends_of
from bankwright.plan.context import plan_of
from support.plan_cases import K, edited
from support.sheet_cases import ENDS, End

pytestmark = pytest.mark.quick

BY_CODE = {check.code: check for check in CHECKS}
RANK = ["pass", "caution", "fail"]


def _filled(value: Any, number: str) -> Any:
    if isinstance(value, str):
        return value.replace("{}", number)
    if isinstance(value, list):
        return [_filled(each, number) for each in value]
    if isinstance(value, dict):
        return {key: _filled(each, number) for key, each in value.items()}
    return value


def said(code: str, edits: Any, word: str) -> Finding:
    found = BY_CODE[code].function(plan_of(edited(edits)))
    return max((f for f in found if word in f.text.text()), key=lambda f: RANK.index(f.verdict))


@pytest.mark.parametrize("end", ENDS, ids=str)
def test_an_end_holds_from_both_sides(end: End) -> None:
    for value, verdict in zip((end.inside, end.outside), end.verdicts, strict=True):
        finding = said(end.code, _filled(dict(end.change), f"{value:.9g}"), end.says)
        assert finding.verdict == verdict, finding.text.text()
        assert finding.verdict == "pass" or finding.do.text()


def test_a_contradiction_names_both_figures_and_their_lines() -> None:
    finding = said("P-SHEET-1", {f"{K}.energy": "51.2 kWh"}, "is given")
    assert finding.verdict == "fail"
    assert {item.origin.path for item in finding.inputs} == {f"{K}.energy", f"{K}.capacity", f"{K}.cells"}


def test_threads_that_no_table_has_go_by_the_cube_of_the_diameter() -> None:
    assert ends_of("M8").most == pytest.approx(1.4 * 28.0)
    assert ends_of("5/16 in").most == ends_of("M8").most  # 7.94 mm: the same row
    assert ends_of("M16").high == pytest.approx(95.0 * (16 / 12) ** 3)
    assert ends_of("M10", on_a_bar=True).high == pytest.approx(1.2 * 35.0)  # main-circuit copper connections
    assert ends_of("M12", on_a_bar=True).high == pytest.approx(1.2 * 68.0)


@pytest.mark.parametrize(
    ("text", "height"),
    [
        ("beside the rack, 1.4 m above the floor", 1.4),
        ("on the wall, 2.2 m over the floor", 2.2),
        ("79 in from the floor", 79 * 0.0254),
        ("beside the rack", None),
        ("1.5 m from the door", None),
    ],
)
def test_a_height_is_read_out_of_where_the_hand_finds_it(text: str, height: float | None) -> None:
    assert height_said(text) == (None if height is None else pytest.approx(height))
