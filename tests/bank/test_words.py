"""The list of words: every neighbour stands in it, spellings lead to one word, sentences give their words."""

from __future__ import annotations

import pytest

from bankwright.bank.texts.words import found_in, meaning, words


def test_every_neighbour_stands_in_the_list_and_no_spelling_means_two_things() -> None:
    seen: dict[str, str] = {}
    for each in words():
        assert len(each.text) > 20
        for other in each.see:
            assert meaning(other) is not None, (each.word, other)
        for spelling in (each.word, *each.also):
            assert seen.setdefault(spelling.lower(), each.word) == each.word
    assert len({each.anchor for each in words()}) == len(words())


@pytest.mark.parametrize(
    ("said", "word"),
    [("Let-Through", "let-through"), ("let through", "let-through"), ("SELV", "SELV"), ("modules", "module"),
     ("interrupting rating", "interrupting rating"), ("breaking capacity", "interrupting rating")],
)  # fmt: skip
def test_a_word_is_found_by_its_spellings(said: str, word: str) -> None:
    found = meaning(said)
    assert found is not None
    assert found.word == word


@pytest.mark.parametrize("said", ["", "   ", "qwertz", "x" * 5000, "?"])
def test_what_is_no_word_of_the_list_means_nothing(said: str) -> None:
    assert meaning(said) is None


def test_a_sentence_gives_its_words_once() -> None:
    found = [each.word for each in found_in("The let-through of the fuse; let-through again, and two busbars.")]
    assert found == ["let-through", "busbar"]
