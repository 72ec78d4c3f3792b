"""A maker's short-circuit current: Voc / Isc is the ohmic resistance, and contradictions are refused."""

import re

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import BankFileError, bank_from
from bankwright.bank.texts.manual import manual
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import K, sound

BY_CODE = {check.code: check for check in CHECKS}
STATED = {"short_circuit": "8 kA", "open_circuit": "53.6 V"}


def changed(**keys: str | None) -> Document:
    document = sound()
    for key, value in keys.items():
        path = f"{K}.resistance.{key}"
        document = document.without_value(path) if value is None else document.with_value(path, value)
    return document


def test_it_stands_for_the_ohmic_resistance_and_nothing_is_assumed() -> None:
    plan = plan_of(bank_from(changed(ohmic=None, **STATED)))
    kind = plan.bank.modules[0].kind
    assert kind.resistance.ohmic is not None
    assert kind.resistance.ohmic.nominal == pytest.approx(53.6 / 8000)
    assert not plan.faults.assumed("highest")
    bare = plan_of(bank_from(changed(ohmic=None)))
    assert bare.faults.assumed("highest"), "without it a published range stands in"


def test_the_fault_of_one_module_follows_it() -> None:
    # at the posts: emf over resistance; cells hotter than 25 degC lower theirs (under a quarter at 45 degC, a table of
    # one cell), the metal keeps its 2 mohm
    for amps in (6e3, 8e3):
        plan = plan_of(bank_from(changed(ohmic=None, short_circuit=f"{amps:g} A", open_circuit="53.6 V")))
        shorts = plan.faults.ends("highest")[0]
        emf = float(shorts.feeding.emf[shorts.feeding.network.edge_index["M1"]])
        assert 1.0 < plan.faults.own("M1").value / (emf / (53.6 / amps)) < 1.25


def test_an_ohmic_value_that_is_given_stays() -> None:
    given = bank_from(sound()).modules[0].kind.resistance.ohmic
    assert given is not None
    stated = f"{53.6 / given.nominal:.0f} A"
    both = bank_from(changed(short_circuit=stated, open_circuit="53.6 V")).modules[0].kind.resistance.ohmic
    assert both == given


@pytest.mark.parametrize(
    ("keys", "code"),
    [
        ({"short_circuit": "8 kA"}, "key-missing"),
        ({"open_circuit": "53.6 V"}, "key-missing"),
        ({"short_circuit": "8 kA", "open_circuit": "12.8 V"}, "out-of-range"),
        ({"short_circuit": "80 kA", "open_circuit": "53.6 V"}, "resistance-contradicts"),
        ({"short_circuit": "200 A", "open_circuit": "53.6 V"}, "resistance-contradicts"),
    ],
)
def test_what_cannot_be_is_refused(keys: dict[str, str], code: str) -> None:
    with pytest.raises(BankFileError) as error:
        bank_from(changed(**keys))
    assert code in {fault.code for fault in error.value.faults}


def test_a_short_weaker_than_the_step_is_refused() -> None:
    with pytest.raises(BankFileError) as error:
        bank_from(changed(ohmic=None, short_circuit="500 A", open_circuit="53.6 V"))
    assert {fault.code for fault in error.value.faults} == {"resistance-order"}


def test_the_example_of_the_manual_reads() -> None:
    line = re.findall(r"```toml-module\nresistance = (.*?)\n```", manual())[0]
    inner = dict(re.findall(r'(\w+) = "([^"]+)"', line))
    made = bank_from(changed(ohmic=None, surge=None, cells=None, **inner)).modules[0].kind.resistance
    assert made.ohmic is not None
    assert made.ohmic.nominal == pytest.approx(6.7e-3)
