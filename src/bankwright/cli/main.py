"""The command `bankwright`: a table of commands, each loaded when it is called.

Gives: main(), COMMANDS. `--help` imports click alone. Exit codes: 0 done, 1 a finding fails, 2 the question was wrong.
Limits: no engineering here; each command is a thin shell over bankwright.job.
"""

from __future__ import annotations

import importlib
import os
import sys

import click

__all__ = ["COMMANDS", "main"]

# name -> (module, help in one line); in the order of the job
COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("new", "Write a commented bank file that plans."),
    "plan": ("plan", "Check a bank before anything is bought."),
    "compare": ("compare", "Show what differs between two banks, or after one change."),
    "draw": ("draw", "Draw the wiring, the one-line diagram and the rack."),
    "buy": ("buy", "Count every part that the bank needs."),
    "build": ("build", "Go through the building sheet step by step."),
    "match": ("match", "Tell whether the modules may be joined, and are equally charged."),
    "open": ("open", "Open the page of a bank in a browser, on this machine or beside the rack."),
    "log": ("log", "Read and write the bank's logbook."),
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
            import difflib

            near = difflib.get_close_matches(name, COMMANDS, 1)
            hint = f" Did you mean {near[0]!r}?" if near else " See bankwright --help."
            raise click.UsageError(f"There is no command {name!r}.{hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands, in the order of the job"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(cls=_Late, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.version_option(package_name="bankwright", message="bankwright %(version)s")
def group() -> None:
    """Plan, buy, build and match a home battery bank, from one bank file.

    It only advises. Local codes and a licensed electrician have the last word.
    """


def main(args: list[str] | None = None) -> None:
    """Run a command; faults of the question end with exit code 2 and their list on standard error."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # many small systems: starting threads costs more than it gives
    try:
        code = group.main(args=args, prog_name="bankwright", standalone_mode=False)
        sys.exit(code if isinstance(code, int) else 0)
    except click.Abort:
        click.echo("Aborted.", err=True)
        sys.exit(1)
    except click.ClickException as error:
        _show_wrong(error)
        sys.exit(error.exit_code)
    except BrokenPipeError:  # the reader went away: `bankwright plan ... | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        sys.exit(_ended_by(error))


def _show_wrong(error: click.ClickException) -> None:
    """Usage and the error, folded to the terminal's width."""
    from bankwright.cli.show import hung

    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        error.show()
        return
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is not None:
        click.echo(f"{context.get_usage()}\nTry '{context.command_path} --help' for help.\n", err=True)
    click.echo(hung(f"Error: {error.format_message()}"), err=True)


def _ended_by(error: Exception) -> int:
    """Say what ended the run: 2 for a wrong question, 3 for a fault of this program (with its trace)."""
    from bankwright.forms.checks import CheckCrashed
    from bankwright.forms.faults import QuestionError

    if isinstance(error, QuestionError):
        from bankwright.cli.show import hung

        click.echo("\n".join(hung(line) for line in str(error).splitlines()), err=True)
        return 2
    if not isinstance(error, CheckCrashed):
        raise error
    import traceback

    traceback.print_exception(error)
    click.echo("This is a fault of Bankwright, not of your bank. Nothing was concluded.", err=True)
    return 3
