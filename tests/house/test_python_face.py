"""The Python face: help() that works as written, refusals at once, names with the nearest, results that read."""

from __future__ import annotations

import contextlib
import inspect
import io
import os
import re
from pathlib import Path

import pytest

import bankwright as bw
from bankwright.bank.file.document import EditRefused
from bankwright.match.face import match

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


@pytest.fixture(scope="module")
def job():
    return bw.open_bank(BARN)


def helped(thing):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        help(thing)
    return out.getvalue()


@pytest.mark.slow
def test_the_example_of_help_runs_as_written(tmp_path, monkeypatch):
    lines = re.findall(r"^ {4}(.*)$", bw.__doc__, re.MULTILINE)
    assert any("bw.open_bank" in line for line in lines)
    told = helped(bw)
    assert all(line in told for line in lines)
    example = "\n".join(lines)
    (tmp_path / "barn.toml").write_bytes(BARN.read_bytes())
    (tmp_path / "barn-map.toml").write_bytes((BARN.parent / "barn-map.toml").read_bytes())
    monkeypatch.chdir(tmp_path)
    exec(compile(example, "help(bankwright)", "exec"), {})
    assert os.path.exists("wiring.svg")


def test_help_of_match_shows_its_arguments():
    assert inspect.signature(bw.match) == inspect.signature(match)
    told = helped(bw.match)
    for name in inspect.signature(match).parameters:
        assert re.search(rf"\b{name}: |\b{name}, \w+: ", told), f"{name} is not told"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("wiring.link.cable", "70", 'Write "70 mm2"'),
        ("wiring.link.cabel", "1 AWG", 'Did you mean "cable"'),
        ("wiring.link.length", 0.3, '"320 mm"'),
        ("modules[0].slot", 2, "slot 2 already holds"),
        ("wiring.feed", "same end", "studs"),
    ],
)
def test_a_change_that_cannot_stand_is_refused_at_once_and_does_not_accuse_the_file(job, key, value, words):
    with pytest.raises(bw.BankFileError) as refused:
        job.changed(key, value)
    said = str(refused.value)
    assert words in said
    assert key.split("[")[0] in said
    assert "barn.toml:" not in said, "no line of a file that is right"
    assert all(fault.place is None for fault in refused.value.faults)


def test_a_change_at_no_path_is_refused_at_once(job):
    with pytest.raises(ValueError, match="no path"):
        job.changed("a..b", 1)
    with pytest.raises(EditRefused):
        job.changed("modules[9].slot", 3)


def test_several_changes_count_together(job):
    one = {"modules[0].slot": 2, "modules[1].slot": 1}  # either alone puts two modules into one slot
    other = job.changed(one)
    assert [module.slot for module in other.bank.modules[:2]] == [2, 1]
    assert repr(job).endswith("barn.toml>")
    assert repr(other).endswith("changed>")


def test_unknown_names_get_the_nearest(job):
    full = job.steady.case("full discharge")
    for ask, words in (
        (lambda: job.steady.case("full dischage"), 'no case .full dischage.. Did you mean "full discharge"'),
        (lambda: full.share("M9"), 'no module .M9.. Did you mean "M'),
        (lambda: full.current("L1"), 'Did you mean "L1[+-]"'),
        (lambda: full.potential("M1+c"), "Did you mean .*M1[+]"),
        (lambda: full.voltage("zzzzzz"), "There are "),
    ):
        with pytest.raises(KeyError, match=words) as missed:
            ask()
        assert not str(missed.value).startswith('"'), "a sentence, not the repr of one"


def test_results_read(job):
    worst = job.findings[0]
    assert str(worst).startswith(f"fail  {worst.code}  ")
    assert f"At {worst.at[0]}" in str(worst)
    assert "{" not in str(worst)
    assert "\n" not in str(worst)
    assert all(len(str(finding)) < 600 for finding in job.findings)
    assert repr(job.steady.case("full discharge")) == "<Solution of full discharge: modules M1, M2, M3, M4, M5>"
