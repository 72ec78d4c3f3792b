"""Banks of tests come out of bank files: no test puts the pieces of one together by hand, past the reader."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

TESTS = Path(__file__).parents[1]
MODELS = ("bankwright.bank.model", "bankwright.bank.model_kinds")
PIECES = {
    "Bank", "Bar", "BarPiece", "CableKind", "Charger", "Device", "Inverter", "Joint", "Link", "Load", "Module",
    "ModuleKind", "Post",
}  # fmt: skip
BY_HAND = {("support/banks/rack.py", "Joint"), ("support/banks/rack.py", "Link")}  # cables that no file takes: rings


def made_by_hand(text: str) -> set[str]:
    """Pieces of a bank that a module makes itself."""
    tree = parsed(text)
    names = {
        alias.asname or alias.name: alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module in MODELS
        for alias in node.names
    }
    called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
    return {names[name] for name in called & names.keys() if names[name] in PIECES}


def test_nobody_makes_the_pieces_of_a_bank_by_hand() -> None:
    found = {
        (path.relative_to(TESTS).as_posix(), piece)
        for path in TESTS.rglob("*.py")
        for piece in made_by_hand(path.read_text("utf-8"))
    }
    assert found == BY_HAND, "write it as a bank file, with tests/support/banks"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("from bankwright.bank.model import Bank\ndef f(bank: Bank): ...", set()),
        ("from bankwright.bank.model import Link as L\nx = L('L1+')", {"Link"}),
        ("from bankwright.bank.model_kinds import ModuleKind\nx = [ModuleKind(16)]", {"ModuleKind"}),
    ],
)
def test_the_guard_would_notice(text: str, found: set[str]) -> None:
    assert made_by_hand(text) == found
