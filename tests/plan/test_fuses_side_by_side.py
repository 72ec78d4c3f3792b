"""Two mains with a fuse each: quick ones pass, slow ones are told with a time; no trickle round the ring counts.

Each module's own fuse, in line with them, clears what the slow ones leave: a caution. Where it does not, they fail.
"""

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from_text
from bankwright.plan.checks.clearing import smallest_fault_is_cleared_soon
from bankwright.plan.context import plan_of

FILE = Path(__file__).parents[1] / "cases" / "fresh2" / "sound_fed_at_both_ends.toml"
QUICK = '["480 A", "100 s"], ["800 A", "5 s"], ["1600 A", "0.1 s"]'
SLOW = '["480 A", "900 s"], ["1400 A", "100 s"], ["2600 A", "6 s"]'
LEAD, SLOW_LEAD = (
    '["300 A", "100 s"], ["500 A", "5 s"], ["1000 A", "0.1 s"]',
    '["300 A", "900 s"], ["900 A", "100 s"], ["1500 A", "9 s"]',
)


@pytest.mark.parametrize(
    ("curve", "lead", "verdict"),
    [(QUICK, LEAD, "pass"), (SLOW, LEAD, "caution"), (SLOW, SLOW_LEAD, "fail")],
)
def test_each_is_held_against_the_whole_current_of_one_module(curve, lead, verdict):
    text = Document.read(FILE).text
    assert QUICK in text
    assert LEAD in text
    plan = plan_of(bank_from_text(text.replace(QUICK, curve).replace(LEAD, lead), FILE))
    found = [each for each in smallest_fault_is_cleared_soon.function(plan) if each.at[0] in ("F1", "F2")]
    assert [each.verdict for each in found] == [verdict, verdict]
    assert verdict == "fail" or all(each.figure is not None for each in found)
    assert all(("in line with it" in each.text.text()) == (verdict == "caution") for each in found)
