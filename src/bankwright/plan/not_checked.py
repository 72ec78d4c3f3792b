"""What no check of Plan looks at. Every report of findings ends with this list.

Gives: NOT_CHECKED, not_checked(). Limits: checks that belong to another rule book are named by not_checked().
"""

from __future__ import annotations

from bankwright.forms.checks import Check

__all__ = ["NOT_CHECKED", "not_checked"]

NOT_CHECKED: tuple[str, ...] = (
    "listing of the combination, permit, insurer",
    "AC side, generator, neutral bonding",
    "solar modules and their wiring",
    "surge protection",
    "earth electrode",
    "structure of the building",
    "smoke and heat alarms",
    "condensation",
    "firmware behaviour of battery management systems and inverters",
    "workmanship",
)


def not_checked(checks: tuple[Check, ...], book: str | None) -> tuple[str, ...]:
    """The list, and the checks of other rule books, by code and title."""
    others = [
        f"{item.title} ({item.code}: {' or '.join(item.books)} only)"
        for item in checks
        if book is not None and book not in item.books
    ]
    return (*NOT_CHECKED, *others)
