"""What Plan fails stands on top of Buy, Build, Match and Prove: on page and print, with a box; parts are marked."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.forms.carried import carried_of
from bankwright.job import open_bank
from support.banks import BANKS
from support.page import Page, client

READINGS = [part for n in range(1, 6) for part in ("--reading", f"M{n}=52.60V")]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sound bank of tests with links that carry 115 A at most."""
    path = tmp_path_factory.mktemp("thin") / "barn.toml"
    whole = (BANKS / "rack_of_five.toml").read_text(encoding="utf-8")
    path.write_text(whole.replace('cable = "2/0 AWG"', 'cable = "6 AWG"', 1), encoding="utf-8")
    return path


def said(capsys: pytest.CaptureFixture[str], *args: object) -> str:
    with pytest.raises(SystemExit):
        main([str(arg) for arg in args])
    return " ".join(capsys.readouterr().out.split())


def test_the_bank_fails_and_marks_follow_places(file: Path) -> None:
    carried = open_bank(file).carried
    names = {name for f in carried.fails for name in (*f.at, *f.more)}
    assert names
    link = next(name for name in names if "@" not in name)
    assert carried.mark((f"{link}@M1+",)).startswith("of the failed design: Plan ")
    assert carried.mark(("nothing of this bank",)) == ""
    assert carried_of(()).lines("metric") == ()


@pytest.mark.parametrize("stage", [("buy",), ("build",), ("build", "--show", "list"), ("match", *READINGS, "--no-log")])
def test_every_stage_says_it_on_top_and_keeps_i_know(
    stage: tuple[str, ...], file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = said(capsys, stage[0], file, *stage[1:])
    assert "of Plan fail" in out[:120]
    assert "[ ] I know" in out
    if stage[0] != "match" and stage != ("build",):
        assert "of the failed design: Plan " in out
    (file.with_suffix(".logbook")).unlink(missing_ok=True)


PROVED = [
    ("prove",), ("prove", "shares", "--load", "200A"), ("prove", "millivolts", "--load", "200A"),
    ("prove", "capacity", "--out", "496Ah", "--out-time", "5h", "--no-log"),
]  # fmt: skip


@pytest.mark.parametrize("words", PROVED, ids=" ".join)
def test_prove_says_it_on_top_too(words: tuple[str, ...], file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    at = 1 if len(words) == 1 else 2
    line = (*words[:at], file, *words[at:])
    out = said(capsys, *line)
    assert "of Plan fail" in out[:120]
    assert "[ ] I know" in out
    assert json.loads(said(capsys, *line, "--json"))["plan_fails"]
    assert "[x] I know" in said(capsys, *line, "--know")
    (file.with_suffix(".logbook")).unlink()


def test_i_know_is_kept_and_asked_anew_when_other_things_fail(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "[x] I know" in said(capsys, "buy", file, "--know")
    assert "[x] I know" in said(capsys, "build", file)
    worse = file.read_text("utf-8").replace('cable = "4/0 AWG"', 'cable = "8 AWG"', 1)
    whole = file.read_text("utf-8")
    file.write_text(worse, "utf-8")
    assert "[ ] I know" in said(capsys, "build", file)
    file.write_text(whole, "utf-8")
    file.with_suffix(".logbook").unlink()


def test_csv_print_and_json_carry_it(file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "buy", file, "--csv", tmp_path / "p.csv", "--html", tmp_path / "p.html")
    rows = list(csv.reader((tmp_path / "p.csv").read_text("utf-8").splitlines()))
    assert "of Plan fail" in rows[0][0]
    head = next(n for n, row in enumerate(rows) if row[0] == "order")
    marked = [row for row in rows[head + 1 :] if row[-1]]
    assert marked
    assert all("Plan" in row[-1] for row in marked)
    assert any(not row[-1] for row in rows[head + 1 :])
    page = (tmp_path / "p.html").read_text("utf-8")
    assert page.index("of Plan fail") < page.index("<table")
    assert json.loads(said(capsys, "buy", file, "--json"))["plan_fails"]
    said(capsys, "build", file, "--html", tmp_path / "b.html")
    sheet = (tmp_path / "b.html").read_text("utf-8")
    assert sheet.index("of Plan fail") < sheet.index('class="step"')
    assert "This step is of the failed design" in sheet
    said(capsys, "prove", file, "--html", tmp_path / "v.html")
    power = (tmp_path / "v.html").read_text("utf-8")
    assert power.index("of Plan fail") < power.index('class="step"')


@pytest.fixture(scope="module")
def web(file: Path) -> Iterator[Page]:
    with client(file) as page:
        yield page


@pytest.mark.parametrize("address", ["/buy", "/build/all", "/match", "/build/step/build.place"])
def test_the_pages_say_it_with_a_box(address: str, web: Page) -> None:
    text = web.get(address).text
    assert "of Plan fail" in text
    assert "I know" in text


def test_the_box_of_a_page_is_kept_and_plan_itself_has_none(web: Page) -> None:
    assert "I know" not in web.get("/plan").text
    assert web.post("/carried/known", data={"done": "yes", "back": "Buy"}, follow_redirects=False).status_code == 303
    assert 'name="done" value="yes" checked' in web.get("/buy").text
    web.post("/carried/known", data={"back": "Buy"})
    assert 'name="done" value="yes" checked' not in web.get("/buy").text
    shown = re.search(r'name="shown" value="(\w+)"', web.get("/buy").text)
    assert shown
    web.post("/carried/known", data={"done": "yes", "back": "Buy", "shown": shown[1]})
    assert 'name="done" value="yes" checked' in web.get("/buy").text
    web.post("/carried/known", data={"done": "yes", "back": "Buy", "shown": "of a shorter list"})
    assert 'name="done" value="yes" checked' not in web.get("/buy").text  # more fails than were read: asked anew
