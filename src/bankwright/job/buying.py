"""The door of the faces: what the faces need of Buy: lists, stock, pages.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.buy.cutting import Cutting
from bankwright.buy.lines import PartLine, PartsList
from bankwright.buy.pages import (
    amount,
    bare,
    order_words,
    parts_csv,
    parts_page,
    plan_text,
    rules_text,
    shown_unit,
    typed_amount,
)
from bankwright.buy.parts import parts
from bankwright.buy.receiving import CARD_HEAD, card_part, card_rows, receive, received_of
from bankwright.buy.stock import DEFAULT, Shopping, read_shopping

__all__ = [
    "CARD_HEAD",
    "DEFAULT",
    "Cutting",
    "PartLine",
    "PartsList",
    "Shopping",
    "amount",
    "bare",
    "card_part",
    "card_rows",
    "order_words",
    "parts",
    "parts_csv",
    "parts_page",
    "plan_text",
    "read_shopping",
    "receive",
    "received_of",
    "rules_text",
    "shown_unit",
    "typed_amount",
]
