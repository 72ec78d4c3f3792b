"""Whatever the terminal: UTF-8 in any locale, JSON in ASCII, controls as marks, widths, colours, a sign of life."""

import io
import itertools
import json
import os
import pty
import re
import subprocess
import sys

import pytest

from bankwright.cli import terminal
from bankwright.cli.main import main
from support.odd_banks import odd_texts
from support.page import bank_file

ENCODINGS = ("cp1252", "latin-1", "cp437", "cp850", "ascii", "utf-16", "koi8-r", "utf-8")
COMMANDS = {
    "plan": ("plan", "{bank}", "--all"),
    "plan --json": ("plan", "{bank}", "--json"),
    "case": ("plan", "{bank}", "--case", "full discharge"),
    "explain": ("plan", "{bank}", "--explain", "P-CABLE-1"),
    "compare": ("compare", "{bank}", "wiring.feed=same end"),
    "buy": ("buy", "{bank}", "--why"),
    "buy --json": ("buy", "{bank}", "--json"),
    "build": ("build", "{bank}", "--show", "all"),
    "build --json": ("build", "{bank}", "--json"),
    "match": ("match", "{bank}", "--no-log", "--reading", "M1=52.6V", "--reading", "M2=52.5V", "--rested", "6h"),
    "match --json": ("match", "{bank}", "--no-log", "--reading", "M1=52.6V", "--json"),
    "log": ("log", "{bank}"),
    "log export": ("log", "export", "{bank}", "--format", "json"),
    "a fault": ("plan", "{folder}/é‾.toml"),
}
# every command in every encoding is the long test; each command once and each encoding once, the short one
EVERY = list(itertools.product(COMMANDS, ENCODINGS))
SHORT = {(name, ENCODINGS[n % len(ENCODINGS)]) for n, name in enumerate(COMMANDS)} | {
    ("plan --json", e) for e in ENCODINGS
}


def printed(words, encoding="utf-8"):
    """The bytes that a command prints where the locale speaks `encoding`."""
    kept = sys.stdout, sys.stderr
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2))
    sys.stdout, sys.stderr = out, err
    try:
        with pytest.raises(SystemExit) as end:
            main(list(words))
    finally:
        sys.stdout, sys.stderr = kept
    return end.value.code, out.buffer.getvalue(), err.buffer.getvalue()


@pytest.fixture(scope="module")
def bank(tmp_path_factory):
    path = bank_file(tmp_path_factory.mktemp("any terminal"), "two")
    printed(["log", "add", str(path), "M1", "--note", "Ω ≤ 3 mΩ, écrou serré"])
    return path


@pytest.mark.share(3)
@pytest.mark.parametrize(
    ("name", "encoding"), [case if case in SHORT else pytest.param(*case, marks=pytest.mark.soak) for case in EVERY]
)
def test_every_locale_gets_utf_8(bank, name, encoding):
    """Every command in every one of eight locales prints the same UTF-8, and JSON in ASCII."""
    words = [word.format(bank=bank, folder=bank.parent) for word in COMMANDS[name]]
    code, out, err = printed(words, encoding)
    assert code in ((2,) if name == "a fault" else (0, 1)), err
    assert (code, out, err) == printed(words, "utf-8"), "no locale changes what is printed"
    text = out.decode("utf-8") + err.decode("utf-8")
    assert "Traceback" not in text
    if "json" in words:
        json.loads(out)
    if "--json" in words:
        assert out.isascii()
        json.loads(out)


@pytest.mark.slow
@pytest.mark.parametrize(
    "settings", [{"PYTHONIOENCODING": "cp1252"}, {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}]
)
def test_a_real_pipe_in_another_locale(bank, settings):
    words = [sys.executable, "-m", "bankwright", "build", str(bank), "--show", "all"]
    ended = subprocess.run(words, env={**os.environ, **settings}, capture_output=True, timeout=60, check=False)
    assert ended.returncode in (0, 1)
    assert "Ω" in ended.stdout.decode("utf-8")


def test_controls_of_a_file_are_marks(tmp_path):
    path = tmp_path / "title.toml"
    path.write_text(
        odd_texts()["title with controls"].replace("owned", "owned\\u009b2J\\u001b[8m\\rover"), encoding="utf-8"
    )
    for words in (("plan",), ("buy",), ("build", "--show", "all"), ("compare", "title=\x1b[31mx")):
        _, out, err = printed([words[0], str(path), *words[1:]])
        text = (out + err).decode("utf-8")
        assert "\x1b" not in text
        assert not {"\x07", "\x9b", "\r", "\u202e"} & set(text)
        if words[0] in ("plan", "buy"):
            assert "␛]0;owned<9b>2J␍over␇" in text.replace("\n", ""), "the hiding code is dropped, the others are marks"


def test_controls_in_a_line_that_is_no_toml_and_in_names_are_marks(tmp_path):
    path = tmp_path / "no\x1b[2Jtoml.toml"
    path.write_bytes(b'title = "\x1b]0;owned\x07" nonsense\n')
    code, out, err = printed(["plan", str(path)])
    assert code == 2
    assert b"\x1b" not in out + err
    assert b"\x07" not in out + err


def test_controls_in_a_note_are_marks(bank, tmp_path):
    printed(["log", "add", str(bank), "M1", "--note", "a\x1b]0;owned\x07b", "--who", "\x1b[31mme"])
    for words in (["log", str(bank)], ["log", "export", str(bank)]):
        _, out, _ = printed(words)
        assert b"\x1b" not in out
        assert "␛]0;owned".encode() in out


def test_csv_keeps_its_line_ends_and_tabs(capsys):
    stream = terminal.Terminal(io.BytesIO(), encoding="utf-8", newline="")
    stream.write("a,b\r\nc\td\n")
    stream.flush()
    assert stream.buffer.getvalue() == b"a,b\r\nc\td\n"


def on_a_terminal(words, columns="80", **settings):
    """What a command writes to a real terminal (both streams), and how it ends."""
    master, slave = pty.openpty()
    env = {**os.environ, "TERM": "xterm", "COLUMNS": columns, **settings}
    env = {name: value for name, value in env.items() if value is not None}
    process = subprocess.Popen([sys.executable, *words], stdout=slave, stderr=slave, env=env, close_fds=True)
    os.close(slave)
    told = b""
    while True:
        try:
            some = os.read(master, 65536)
        except OSError:
            break
        if not some:
            break
        told += some
    os.close(master)
    return process.wait(60), told.decode("utf-8")


@pytest.mark.slow
def test_colour_on_a_terminal_only_where_it_is_wanted(bank):
    words = ["-m", "bankwright", "plan", str(bank), "--all"]
    _, told = on_a_terminal(words)
    assert "\x1b[32m" in told
    assert set(told.split("\x1b")[1:][0][:1]) == {"["}
    for settings in ({"TERM": "dumb"}, {"NO_COLOR": "1"}):
        assert "\x1b" not in on_a_terminal(words, **settings)[1]


@pytest.mark.parametrize("columns", ["40", "60", "80", "120"])
def test_columns_are_obeyed(bank, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", columns)
    _, out, _ = printed(["plan", str(bank), "--all"])
    lines = out.decode("utf-8").splitlines()[2:]
    long = [line for line in lines if len(line) > int(columns)]
    words = [len(max(line.split(), key=len)) for line in long]  # a key of the file is never parted
    assert all(word > int(columns) - 17 for word in words), long[:3]
    assert max(map(len, lines)) > int(columns) * 0.7


def test_odd_columns_are_eighty(bank, monkeypatch):
    for odd in ("", "wide", "-3", "0", "٣"):
        monkeypatch.setenv("COLUMNS", odd)
        assert terminal.width() in (80, 40), odd


SLOW = """
import sys, time
from bankwright.cli import main as m
import bankwright.job as job
real = job.open_bank
def slow(path):
    time.sleep(2.4)  # no race: a line is due after each second
    return real(path)
job.open_bank = slow
m.main(sys.argv[1:])
"""


@pytest.mark.slow
def test_what_takes_over_a_second_says_so_on_a_terminal_and_nowhere_else(bank):
    code, told = on_a_terminal(["-c", SLOW, "buy", str(bank)])
    assert code in (0, 1)
    assert re.search(r"computing, \d+ s", told)
    assert told.index("computing") < told.index("Parts for")
    assert "computing" not in on_a_terminal(["-c", SLOW, "buy", str(bank)], TERM="dumb")[1]
    quiet = subprocess.run([sys.executable, "-c", SLOW, "buy", str(bank)], capture_output=True, timeout=60, check=False)
    assert b"computing" not in quiet.stdout + quiet.stderr


def test_own_colours_are_none_that_a_file_can_hold():
    words = [sys.executable, "-c", "from bankwright.cli import terminal; print(terminal._FIRST)"]
    again = subprocess.run(words, capture_output=True, text=True, check=True)
    assert int(again.stdout) != terminal._FIRST


def test_what_stands_first_never_touches_what_follows(monkeypatch):
    from bankwright.cli.show.findings import wrap

    for columns in ("40", "80"):
        monkeypatch.setenv("COLUMNS", columns)
        assert wrap("to come", 39, " 11  A name as wide as it may well be").split("be")[1].startswith(" ")
        assert wrap("4", 39, "  1  Modules").split() == ["1", "Modules", "4"]
