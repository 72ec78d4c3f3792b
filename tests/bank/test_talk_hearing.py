"""What was typed to a question: taken, offered back, or refused with what would be right."""

from __future__ import annotations

import pytest

from bankwright.bank.talk.hearing import hear_amount, hear_choice, hear_whole, is_unknown
from bankwright.bank.talk.questions import QUESTIONS, hear, question

TAKEN = (
    ("capacity", "100", "100 Ah"), ("capacity", "100Ah", "100 Ah"), ("capacity", " 280.5  Ah ", "280.5 Ah"),
    ("mass", "45 kg", "45 kg"), ("power", "6.5", "6.5 kW"), ("power", "6500 W", "6500 W"), ("pattern", "c", "chain"),
    ("pattern", "BUS", "busbar"), ("feed", "o", "opposite ends"), ("rules", "nec", "nec-2023"), ("stud", "m8", "M8"),
    ("stud", "5/16 in", "5/16 in"), ("cells", "15", "15"), ("cells", "8  Cells", "8 cells"),
    ("cells", "16 cells", "16"), ("height", "3", "3 U"), ("inverters", "0", "0"),
)  # fmt: skip
MENDED = (
    ("lowest_voltage", "45,5", ("45.5 V",)), ("capacity", "1OO", ("100 Ah",)), ("charge", "50 amps", ("50 A",)),
    ("mass", "45 KG", ("45 kg",)), ("mass", "99 pounds", ("99 lb",)), ("modules", "O4", ("4",)),
    ("power", "6500", ("6500 W", "6500 kW")), ("capacity", "1,000", ("1000 Ah", "1.000 Ah")),
    ("cells", "51.2 V", ("16",)), ("cells", "3", ("3 cells",)),
    ("cells", "O8", ("8 cells",)), ("cells", "12.8 V", ("4 cells",)),
    ("interrupts", "20000", ("20000 A", "20000 kA")), ("pattern", "chian", ("chain",)),
)  # fmt: skip
REFUSED = (
    ("mass", "45 Ah", "45 Ah is a charge, not a mass."), ("modules", "65", "from 1 to 64"),
    ("modules", "-3", "from 1 to 64"),
    ("capacity", "-100", "above zero"), ("capacity", "hundred", "no number"), ("pattern", "x", "none of them"),
    ("discharge", "nan", "no number"), ("capacity", "1e999", ""), ("title", "\x07", "letters"),
    ("cells", "400 V", "32"), ("cells", "40 cells", "32"),
)  # fmt: skip


def heard(key: str, typed: str):  # type: ignore[no-untyped-def]
    asked = question(key)
    return hear(asked, typed, asked.unit("metric"))


@pytest.mark.parametrize(("key", "typed", "text"), TAKEN)
def test_taken(key: str, typed: str, text: str) -> None:
    assert (heard(key, typed).how, heard(key, typed).text) == ("taken", text)


@pytest.mark.parametrize(("key", "typed", "offers"), MENDED)
def test_offered_back_and_never_taken_silently(key: str, typed: str, offers: tuple[str, ...]) -> None:
    found = heard(key, typed)
    assert (found.how, found.text, found.typed) == ("mended", "", typed)
    assert found.offers == offers
    assert heard(key, offers[0]).how == "taken"  # an offer can stand


@pytest.mark.parametrize("typed", ["3", "12.8 V"])
def test_an_unusual_count_of_cells_says_what_is_common(typed: str) -> None:
    assert "14, 15 and 16" in heard("cells", typed).words
    assert "14, 15 and 16" not in heard("cells", "51.2 V").words


@pytest.mark.parametrize(("key", "typed", "words"), REFUSED)
def test_refused_with_what_would_be_right(key: str, typed: str, words: str) -> None:
    found = heard(key, typed)
    assert found.how == "refused"
    assert words in found.words


def test_a_wrong_quantity_offers_its_number_in_the_right_unit() -> None:
    assert hear_amount("45 Ah", "mass", "kg").offers == ("45 kg",)


@pytest.mark.parametrize("typed", ["?", "I do not know", "don't know", " unknown. "])
def test_not_knowing_is_heard(typed: str) -> None:
    assert is_unknown(typed)


def test_first_letters_that_mean_two_choices_choose_none() -> None:
    found = hear_choice("b", ("both ends", "busbar"))
    assert (found.how, found.offers) == ("refused", ("both ends", "busbar"))


def test_a_long_answer_does_not_grow_the_file() -> None:
    assert hear_whole("9" * 5000, 1, 64).how == "refused"


def test_every_question_says_what_not_knowing_brings_and_where_to_look() -> None:
    for each in QUESTIONS:
        assert each.unknown
        assert each.where
        assert each.ask.endswith("?")
    assert "no place for a fuse" in question("pattern").choices[0].price
