"""Two fuses are side by side where their cables lead from one place to one place, and not with modules between them.

Judged by hand from the wiring: which modules' leads come in between the two cables. NEC 240.8 from memory.
"""

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from_text
from bankwright.plan.checks.limiting import none_side_by_side
from bankwright.plan.context import plan_of
from support.plan_cases import TWIN, edited

BOTH_ENDS = Path(__file__).parents[1] / "cases" / "fresh2" / "sound_fed_at_both_ends.toml"
MAIN = 'main = { cable = "70 mm2"'


def verdicts(bank) -> list[tuple[str, str]]:
    found = none_side_by_side.function(plan_of(bank))
    return sorted((each.verdict, " ".join((*each.at, *each.more))) for each in found)


def twins(studs: list[str], stud: int, **edits):
    """The sound bank of three modules on bars with a second main and a fuse in each; where they sit on the bar."""
    links = {**TWIN, "from": f"bar+{stud}"}
    fuse = {"name": "F2", "kind": "main", "on": "twin+", "at": f"bar+{stud}"}
    return edited({"bars[0].studs": studs, "+links": links, "+devices": fuse, **edits})


@pytest.mark.parametrize(
    ("studs", "stud", "side"),
    [
        (["M1", "M2", "M3", "main", ""], 5, True),  # neighbours
        (["M1", "M2", "M3", "main"], 4, True),  # on one stud
        (["M1", "M2", "M3", "", "main", ""], 4, True),  # the other way round
        (["M1", "M2", "main", "", "M3"], 4, True),  # modules left and right of both
        (["main", "M1", "M2", "M3", ""], 5, False),  # both ends
        (["main", "M1", "", "M2", "M3"], 3, False),  # one module between, others beside
        (["M1", "main", "M2", "M3", ""], 5, False),
    ],
)
def test_the_studs_between_two_fused_mains_decide(studs, stud, side):
    found = verdicts(twins(studs, stud))
    assert found == ([("fail", "F1 F2")] if side else [("pass", "main+")])


def test_a_lone_module_between_is_one_place():
    lone = {"modules[2]": None, "modules[1]": None, "bars[1].studs": ["M1", "main"], "site.earthing.at": ["bar-2"]}
    assert verdicts(twins(["main", "M1", ""], 3, **lone)) == [("fail", "F1 F2")]


def test_a_load_between_makes_no_two_places_of_one():
    lead = {
        "cable": "2/0 AWG",
        "strands": "fine",
        "length": "1 m",
        "lug": "ring",
        "joint": "20 uohm",
        "method": "free air",
    }
    load = {"name": "D1", "current": "10 A", "lead": lead}
    bank = twins(
        ["M1", "M2", "M3", "main", "D1", ""], 6, **{"+loads": load, "bars[1].studs": ["M1", "M2", "M3", "main", "D1"]}
    )
    assert verdicts(bank) == [("fail", "F1 F2")]


@pytest.mark.parametrize("book", ["nec-2023", "iec-60364"])
def test_a_bar_fed_at_both_ends_passes(book):
    text = Document.read(BOTH_ENDS).text.replace('rules = "iec-60364"', f'rules = "{book}"')
    found = verdicts(bank_from_text(text, BOTH_ENDS))
    assert {verdict for verdict, _ in found} == {"pass"}


def test_fuses_in_modules_leads_are_not_side_by_side():
    assert verdicts(edited({})) == []  # each of three leads has its fuse
