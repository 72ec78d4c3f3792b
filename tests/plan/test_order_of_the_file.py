"""Results do not depend on the order in which things of one kind stand in the file: findings, places and numbers."""

import re
from pathlib import Path

import pytest

from bankwright.job import Job

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


def turned(text, name):
    """The same file with its [[name]] blocks in the opposite order."""
    parts = re.split(r"(?m)^(?=\[)", text)
    places = [k for k, part in enumerate(parts) if part.startswith(f"[[{name}]]")]
    made = list(parts)
    for k, other in zip(places, reversed(places), strict=True):
        made[k] = parts[other]
    return "".join(part if part.endswith("\n") else f"{part}\n" for part in made)


def said(text):
    """What each finding says and where; figures to nine digits, for sums run in the order of the file."""
    return [
        (f.number, f.code, f.verdict, f.at, f.more, None if f.figure is None else f"{f.figure.value:.9g}")
        for f in Job(BARN, text).findings
    ]


@pytest.fixture(scope="module")
def as_written():
    return said(BARN.read_text("utf-8"))


@pytest.mark.parametrize("name", ["devices", "inverters", "bars"])
def test_blocks_in_another_order_make_the_same_list(name, as_written):
    text = BARN.read_text("utf-8")
    other = turned(text, name)
    assert other != text
    assert said(other) == as_written
