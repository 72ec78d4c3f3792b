"""The starter file has no faults, whatever was answered, and its open questions become right values when filled in."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bankwright.bank.file.document import ChangedOutside, Document
from bankwright.bank.read import bank_from_text, faults_in, read_bank
from bankwright.bank.texts.starter import Start, first_document, starter

HERE = Path("new.toml")


@pytest.mark.parametrize("rules", ["nec-2023", "iec-60364"])
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("pattern", ["chain", "busbar"])
@pytest.mark.parametrize(("modules", "inverters"), [(1, 0), (1, 1), (2, 1), (5, 2), (16, 3)])
def test_it_reads_without_faults(rules: str, units: str, pattern: str, modules: int, inverters: int) -> None:
    start = Start(modules=modules, inverters=inverters, pattern=pattern, units=units, rules=rules)  # type: ignore[arg-type]
    bank = bank_from_text(starter(start), HERE)
    assert len(bank.modules) == modules
    assert len(bank.inverters) == inverters
    assert (bank.pattern, bank.units, bank.book) == (pattern, units, rules)
    assert bank.modules[0].kind.resistance.dc is None  # nothing is guessed


def test_answers_arrive() -> None:
    start = Start(
        title='A "good" bank', capacity="280 Ah", mass="100 lb", place="basement", ambient="50 degF to 80 degF"
    )
    bank = bank_from_text(starter(start), HERE)
    assert bank.title == 'A "good" bank'
    assert bank.modules[0].kind.capacity_ah == 280
    assert bank.modules[0].kind.mass == pytest.approx(45.359237)
    assert bank.site.ambient_low_degc == pytest.approx(10)


def test_every_commented_key_reads_when_its_mark_is_removed() -> None:
    text = starter(Start())
    opened = re.sub(r"^# (?=\w+ = |\[\[bars)", "", text, flags=re.MULTILINE)
    assert opened.count("\n") == text.count("\n")
    assert faults_in(opened, HERE) == ()


def test_keys_named_in_a_further_line_read_in_their_table() -> None:
    text = starter(Start())
    rows = re.findall(r"^# further in (discharge|charge|each): (.*)$", text, flags=re.MULTILINE)
    assert len(rows) == 3
    for table, keys in rows:
        name = "link" if table == "each" else table
        text = re.sub(rf"^({name} = {{.*) }}$", rf"\1, {keys} }}", text, flags=re.MULTILINE)
    assert faults_in(text, HERE) == ()


def test_a_wrong_answer_is_a_fault_at_its_key() -> None:
    (fault,) = faults_in(starter(Start(capacity="100")), HERE)
    assert fault.path == "kinds.module.module.capacity"


def test_it_is_saved_once(tmp_path: Path) -> None:
    first_document(Start(), tmp_path / "a.toml").save()
    assert read_bank(tmp_path / "a.toml").title == "My bank"
    with pytest.raises(ChangedOutside, match="already exists"):
        first_document(Start(), tmp_path / "a.toml").save()
    assert Document.read(tmp_path / "a.toml").text == starter(Start())
