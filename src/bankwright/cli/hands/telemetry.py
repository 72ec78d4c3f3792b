"""`bankwright log export --telemetry`: telemetry written out by hand.

Gives: exported(). Times without a zone are UTC.
Limits: a thin shell over logbook/telemetry/export.py.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TextIO

from bankwright.cli.common import may_write
from bankwright.cli.hands.entry import wrong
from bankwright.forms.disk import in_place, prepared

__all__ = ["exported"]


def exported(bank_file: Path, form: str, out: Path | None, span: tuple[str | None, str | None]) -> str:
    """Write telemetry into a file or folder, or to the terminal; gives what to say of it."""
    from bankwright.job.telemetry import open_telemetry, write_csv, write_parquet

    start, end = _seconds("--since", span[0], 0.0), _seconds("--until", span[1], 1e11)
    if start >= end:
        raise wrong("--until", f"{span[1]} is not after {span[0]}", "Nothing was written")
    if form == "json" or (form == "parquet" and out is None):
        raise wrong("--format", f"telemetry as {form}", "Telemetry is written as csv, or as parquet into --out FOLDER")
    if out is not None:
        may_write({"--out": out}, bank_file)
    with open_telemetry(bank_file, write=False) as store:
        if form == "parquet" and out is not None:
            return f"Written: {len(write_parquet(store, out, start, end))} files in {out}"
        if out is None:
            write_csv(store, sys.stdout, start, end)
            return ""
        count = _into(out, partial(write_csv, store, start=start, end=end))
    return f"Written: {count} rows in {out}"


def _into(out: Path, write: Callable[[TextIO], int]) -> int:
    """Write a file of any length beside its place, then put it there."""
    try:
        if out.exists() and not out.is_file() and not out.is_dir():  # a pipe, the null device
            with out.open("w", encoding="utf-8", newline="") as file:
                return write(file)
        new = prepared(out, b"", out if out.is_file() else None)
        try:
            with new.open("w", encoding="utf-8", newline="") as file:
                count = write(file)
                file.flush()
                os.fsync(file.fileno())
            in_place((new, out))
        finally:
            new.unlink(missing_ok=True)
    except OSError as error:
        raise wrong("--out", f"{out} cannot be written ({error.strerror})") from error
    return count


def _seconds(option: str, text: str | None, otherwise: float) -> float:
    if text is None:
        return otherwise
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise wrong(option, f"found {text!r}", "Write 2026-03-01 or 2026-03-01T14:00+01:00") from error
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
