"""`bankwright manual` opens the right page of the manual; `new --demo` writes the banks that the manual speaks of."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import webbrowser
from pathlib import Path

import click
import pytest

from bankwright.cli.main import COMMANDS, group, main
from bankwright.job import manual, open_bank
from support.manual_blocks import parsed
from support.pages import small_manual

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    made = small_manual(tmp_path / "manual")
    monkeypatch.setattr("bankwright.job.manual.manual_folder", lambda: made)
    return made


def said(capsys, *words):
    with pytest.raises(SystemExit) as end:
        main(list(words))
    out = capsys.readouterr()
    return end.value.code, out.out, out.err


@pytest.mark.parametrize(
    ("word", "page"),
    [
        ("", "index.html"),
        ("P-CABLE-1", "checks.html#p-cable-1"),
        ("p-cable-1", "checks.html#p-cable-1"),
        ("Plan 3.1", "checks.html#p-cable-1"),
        ("plan", "plan.html"),
        ("log add", "commands.html#bankwright-log-add"),
        ("install", "how-to/install.html"),
        ("torque of a stud", "search.html?q=torque%20of%20a%20stud"),
        ("../../etc/passwd", "search.html?q=../../etc/passwd"),
        ("<script>", "search.html?q=%3Cscript%3E"),
    ],
)
def test_a_word_leads_to_its_page(folder, word, page):
    assert manual.manual_page(folder, word) == page


def test_the_address_is_printed_and_the_browser_opened_once(folder, capsys, monkeypatch):
    opened = []
    monkeypatch.setattr(webbrowser, "open", opened.append)
    monkeypatch.setenv("DISPLAY", ":9")
    code, out, _ = said(capsys, "manual", "Plan", "3.1")
    assert code == 0
    assert opened == [out.strip()] == [(folder / "checks.html").as_uri() + "#p-cable-1"]
    said(capsys, "manual", "--no-browser")
    monkeypatch.delenv("DISPLAY")
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    if sys.platform == "linux":
        said(capsys, "manual")
    assert len(opened) == 1


def test_without_a_manual_it_says_how_to_get_one(capsys, monkeypatch):
    monkeypatch.setattr("bankwright.job.manual.manual_folder", lambda: None)
    code, _, err = said(capsys, "manual")
    assert code == 2
    assert "make manual" in err


def test_the_demo_is_written_whole_or_not_at_all(tmp_path, capsys):
    code, out, _ = said(capsys, "new", "--demo", str(tmp_path / "a folder"))
    assert code == 0
    assert "'" in out.splitlines()[-1], "the next command can be pasted"
    for name in ("four.toml", "barn.toml", "barn-map.toml"):
        assert (tmp_path / "a folder" / name).read_bytes() == (DEMO / name).read_bytes()
    (tmp_path / "barn.toml").write_text("mine", "utf-8")
    code, _, err = said(capsys, "new", "--demo", str(tmp_path))
    assert code == 2
    assert "there already; nothing was written" in " ".join(err.split())
    assert (tmp_path / "barn.toml").read_text("utf-8") == "mine"
    assert not (tmp_path / "four.toml").exists()


@pytest.mark.parametrize("words", [("--demo", "x.toml"), ("--demo", "--modules", "3"), ("--demo", "--no-ask"), ()])
def test_a_demo_takes_no_answers_and_a_file_needs_a_name(capsys, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    assert said(capsys, "new", *words)[0] == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_four_boxes_has_three_mistakes_each_mended_alone():
    """The bank of the tutorial: thin links, large fuses, a breaker that nobody asked about."""
    four = open_bank(DEMO / "four.toml")
    link = {"wiring.link.cable": "4/0 AWG"}
    fuses = {f"devices[{k}].kind": "fuse-225" for k in (0, 1)}
    said_of = {}
    for name, change in (("first", {}), ("link", link), ("fuses", link | fuses), ("only fuses", fuses)):
        found = (four.changed(change) if change else four).findings
        said_of[name] = ({f.code for f in found if f.verdict == "fail"}, [f for f in found if f.verdict == "unknown"])
    guard, thin = {"P-DEVICE-2"}, {"P-CABLE-1", "P-CABLE-2"}
    assert said_of["first"][0] == guard | thin
    assert said_of["link"][0] == guard
    assert said_of["only fuses"][0] == guard | thin, "a smaller fuse does not make a thin link thicker"
    assert said_of["fuses"][0] == set()
    asked = {item.key for finding in said_of["fuses"][1] for item in finding.missing}
    assert asked == {"kinds.module.box-90.breaker.interrupts"}
    answer = "kinds.module.box-90.breaker.interrupts"
    good = four.changed(link | fuses | {answer: "40 kA"}).findings
    assert {f.verdict for f in good} == {"pass", "caution"}
    bad = four.changed(link | fuses | {answer: "10 kA"}).findings
    assert {f.code for f in bad if f.verdict == "fail"} == {"P-FAULT-2", "P-REACH-1"}


def examples():
    context = click.Context(group)
    for name in COMMANDS:
        command = group.get_command(context, name)
        for each in (command, *getattr(command, "commands", {}).values()):
            words = " ".join((each.help or "").split())
            for told in re.findall(r"Examples?: (bankwright .*?)(?:\. [A-Z]|\.?$)", words):
                yield from told.split("; ")


@pytest.mark.parametrize("example", list(examples()))
def test_the_example_of_a_help_text_can_be_typed(example):
    parsed(shlex.split(example)[1:])


@pytest.mark.slow
@pytest.mark.parametrize(("shell", "words"), [("bash", "complete -"), ("zsh", "compdef"), ("fish", "complete --")])
def test_completion_is_there_as_documented(shell, words):
    env = {**os.environ, "_BANKWRIGHT_COMPLETE": f"{shell}_source"}
    code = "import sys; sys.argv[0] = 'bankwright'; from bankwright.cli.main import main; main()"
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, timeout=60)
    assert words in done.stdout, done.stderr
    at = "ma" if shell == "fish" else "1"  # fish tells the word itself, the others its number
    env = {**os.environ, "_BANKWRIGHT_COMPLETE": f"{shell}_complete", "COMP_WORDS": "bankwright ma", "COMP_CWORD": at}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, timeout=60)
    assert "manual" in done.stdout
    assert "match" in done.stdout
