"""What several commands share: the argument FILE, changes typed as KEY=VALUE, the ending of a run.

Gives: BANK_FILE, opened(), changes(), finish(), json_head().
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding
    from bankwright.job import Job

__all__ = ["BANK_FILE", "change_of", "finish", "json_head", "opened"]

BANK_FILE = click.Path(path_type=Path)


def opened(bank_file: Path) -> Job:
    """Open a bank file for a command."""
    from bankwright.job import open_bank

    return open_bank(bank_file)


def change_of(text: str) -> tuple[str, Any]:
    """Read `wiring.feed=same end`, `site.extension=2`, `modules[0].slot=3`: a TOML value, or a text as it stands."""
    path, equals, value = text.partition("=")
    if not equals or not path.strip():
        raise click.BadParameter(f'found {text!r}; write KEY=VALUE, for example wiring.feed="opposite ends"')
    try:
        return path.strip(), tomllib.loads(f"value = {value}")["value"]
    except tomllib.TOMLDecodeError:
        return path.strip(), value.strip()


def json_head(job: Job, what: str, number: int = 1) -> dict[str, Any]:
    """Top of every JSON document: its format and the digest of the bank it speaks of."""
    return {"format": f"bankwright.{what}/{number}", "bank": job.bank.title, "bank_digest": job.bank.digest}


def finish(findings: Iterable[Finding], strict: bool = False) -> None:
    """End a command: 1 when a finding fails (with strict: when one is unknown), else 0."""
    verdicts = {finding.verdict for finding in findings}
    if "fail" in verdicts or (strict and "unknown" in verdicts):
        sys.exit(1)
