"""Every command and every page over banks that are odd in one way each: nothing falls over, nothing is a bare trace."""

import io
import json
import re
import sys
from pathlib import Path
from urllib.parse import quote

import pytest

from bankwright.cli.main import main
from bankwright.job import open_bank
from support.odd_banks import odd_banks, odd_texts
from support.page import Page

SRC = Path(__file__).parents[2] / "src" / "bankwright"
TEXTS = odd_texts()
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
COMMANDS = (
    ("plan", "{file}"),
    ("plan", "{file}", "--json"),
    ("plan", "{file}", "--all"),
    ("plan", "{file}", "--case", "list"),
    ("compare", "{file}", "title=other"),
    ("draw", "{file}", "-o", "{folder}/out"),
    ("buy", "{file}", "--csv", "{folder}/p.csv", "--html", "{folder}/p.html", "--why"),
    ("buy", "{file}", "--json"),
    ("build", "{file}", "--show", "all"),
    ("build", "{file}", "--show", "labels"),
    ("build", "{file}", "--show", "upkeep"),
    ("build", "{file}", "--apart"),
    ("buy", "{file}", "--receiving"),
    ("build", "{file}", "--json", "--html", "{folder}/b.html"),
    ("build", "{file}", "--show", "settings", "--html", "{folder}/s.html"),
    ("prove", "{file}", "--all", "--html", "{folder}/v.html"),
    ("match", "{file}", "--no-log", "--reading", "{module}={volts}V", "--rested", "6h"),
    ("match", "{file}", "--no-log", "--reading", "{module}={volts}V", "--json"),
    ("prove", "shares", "{file}", "--load", "50A"),
    ("prove", "shares", "{file}", "--no-log", "--load", "50A", "--age", "40s", "--current", "{module}=10A"),
    ("prove", "millivolts", "{file}", "--load", "50A"),
    ("watch", "{file}"),
    ("prove", "capacity", "{file}", "--out", "90Ah", "--out-time", "5h", "--no-log"),
    ("prove", "baseline", "{file}"),
    ("log", "{file}"),
    ("log", "check", "{file}"),
    ("log", "export", "{file}"),
)
PAGES = (
    "/", "/plan", "/plan/drawing", "/plan/findings", "/plan/outside", "/plan/bank", "/build", "/build/all", "/buy",
    "/build/apart",
    "/buy/parts.csv", "/match", "/fire", "/start", "/at?name={module}", "/api/bank", "/api/findings", "/api/cases",
    "/api/parts", "/api/sheet", "/api/match", "/api/emergency", "/api/log", "/api/drawing.svg", "/plan/suggest",
    "/words", "/this", "/this/file", "/this/parcel",
)  # fmt: skip
OTHER_TESTS = {
    "/manual/at/{word}",
    "/manual/{name:path}",
    "/api/live",
    "/api/case",
    "/api/explained",
    "/at/{name:path}",
    "/build/step/{name:path}",
    "/enter",
    "/plan/suggest/part",
    "/plan/trace",
    "/build/booklet.html",
}


# together they take half a minute: the quick run takes three of them
QUICK = ("space in a device", "no inverter", "iec, 300 mm2 in a raceway")
NAMES = [
    pytest.param(name, marks=(pytest.mark.xdist_group(f"odd {name}"), *(() if name in QUICK else (pytest.mark.slow,))))
    for name in odd_banks()
]


def run(words):
    """A command in this process: exit code, what it printed, what it said on standard error."""
    kept = sys.stdout, sys.stderr
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    sys.stdout, sys.stderr = out, err
    try:
        with pytest.raises(SystemExit) as end:
            main(list(words))
    finally:
        sys.stdout, sys.stderr = kept
    return end.value.code, *(stream.buffer.getvalue().decode("utf-8") for stream in (out, err))


def written(folder, name):
    path = folder / "odd bank.toml"
    path.write_text(TEXTS[name], encoding="utf-8")
    return path


@pytest.mark.share(4)
@pytest.mark.parametrize("name", NAMES)
def test_every_command_ends_in_words(name, tmp_path):
    """Every command over every odd bank ends in words."""
    path = written(tmp_path, name)
    first = open_bank(path).bank.modules[0]
    volts = 3.29 * first.kind.cells
    for words in COMMANDS:
        filled = [word.format(file=path, folder=tmp_path, module=first.name, volts=volts) for word in words]
        code, out, err = run(filled)
        assert code in (0, 1), (filled, code, err)
        assert "Traceback" not in err, filled
        assert not CONTROL.search(out), filled
        if "--json" in words:
            json.loads(out)


@pytest.mark.share(4)
@pytest.mark.parametrize("name", NAMES)
def test_every_page_answers(name, tmp_path):
    """Every page over every odd bank answers in words."""
    path = written(tmp_path, name)
    module = open_bank(path).bank.modules[0].name
    with Page(path) as page:
        for place in PAGES:
            found = page.get(place.format(module=quote(module)))
            no_reading = place == "/api/match" and found.json()["faults"][0]["code"] == "no-readings"
            assert found.status_code < 400 or no_reading, (place, found.status_code, found.text[:500])


def test_no_page_is_left_out():
    found = set()
    for path in (SRC / "web").rglob("*.py"):
        prefix = "/api" if path.parent.name == "api" or path.name == "live.py" else ""
        found |= {prefix + place for place in re.findall(r'routes.get\("([^"]*)"', path.read_text(encoding="utf-8"))}
    assert found - OTHER_TESTS == {place.partition("?")[0] for place in PAGES}
