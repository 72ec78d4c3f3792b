"""Valid banks with something changed at random: a bank and every result of it, or faults with places; never a crash."""

import random
import re
from pathlib import Path

import pytest

from bankwright import draw
from bankwright.bank.read import faults_in
from bankwright.forms.as_json import dumps
from bankwright.job import Job
from support.banks import BANKS
from support.odd_banks import odd_texts

ROOT = Path(__file__).parents[2]
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?")
STRANGE = ("0", "-1", "1e-9", "0.001", "3", "17", "999", "100000", "1e12", "٣", "nan", "inf", "")
WORDS = (
    '""',
    '"x y"',
    '"12 AWG"',
    '"300 mm2"',
    '"1 m"',
    '"0 V"',
    '"90 degC"',
    "true",
    "7",
    "[]",
    '["main+"]',
    "{}",
    "1.5",
)


def bases():
    """Texts to begin from: samples, the demo bank, every odd one."""
    paths = [*BANKS.glob("*.toml"), ROOT / "demo" / "barn.toml"]
    return [path.read_text(encoding="utf-8") for path in sorted(paths)] + list(odd_texts().values())


def another_number(text, dice):
    places = list(NUMBER.finditer(text))
    if not places:
        return text
    found = dice.choice(places)
    new = dice.choice((*STRANGE, f"{float(found[0]) * dice.choice((0.01, 0.5, 2, 30)):.4g}"))
    return text[: found.start()] + new + text[found.end() :]


def another_value(text, dice):
    lines = text.split("\n")
    at = [n for n, line in enumerate(lines) if re.match(r"\w+ = ", line)]
    n = dice.choice(at)
    lines[n] = lines[n].partition("=")[0] + "= " + dice.choice(WORDS)
    return "\n".join(lines)


def a_line_less(text, dice):
    lines = text.split("\n")
    del lines[dice.randrange(len(lines))]
    return "\n".join(lines)


def blocks_otherwise(text, dice):
    blocks = text.split("\n\n")
    way = dice.randrange(3)
    if way == 0:
        del blocks[dice.randrange(len(blocks))]
    elif way == 1:
        blocks.append(dice.choice(blocks))
    else:
        head, rest = blocks[0], blocks[1:]
        dice.shuffle(rest)
        blocks = [head, *rest]
    return "\n\n".join(blocks)


def another_name(text, dice):
    names = re.findall(r'(?m)^name = "([^"]*)"', text)
    if not names:
        return text
    return text.replace(
        f'"{dice.choice(names)}"', dice.choice(('"main fuse"', '"M1 open"', '"a.b"', '"Ω"', '"L1+"', '"J"'))
    )


def a_key_less(text, dice):
    places = list(re.finditer(r", \w+ = (?:\"[^\"]*\"|[\w.]+)", text))
    if not places:
        return text
    found = dice.choice(places)
    return text[: found.start()] + text[found.end() :]


def bytes_otherwise(text, dice):
    at = dice.randrange(len(text))
    return text[:at] + dice.choice('"[]{}=.#\n\\é\x00\x1b ') + text[at + dice.randrange(2) :]


CHANGES = (another_number, another_number, another_value, a_line_less, blocks_otherwise, another_name, a_key_less,
           a_key_less, bytes_otherwise)  # fmt: skip


def mutated(seed, texts):
    """One text with one to three changes, the same for the same seed."""
    dice = random.Random(seed)
    text = dice.choice(texts)
    for _ in range(dice.randrange(1, 4)):
        text = dice.choice(CHANGES)(text, dice)
    return text


def tried(seed, texts, folder):
    """True for a bank with all its results, False for faults; anything else is a failure of the test."""
    path, text = folder / "bank.toml", mutated(seed, texts)
    faults = faults_in(text, path)
    assert all(fault.place is not None for fault in faults), (seed, faults)
    if faults:
        return False
    job = Job(path, text)
    bank = job.bank
    crashed = [finding.crashed for finding in job.findings if finding.crashed]
    assert not crashed, (seed, crashed)
    told = dumps({"findings": job.findings, "parts": job.parts.lines, "sheet": job.sheet})
    assert "NaN" not in told, seed
    for drawing in (
        draw.wiring(bank),
        draw.wiring(bank, None, job.findings, "phone"),
        draw.one_line(bank),
        draw.rack(bank),
    ):
        assert "nan" not in drawing.text.lower().split("<title")[0], seed
    return True


@pytest.mark.slow
def test_a_hundred_mutated_banks(tmp_path):
    texts = bases()
    valid = sum(tried(seed, texts, tmp_path) for seed in range(100))
    assert 20 < valid < 80, "both ways are tried"


@pytest.mark.soak
@pytest.mark.parametrize("start", range(0, 2000, 250))
def test_two_thousand_mutated_banks(tmp_path, start):
    """Two thousand banks with one to three changes: findings, parts, sheet, drawings, or faults with places."""
    texts = bases()
    valid = sum(tried(seed, texts, tmp_path) for seed in range(1000 + start, 1000 + start + 250))
    assert 50 < valid < 200
