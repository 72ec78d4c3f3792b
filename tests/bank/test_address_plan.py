"""Addresses and switch pictures."""

from __future__ import annotations

import dataclasses

from hypothesis import given
from hypothesis import strategies as st

from bankwright.bank.addresses import address_plan, double_addresses, switch_picture, switch_words
from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import Addressing
from support.banks.rack import KIND, chain


def with_addressing(bank: Bank, how: Addressing) -> Bank:
    kind = dataclasses.replace(KIND, address=how)
    return bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))


def test_counted_from_the_lowest_slot() -> None:
    rows = address_plan(chain(3))
    assert [(r.module, r.address) for r in rows] == [("M1", 1), ("M2", 2), ("M3", 3)]
    assert rows[2].switches == (True, True, False, False)
    assert switch_picture(rows[2]) == ("on   # # . .", "off  . . # #", "     1 2 3 4")


def test_switches_that_count_from_the_other_end() -> None:
    # four switches: 1 becomes what 8 is otherwise, 3 what 12 is
    rows = address_plan(with_addressing(chain(3), Addressing(4, 1, order="first is highest")))
    assert rows[0].switches == (False, False, False, True)
    assert rows[2].switches == (False, False, True, True)
    assert rows[2].turned == (True, True, False, False)
    assert switch_words(rows[2].switches) == "3, 4 on; 1, 2 off"


def test_a_base_an_inverted_switch_and_a_reserved_address() -> None:
    based = address_plan(with_addressing(chain(2), Addressing(4, 16, base=16)))
    assert [row.switches for row in based] == [(False,) * 4, (True, False, False, False)]
    zero = address_plan(with_addressing(chain(1), Addressing(4, 1, on_is="zero")))[0]
    assert zero.switches == (False, True, True, True)
    kept = address_plan(with_addressing(chain(3), Addressing(4, 1, reserved=2)))
    assert [row.address for row in kept] == [1, 3, 4]


def test_written_address_is_kept_and_not_given_twice() -> None:
    bank = chain(3)
    bank = bank.replaced(modules=(dataclasses.replace(bank.modules[0], address=2), *bank.modules[1:]))
    rows = address_plan(bank)
    assert {r.module: r.address for r in rows} == {"M1": 2, "M2": 1, "M3": 3}
    assert rows[0].given
    assert double_addresses(rows) == {}


def test_double_address_is_named() -> None:
    bank = chain(2)
    bank = bank.replaced(modules=tuple(dataclasses.replace(m, address=4) for m in bank.modules))
    assert double_addresses(address_plan(bank)) == {4: ("M1", "M2")}


def test_too_few_switches_are_named() -> None:
    rows = address_plan(with_addressing(chain(4), Addressing(2, 1)))
    assert rows[3].fault == "address 4 needs 3 switches, the kind has 2"
    assert rows[3].switches == ()


def test_silent_kind_asks_the_maker() -> None:
    row = address_plan(with_addressing(chain(1), Addressing()))[0]
    assert row.address is None
    assert row.missing is not None
    assert row.missing.key == "kinds.module.M100.address.first"
    assert row.missing.ask == "maker"


@given(st.integers(1, 16), st.integers(0, 5))
def test_switches_read_back_to_the_address(count: int, first: int) -> None:
    for row in address_plan(with_addressing(chain(count), Addressing(5, first))):
        assert row.address is not None
        assert sum(on << bit for bit, on in enumerate(row.switches)) == row.address
