"""What several commands share: the argument FILE, changes typed as KEY=VALUE, the ending of a run.

Gives: BANK_FILE, browses(), opened(), change_of(), may_write(), output(), typed(), finish(), stop_if_crashed().
"""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding
    from bankwright.job import Job

__all__ = ["BANK_FILE", "browses", "change_of", "finish", "may_write", "opened", "output", "stop_if_crashed", "typed"]

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


def browses() -> bool:
    """Whether this machine is likely to show a browser: it has a screen, or a system that always has one."""
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")) or sys.platform in ("darwin", "win32")


def typed(path: Path) -> str:
    """A path as it can be typed after a command, whatever is in its name."""
    if os.name == "nt":
        return subprocess.list2cmdline([str(path)])
    return shlex.quote(str(path))


def may_write(outputs: Mapping[str, Path | None], *keep: Path | None) -> None:
    """Refuse, before anything is computed, outputs (by option) that would replace what is kept or was read."""
    from bankwright.forms.disk import refuse_kept

    for option, path in outputs.items():
        if path is not None:
            refuse_kept(path, option, keep)


def output(path: Path, content: str, option: str, *keep: Path | None) -> Path:
    """Write a file that was asked for, whole or not at all: the one way out to the disk for every command."""
    from bankwright.forms.disk import refuse_kept, write_whole
    from bankwright.forms.faults import Fault, QuestionError

    refuse_kept(path, option, keep)
    try:
        return write_whole(path, content)
    except OSError as error:
        found = f"{path} cannot be written ({error.strerror})"
        raise QuestionError((Fault(option, "no-file", found),), "the options") from error


def finish(findings: Iterable[Finding], strict: bool = False) -> None:
    """End a command: 3 when a check crashed, 1 when a finding fails (with strict: is unknown or assumed), else 0."""
    findings = tuple(findings)
    stop_if_crashed(findings)
    verdicts = {finding.verdict for finding in findings}
    if "fail" in verdicts or (strict and verdicts & {"unknown", "assumed"}):
        sys.exit(1)


def stop_if_crashed(findings: Iterable[Finding]) -> None:
    """End with 3 when a check crashed: what it stopped with is said, everything else was printed."""
    crashed = tuple(finding for finding in findings if finding.crashed)
    for finding in crashed:
        click.echo(f"{finding.code} crashed: {finding.crashed}", err=True)
    if crashed:
        click.echo("This is a fault of Bankwright, not of your bank. Nothing was concluded there.", err=True)
        sys.exit(3)
