"""Exit codes and the words with them: 0 done, 1 a finding fails, 2 the question, 3 the program, 130 stopped by hand."""

import errno
import functools
import json
import os
import shlex
import shutil
import signal
import subprocess
import sys

import pytest

from bankwright.cli.main import main
from bankwright.forms.checks import Check
from bankwright.plan.checks import CHECKS
from support.banks import sample_path
from support.page import bank_file

COMMAND = [sys.executable, "-m", "bankwright"]


def ended(capsys, *words):
    with pytest.raises(SystemExit) as end:
        main([str(word) for word in words])
    said = capsys.readouterr()
    return end.value.code, said.out, said.err


@pytest.fixture
def bank(tmp_path):
    return bank_file(tmp_path, "two")


def crashing(_):
    yield from ()
    raise KeyError("main")


@pytest.fixture
def one_crashes(monkeypatch):
    made = tuple(Check(c.code, c.title, c.books, crashing) if c.code == "P-CABLE-1" else c for c in CHECKS)
    monkeypatch.setattr("bankwright.plan.results.CHECKS", made)


@pytest.mark.parametrize("command", ["plan", "compare", "draw"])
def test_a_crashing_check_costs_its_own_finding_and_exit_code_3(capsys, bank, tmp_path, one_crashes, command):
    more = {"plan": ["--json"], "compare": ["title=x", "--json"], "draw": ["-o", str(tmp_path / "out")]}[command]
    code, out, err = ended(capsys, command, bank, *more)
    assert code == 3
    assert "P-CABLE-1 crashed: KeyError: 'main'" in err
    assert "fault of Bankwright" in err
    assert "Traceback" not in err
    if command != "plan":
        return
    found = json.loads(out)["findings"]
    crashed = [finding for finding in found if finding["crashed"]]
    assert [(f["code"], f["verdict"]) for f in crashed] == [("P-CABLE-1", "unknown")]
    assert len({finding["code"] for finding in found}) > 25, "the others stand"


def test_a_crashing_check_is_told_on_the_terminal_before_the_code(capsys, bank, one_crashes):
    code, out, _ = ended(capsys, "plan", bank)
    assert code == 3
    assert "This check crashed" in " ".join(out.split())


BREAKS = {
    "plan": ("bankwright.plan.results.findings_of", ("plan",)),
    "buy": ("bankwright.job.buying.parts", ("buy",)),
    "build": ("bankwright.build.sheet.build_sheet", ("build",)),
    "match": ("bankwright.job.matching.match_of", ("match", "--reading", "M1=52.6V", "--no-log")),
    "log": ("bankwright.job.logs.open_logbook", ("log",)),
}


@pytest.mark.parametrize("name", BREAKS)
@pytest.mark.parametrize("error", [RuntimeError("odd"), RecursionError(), MemoryError(), ZeroDivisionError()])
def test_every_fault_of_the_program_ends_with_3(capsys, bank, monkeypatch, name, error):
    target, words = BREAKS[name]

    def broken(*_, **__):
        raise error

    monkeypatch.setattr(target, broken)
    code, _, err = ended(capsys, words[0], bank, *words[1:])
    assert code == 3
    assert err.rstrip().endswith("This is a fault of Bankwright, not of your bank. Nothing was concluded.")


OUTPUTS = (
    ("buy", "{bank}", "--csv", "{out}"),
    ("buy", "{bank}", "--html", "{out}"),
    ("build", "{bank}", "--html", "{out}"),
    ("log", "export", "{bank}", "--out", "{out}"),
    ("match", "{bank}", "--no-log", "--settle", "{out}", "--reading", "M1=52.6V", "--reading", "M2=52.5V", "--rested",
     "6h"),
)  # fmt: skip


def filled(words, **values):
    return [word.format(**values) for word in words]


@pytest.mark.parametrize("words", OUTPUTS, ids=lambda words: " ".join(words[::3]))
def test_an_output_replaces_nothing_that_is_kept(capsys, bank, tmp_path, words):
    ended(capsys, "log", "add", bank, "M1", "--note", "kept")
    shutil.copy(bank, tmp_path / "two.toml.previous")
    shutil.copy(bank, tmp_path / "other.toml")
    (tmp_path / "link.svg").symlink_to(bank)
    os.link(bank, tmp_path / "hard.svg")
    shutil.copy(tmp_path / "two.logbook", tmp_path / "copy.db")
    names = (
        "two.toml",
        "two.logbook",
        "two.logbook-wal",
        "two.toml.previous",
        "other.toml",
        "link.svg",
        "hard.svg",
        "copy.db",
    )
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    for name in names:
        code, _, err = ended(capsys, *filled(words, bank=bank, out=tmp_path / name))
        assert code == 2, name
        assert "Traceback" not in err
        assert "nothing was written" in " ".join(err.split()), name
    after = {path.name: path.read_bytes() for path in tmp_path.iterdir() if "-shm" not in path.name}
    assert after == {name: content for name, content in before.items() if "-shm" not in name}


def test_the_shopping_file_is_not_replaced(capsys, bank, tmp_path):
    shelf = tmp_path / "shelf"
    shelf.write_text("format = 1\n")
    code, _, err = ended(capsys, "buy", bank, "--have", shelf, "--csv", shelf)
    assert code == 2
    assert "reads" in err
    assert shelf.read_text() == "format = 1\n"


@pytest.mark.parametrize("words", [*OUTPUTS, ("draw", "{bank}", "-o", "{out}")], ids=lambda words: " ".join(words[::3]))
def test_a_write_that_fails_is_one_line_and_2_and_leaves_what_was_there(capsys, bank, tmp_path, monkeypatch, words):
    out = tmp_path / "out.x"
    if words[0] != "draw":
        out.write_text("before")

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("bankwright.forms.disk.os.fsync", full)
    code, _, err = ended(capsys, *filled(words, bank=bank, out=out))
    assert code == 2
    assert "No space left on device" in " ".join(err.split())
    assert "Traceback" not in err
    assert out.is_dir() or out.read_text() == "before"
    assert not [path for path in tmp_path.rglob("*") if path.name.endswith(".new")]


@pytest.mark.parametrize("place", ["afile/out", "afile/deep/er"])
def test_a_folder_that_cannot_be_made_is_2(capsys, bank, tmp_path, place):
    (tmp_path / "afile").write_text("")
    code, _, err = ended(capsys, "draw", bank, "-o", tmp_path / place)
    assert code == 2
    assert "cannot be made" in " ".join(err.split())


def test_suggest_write_on_a_full_disk_is_2(capsys, tmp_path, monkeypatch):
    bank = bank_file(tmp_path, "two")
    text = bank.read_text(encoding="utf-8").replace(
        'cable = "4/0 AWG", length = "320 mm"', 'cable = "4 AWG", length = "320 mm"'
    )
    bank.write_text(text, encoding="utf-8")

    def full(*_):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr("bankwright.forms.disk.os.fsync", full)
    code, _, err = ended(capsys, "plan", bank, "--suggest", "--put-in")
    assert code == 2
    assert "Read-only file system" in " ".join(err.split())
    assert bank.read_text(encoding="utf-8") == text


def shell(*words, **more):
    return subprocess.run([*COMMAND, *map(str, words)], capture_output=True, timeout=60, check=False, **more)


@pytest.mark.slow
def test_closed_and_full_standard_outputs(bank):
    closed = subprocess.run(["sh", "-c", '"$0" -m bankwright plan "$1" >&-', sys.executable, str(bank)], check=False,
                            capture_output=True, timeout=60)  # fmt: skip
    assert closed.returncode in (0, 1)
    assert b"Traceback" not in closed.stderr
    with open("/dev/full", "wb") as full:
        ended = subprocess.run(
            [*COMMAND, "plan", str(bank)], stdout=full, stderr=subprocess.PIPE, timeout=60, check=False
        )
    assert ended.returncode == 2
    assert ended.stderr.count(b"\n") == 1
    assert b"No space left" in ended.stderr


@pytest.mark.slow
def test_ctrl_c_is_the_ordinary_way_to_stop_the_page(bank):
    words = [*COMMAND, "open", str(bank), "--no-browser", "--port", "0"]
    heeds = functools.partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # a test run in the background may not
    process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=heeds)
    assert "stop with Ctrl-C" in process.stdout.readline()  # from that line on it takes signals
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert (out.strip(), err) == ("Stopped.", "")


@pytest.mark.parametrize(("word", "code"), [("-V", 0), ("--version", 0)])
def test_version(capsys, word, code):
    assert ended(capsys, word)[:2] == (code, ended(capsys, "--version")[1])


def test_match_ends_with_0_only_where_the_modules_may_be_joined(capsys, bank):
    text = bank.read_text(encoding="utf-8").replace(
        'mass = "46 kg"', 'mass = "46 kg"\nparallel = { join_within = "0.5 V" }'
    )
    bank.write_text(text, encoding="utf-8")
    rest = ("--rested", "6h", "--temperature", "15degC", "--meter", "0.5 % + 2 digits", "--no-log")
    cases = {
        ("M1=52.61V", "M2=52.60V"): 0,
        ("M1=52.61V", "M2=49.10V"): 1,  # no
        ("M1=52.61V",): 1,  # cannot be told: M2 was not read
    }
    for readings, wanted in cases.items():
        words = [word for reading in readings for word in ("--reading", reading)]
        code, out, _ = ended(capsys, "match", bank, *words, *rest)
        assert code == wanted, out


def test_one_module_alone_has_nothing_to_join(capsys, tmp_path):
    text = sample_path("two").read_text(encoding="utf-8")
    blocks = [block for block in text.split("\n\n") if 'name = "M2"' not in block]
    alone = tmp_path / "alone.toml"
    alone.write_text("\n\n".join(blocks), encoding="utf-8")
    assert ended(capsys, "match", alone, "--reading", "M1=52.61V", "--rested", "6h", "--no-log")[0] == 0


def test_hints_can_be_pasted_whatever_the_file_is_called(capsys, tmp_path):
    for name in ("our barn.toml", "it's.toml", "$HOME;ls.toml"):
        code, out, _ = ended(capsys, "new", tmp_path / name, "--no-ask")
        assert code == 0
        line = next(line for line in out.splitlines() if "Next: " in line)
        words = shlex.split(line.partition("Next: ")[2])
        assert words == ["bankwright", "plan", str(tmp_path / name)]
        assert ended(capsys, *words[1:])[0] == 0


def test_no_bank_file_is_begun_under_the_name_of_a_logbook(capsys, tmp_path):
    for command in ("new", "open"):
        code, _, err = ended(capsys, command, tmp_path / "barn.logbook")
        assert code == 2
        assert "logbook" in err
    assert list(tmp_path.iterdir()) == []
