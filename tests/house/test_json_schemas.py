"""The schemas under docs/schema are those of the code, and what Bankwright prints of the demo bank keeps to them."""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema_rs
import pytest

from bankwright.bank.read import faults_in
from bankwright.cli.main import main
from bankwright.job.documents import faults_document
from support.banks import sample_path
from support.page import Page, bank_file, client
from support.schemas import SCHEMAS, wrong

ROOT = Path(__file__).parents[2]
BARN = ROOT / "demo" / "barn.toml"
VOLTS = [part for k in (1, 2, 3, 4, 5) for part in ("--reading", f"M{k}=52.{60 + k}V")]
PRINTED: dict[str, tuple[str, ...]] = {
    "findings-2": ("plan", "BANK", "--json"),
    "case-1": ("plan", "BANK", "--case", "full discharge", "--json"),
    "differences-2": ("compare", "BANK", "kinds.inverter.box-5k.power=3 kW", "--json"),
    "parts-2": ("buy", "BANK", "--json"),
    "build-2": ("build", "BANK", "--json"),
    "explained-2": ("plan", "BANK", "--explain", "Plan 3.1", "--json"),
    "match-2": ("match", "BANK", *VOLTS, "--rested", "6h", "--temperature", "15degC", "--no-log", "--json"),
}
AMPS = [part for k in (1, 2, 3, 4, 5) for part in ("--zero", f"M{k}=0.1A", "--current", f"M{k}=40.{k}A")]
TEST = (*AMPS, "--load", "200A", "--age", "40s", "--no-log", "--json")
PRINTED |= {
    "prove-shares-2": ("prove", "shares", "BANK", *TEST),
    "prove-sheet-1": ("prove", "BANK", "--json"),
    "watch-1": ("watch", "BANK", "--json"),
    "watch-due-1": ("watch", "BANK", "--show", "due", "--json"),
    "watch-week-1": ("watch", "BANK", "--show", "week", "--json"),
    "data-sheet-1": ("datasheet", str(ROOT / "tests/sheets/given/module-fernwoggle.txt"), "--json"),
    "settings-1": ("build", "BANK", "--show", "settings", "--json"),
    "prove-share-plan-1": ("prove", "shares", "BANK", "--load", "100A", "--json"),
    "prove-millivolts-2": ("prove", "millivolts", "BANK", *TEST, "--drop", "L3+=51.7mV", "--drop", "L2+=14.4mV"),
}
PRINTED |= {
    "prove-capacity-1": ("prove", "capacity", "BANK", "--out", "496Ah", "--out-time", "5h", "--no-log", "--json"),
    "baseline-1": ("prove", "baseline", "BANK", "--json"),
}
SLOW = {"suggestion-2": ("plan", "BANK", "--suggest", "--json")}
Run = Callable[..., Any]


def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_schemas", ROOT / "tools" / "make_schemas.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PAGES: dict[str, str] = maker().pages()


@pytest.fixture
def printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(args: tuple[str, ...], source: Path = BARN) -> Any:
        bank = tmp_path / "barn.toml"
        bank.write_text(source.read_text("utf-8"), "utf-8")
        with pytest.raises(SystemExit):
            main([str(bank) if arg == "BANK" else arg for arg in args])
        return json.loads(capsys.readouterr().out)

    return run


def test_the_schemas_are_those_of_the_code() -> None:
    assert {path.name for path in SCHEMAS.glob("*.json")} == set(PAGES)
    for name, text in PAGES.items():
        assert (SCHEMAS / name).read_text("utf-8") == text, "run `python tools/make_schemas.py`"


@pytest.mark.parametrize("name", PAGES)
def test_each_is_a_schema(name: str) -> None:
    jsonschema_rs.meta.validate(json.loads(PAGES[name]))


@pytest.mark.share(2)
@pytest.mark.parametrize("name", PRINTED)
def test_what_a_command_prints_keeps_to_its_schema(name: str, printed: Run) -> None:
    """What a command prints keeps to its schema."""
    document = printed(PRINTED[name])
    assert document["format"] == "bankwright." + "/".join(name.rsplit("-", 1))
    assert wrong(name, document) == []


@pytest.mark.slow
def test_a_suggestion_keeps_to_its_schema(printed: Run) -> None:
    document = printed(SLOW["suggestion-2"], sample_path("two"))  # small, and part of it is not cured
    assert document["changes"]
    assert document["look_for"]
    assert wrong("suggestion-2", document) == []


def test_faults_keep_to_their_schema() -> None:
    text = BARN.read_text("utf-8").replace("slot = 2\n", "slot = 1\n").replace("units = 20", "unit = 20")
    document = faults_document(faults_in(text, BARN))
    assert len(document["faults"]) >= 2
    assert any(fault["also"] for fault in document["faults"])
    assert wrong("faults-1", document) == []


EXPLAINED = {
    "buy": ("buy", "BANK", "--explain", "B-REACH", "--json"),
    "build": ("build", "BANK", "--explain", "Build 2.1", "--json"),
    "match": ("match", "BANK", *VOLTS, "--no-log", "--explain", "3.8", "--json"),
    "match from plan": ("plan", "BANK", "--explain", "M-STOP-2", "--json"),
}


@pytest.mark.parametrize("words", EXPLAINED)
def test_an_explanation_of_any_stage_keeps_to_its_schema(words: str, printed: Run) -> None:
    document = printed(EXPLAINED[words])
    assert wrong("explained-2", document) == []
    assert document["why"]


def test_a_logbook_keeps_to_its_schema(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bank, kept = tmp_path / "barn.toml", tmp_path / "log.json"
    bank.write_text(BARN.read_text("utf-8"), "utf-8")
    for args in (
        ("add", str(bank), "M1", "52.6 V"),
        ("add", str(bank), "L1+@M1+", "16 uohm"),
        ("export", str(bank), "--format", "json", "--out", str(kept)),
    ):
        with pytest.raises(SystemExit):
            main(["log", *args])
    capsys.readouterr()
    document = json.loads(kept.read_text("utf-8"))
    assert len(document["entries"]) >= 2
    assert wrong("logbook-1", document) == []


@pytest.mark.parametrize("store", [False, True])
def test_an_old_log_keeps_to_its_schema(store: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bank, old = tmp_path / "barn.toml", tmp_path / "old.csv"
    bank.write_text(BARN.read_text("utf-8"), "utf-8")
    rows = [f"2026-03-14T10:{k:02d}:00Z,52.{40 - k},{k % 7 * 5}.5,-273.15" for k in range(30)]
    old.write_text("\n".join(["time,voltage [V],current [A],temp [degC]", *rows, "torn"]), "utf-8")
    with pytest.raises(SystemExit):
        main(["import", str(bank), str(old), "--module", "M1", "--json", *(["--store"] if store else [])])
    document = json.loads(capsys.readouterr().out)
    assert document["stored"] == (30 if store else None)
    assert wrong("import-1", document) == []


WRONG_QUESTIONS = {
    "no such check": ("plan", "BANK", "--explain", "P-NONE-9", "--json"),
    "no such case": ("plan", "BANK", "--case", "none", "--json"),
    "no such option": ("buy", "BANK", "--nope", "--json"),
    "no such file": ("build", "NOWHERE.toml", "--json"),
    "a wrong reading": ("match", "BANK", "--reading", "M9=52.6V", "--json"),
}


@pytest.mark.parametrize("words", WRONG_QUESTIONS)
def test_a_wrong_question_is_answered_in_json_where_json_was_asked(words: str, printed: Run) -> None:
    document = printed(WRONG_QUESTIONS[words])
    assert document["faults"]
    assert wrong("faults-1", document) == []


ASKED = {
    "bank-1": "bank", "findings-2": "findings", "cases-1": "cases", "case-1": "case?name=full%20discharge",
    "parts-2": "parts", "sheet-2": "sheet", "match-2": "match", "emergency-1": "emergency", "log-1": "log",
    "explained-2": "explained?check=Plan%203.1",
}  # fmt: skip


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with client(bank_file(tmp_path_factory.mktemp("asked"), "two"), accept="application/json") as page:
        yield page


@pytest.fixture(scope="module")
def stored(web: Page) -> Any:
    names = [module.name for module in web.desk.look().shown.bank.modules]  # type: ignore[union-attr]
    sent = [
        {"id": f"{k:016x}", "kind": "reading", "at": name, "text": f"52.{60 + k} V"} for k, name in enumerate(names)
    ]
    return web.post("/api/entries", json={"entries": sent}).json()


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_of_the_page_keeps_to_the_same_schema(name: str, web: Page, stored: Any) -> None:
    assert wrong("taken-1", stored) == []
    answer = web.get(f"/api/{ASKED[name]}")
    assert answer.status_code == 200
    assert answer.json()["format"] == f"bankwright.{name.replace('-', '/')}"
    assert wrong(name, answer.json()) == []


def test_an_edit_and_a_fault_of_the_page_keep_to_their_schemas(web: Page) -> None:
    body = {"path": "title", "value": "Shed", "digest": web.get("/api/bank").json()["digest"], "write": False}
    assert wrong("edit-2", web.patch("/api/bank", json=body).json()) == []
    assert wrong("faults-1", web.get("/api/case?name=none").json()) == []
    assert wrong("faults-1", web.get("/api/explained?check=none").json()) == []


def test_every_schema_is_tried_on_a_real_document() -> None:
    tried = {*PRINTED, *SLOW, *ASKED, "faults-1", "logbook-1", "edit-2", "taken-1", "import-1"}
    tried |= {"survey-1", "address-1"}  # tests/cli/test_bus_commands.py: with a rack
    assert {name.removesuffix(".json") for name in PAGES} == tried


@pytest.mark.parametrize("spoil", [{"faults": "many"}, {"faults": [{"code": 5}]}, {"more": 1}, {"format": "other/1"}])
def test_the_guard_would_notice(spoil: dict[str, Any]) -> None:
    assert wrong("faults-1", faults_document([])) == []
    assert wrong("faults-1", {**faults_document([]), **spoil}) != []
