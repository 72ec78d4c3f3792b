"""Writing files so that they are whole or not there, and never over something that is kept.

Gives: bytes_text(), write_whole(), prepared(), in_place(), locked(), refuse_kept(), KEPT. Every file that a command
or the page
writes as a whole goes through here; the logbook is written by its own engine.
Limits: a pipe or a device (`/dev/stdout`) is written as it is. Where a system has no locks, locked() does nothing.
"""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from bankwright.forms.faults import Fault, QuestionError

__all__ = ["KEPT", "bytes_text", "in_place", "locked", "prepared", "refuse_kept", "write_whole"]

KEPT = (".toml", ".previous")  # endings of files that no output ever replaces; a name with ".logbook" neither
_WAIT = 5.0  # s for another page that is saving


def bytes_text(count: int) -> str:
    """A size as a person reads it: "6.03 kB"."""
    for unit, by in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if count >= by:
            return f"{count / by:.3g} {unit}"
    return f"{count} bytes"


def write_whole(path: Path, content: str | bytes) -> Path:
    """Write a file beside its place, sync it, put it there; OSError leaves what stood there as it was."""
    target = Path(os.path.realpath(path))
    data = content.encode("utf-8", "backslashreplace") if isinstance(content, str) else content
    if target.exists() and not target.is_file() and not target.is_dir():
        target.write_bytes(data)  # a pipe, a terminal, the null device
        return path
    new = prepared(target, data, target if target.is_file() else None)
    try:
        in_place((new, target))
    finally:
        new.unlink(missing_ok=True)
    return path


def prepared(target: Path, content: bytes, mode_of: Path | None = None) -> Path:
    """Write and sync a new file beside `target`, with the rights of `mode_of`; the caller puts it in place."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".new", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, (os.stat(mode_of).st_mode & 0o777) if mode_of else 0o666 & ~_umask())
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    return Path(name)


def in_place(*files: tuple[Path, Path]) -> None:
    """Rename prepared files over their targets, one right after the other, and sync the folder of the last."""
    for new, target in files:
        os.replace(new, target)
    with contextlib.suppress(OSError):  # a folder cannot be synced everywhere
        folder = os.open(files[-1][1].parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the lock of a folder while a file in it is compared and replaced; it ends with the program that holds it."""
    try:
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        yield
        return
    try:
        until = time.monotonic() + _WAIT
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                if time.monotonic() > until:
                    raise OSError(errno.EBUSY, "another page is saving and did not finish") from None
                time.sleep(0.005)
            except OSError:
                break  # a file system without locks
        yield
    finally:
        os.close(handle)


def refuse_kept(path: Path, option: str, keep: Iterable[Path | None] = ()) -> None:
    """Refuse an output that would replace a bank file, its previous text, a logbook or a file that was read."""
    words = ""
    target = Path(os.path.realpath(path))
    if any(other is not None and _same(target, other) for other in keep):
        words = "is a file that this command reads"
    elif any(".logbook" in name for name in (path.name, target.name)):
        words = "is, or would be taken for, a logbook"
    elif target.is_file() and any(name.endswith(KEPT) for name in (path.name, target.name)):
        words = "is there already and looks like a bank file, or the text kept before one"
    elif _is_database(target):
        words = "is a database"
    if words:
        fault = Fault(option, "would-overwrite", f"{path} {words}; nothing was written", "Name another file")
        raise QuestionError((fault,), "the options")


def _same(target: Path, other: Path) -> bool:
    for name in (other, other.with_name(other.name + ".previous")):
        with contextlib.suppress(OSError):
            if target == Path(os.path.realpath(name)) or os.path.samefile(target, name):
                return True
    return False


def _is_database(target: Path) -> bool:
    if not target.is_file():
        return False
    with contextlib.suppress(OSError), target.open("rb") as file:
        return file.read(16) == b"SQLite format 3\x00"
    return False


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
