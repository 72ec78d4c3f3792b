"""Every single thing that the bank needs, one by one, with its place and the file key that causes it.

Gives: Piece, GROUPS, pieces(). Buy counts them, Build puts them into steps, drawing and paper name the same ones.
Limits: no counting, no spares, no prices (buy/). Pieces of the wiring are in pieces_wiring, of frame and devices in
pieces_frame, of the data line and the bond in pieces_lines, tools and protection in pieces_tools.
"""

from __future__ import annotations

from bankwright.bank.model import Bank
from bankwright.bank.pieces.frame import frame_pieces
from bankwright.bank.pieces.lines import line_pieces
from bankwright.bank.pieces.piece import GROUPS, Group, Piece
from bankwright.bank.pieces.tools import tool_pieces
from bankwright.bank.pieces.wiring import wiring_pieces

__all__ = ["GROUPS", "Group", "Piece", "pieces"]


def pieces(bank: Bank) -> tuple[Piece, ...]:
    """All pieces, by group in the order of the work; ids are unique."""
    found = [*frame_pieces(bank), *line_pieces(bank), *wiring_pieces(bank), *tool_pieces(bank)]
    order = {group: number for number, group in enumerate(GROUPS)}
    return tuple(sorted(found, key=lambda piece: order[piece.group]))
