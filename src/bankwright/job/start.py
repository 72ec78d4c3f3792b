"""The door of the faces: the first file of a bank, and the demo banks.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.bank.texts.demo import write_demo
from bankwright.bank.texts.starter import Start, first_document

__all__ = ["Start", "first_document", "write_demo"]
