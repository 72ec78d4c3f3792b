"""Only the differences, worst place against worst place."""

from dataclasses import replace

from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.plan.lists.compare import changed_keys, differences

ONE = Finding("P-X-1", "one", ("M1",), Figure(90.0, "current"), (None, 100.0), Source("laws"), say("Do it."))


def at(value, code="P-X-1"):
    return replace(ONE, code=code, figure=Figure(value, "current"))


def test_equal_findings_give_no_difference_and_small_ones_do_not_count():
    assert differences([at(90.0)], [at(90.0)]) == ()
    assert differences([at(90.0)], [at(90.2)]) == ()
    assert len(differences([at(90.0)], [at(91.0)])) == 1


def test_a_changed_verdict_comes_before_a_changed_figure():
    rows = differences([at(50.0), at(90.0, "P-X-2")], [at(60.0), at(110.0, "P-X-2")])
    assert [(row.code, row.verdict_changed) for row in rows] == [("P-X-2", True), ("P-X-1", False)]


def test_a_check_that_appears_or_goes_is_a_difference():
    (row,) = differences([], [at(90.0)])
    assert row.before is None
    assert row.verdict_changed


def test_the_worst_place_stands_for_the_check():
    rows = differences([at(50.0), at(99.0)], [at(50.0), at(98.9)])
    assert rows == ()


def test_keys_are_told_apart_by_the_name_of_their_block():
    old = {"modules": [{"name": "M1", "slot": 1}, {"name": "M2", "slot": 2}], "wiring": {"feed": "same end"}}
    new = {"modules": [{"name": "M2", "slot": 3}], "wiring": {"feed": "both ends"}}
    found = {key.path: (key.before, key.after) for key in changed_keys(old, new)}
    assert found["wiring.feed"] == ("same end", "both ends")
    assert found["modules[M2].slot"] == ("2", "3")
    assert found["modules[M1].slot"] == ("1", None)
