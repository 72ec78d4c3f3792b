"""One program at a time: a lock beside the logbook that ends with the program that holds it, however that ends.

Gives: held(). `orchard.logbook-listen` and `orchard.logbook-days` are empty files that stay where they are; the lock is
the system's.
Limits: where a system, a file system or a folder allows no lock, nobody is kept out.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["held"]


@contextmanager
def held(path: Path, what: str) -> Iterator[bool]:
    """Whether this program may do it now: False while another one does. `path` is the logbook's."""
    try:
        import fcntl

        handle = os.open(path.with_name(f"{path.name}-{what}"), os.O_RDWR | os.O_CREAT, 0o666)
    except (ImportError, OSError):
        yield True
        return
    try:
        free = True
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            free = False
        except OSError:
            pass  # a file system without locks
        yield free
    finally:
        os.close(handle)
