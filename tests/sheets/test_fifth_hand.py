"""Some of twenty-two invented sheets of a fifth hand, made with their truth without sight of the reader.

Modules in columns with two units (English), a list with dotted leaders and numbered headings (Spanish), a charge
controller (French), an inverter with three tables abreast, pasted (Spanish), a charge point for a car, which must be
refused (English).  Makers and products do not exist.
At first sight, all twenty-two: docs/datasheets.md; the judge is given/judge.py.
"""

from pathlib import Path

import pytest

from bankwright.job.sheets import NotReadable, proposed_of
from sheets.test_blind_sheets import judged

HERE = Path(__file__).parent / "given6"
# keys that are right, at least; keys that are missed or asked without need, at most
COUNTS = {
    "charger-campagnole.txt": (8, 1),
    "inverter-zarzaluz.txt": (26, 1),
    "module-cantuesera.pdf": (41, 4),
    "module-cantuesera.txt": (42, 3),
    "module-tambrelridge.pdf": (111, 4),
    "module-tambrelridge.txt": (111, 4),
}


LONG = ("module-cantuesera.pdf",)


@pytest.mark.parametrize(
    "sheet", [pytest.param(name, marks=pytest.mark.soak) if name in LONG else name for name in COUNTS]
)
def test_nothing_is_wrongly_sure_and_little_missed(sheet):
    """Sheets of a fifth hand: nothing is wrongly sure, little is missed."""
    truth, told, counts = judged(sheet, HERE)
    right, lacking = COUNTS[sheet]
    assert told["kind"] == truth["kind"]
    assert counts["wrongly sure"] == counts["wrong"] == 0
    assert counts["right"] >= right
    assert counts["missed"] + counts["needless question"] <= lacking


def test_a_charge_point_of_a_car_is_refused_in_a_clear_word():
    with pytest.raises(NotReadable, match=r"charge point for a car.*no kind of the bank file"):
        proposed_of(HERE / "charger-lanternfold.txt")
