"""What a module answers in ASCII frames: its information, or a return code that says why not.

Gives: Information, TextRefusal, RETURNS.
Sources: telecom power standard YD/T 1363, its table of return codes: from memory, no text was read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.bus.modbus.reply import Answer

__all__ = ["OWN_CODES", "RETURNS", "Information", "TextRefusal"]

RETURNS: Mapping[int, str] = MappingProxyType(
    {
        1: "the version of the frame is another",
        2: "the check sum was wrong when it arrived",
        3: "the check of the length was wrong when it arrived",
        4: "it does not know this command",
        5: "the command's form is not right",
        6: "the command's data are not valid",
    }
)
OWN_CODES = range(0x80, 0xF0)


@dataclass(frozen=True, slots=True)
class Information(Answer):
    """Information as received: two characters a byte, blanks where the module has no value; version of its frame."""

    text: bytes
    version: int = 0

    @property
    def size(self) -> int:
        """Bytes of information. [-]"""
        return len(self.text) // 2


@dataclass(frozen=True, slots=True)
class TextRefusal(Answer):
    """The module understood that it was asked and does not answer the question: wires, speed and address are right."""

    code: int

    @property
    def words(self) -> str:
        """The code in words."""
        own = (
            "a code of the maker's own: the module's manual has it" if self.code in OWN_CODES else "not in the standard"
        )
        return RETURNS.get(self.code, f"code {self.code:02X}, {own}")

    @property
    def is_absence(self) -> bool:
        """False: no gateway speaks here."""
        return False
