"""A key that is misspelt leads to the right one, in every table; one that was taken out says what to write instead."""

from __future__ import annotations

from itertools import pairwise

import pytest
from pydantic import BaseModel

from bankwright.bank.read import faults_in
from bankwright.bank.written.bank_file import Written, WrittenKinds
from bankwright.bank.written.keys import RETIRED, keys, nearest_key, table_of
from support.banks import BANKS, document


def tables(root: type[BaseModel]) -> set[type[BaseModel]]:
    below = {table_of(field)[0] for field in keys(root).values() if table_of(field)}  # type: ignore[index]
    return {root}.union(*(tables(each) for each in below))


TABLES = sorted(tables(Written) | tables(WrittenKinds), key=lambda each: each.__name__)


@pytest.mark.parametrize("table", TABLES, ids=lambda each: each.__name__)
def test_a_key_with_two_letters_swapped_leads_to_itself(table: type[BaseModel]) -> None:
    for key in keys(table):
        near = {key} | {other for other in keys(table) if other in key or key in other}  # stud and studs
        swaps = [key[:i] + b + a + key[i + 2 :] for i, (a, b) in enumerate(pairwise(key)) if a != b]
        for swapped in swaps if len(key) > 4 else ():
            assert swapped in keys(table) or nearest_key(table, swapped) in near, swapped


@pytest.mark.parametrize("table", TABLES, ids=lambda each: each.__name__)
def test_a_retired_key_is_not_given_out_again(table: type[BaseModel]) -> None:
    assert not RETIRED.keys() & keys(table).keys()


@pytest.mark.parametrize("key", RETIRED)
def test_a_retired_key_gives_its_advice_at_its_place(key: str) -> None:
    text = document("two").text.replace('type = "fuse"', f'type = "fuse"\n{key} = "1"', 1)
    (fault,) = faults_in(text, BANKS / "text.toml")
    assert fault.code == "unknown-key"
    assert fault.path.endswith(key)
    assert fault.place is not None
    assert text.splitlines()[fault.place.line - 1].startswith(key)
    assert RETIRED[key] in str(fault)
