"""What to do follows the verdict: a pass asks for nothing, what is not known asks for the value, not for a purchase."""

import pytest

from bankwright.forms.card import Card
from bankwright.forms.finding import Input, Missing
from bankwright.forms.grouping import together
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

BUY = say("Buy a larger cable.")
RANGE = Source("invented for this test", how_known="published range")
SETTLE = Missing("kinds.module.M100.resistance.dc", "Measure it.", "maker", "What is the resistance, post to post?")
STOOD = Input("R", "resistance", Figure(0.014, "resistance", 0.008, 0.02), RANGE, assumed=True, settle=SETTLE)
CODES = {"on the list": "P-SHARE-1", "not on it": "P-TRIAL-1"}


def made(low, high, code="P-TRIAL-1", **more):
    card = Card(code, "A trial", "I <= limit", Source("invented for this test", how_known="derived"))
    figure = Figure((low + high) / 2, "current", low, high)
    more = {"inputs": (STOOD,), **more}
    return card.found("M1", figure, (None, 100.0), say("M1 carries {amps}", amps=figure), BUY, **more)


@pytest.mark.parametrize("code", CODES.values(), ids=CODES)
@pytest.mark.parametrize("ends", [(40.0, 60.0), (80.0, 97.0), (80.0, 110.0)])
def test_what_rests_on_a_range_asks_for_the_value(code, ends):
    finding = made(*ends, code)
    assert finding.verdict in ("assumed", "caution", "unknown")
    assert "What is the resistance, post to post?" in finding.do.text()
    assert "Buy" not in finding.do.text()


@pytest.mark.parametrize("ends", [(110.0, 130.0), (96.0, 97.0)])
def test_what_both_ends_of_a_range_say_is_mended(ends):
    assert made(*ends).verdict in ("fail", "caution")
    assert made(*ends).do == BUY


def test_what_is_firm_is_mended_and_a_pass_asks_for_nothing():
    assert made(101.0, 130.0, inputs=()).do == BUY
    assert made(80.0, 97.0, inputs=()).do == BUY
    assert made(40.0, 60.0, inputs=()).do.text() == ""


def test_what_is_missing_is_asked_for_beside_what_stands_in():
    missing = (Missing("site.ambient", "Read the thermometer over a year.", "measure"),)
    do = made(40.0, 60.0, missing=missing).do.text()
    assert "thermometer" in do
    assert "post to post" in do


def test_a_figure_of_which_one_end_is_sure_is_said_by_that_end():
    assert made(80.0, 110.0).text.text() == "M1 carries at least 80.0 A"
    assert made(40.0, 60.0).text.text() == "M1 carries 50.0 A"


def test_findings_put_together_ask_for_all_that_is_missing_once():
    def lacking(at):
        missing = (Missing(f"readings.{at}.rested", f"Let {at} rest.", "measure"),)
        card = Card("M-TRIAL-1", "A trial", "", RANGE)
        return card.found(at, None, (None, None), say("Not known"), BUY, missing=missing)

    (one,) = together([lacking("M1"), lacking("M2")])
    assert one.do.text() == "Settle first: Let M1 rest. Let M2 rest."
    (same,) = together([made(80.0, 110.0), made(80.0, 111.0)])
    assert same.text.text() == "M1 carries at least 80.0 A"


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (Source("NEC (NFPA 70)", "2023", "310.10(G)", "from memory"), " (rule from memory)"),
        (Source("NEC (NFPA 70)", "2014 text", "210.19(A)(1)", "read"), " (rule read in the 2014 edition)"),
        (Source("NEC (NFPA 70)", "2020 and later", "706.30", "read"), ""),
        (Source("NEC (NFPA 70)", "2023 (also 2020)", "310.16", "copy"), ""),
        (Source("IEC 60364-5-54", "2011", "542", "read"), ""),
        (Source("invented for this test", how_known="derived"), ""),
    ],
)
def test_a_rule_that_was_not_read_in_the_edition_in_force_says_so(source, words):
    card = Card("P-TRIAL-1", "A trial", "I <= limit", source)
    figure = Figure(120.0, "current")
    finding = card.found("M1", figure, (None, 100.0), say("M1 carries {amps}", amps=figure), BUY)
    assert finding.text.text() == f"M1 carries 120 A{words}"
    assert together([finding, finding])[0].text == finding.text


def test_a_limit_from_memory_says_so():
    known = Source("invented for this test", how_known="derived")
    limit = Input("I_max", "limit", Figure(100.0, "current"), Source("A table", how_known="from memory"))
    figure = Figure(80.0, "current")
    made = Card("P-TRIAL-1", "A trial", "I <= limit", known).found(
        "M1", figure, (None, 100.0), say("M1 carries {amps}", amps=figure), BUY, inputs=(limit,)
    )
    assert made.text.text() == "M1 carries 80.0 A (limit from memory)"
