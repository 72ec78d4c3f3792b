"""The door of the faces: a typed quantity.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.bank.file.quantity_text import QuantityFault, parse

__all__ = ["QuantityFault", "parse"]
