"""One line typed by a person: asked with what was typed before kept, and an offer taken with one key.

Gives: typed(), offered(). Shared by `new` and `ask`.
Limits: what the letters mean is the caller's matter. Where the terminal has no line editor, what was typed is shown.
"""

from __future__ import annotations

import contextlib

import click

from bankwright.cli.show.findings import wrap
from bankwright.job.talking import Heard

__all__ = ["offered", "typed"]


def typed(prompt: str, before: str = "") -> str | None:
    """What was typed, `before` standing in the line to be changed; None at the end of the input or after Ctrl-C."""
    with _kept(before):
        try:
            answer: str = click.prompt(prompt, default="", show_default=False, prompt_suffix=" ")
        except click.Abort:
            click.echo("")
            return None
    return answer.strip()


@contextlib.contextmanager
def _kept(before: str):  # type: ignore[no-untyped-def]  # a context manager of nothing
    """Let the line editor of the terminal, where there is one, begin with what was typed before."""
    try:
        import readline
    except ImportError:  # no line editor in this Python
        yield
        return
    readline.set_startup_hook((lambda: readline.insert_text(before)) if before else None)
    try:
        yield
    finally:
        readline.set_startup_hook(None)


def offered(heard: Heard) -> str | None:
    """Say what could not be taken and what may be meant: an offer that one key took, None to type it again."""
    if not heard.offers:
        click.echo(wrap(heard.words, 6, "  x"))
        return None
    first, *rest = heard.offers
    keys = [f"Enter: {first}", *(f"{number}: {each}" for number, each in enumerate(rest, 2)), "n: type it again"]
    click.echo(wrap(f"{heard.words} {first}?", 6, "  >"))
    answer = typed(wrap("   ".join(keys) + ":", 6, "      "))
    if answer is None or answer.lower() in ("n", "no"):
        return None
    if answer.lower() in ("", "y", "yes", "1"):
        return first
    if answer.isdecimal() and 2 <= int(answer) <= len(heard.offers):
        return heard.offers[int(answer) - 1]
    return answer  # typed anew at once
