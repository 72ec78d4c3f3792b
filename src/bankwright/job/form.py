"""The door of the faces: the written models behind a form.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.bank.texts.manual import example
from bankwright.bank.written.alike import names_alike
from bankwright.bank.written.bank_file import Written
from bankwright.bank.written.keys import form_of, keys, model_at, table_of

__all__ = ["Written", "example", "form_of", "keys", "model_at", "names_alike", "table_of"]
