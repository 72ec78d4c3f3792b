"""Every example of the bank file's reference could stand in a file, and every table stands once."""

from __future__ import annotations

import re
from typing import Annotated

import pytest
from pydantic import TypeAdapter, ValidationError

from bankwright.bank.texts.manual import example, examples, manual
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.keys import keys, table_of


def models(model=Written, found=None):
    """Every model of the file, by name, with the classes that it is made of."""
    found = {} if found is None else found
    for each in model.__mro__:
        if hasattr(each, "model_fields"):
            found.setdefault(each.__name__, each)
    for field in keys(model).values():
        table = table_of(field)
        if table is not None and table[0].__name__ not in found:
            models(table[0], found)
    return found


MODELS = models()
CASES = [(name, key) for name, table in examples().items() for key in table]


def read(model, key, value):
    field = keys(model)[key]
    annotated = field.annotation
    for meta in field.metadata:
        annotated = Annotated[annotated, meta]
    return TypeAdapter(annotated).validate_python(value)


@pytest.mark.parametrize(("name", "key"), CASES, ids=[".".join(case) for case in CASES])
def test_an_example_is_read_by_the_field_it_stands_at(name, key):
    read(MODELS[name], key, examples()[name][key])


@pytest.mark.parametrize(
    ("name", "key", "value"), [("SiteW", "door", "40 degC"), ("LugW", "stud", "M7"), ("RackW", "wheels", "four")]
)
def test_what_could_not_stand_would_be_noticed(name, key, value):
    with pytest.raises(ValidationError):
        read(MODELS[name], key, value)


def test_no_dots_stand_for_an_example():
    assert not re.findall(r"^\| `\w+` \| .*`[^`|]*\"\.\.\.\".*$", manual(), re.MULTILINE)


def test_an_example_of_the_lowest_temperature_is_no_summer_day():
    assert example(MODELS["DischargeW"], "lowest") == '"-20 degC"'
    assert example(MODELS["BreakerW"], "rating") == example(MODELS["DeviceW"], "rating") == '"300 A"'
    assert example(MODELS["LinkW"], "length") == '"320 mm"', "from the model that it is made of"
    assert example(MODELS["SiteW"], "ambient") is None, "that of its kind of value serves"


def test_each_table_stands_once_and_what_is_shared_is_linked():
    page = manual()
    rows = re.findall(r"^\| `(\w+)` \| .*$", page, re.MULTILINE)
    lines = re.findall(r"^\| `\w+` \| .*$", page, re.MULTILINE)
    assert len(rows) > 200
    assert len([line for line in lines if line.startswith("| `bend_radius`")]) == 1
    assert len([line for line in lines if line.startswith("| `melting_i2t`")]) == 1
    heads = {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in re.findall(r"^#+ (.*)$", page, re.M)}
    assert set(re.findall(r"\]\(#([^)]*)\)", page)) <= heads


def test_parts_are_told_where_a_reader_looks_for_them():
    page = manual()
    assert "Every key of [`[kinds.device.NAME]`]" in page.split("### `kinds.module.NAME.breaker`")[1][:400]
