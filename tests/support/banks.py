"""Sample banks for tests: sample("two"), sample("five"), and bank_of(text) for a text of a test's own."""

from __future__ import annotations

from pathlib import Path

from bankwright.bank.document import Document
from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from, bank_from_text, read_bank

__all__ = ["BANKS", "bank_of", "changed", "document", "sample", "sample_path"]

BANKS = Path(__file__).parent / "banks"


def sample_path(name: str) -> Path:
    """Path of a sample bank file."""
    return BANKS / f"{name}.toml"


def sample(name: str) -> Bank:
    """Read a sample bank."""
    return read_bank(sample_path(name))


def document(name: str) -> Document:
    """Open a sample bank file as a document."""
    return Document.read(sample_path(name))


def bank_of(text: str) -> Bank:
    """Read a bank from a text."""
    return bank_from_text(text, BANKS / "text.toml")


def changed(name: str, **values: object) -> Bank:
    """Read a sample bank with values changed; two underscores stand for a dot: wiring__feed="same end"."""
    made = document(name)
    for path, value in values.items():
        made = made.with_value(path.replace("__", "."), value)
    return bank_from(made)
