"""Suggest for a chain: bars with a fuse in each lead as one change; what to look for; words that are true."""

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from
from bankwright.plan.context import plan_of
from bankwright.plan.results import findings_of
from bankwright.plan.suggest import look_for
from bankwright.plan.suggest.moves import moves_for
from bankwright.plan.suggest.search import suggest

FUSE = (
    'type = "fuse"\nrating = "{rating}"\nvolts = "80 V"\ninterrupts = "50 kA"\nclass = "class T"\npolarised = false\n'
)
CHAIN = """format = 1
title = "Three in a chain, invented"
rules = "nec-2023"
units = "{units}"
[site]
ambient = "5 degC to 30 degC"
[kinds.module.R100]
cells = 16
capacity = "100 Ah"
discharge = {{ continuous = "100 A" }}
charge = {{ continuous = "50 A" }}
resistance = {{ dc = "14 mohm", ohmic = "6 mohm" }}
posts = {{ stud = "M8", lugs = 2 }}
[kinds.inverter.six]
power = "4 kW"
efficiency = "92 %"
lowest_voltage = "48 V"
phases = 3
{kinds}
[[modules]]
name = "M1"
kind = "R100"
[[modules]]
name = "M2"
kind = "R100"
[[modules]]
name = "M3"
kind = "R100"
[wiring]
pattern = "chain"   # as the kit came
feed = "opposite ends"
link = {{ cable = "2/0 AWG", length = "{link}" }}   # cut from one reel
main = {{ cable = "2/0 AWG", length = "1.5 m" }}
[[devices]]
name = "F1"
kind = "fuse-150"
on = "main+"
at = "bank end"
{more}
[[inverters]]
name = "I1"
kind = "six"
"""
KINDS = f"[kinds.device.fuse-150]\n{FUSE.format(rating='150 A')}[kinds.device.fuse-80]\n{FUSE.format(rating='80 A')}"


def chain(units="metric", link="300 mm", more="", kinds=KINDS):
    return Document(CHAIN.format(units=units, link=link, more=more, kinds=kinds), Path("chain.toml"))


def fails(document):
    return {f.code for f in findings_of(plan_of(bank_from(document))) if f.verdict == "fail"}


def to_bars(document):
    bank = bank_from(document)
    return [m for m in moves_for(bank, document, findings_of(plan_of(bank))) if m.group == "to bars"]


@pytest.mark.slow
@pytest.mark.parametrize(("units", "length", "width"), [("metric", "600 mm", "mm"), ("us", "24 in", "in")])
def test_bars_with_a_fuse_in_each_lead_are_one_change_in_the_units_of_the_file(units, length, width):
    document = chain(units)
    assert "P-REACH-1" in fails(document)
    made = suggest(document)
    assert made.taken[0].move.group == "to bars"
    assert "P-REACH-1" not in fails(made.after)
    assert made.after.value("wiring.pattern") == "busbar"
    assert made.after.value("wiring.link.length") == length
    assert [bar["pole"] for bar in made.after.value("bars")] == ["+", "-"]
    assert made.after.value("bars")[0]["width"].endswith(width)
    assert made.after.value("bars")[0]["stud"] == "M8"
    leads = [link for link in bank_from(made.after).links if link.role == "lead" and link.pole == "+"]
    assert len(leads) == 3
    assert all(link.devices for link in leads)
    for comment in ("# as the kit came", "# cut from one reel"):
        assert comment in made.after.text


@pytest.mark.slow
def test_the_bars_carry_what_they_must():
    made = suggest(chain())
    density = [f for f in findings_of(plan_of(bank_from(made.after))) if f.code == "P-BAR-1"]
    assert density
    assert {f.verdict for f in density} == {"pass"}


@pytest.mark.slow
def test_no_such_change_where_something_hangs_on_a_link_of_the_chain():
    more = '[[devices]]\nname = "F2"\nkind = "fuse-80"\non = "L1+"\n'
    assert to_bars(chain())
    assert not to_bars(chain(more=more))


@pytest.mark.slow
def test_a_long_link_keeps_its_length():
    assert to_bars(chain(link="800 mm"))
    assert not any(edit.path == "wiring.link.length" for edit in to_bars(chain(link="800 mm"))[0].edits)


@pytest.mark.slow
def test_a_fuse_to_look_for_is_sized_by_the_current_of_a_module_and_not_of_a_link():
    kinds = (
        KINDS.replace("fuse", "limiter")
        .replace('type = "limiter"', 'type = "breaker"')
        .replace("limiter-150", "fuse-150")
    )
    document = chain(kinds=kinds)  # no fuse in the file: bars with fuses are no change of it
    made = suggest(document)
    spec = next(said for said in made.look_for if "lead of each module" in said.text())
    plan = plan_of(bank_from(made.after))
    most = max(plan.worst(name, (*plan.bases, *plan.aways)).value for name in ("M1", "M2", "M3"))
    assert spec.figures["low"].value == pytest.approx(1.25 * most, rel=1e-6)
    passed_on = max(plan.worst(link.name).value for link in plan.bank.links if link.role == "link")
    assert passed_on > 1.2 * most, "a link of a chain carries more than one module's current"


def test_a_window_without_a_usual_rating_asks_for_a_larger_cable_first():
    """201 A to 224 A holds no rating of 240.6(A): 200 and 225 lie beside it."""
    plan = plan_of(bank_from(chain()))
    bounds = {(201.0, 224.0): False, (201.0, 225.0): True, (200.0, 224.0): True, (None, 224.0): True}
    assert {each: look_for._usual(plan, each, fuse=True) for each in bounds} == bounds
    said = look_for._said("For F1, a fuse", (201.0, 224.0), None, None, None, usual=False)
    assert "no usual rating lies between 201 A (needed) and 224 A (its conductor)" in said.text()


@pytest.mark.slow
def test_a_search_that_was_stopped_says_that_it_did_not_look():
    def stop(_line):
        raise KeyboardInterrupt

    made = suggest(chain(), stop)
    assert made.interrupted
    assert not made.all_tried
    assert made.heading == "Nothing found so far: not all was looked at"
    assert "not looked at" in made.left_over
    assert "no change" not in made.left_over


@pytest.mark.slow
def test_the_heading_is_true_of_what_was_found():
    whole = suggest(chain())
    expected = (
        "The least change found that passes" if not fails(whole.after) else "A change that helps; something still fails"
    )
    assert whole.heading == expected
    again = suggest(whole.after)
    assert again.heading.startswith("Nothing fails") == (not fails(whole.after))
