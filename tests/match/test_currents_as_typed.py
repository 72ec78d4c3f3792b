"""Currents typed on the command line or in rows of a file: levels, signs, and everything that cannot be."""

from pathlib import Path

import pytest

from bankwright.forms.faults import QuestionError
from bankwright.match.amperes import levels_from, levels_from_csv


def test_single_texts_are_one_level_and_a_list_is_a_further_one() -> None:
    texts = ("M1=20A", "M2=22 A", "M1=40A, M2=44A")
    assert levels_from(texts, 1.0, "--discharging") == ({"M1": 20, "M2": 22}, {"M1": 40, "M2": 44})
    assert levels_from(("M1=-20A",), -1.0, "--charging") == ({"M1": -20},)
    assert levels_from((), 1.0, "--discharging") == ()


@pytest.mark.parametrize("text", ["M1=20V", "M1", "M1=", "=20A,M2=x"])
def test_what_is_no_current_is_named(text: str) -> None:
    with pytest.raises(QuestionError) as refused:
        levels_from((text,), 1.0, "--discharging")
    assert "MODULE=CURRENT" in refused.value.faults[0].expected


def test_one_module_twice_at_one_level_is_a_fault() -> None:
    with pytest.raises(QuestionError) as refused:
        levels_from(("M1=20A", "M1=40A"), 1.0, "--discharging")
    assert refused.value.faults[0].code == "reading-doubled"


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_rows_of_a_file_are_levels_with_their_sign(tmp_path: Path, mark: str) -> None:
    rows = ["Level,module,current", "small,M1,6 A", "large,M1,60 A", "small,M2,-2 A", ",,", "large,M2,58 A"]
    file = tmp_path / "currents.csv"
    file.write_text("\n".join(row.replace(",", mark) for row in rows), encoding="utf-8-sig")
    assert levels_from_csv(file) == ({"M1": 6, "M2": -2}, {"M1": 60, "M2": 58})


@pytest.mark.parametrize(
    ("text", "code"),
    [("level,module\na,M1", "columns-unknown"), ("level,module,current\na,M1,", "row-incomplete"),
     ("level,module,current\na,M1,5 A\na,M1,6 A", "reading-doubled"), ("", "columns-unknown")],
)  # fmt: skip
def test_rows_that_cannot_be_are_named_with_their_line(tmp_path: Path, text: str, code: str) -> None:
    file = tmp_path / "currents.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(QuestionError) as refused:
        levels_from_csv(file)
    assert refused.value.faults[0].code == code
    with pytest.raises(QuestionError):
        levels_from_csv(tmp_path / "none.csv")
