"""The door of the faces: the bank file as the faces see it: text, places, faults, the bank.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.bank.file.document import MAX_BYTES, ChangedOutside, Document, EditRefused, digest_of
from bankwright.bank.file.spans import Path, path_of, path_text
from bankwright.bank.file.toml_text import value_text
from bankwright.bank.model import Bank, Link
from bankwright.bank.read import BankFileError, bank_from, read_bank

__all__ = [
    "MAX_BYTES",
    "Bank",
    "BankFileError",
    "ChangedOutside",
    "Document",
    "EditRefused",
    "Link",
    "Path",
    "bank_from",
    "digest_of",
    "path_of",
    "path_text",
    "read_bank",
    "value_text",
]
