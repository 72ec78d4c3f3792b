"""The manual names every key, and its examples read."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from pydantic import BaseModel

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from, faults_in
from bankwright.bank.texts.manual import manual
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.keys import form_of, keys, table_of
from bankwright.bank.written.values import Strict

PAGE = Path(__file__).parents[2] / "docs" / "bank-file.md"


def tables(model: type[BaseModel], path: str = "") -> list[tuple[str, type[BaseModel]]]:
    found = [(path, model)]
    for key, field in keys(model).items():
        table = table_of(field)
        if table is not None:
            found += tables(table[0], f"{path}.{key}" if path else key)
    return found


TABLES = tables(Written)


def test_the_page_is_the_one_that_the_models_make() -> None:
    assert PAGE.read_text("utf-8") == manual(), "run: python -m bankwright.bank.texts.manual docs/bank-file.md"


@pytest.mark.parametrize(("path", "model"), TABLES, ids=[path or "top" for path, _ in TABLES])
def test_every_key_has_a_description_and_a_form(path: str, model: type[BaseModel]) -> None:
    assert issubclass(model, Strict)
    for key, field in keys(model).items():
        assert field.description, f"{path}.{key}"
        assert field.description.endswith((".", '".', "`.", "?")), f"{path}.{key}: {field.description}"
        if table_of(field) is None:
            assert form_of(field).sample
            assert f"| `{key}` |" in manual()


def test_the_example_of_every_value_reads() -> None:
    for path, model in TABLES:
        for key, field in keys(model).items():
            if table_of(field) is not None:
                continue
            form = form_of(field)
            for sample in re.split(r" or (?=\")| \| ", form.sample):
                text = sample.replace(", ...]", "]").replace(", or", "")
                if form.read is not None and text.startswith(('"', "[")):
                    form.read(tomllib.loads(f"v = {text}")["v"])
                else:
                    assert tomllib.loads(f"v = {text}"), f"{path}.{key}"


def test_examples_in_the_prose_read() -> None:
    blocks = re.findall(r"```toml\n(.*?)```", manual(), flags=re.DOTALL)
    assert blocks
    for block in blocks:
        assert faults_in(block, Path("example.toml")) == ()


def test_the_example_of_what_was_measured_reads_in_the_whole_file(tmp_path: Path) -> None:
    whole = re.findall(r"```toml\n(.*?)```", manual(), flags=re.DOTALL)[0]
    part = re.findall(r"```toml-part\n(.*?)```", manual(), flags=re.DOTALL)[0]
    assert "[wiring]" in whole
    kept = re.sub(r"\[(?:site|wiring)\]\n.*?(?=\n\[|\Z)", "", whole, flags=re.DOTALL)
    path = tmp_path / "measured.toml"
    path.write_text(kept + "\n" + part, "utf-8")
    bank = bank_from(Document.read(path))
    assert bank.link("L1+").resistance is not None
    assert bank.site.most_drop == 0.02
    assert {link.a for link in bank.links if link.name == "main+"} == {"M1+"}
