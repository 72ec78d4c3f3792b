"""Keys of one's own: a measured resistance, the other diagonal, a limit of drop, terminals of a load."""

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import BankFileError, bank_from
from bankwright.circuit.cases import LOWEST
from bankwright.circuit.steady import steady
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.suggest.moves import moves_for

HEAD = """format = 1
title = "Measured, invented"
[site]
{site}
[kinds.module.R100]
cells = 16
capacity = "100 Ah"
discharge = {{ continuous = "100 A" }}
charge = {{ continuous = "50 A" }}
resistance = {{ dc = "14 mohm", ohmic = "6 mohm" }}
[kinds.inverter.six]
power = "4 kW"
efficiency = "92 %"
lowest_voltage = "48 V"
[[modules]]
name = "M"
kind = "R100"
count = 3
[wiring]
pattern = "chain"
feed = "{feed}"
link = {{ {link}, joint = "0 ohm" }}
main = {{ cable = "2/0 AWG", length = "1.5 m", joint = "0 ohm" }}
[[devices]]
name = "F1"
kind = "fuse"
on = "L1+"
at = "50 mm from M1+"
[[inverters]]
name = "I1"
kind = "six"
{more}
[kinds.device.fuse]
type = "fuse"
resistance = "0 ohm"
"""
CABLE = 'cable = "2/0 AWG", length = "300 mm"'
BY_CODE = {check.code: check for check in CHECKS}


def document(feed="opposite ends", link=CABLE, site="", more=""):
    text = HEAD.format(feed=feed, link=link, site=site, more=more)
    return Document(
        text.replace('on = "L1+"\nat = "50 mm from M1+"', 'on = "main+"\nat = "bank end"'), Path("own.toml")
    )


def bank(**given):
    return bank_from(document(**given))


def shares(of):
    return [float(of_case.current(name)) for of_case in [steady(of).case(LOWEST)] for name in ("M1", "M2", "M3")]


def test_a_measured_link_needs_no_cable_and_decides_the_shares():
    # three modules of r = 14 mohm in a chain fed at one end, links of R = 3.5 mohm in each pole at 20 degC: the ladder
    # by hand (Kirchhoff): I3 = 1, M2 sees r + 2R of it, M1 the drop of both behind it
    measured = bank(feed="same end", link='resistance = "3.5 mohm"', site='ambient = "10 degC to 20 degC"')
    r, way = 14.0, 2 * 3.5
    third = 1.0
    second = (r * third + way * third) / r
    first = (r * second + way * (second + third)) / r
    total = first + second + third
    found = shares(measured)
    assert [each / sum(found) for each in found] == pytest.approx(
        [first / total, second / total, third / total], rel=2e-3
    )
    with_cable = shares(bank(feed="same end"))
    assert max(found) / min(found) > 1.5 > max(with_cable) / min(with_cable)


def test_a_measured_link_splits_along_its_length_in_a_short():
    plan = plan_of(bank(link=f'{CABLE}, resistance = "2.5 mohm"'))
    network = plan.faults.ends("highest")[0].feeding.network
    parts = [e.resistance.nominal for e in network.elements if e.name.startswith("L1+/")]
    assert len(parts) >= 2
    assert sum(parts) == pytest.approx(2.5e-3)


def test_the_tolerance_of_a_measurement_counts_in_the_scatter():
    plan = plan_of(bank(link='resistance = "3.5 mohm +- 1 mohm"'))
    element = next(e for e in plan.steady.network.elements if e.name == "L1+")
    assert (element.resistance.low, element.resistance.high) == pytest.approx((2.5e-3, 4.5e-3))
    assert not plan.stood.metal


def test_what_a_cable_carries_is_still_asked_for():
    plan = plan_of(bank(link='resistance = "3.5 mohm"'))
    found = [f for f in BY_CODE["P-CABLE-2"].function(plan) if "L1+" in f.at]
    assert {f.verdict for f in found} <= {"unknown"}


@pytest.mark.parametrize("value", ["0.03 mohm", "1 uohm", "0 ohm"])
def test_a_resistance_below_half_of_the_metal_is_refused(value):
    with pytest.raises(
        BankFileError
    ) as error:  # 300 mm of 2/0 AWG have 0.08 mohm (NEC chapter 9 table 8: 0.261 mohm/m)
        bank(link=f'{CABLE}, resistance = "{value}"')
    assert {fault.code for fault in error.value.faults} == {"resistance-contradicts"}


@pytest.mark.parametrize("value", ["0.08 mohm", "3.5 mohm +- 20 %"])
def test_a_fair_or_a_poor_crimp_is_taken(value):
    assert bank(link=f'{CABLE}, resistance = "{value}"').link("L1+").resistance is not None


def test_the_other_diagonal_is_the_mirror_of_the_first():
    near, far = shares(bank(feed="opposite ends")), shares(bank(feed="opposite ends, plus first"))
    assert far == pytest.approx(near, rel=1e-9)  # with both poles alike, plus and minus exchanged
    mains = {link.name: link.a for link in bank(feed="opposite ends, plus first").links if link.role == "main"}
    assert mains == {"main+": "M1+", "main-": "M3-"}
    assert {link.name: link.a for link in bank().links if link.role == "main"} == {"main+": "M3+", "main-": "M1-"}


def test_one_diagonal_is_not_suggested_for_the_other():
    other = document(feed="opposite ends, plus first")
    words = [move.words for move in moves_for(bank_from(other), other, ()) if move.group == "feed"]
    assert all('-> "opposite ends"' not in each for each in words)
    assert any('-> "both ends"' in each for each in words)


def drop(site):
    return next(iter(BY_CODE["P-DROP-1"].function(plan_of(bank(site=site)))))


def test_ones_own_limit_of_drop_decides_and_is_called_so():
    usual = drop("")
    assert usual.limits == (None, 0.03)
    assert "the usual limit" in usual.text.text()
    share = usual.figure.value
    own = drop(f'most_drop = "{share * 99:.6f} %"')
    assert own.verdict != usual.verdict
    assert "your own limit" in own.text.text()
    assert drop(f'most_drop = "{share * 110:.6f} %"').verdict == "pass"


@pytest.mark.parametrize("value", ["0 %", "25 %", "-1 %", "2 V"])
def test_a_limit_of_drop_that_is_none_is_refused(value):
    with pytest.raises(BankFileError):
        bank(site=f'most_drop = "{value}"')


def test_terminals_of_a_load_are_its_posts():
    sheet = '{ stud = "M6", torque = "5 N m", rating = "60 degC" }'
    made = bank(more=f'[[loads]]\nname = "lamps"\ncurrent = "12 A"\nterminals = {sheet}\n')
    post = next(each for each in made.posts if each.name == "lamps+")
    assert (post.spec.stud, post.spec.rating_degc) == ("M6", 60.0)
    assert post.spec.torque == pytest.approx(5.0)
