"""Ten invented sheets of a fourth hand, made with their truth without sight of the reader; first read before a mend.

Lists with a colon and footnotes (English), models in columns over two pages (German), running text beside a table
(French), models with merged cells (Spanish), an inverter in sentences (English), fuses in columns (French) and in rows
(English), a breaker with tables abreast (German), a charger in two columns (Spanish), a cable (English).  Makers and
products do not exist.  What was read at first sight stands in docs/datasheets.md; the judge is given/judge.py.
"""

from pathlib import Path

import pytest

from bankwright.job.sheets import NotReadable, proposed_of
from sheets.test_blind_sheets import judged

HERE = Path(__file__).parent / "given5"
# keys that are right, at least; keys that are missed or asked without need, at most
COUNTS = {
    "charger-brumvelle.pdf": (11, 0),
    "charger-brumvelle.txt": (9, 2),
    "device-gorrabel.pdf": (68, 0),
    "device-gorrabel.txt": (68, 0),
    "device-quibbelor.pdf": (36, 3),
    "device-trudelfinck.pdf": (21, 0),
    "device-trudelfinck.txt": (20, 1),
    "inverter-ollicanter.pdf": (27, 0),
    "inverter-ollicanter.txt": (27, 0),
    "inverter-zumbrelga.pdf": (46, 0),
    "inverter-zumbrelga.txt": (46, 0),
    "module-murrendrift.pdf": (35, 1),
    "module-murrendrift.txt": (35, 2),
    "module-pflunderwerk.pdf": (110, 0),
    "module-pflunderwerk.txt": (110, 0),
    "module-vantagrelle.pdf": (39, 0),
    "module-vantagrelle.txt": (38, 1),
}


@pytest.mark.parametrize("sheet", COUNTS)
def test_nothing_is_wrongly_sure_and_little_missed(sheet):
    truth, told, counts = judged(sheet, HERE)
    right, lacking = COUNTS[sheet]
    assert told["kind"] == truth["kind"]
    assert counts["wrongly sure"] == counts["wrong"] == 0
    assert counts["right"] >= right
    assert counts["missed"] + counts["needless question"] <= lacking


def test_a_cable_is_refused_in_a_clear_word():
    with pytest.raises(NotReadable, match=r"sheet of a cable.*no kind of the bank file"):
        proposed_of(HERE / "cable-snorrbeck.txt")
