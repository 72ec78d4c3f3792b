"""Two invented sheets of fuses of two more sets that another hand made with their truth, without sight of the reader.

Four models in columns with tables of their own under them (Dutch), a list whose footnotes bear conditions (English).
What was read at first sight stands in given7/README.md; the judge is given/judge.py.
"""

from pathlib import Path

import pytest

from sheets.test_blind_sheets import judged

HERE = Path(__file__).parent / "given7"
# keys that are right, at least; keys that are missed or asked without need, at most
COUNTS = {
    "device-dwarsvlinder.pdf": (72, 0),
    "device-dwarsvlinder.txt": (72, 0),
    "device-quillonforge.pdf": (20, 0),
    "device-quillonforge.txt": (20, 0),
}


@pytest.mark.parametrize("sheet", COUNTS)
def test_nothing_is_wrongly_sure_and_little_missed(sheet):
    truth, told, counts = judged(sheet, HERE)
    right, lacking = COUNTS[sheet]
    assert told["kind"] == truth["kind"]
    assert counts["wrongly sure"] == counts["wrong"] == 0
    assert counts["right"] >= right
    assert counts["missed"] + counts["needless question"] <= lacking
