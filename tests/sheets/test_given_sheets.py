"""Three invented sheets with their truth, as PDF and as pasted text: nothing wrongly sure or wrong, little missed.

The sheets, their truth and the judge were made apart from the reader; makers and products do not exist.
"""

import importlib.util
import json
from pathlib import Path

import pytest

from bankwright.job.sheets import proposed_of, sheet_document

pytestmark = pytest.mark.quick

GIVEN = Path(__file__).parent / "given"
NAMES = ("module-fernwoggle", "inverter-yarrowplink", "device-sorreldoof")
LEAST_RIGHT = 0.85


def judge():
    spec = importlib.util.spec_from_file_location("sheet_judge", GIVEN / "judge.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("ending", [".pdf", ".txt"])
@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_is_read_as_it_is_meant(name, ending):
    truth = json.loads((GIVEN / f"{name}.truth.json").read_text("utf-8"))
    told = sheet_document(proposed_of(GIVEN / f"{name}{ending}"))
    assert told["kind"] == truth["kind"]
    got = {"models": told["models"]} if told["models"] else told["proposals"]
    counts = judge().count(judge().judge(truth, json.loads(json.dumps(got)), ending == ".pdf"))
    assert counts["wrongly sure"] == counts["wrong"] == counts["line wrong"] == 0
    assert counts["right"] >= LEAST_RIGHT * sum(counts[word] for word in ("right", "missed", "needless question"))


def test_the_judge_sees_what_is_wrong():
    """The judge is no rubber stamp: a false value, a guess at an open question and a key from nowhere are counted."""
    truth = json.loads((GIVEN / "inverter-yarrowplink.truth.json").read_text("utf-8"))
    told = sheet_document(proposed_of(GIVEN / "inverter-yarrowplink.pdf"))["proposals"]
    told["efficiency"]["value"] = "95.0 %"
    told["power"] = {"value": "5000 W", "line": "Rated power"}
    told["start_delay"] = {"value": "10 ms", "line": "Transfer time 10 ms"}
    counts = judge().count(judge().judge(truth, told))
    assert (counts["wrong"], counts["wrongly sure"]) == (1, 2)
