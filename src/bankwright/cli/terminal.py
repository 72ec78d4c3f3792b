"""The terminal: UTF-8 whatever the locale says, controls of others as visible marks, colour, width, a sign of life.

Gives: Terminal, taken(), coloured(), width(), progress(). Text of a bank file, a logbook or a file name may hold codes
that move the cursor, rename the window or hide words; they are printed as marks. The program's own colours travel as
characters that are chosen anew in each run, so that no file can hold them.
Limits: what is printed is decided elsewhere. NO_COLOR, TERM=dumb and COLUMNS are obeyed;
pipes get neither colour nor progress.
Sources: ECMA-48, 8.3.117 (SGR); no-color.org; POSIX.1-2017, XBD 8.3 (COLUMNS) [from memory].
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import secrets
import shutil
import sys
import threading
import time
from collections.abc import Iterator
from typing import IO, Literal

__all__ = ["Terminal", "coloured", "progress", "taken", "width"]

Colour = Literal["red", "yellow", "magenta", "cyan", "green"]
_SGR = {
    "red": "\x1b[31m\x1b[1m",
    "yellow": "\x1b[33m",
    "magenta": "\x1b[35m",
    "cyan": "\x1b[36m",
    "green": "\x1b[32m",
    "off": "\x1b[0m",
}
_FIRST = 0x100000 + secrets.randbelow(0xFF00)  # in the last plane of private use
_OWN = {name: chr(_FIRST + number) for number, name in enumerate(_SGR)}
_HIDDEN = "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]"
_CONTROLS = re.compile(f"\r(?!\n)|(?!\r){_HIDDEN}")
_USUAL, _LEAST, _MOST = 80, 40, 200
_SILENT = 1.0  # s


def _mark(found: re.Match[str]) -> str:
    number = ord(found[0])
    return chr(0x2400 + number) if number < 0x20 else f"<{number:02x}>"


class Terminal(io.TextIOWrapper):
    """A stream of text in UTF-8 that lets no control of others through."""

    waiting: _Waiting | None = None

    def write(self, text: str) -> int:
        """Write text: controls as marks, own colours as this stream shows them."""
        if self.waiting is not None:
            self.waiting.end()
        shown = _CONTROLS.sub(_mark, text)
        for name, own in _OWN.items():
            if own in shown:
                shown = shown.replace(own, _SGR[name] if _shows_colour(self) else "")
        super().write(shown)
        return len(text)

    def raw(self, text: str) -> None:
        """Write as it stands: for the progress line alone."""
        super().write(text)
        self.flush()


class _Waiting:
    """A line on the terminal while nothing else was printed for longer than a second."""

    def __init__(self, stream: Terminal) -> None:
        self._stream, self._over, self._lock, self._shown = stream, threading.Event(), threading.Lock(), False
        self._begun = time.monotonic()
        threading.Thread(target=self._run, daemon=True).start()

    def _run(self) -> None:
        while not self._over.wait(_SILENT):
            with self._lock, contextlib.suppress(OSError, ValueError):
                if not self._over.is_set():
                    self._shown = True
                    self._stream.raw(f"\rcomputing, {time.monotonic() - self._begun:.0f} s ...")

    def end(self) -> None:
        if self._over.is_set():
            return
        with self._lock, contextlib.suppress(OSError, ValueError):
            self._over.set()
            if self._shown:
                self._stream.raw("\r" + " " * 40 + "\r")


def _is_dumb() -> bool:
    return os.environ.get("TERM") == "dumb"


def _shows_colour(stream: IO[str]) -> bool:
    return stream.isatty() and "NO_COLOR" not in os.environ and not _is_dumb()


def coloured(text: str, colour: Colour) -> str:
    """Text in a colour, where the stream that it goes to shows colours."""
    return f"{_OWN[colour]}{text}{_OWN['off']}" if isinstance(sys.stdout, Terminal) else text


def width() -> int:
    """Columns to fold text to: COLUMNS, or those of a narrow terminal; 80 everywhere else."""
    asked = os.environ.get("COLUMNS", "")
    if asked.isdecimal() and int(asked) > 0:
        return min(max(int(asked), _LEAST), _MOST)
    if sys.stdout is not None and sys.stdout.isatty():
        return min(max(shutil.get_terminal_size((_USUAL, 24)).columns, _LEAST), _USUAL)
    return _USUAL


def progress(line: str) -> None:
    """Show a line of progress in the place of the one before ("" clears it); nothing where no terminal is."""
    if isinstance(sys.stderr, Terminal) and sys.stderr.isatty() and not _is_dumb():
        if sys.stderr.waiting is not None:
            sys.stderr.waiting.end()
        room = width() - 2
        sys.stderr.raw("\r" + _CONTROLS.sub(_mark, line)[:room].ljust(room) + ("" if line else "\r"))


@contextlib.contextmanager
def taken() -> Iterator[None]:
    """Take both streams for the length of a run; OSError when what was printed cannot be got rid of."""
    before = sys.stdout, sys.stderr
    out, err = _over(sys.stdout), _over(sys.stderr)
    if isinstance(err, Terminal) and err.isatty() and not _is_dumb():
        waiting = _Waiting(err)
        err.waiting = waiting
        if isinstance(out, Terminal):
            out.waiting = waiting
    sys.stdout, sys.stderr = out, err
    try:
        yield
        if out is not None:
            out.flush()
    finally:
        if isinstance(err, Terminal) and err.waiting is not None:
            err.waiting.end()
        sys.stdout, sys.stderr = before
        for stream in (out, err):
            if isinstance(stream, Terminal):
                _left(stream)


def _over(stream: IO[str] | None) -> IO[str] | None:
    """The stream in UTF-8; None (closed) and what has no bytes under it stay as they are."""
    buffer = getattr(stream, "buffer", None)
    if stream is None or buffer is None:
        return stream
    with contextlib.suppress(OSError, ValueError):
        stream.flush()
    lines = bool(getattr(stream, "line_buffering", False))
    return Terminal(buffer, encoding="utf-8", errors="backslashreplace", line_buffering=lines)


def _left(stream: Terminal) -> None:
    """Give the bytes back to the stream that they belong to, also when they could not be written."""
    with contextlib.suppress(OSError, ValueError):
        stream.flush()
    with contextlib.suppress(OSError, ValueError):
        stream.detach()
