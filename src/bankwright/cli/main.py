"""The command `bankwright`: a table of commands, each loaded when it is called.

Gives: main(), COMMANDS. `--help` imports click alone. Exit codes: 0 done, 1 a finding fails, 2 the
question was wrong or a file could not be read or written, 3 this program failed.
Limits: no engineering here; each command is a thin shell over bankwright.job.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import sys

import click

__all__ = ["COMMANDS", "main"]

# name -> (module, help in one line); in the order of the job, then what goes with every part of it
COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("new", "Write a commented bank file that plans."),
    "plan": ("plan", "Check a bank before anything is bought."),
    "ask": ("ask", "Answer what Plan asks, what settles most first; or as letters to makers."),
    "kinds": ("kinds", "List the kinds of a bank: what is known of each, what is missing."),
    "datasheet": ("datasheet", "Read a maker's data sheet, PDF or text, and propose values for a kind."),
    "compare": ("compare", "Show what differs between two banks, or after one change."),
    "draw": ("draw", "Draw the wiring, the one-line diagram and the rack."),
    "buy": ("buy", "Count every part that the bank needs."),
    "build": ("build", "Go through the building sheet step by step."),
    "match": ("match", "Tell whether the modules may be joined, and are equally charged."),
    "address": ("address", "Plan addresses, switches and the data line."),
    "survey": ("survey", "Find who answers on the data bus, and say why others do not."),
    "pretend": ("pretend", "Pretend the bank's modules on a port made for practice."),
    "prove": ("prove", "Prove that the bank does what was computed, by readings."),
    "listen": ("listen", "Poll the modules and keep what they say in the logbook."),
    "watch": ("watch", "Tell whether the bank is still well, from what was heard."),
    "log": ("log", "Read and write the bank's logbook."),
    "import": ("bring", "Bring an old log of another program into the logbook."),
    "open": ("open", "Open the page of a bank in a browser, on this machine or beside the rack."),
    "pack": ("pack", "Pack a bank with all that belongs to it into one file."),
    "unpack": ("unpack", "Show what a packed bank holds, and take it into a new folder."),
    "what": ("what", "Say what a word means. Without a word: list them all."),
    "manual": ("manual", "Open the manual, at a check, a command or a word."),
}


class _Late(click.Group):
    """A group that imports a command's module when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"bankwright.cli.{COMMANDS[cmd_name][0]}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and name not in COMMANDS and not name.startswith("-"):
            from bankwright.forms.nearest import did_you_mean

            hint = did_you_mean(name, COMMANDS, "See bankwright --help.")
            raise click.UsageError(f"There is no command {name!r}. {hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands, in the order of the job"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(cls=_Late, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(None, "-V", "--version", package_name="bankwright", message="bankwright %(version)s")
def group() -> None:
    """Plan, buy, build, match, prove and watch a home battery bank, from one bank file.

    It only advises. Local codes and a licensed electrician have the last word.
    """


def main(args: list[str] | None = None) -> None:
    """Run a command: faults of the question end with 2 and their list on standard error, faults of this program with 3.

    Ctrl-C ends with 130, as a shell expects it (common practice, no source).
    """
    from bankwright.cli.terminal import taken

    gc.set_threshold(
        50_000, 20, 20
    )  # what is loaded stays: to look through it again and again costs a tenth of the start
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # many small systems: starting threads costs more than it gives
    try:
        with taken():
            code = _run(args)
    except BrokenPipeError:  # the reader went away: `bankwright plan ... | head`
        _let_go()
        code = 0
    except OSError as error:  # standard output is full
        _let_go()
        click.echo(f"Error: standard output cannot be written: {error.strerror or error}", err=True)
        code = 2
    sys.exit(code)


def _let_go() -> None:
    """Send what could not be printed nowhere, so that the end of the program does not stumble over it again."""
    with contextlib.suppress(OSError, AttributeError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(args: list[str] | None) -> int:
    """Run the command; its exit code. What standard output refuses goes on to main()."""
    try:
        code = group.main(args=args, prog_name="bankwright", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except SystemExit as end:
        return _code_of(end)
    except click.Abort:
        click.echo("Stopped.", err=True)
        return 130
    except click.ClickException as error:
        _show_wrong(error)
        _as_document(args, error)
        return 2
    except BrokenPipeError:
        raise
    except Exception as error:
        code = _ended_by(error)
        _as_document(args, error)
        return code


def _as_document(args: list[str] | None, error: Exception) -> None:
    """What is wrong with the question, on standard output as JSON, where the answer was asked for as JSON."""
    if "--json" not in (sys.argv[1:] if args is None else args) or isinstance(
        error, click.exceptions.NoArgsIsHelpError
    ):
        return
    from bankwright.forms.as_json import dumps
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.documents import faults_document

    if isinstance(error, QuestionError):
        click.echo(dumps(faults_document(error.faults)))
    elif isinstance(error, click.ClickException):
        hint = getattr(error, "param_hint", None)
        path = ", ".join(hint) if isinstance(hint, (list, tuple)) else hint or ""
        click.echo(dumps(faults_document([Fault(path, "wrong-usage", error.message)])))


def _code_of(end: SystemExit) -> int:
    if end.code is None or isinstance(end.code, int):
        return end.code or 0
    click.echo(str(end.code), err=True)
    return 2


def _show_wrong(error: click.ClickException) -> None:
    """Usage and the error, folded to the terminal's width."""
    from bankwright.cli.show.findings import hung

    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        error.show()
        return
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is not None:
        click.echo(f"{context.get_usage()}\nTry '{context.command_path} --help' for help.\n", err=True)
    click.echo(hung(f"Error: {error.format_message()}"), err=True)


def _ended_by(error: Exception) -> int:
    """Say what ended the run: 2 for a wrong question or a file that refuses, 3 for a fault of this program."""
    from bankwright.cli.show.findings import hung
    from bankwright.forms.faults import QuestionError
    from bankwright.job.file import ChangedOutside

    if isinstance(error, QuestionError):
        click.echo("\n".join(hung(line) for line in str(error).splitlines()), err=True)
        return 2
    if isinstance(error, ChangedOutside):
        click.echo(hung(f"Error: {error}"), err=True)
        return 2
    if isinstance(error, OSError):
        names = ", ".join(str(name) for name in (error.filename, error.filename2) if name)
        words = f"{names}: {error.strerror}" if names and error.strerror else str(error.strerror or error)
        click.echo(hung(f"Error: {words}"), err=True)
        return 2
    import traceback

    click.echo("".join(traceback.format_exception(error)), nl=False, err=True)
    click.echo("This is a fault of Bankwright, not of your bank. Nothing was concluded.", err=True)
    return 3
