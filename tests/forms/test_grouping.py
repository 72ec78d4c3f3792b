"""Findings of one kind read as one under the worst figure, in an order and with numbers that the file's order cannot
change."""

import math
import random
from dataclasses import replace

import pytest

from bankwright.forms.card import Card
from bankwright.forms.finding import Missing, badness, by_name, worst_first
from bankwright.forms.grouping import in_order, numbered, ordered, together
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

pytestmark = pytest.mark.quick

CARD = Card("P-TRIAL-1", "A trial", "I <= limit", Source("invented for this test", how_known="derived"))


def found(at, value, *, limit=100.0, **more):
    text = say("{at} carries {current}", at=at, current=Figure(value, "current"))
    return CARD.found(at, Figure(value, "current"), (None, limit), text, say("Take a larger one."), **more)


def lacking(at, key):
    missing = (Missing(key, "Measure it.", "measure"),)
    return CARD.found(at, None, (None, None), say("Not known"), say("Measure it."), missing=missing)


@pytest.mark.parametrize("seed", range(4))
def test_the_worst_leads_whatever_comes_first(seed):
    made = [found(f"L{k}+", 101.0 + k) for k in range(1, 13)]
    random.Random(seed).shuffle(made)
    (one,) = together(made)
    assert one.at == ("L12+",)
    assert one.figure.value == 113.0
    assert one.more == tuple(f"L{k}+" for k in range(11, 0, -1))


def test_the_worst_leads_where_a_check_has_steps_of_caution_only():
    steps = [
        CARD.found(name, Figure(v, "current"), (None, None), say("x"), say("y"), caution_limits=(None, 10.0))
        for name, v in (("M1", 11.0), ("M2", 14.0), ("M3", 12.0))
    ]
    (one,) = together(steps)
    assert (one.at, one.more) == (("M2",), ("M3", "M1"))


def test_the_worst_leads_by_margin_and_not_by_figure():
    (one,) = together([found("L1+", 300.0, limit=290.0), found("L2+", 150.0, limit=100.0)])
    assert one.at == ("L2+",)


@pytest.mark.parametrize("turn", [False, True])
def test_figures_that_differ_by_rounding_are_equal(turn):
    near = [found("M10", 0.3 * 400), found("M2", (0.1 + 0.2) * 400)]
    assert near[0].margin != near[1].margin
    (one,) = together(near[::-1] if turn else near)
    assert (one.at, one.more) == (("M2",), ("M10",))
    assert worst_first(tuple(near[::-1] if turn else near))[0].at == ("M2",)


def test_figures_that_differ_for_good_are_not_equal():
    (one,) = together([found("M2", 120.0), found("M10", 120.001)])
    assert one.at == ("M10",)


def test_a_key_that_names_the_place_itself_does_not_tell_two_apart():
    (one,) = together([lacking("M1", "readings.M1.rested"), lacking("M2", "readings.M2.rested")])
    assert [item.key for item in one.missing] == ["readings.M1.rested", "readings.M2.rested"]
    assert len(together([lacking("M1", "kinds.module.a.ohmic"), lacking("M2", "kinds.module.b.ohmic")])) == 2
    assert len(together([lacking("M1", "readings.M1.rested"), lacking("M2", "readings.M2.voltage")])) == 2


def test_other_words_other_finding():
    other = replace(found("M2", 130.0), text=say("{at} is not the same", at="M2"))
    assert len(together([found("M1", 130.0), other])) == 2


def test_places_of_places_are_kept():
    (one,) = together([found("M1", 120.0, more=("M4",)), found("M2", 130.0, more=("M3",))])
    assert (one.at, one.more) == (("M2",), ("M3", "M1", "M4"))


def test_a_number_is_given_once_and_kept():
    listed = ordered([found("M1", 50.0), found("M2", 130.0), found("M3", 99.0), lacking("M4", "x.y")])
    assert [(f.number, f.verdict) for f in listed] == [(1, "fail"), (2, "unknown"), (3, "caution"), (None, "pass")]
    assert [n for n, _ in numbered(listed[1:])] == [2, 3]
    assert numbered(reversed(listed)) == numbered(listed)
    assert [n for n, _ in numbered([found("M1", 130.0), found("M2", 140.0)])] == [1, 2]


@pytest.mark.parametrize("seed", range(6))
def test_nothing_depends_on_the_order_of_the_file(seed):
    made = [found(f"M{k}", v) for k, v in enumerate((130, 99, 130, 50, 99.0000000000001, 97), 1)]
    made += [lacking(f"M{k}", f"readings.M{k}.rested") for k in (2, 10, 3)]
    mixed = random.Random(seed).sample(made, len(made))
    assert ordered(mixed) == ordered(made)


def test_names_are_sorted_as_people_count():
    assert sorted(["M10", "M2", "L1+@M10+", "M1b", "M1"], key=by_name) == ["L1+@M10+", "M1", "M1b", "M2", "M10"]
    assert by_name("") == ("",)


def test_what_is_compared_with_nothing_stands_last():
    assert badness(found("M1", math.nan)) == math.inf
    assert badness(lacking("M1", "x")) == math.inf
    assert in_order([]) == ()


def test_a_sentence_that_names_one_lug_does_not_speak_for_another():
    def fits(at, lug):
        return replace(found(at, 130.0), text=say("{at} names no lug; {lug} is the one that fits", at=at, lug=lug))

    assert len(together([fits("a", "ring-8"), fits("b", "ring-10"), fits("c", "ring-8")])) == 2
