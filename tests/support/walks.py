"""A real terminal for tests: a program on a pty, line by line, as a person types. And the answers of a first bank.

Gives: Terminal, on_terminal(), CHAIN, BAR, start_page().
"""

from __future__ import annotations

import contextlib
import os
import re
import select
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from support.page import Page

__all__ = ["BAR", "CHAIN", "Terminal", "on_terminal", "start_page"]

PROMPT = re.compile(r"[^\n]: (?=\x07|\Z)|\n {6}: (?=\x07|\Z)")
ERASE = "\x15"  # what stands in the line already is taken away
# invented; "?" is "I do not know"
CHAIN = (
    "4", "us", "100", "16", "100", "50", "1", "6.5", "44", "chain", "opposite ends", "?", "M8", "2", "99", "3",
    "nec-2023", "?", "Garage",
)  # fmt: skip
BAR = (*CHAIN[:9], "busbar", *CHAIN[10:])


class Terminal:
    """One program on a pty."""

    def __init__(self, fd: int, pid: int) -> None:
        """Take its two ends."""
        self.fd, self.pid, self.seen, self.at = fd, pid, "", 0
        self.code: int | None = None

    def until(self, words: str, seconds: float = 60.0) -> str:
        """Read on until a text comes; all that came since the text before, this one with it."""
        return self._until(re.compile(re.escape(words)), seconds)

    def asked(self, seconds: float = 60.0) -> str:
        """Read on until something is asked: a prompt stands at the end."""
        return self._until(PROMPT, seconds)

    def _until(self, wanted: re.Pattern[str], seconds: float) -> str:
        end = time.monotonic() + seconds
        while (found := wanted.search(self.seen, self.at)) is None:
            left = end - time.monotonic()
            if left <= 0 or not select.select([self.fd], [], [], left)[0] or not self._read():
                raise AssertionError(f"{wanted.pattern!r} did not come; the end: {self.seen[-600:]!r}")
        begin, self.at = self.at, found.end()
        return self.seen[begin : self.at]

    def _read(self) -> bool:
        try:
            got = os.read(self.fd, 65536)
        except OSError:
            return False
        self.seen += got.decode("utf-8", "replace")
        return bool(got)

    def type(self, text: str) -> None:
        """Type a line."""
        os.write(self.fd, f"{ERASE}{text}\n".encode())

    def rest(self, seconds: float = 60.0) -> tuple[str, int]:
        """Read to the end: what came, and the exit code."""
        begin, end = self.at, time.monotonic() + seconds
        while time.monotonic() < end:
            if select.select([self.fd], [], [], 0.5)[0] and not self._read():
                break
        self.code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.seen[begin:], self.code


@contextlib.contextmanager
def on_terminal(folder: Path, *arguments: str) -> Iterator[Terminal]:
    """Start `bankwright ...` on a pty in a folder; it is ended if it still runs."""
    import pty

    pid, fd = pty.fork()
    if pid == 0:
        os.chdir(folder)
        os.environ.update({"TERM": "dumb", "COLUMNS": "80"})
        os.execv(sys.executable, [sys.executable, "-m", "bankwright", *arguments])
    found = Terminal(fd, pid)
    try:
        yield found
    finally:
        if found.code is None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
        os.close(fd)


def start_page(web: Page, answers: tuple[str, ...], write: bool = True) -> int:
    """Give the answers on the page of the conversation, then have the file written; how many were given."""
    for answer in answers:
        page = web.get("/start").text
        key = re.search(r'name="key" value="([a-z_]+)"', page)
        assert key, page[-800:]
        act = {"act": "unknown"} if answer == "?" else {"act": "next", "typed": answer}
        assert web.post("/start", data={"key": key[1], **act}).status_code == 200
    if write:
        assert web.post("/start", data={"key": "", "act": "write"}, follow_redirects=False).status_code == 303
    return len(answers)
