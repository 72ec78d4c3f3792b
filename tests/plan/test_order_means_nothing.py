"""The order of devices, kinds, inverters, loads, and of modules led to bars, changes no finding."""

import random

import pytest

from bankwright.job import Job
from support.banks import BANKS
from support.odd_banks import odd_texts

SCATTERED = 2e-3  # P-SHARE-2 draws its variants column by column, in the order of the parts


def told(text, path):
    """What the findings say: code, verdict, places, margin."""
    rows = {}
    for finding in Job(path, text).findings:
        places = tuple(sorted((*finding.at, *finding.more)))
        rows[finding.code, finding.verdict, places] = rows.get((finding.code, finding.verdict, places), ())
        rows[finding.code, finding.verdict, places] += (finding.margin,)
    return rows


def shuffled(text, seed, heads):
    """The same file with blocks that begin with these heads in another order, each among its own places."""
    blocks = text.strip().split("\n\n")
    dice = random.Random(seed)
    for head in heads:
        places = [n for n, block in enumerate(blocks) if block.lstrip().startswith(head)]
        moved = [blocks[n] for n in places]
        dice.shuffle(moved)
        for n, block in zip(places, moved, strict=True):
            blocks[n] = block
    return "\n\n".join(blocks) + "\n"


def same(one, other):
    assert one.keys() == other.keys()
    for key, margins in one.items():
        for a, b in zip(margins, other[key], strict=True):
            near = SCATTERED if key[0] == "P-SHARE-2" else 1e-6
            assert a == b or abs(a - b) <= near * max(abs(a), abs(b)), (key, a, b)


TWO_INVERTERS = """
[[inverters]]
name = "I2"
kind = "inv-6k"

[[devices]]
name = "F2"
kind = "fuse-300"
on = "main-"
at = "bank end"

[[loads]]
name = "pump"
power = "200 W"

[[loads]]
name = "lamp"
current = "2 A"
"""


@pytest.mark.parametrize("seed", [1, 2])
def test_devices_kinds_inverters_and_loads(tmp_path, seed):
    text = (BANKS / "two.toml").read_text(encoding="utf-8").strip() + "\n" + TWO_INVERTERS
    heads = ("[[devices]]", "[[inverters]]", "[[loads]]", "[kinds.")
    path = tmp_path / "bank.toml"
    other = shuffled(text, seed, heads)
    assert other != text
    same(told(text, path), told(other, path))


@pytest.mark.parametrize("seed", [1, 2])
def test_modules_too_where_studs_say_where_each_is_led(tmp_path, seed):
    text = (BANKS / "sound.toml").read_text(encoding="utf-8").replace("[site]", "[site]\nextension = 2", 1)
    other = shuffled(text, seed, ("[[modules]]", "[[devices]]"))
    assert other != text
    path = tmp_path / "bank.toml"
    same(told(text, path), told(other, path))


def test_an_even_share_that_stands_exactly_at_the_limit_is_advised_alike_for_all(tmp_path):
    text = odd_texts()["charger only"].replace("20 A", "50 A").replace('"M2"\nkind', '"M2"\nkind')
    found = [f for f in Job(tmp_path / "bank.toml", text).findings if f.code == "P-SHARE-3" and f.verdict == "fail"]
    assert len(found) == 1
    assert sorted((*found[0].at, *found[0].more)) == ["M1", "M2"]
    assert found[0].do.words.startswith("Even an equal share")
