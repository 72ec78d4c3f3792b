"""The schemas under docs/schema are those of the code, and what Bankwright prints of the demo bank keeps to them."""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema_rs
import pytest

from bankwright.bank.read import faults_in
from bankwright.cli.main import main
from bankwright.web.faulty import faults_json

ROOT = Path(__file__).parents[2]
SCHEMAS = ROOT / "docs" / "schema"
BARN = ROOT / "demo" / "barn.toml"
VOLTS = [part for k in (1, 2, 3, 4, 5) for part in ("--reading", f"M{k}=52.{60 + k}V")]
PRINTED: dict[str, tuple[str, ...]] = {
    "findings-1": ("plan", "BANK", "--json"),
    "case-1": ("plan", "BANK", "--case", "full discharge", "--json"),
    "differences-1": ("compare", "BANK", "kinds.inverter.box-5k.power=3 kW", "--json"),
    "parts-1": ("buy", "BANK", "--json"),
    "build-1": ("build", "BANK", "--json"),
    "match-1": ("match", "BANK", *VOLTS, "--rested", "6h", "--temperature", "15degC", "--no-log", "--json"),
}
SLOW = {"suggestion-1": ("plan", "BANK", "--suggest", "--json")}
Run = Callable[..., Any]


def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_schemas", ROOT / "tools" / "make_schemas.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


PAGES: dict[str, str] = maker().pages()


@cache
def schema(name: str) -> Any:
    return json.loads((SCHEMAS / f"{name}.json").read_text("utf-8"))


def strict(part: Any) -> Any:
    """The same schema without room for a key that it does not name."""
    if isinstance(part, list):
        return [strict(each) for each in part]
    if not isinstance(part, dict):
        return part
    made = {key: strict(each) for key, each in part.items()}
    return {**made, "additionalProperties": False} if isinstance(part.get("required"), list) else made


def wrong(name: str, document: Any) -> list[str]:
    found = jsonschema_rs.Draft202012Validator(strict(schema(name))).iter_errors(document)
    return [f"{'/'.join(map(str, error.instance_path))}: {error.message[:200]}" for error in found]


@pytest.fixture
def printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(args: tuple[str, ...]) -> Any:
        bank = tmp_path / "barn.toml"
        bank.write_text(BARN.read_text("utf-8"), "utf-8")
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


@pytest.mark.parametrize("name", PRINTED)
def test_what_a_command_prints_keeps_to_its_schema(name: str, printed: Run) -> None:
    document = printed(PRINTED[name])
    assert document["format"] == f"bankwright.{name.replace('-', '/')}"
    assert wrong(name, document) == []


@pytest.mark.slow
def test_a_suggestion_keeps_to_its_schema(printed: Run) -> None:
    assert wrong("suggestion-1", printed(SLOW["suggestion-1"])) == []


def test_faults_keep_to_their_schema() -> None:
    text = BARN.read_text("utf-8").replace("slot = 2\n", "slot = 1\n").replace("units = 20", "unit = 20")
    document = faults_json(faults_in(text, BARN))
    assert len(document["faults"]) >= 2
    assert any(fault["also"] for fault in document["faults"])
    assert wrong("faults-1", document) == []


def test_every_schema_is_tried_on_a_real_document() -> None:
    tried = {*PRINTED, *SLOW, "faults-1"}
    assert {name.removesuffix(".json") for name in PAGES} == tried


@pytest.mark.parametrize("spoil", [{"faults": "many"}, {"faults": [{"code": 5}]}, {"more": 1}, {"format": "other/1"}])
def test_the_guard_would_notice(spoil: dict[str, Any]) -> None:
    assert wrong("faults-1", faults_json([])) == []
    assert wrong("faults-1", {**faults_json([]), **spoil}) != []
