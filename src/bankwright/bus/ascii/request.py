"""A request in ASCII frames: a value of a closed enumeration of reading commands. Nothing else can be spelled.

Gives: Command, TextRequest, text_frame(), HEAD, TAIL, UNIT_LAST, MOST_INFO. NotReading is that of the Modbus room.
The standard's commands that control or set (45, 48, 49, 4E), those that step through kept history (4A to 4C: asking
moves the module's pointer) and the makers' own (80 to EF: nothing says that they only read) cannot be named.
Sources: telecom power standard YD/T 1363, its frame and its table of commands: from memory, no text was read.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass

from bankwright.bus.ascii.check import chksum, hex_text, length_text
from bankwright.bus.modbus.request import NotReading

__all__ = ["HEAD", "MOST_INFO", "TAIL", "UNIT_LAST", "Command", "TextRequest", "text_frame"]

HEAD, TAIL = 13, 5  # characters before the information (mark, version, address, two codes, length) and behind it
UNIT_LAST = 254  # 255 stands for all, from memory: a bus has one answer to a request
MOST_INFO = 8  # bytes of information in a request: reading needs a group or an address, no more
USUAL_GROUP, USUAL_VERSION = 0x46, 0x20  # battery; version 2.0, from memory


@enum.unique
class Command(enum.Enum):
    """The commands that can be asked: all of them read."""

    ANALOG_FLOAT = 0x41
    ANALOG = 0x42
    SWITCHES = 0x43
    ALARMS = 0x44
    SETTINGS_FLOAT = 0x46
    SETTINGS = 0x47
    CLOCK = 0x4D
    VERSION = 0x4F
    ADDRESS = 0x50
    MAKER = 0x51

    @property
    def words(self) -> str:
        """What it reads."""
        return self.name.lower().replace("_", ", ")


@dataclass(frozen=True, slots=True)
class TextRequest:
    """One reading request; `longest` is what its reply may have in characters, for patience alone."""

    unit: int
    command: Command
    info: bytes = b""
    version: int = USUAL_VERSION
    group: int = USUAL_GROUP
    longest: int = 256

    def __post_init__(self) -> None:
        """Refuse what is outside the frame, and the address of all."""
        _refuse_odd(self)

    @property
    def reply_length(self) -> int:
        """Characters that a whole reply may have."""
        return self.longest

    @property
    def length(self) -> int:
        """Characters of the request."""
        return HEAD + 2 * len(self.info) + TAIL


def _refuse_odd(request: TextRequest) -> None:
    if type(request.command) is not Command:
        raise NotReading("a request names a command of the enumeration")
    if any(type(number) is not int for number in (request.unit, request.version, request.group, request.longest)):
        raise NotReading("address, version and group are whole numbers")
    if not 0 <= request.unit <= UNIT_LAST:
        raise NotReading(f"address {request.unit}: a module has one of 0 to {UNIT_LAST}")
    if not 0 <= request.version <= 0xFF or not 0 <= request.group <= 0xFF:
        raise NotReading("version and group are bytes")
    if type(request.info) is not bytes or len(request.info) > MOST_INFO:
        raise NotReading(f"the information of a request is at most {MOST_INFO} bytes")


def text_frame(request: TextRequest) -> bytes:
    """The request as it stands on the line: the only place where characters for a module are made."""
    if type(request) is not TextRequest:
        raise NotReading("only a TextRequest can be spelled")
    _refuse_odd(request)
    head = (request.version, request.unit, request.group, request.command.value)
    info = request.info.hex().upper().encode("ascii")
    said = b"".join(hex_text(each, 2) for each in head) + length_text(len(info)) + info
    return b"~" + said + hex_text(chksum(said), 4) + b"\r"
