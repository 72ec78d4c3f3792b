"""Writes the pages under docs/ that are made from the code: checks, commands, bank file, sources.

`make docs` runs it; tests/house/test_docs.py compares what stands there with what would be written.
"""

import inspect
import sys
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

import click

from bankwright.bank.manual import manual
from bankwright.cli.main import COMMANDS, group
from bankwright.forms.checks import Check
from bankwright.handbook.sources import Entry, all_sources
from bankwright.plan.checks import CHECKS
from bankwright.plan.not_checked import NOT_CHECKED

DOCS = Path(__file__).parents[1] / "docs"


def checks_page() -> str:
    """One page with every check of Plan, a heading a family."""
    lines = [
        "# The checks of Plan",
        "",
        "Made from the checks themselves by `make docs`. `bankwright plan FILE --explain CODE` prints the same with the numbers of a",
        "bank put in. A code test (a rating against a need) passes at equality; a physical test (a computed figure against a limit) fails",
        "at a ratio of 1.00 or less and cautions below 1.05, temperatures by difference (0 K, 5 K).",
        "",
    ]
    family = ""
    for item in CHECKS:
        here = item.code.split("-")[1]
        if here != family:
            family = here
            lines += [f"## {_family(item)}", ""]
        books = "" if len(item.books) > 1 else f" ({item.books[0]} only)"
        lines += [f"### {item.code} {item.title}{books}", "", inspect.cleandoc(item.why), ""]
    lines += ["## Not checked by any of these", "", *(f"- {words}" for words in NOT_CHECKED), ""]
    return "\n".join(lines)


def _family(item: Check) -> str:
    module = inspect.getmodule(item.function)
    assert module is not None
    return (module.__doc__ or "").strip().splitlines()[0].rstrip(".")


def commands_page() -> str:
    """Help of every command."""
    lines = ["# Commands", "", "Made from the commands themselves by `make docs`.", ""]
    for name, _ in COMMANDS.items():
        for path, command in _with_subcommands(name):
            context = click.Context(
                command, info_name=f"bankwright {path}", terminal_width=80, help_option_names=["-h", "--help"]
            )
            command._help_option = None  # made anew: it keeps the names of the context it was first made in
            lines += [f"## bankwright {path}", "", "```", command.get_help(context).rstrip(), "```", ""]
    return "\n".join(lines)


def _with_subcommands(name: str) -> Iterator[tuple[str, click.Command]]:
    command = group.get_command(click.Context(group), name)
    assert command is not None
    yield name, command
    if isinstance(command, click.Group):
        for sub in sorted(command.commands):
            yield f"{name} {sub}", command.commands[sub]


SOURCES = """# Sources

Made from the handbook by `make docs`. The words in brackets say how a value is known: *read* at the stated place; *copy*,
read in openly published transcriptions of the printed table; *from memory*, not seen, to be checked before a decision rests on
it; *derived* from a stated law; *common practice, no source*. Sources of formulas stand in the docstrings of
`src/bankwright/physics`, those of tests beside each assertion. Addresses that carry a maker's, seller's or person's name are
withheld. A licensed copy of a code outranks everything here; local codes and a licensed electrician have the last word.
"""


def sources_page() -> str:
    """Every source that the handbook rests on, by document, and what for."""
    parts = [SOURCES]
    for document, entries in groupby(all_sources(), key=lambda entry: entry.source.document):
        lines = dict.fromkeys(_source_line(entry) for entry in entries)
        parts.append(f"## {document}\n\n" + "\n".join(lines) + "\n")
    return "\n".join(parts)


def _source_line(entry: Entry) -> str:
    seen = f" ({entry.seen})" if entry.seen else ""
    return f"- {entry.source}: `{entry.used_for}`{seen}"


def pages() -> dict[str, str]:
    """Every page that is made, by name."""
    return {
        "checks.md": checks_page(),
        "commands.md": commands_page(),
        "bank-file.md": manual(),
        "sources.md": sources_page(),
    }


if __name__ == "__main__":
    for page, text in pages().items():
        (DOCS / page).write_text(text, encoding="utf-8")
        print(f"docs/{page}", file=sys.stderr)
