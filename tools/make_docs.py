"""Writes the pages under docs/ that are made from the code: checks, commands, bank file, sources, the floors.

`make docs` runs it; tests/house/test_docs.py compares what stands there with what would be written.
"""

import importlib.util
import inspect
import re
import sys
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from types import ModuleType

import click

from bankwright.bank.texts.manual import manual
from bankwright.bank.texts.words import words
from bankwright.build.cards import CARDS as BUILD
from bankwright.buy.cards import CARDS as BUY
from bankwright.cli.main import COMMANDS, group
from bankwright.forms.card import Card
from bankwright.forms.checks import Check
from bankwright.forms.codes import place_text, places
from bankwright.handbook.sources import Entry, all_sources
from bankwright.match import charge_checks, join_checks
from bankwright.match.cards import CARDS as MATCH
from bankwright.plan.checks import CHECKS
from bankwright.plan.lists.not_checked import NOT_CHECKED, SILENT

DOCS = Path(__file__).parents[1] / "docs"


def checks_page() -> str:
    """One page with every check of Plan, a heading a family."""
    lines = [
        "# Checks",
        "",
        "Every check has a place on the sheet, for people, and a code that never changes, for machines. First the checks of Plan, then those",
        "of the other stages. Made from the checks themselves by `make docs`. `bankwright plan FILE --explain CODE` prints the same with the numbers of a",
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
        lines += [f"### {place_text(item.code)} {item.title} ({item.code}){books}", "", _parted(item.why), ""]
    lines += ["## Not checked by any of these", "", *(f"- {words}" for words in (*NOT_CHECKED, *SILENT)), ""]
    return "\n".join((*lines, *_other_stages()))


def _other_stages() -> Iterator[str]:
    """Checks of Buy, Build and Match, in the order of the sheet: title, what and why, source."""
    checks = {item.code: item for item in (*join_checks.CHECKS, *charge_checks.CHECKS)}
    by_code: dict[str, list[Card]] = {}
    for card in (*BUY, *BUILD, *MATCH):
        by_code.setdefault(card.code, []).append(card)
    told = {item.code for item in CHECKS}
    stage = ""
    for code, place in places().items():
        if code in told:
            continue
        if place.stage != stage:
            stage = place.stage
            yield from (f"## {'Further checks' if stage == 'Plan' else 'The checks'} of {stage}", "")
        if code not in by_code:
            yield from (f"### {place} {place.title} ({code})", "", _elsewhere(stage, place.retired), "")
        for card in by_code.get(code, ()):
            why = _parted(checks[code].why if code in checks else f"{card.why}\nSource: {card.source}")
            yield from (f"### {place} {card.title} ({code})", "", why, "")


def _parted(why: str) -> str:
    """What a check says of itself, a paragraph each for why, what it does not see, and source."""
    return re.sub(r"(?<!\n)\n(?=(?:Cases?|Why|Not seen here|Sources?|Limits): )", "\n\n", inspect.cleandoc(why))


def _elsewhere(stage: str, retired: bool) -> str:
    """Where a check that has no card is told."""
    if retired:
        return "Retired: it is given out no more."
    page = "bus.md" if stage == "Bus" else f"{stage.lower()}.md"
    link = f"[{stage}]({page})" if (DOCS / page).exists() else stage
    return f"It comes with its own words where it is said; what it looks at is told under {link}."


def _family(item: Check) -> str:
    module = inspect.getmodule(item.function)
    assert module is not None
    return (module.__doc__ or "").strip().splitlines()[0].rstrip(".")


ENDINGS = """## How a command ends

| exit code | meaning |
| --- | --- |
| 0 | done; cautions and unknowns are counted in what is printed. `match`: the modules may be joined |
| 1 | a finding fails (with `--strict`: or is unknown). `match`: they may not be joined, or it cannot be told |
| 2 | the question was wrong, or a file cannot be read or written, or a source was never reached (`survey`, `listen`): in words, on standard error |
| 3 | the program failed: in one check, whose finding says so while the others stand, or altogether |
| 130 | stopped with Ctrl-C; `open`, `listen` and `pretend` end with 0, that is their ordinary end, and so do `new` and `ask` at a question |

Every file that is written is whole or not there at all, and none replaces a bank file, its previous text, a logbook or
a file that was read. Output is UTF-8 in any locale, JSON is ASCII. Controls in a file's own texts are printed as marks.

## What it takes from the environment

| variable | meaning |
| --- | --- |
| `COLUMNS` | width of the text, 40 to 200; else that of the terminal, at most 80; 80 in a pipe |
| `NO_COLOR` | set to anything: no colours. A pipe never gets any |
| `TERM=dumb` | neither colours nor a progress line |
| `DISPLAY`, `WAYLAND_DISPLAY` | on Linux: whether `open` and `manual` may start a browser |
| `BROWSER` | which browser they start |
| `_BANKWRIGHT_COMPLETE` | [completion in the shell](how-to/shell-completion.md) |

There is no configuration file: what a bank is stands in its bank file, what was read and done in its logbook.
"""


def commands_page() -> str:
    """Help of every command."""
    lines = ["# Commands", "", "Made from the commands themselves by `make docs`.", "", ENDINGS]
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

Made from the handbook by `make docs`: first the sources that the program reads, each with the table or clause that carries it, then
the tables that only its tests hold it against (`tests/outside/tables`). The words in brackets say how a value is known: *read* at the stated place; *copy*,
read in openly published transcriptions of the printed table; *from memory*, not seen, to be checked before a decision rests on
it; *derived* from a stated law; *common practice, no source*. Sources of formulas stand in the docstrings of
`src/bankwright/physics`, those of closed forms in `tests/outside/closed_forms.py`, those of tests beside each assertion. Addresses that carry a maker's, seller's or person's name are
withheld. A licensed copy of a code outranks everything here; local codes and a licensed electrician have the last word.
"""


def words_page() -> str:
    """Every word of the trade as it is used here."""
    lines = ["# Words", "", "Made from the program's list by `make docs`; `bankwright what WORD` prints one.", ""]
    lines += ["![A bank with its parts named](pictures/words.svg)", ""]
    slugs = {each.word: re.sub(r"[^\w\- ]", "", each.word.lower()).replace(" ", "-") for each in words()}
    for each in words():
        also = f" Also: {', '.join(each.also)}." if each.also else ""
        see = f" See {', '.join(f'[{word}](#{slugs[word]})' for word in each.see)}." if each.see else ""
        lines += [f"## {each.word}", "", f"{each.text}{also}{see}", ""]
    return "\n".join(lines)


SECOND = """The published tables stand a second time in `tests/outside/second_words.toml`, taken from a reference book of the same documents, each with
its document and how it is known; a test holds the handbook and the rule books against it. Numbers that have no second word:
"""


def sources_page() -> str:
    """Every source, by document and what for: first what the program reads, then what only its tests hold it against."""
    parts = [SOURCES, "## Used by the program\n"]
    for document, entries in groupby(all_sources(), key=lambda entry: entry.source.document):
        lines = dict.fromkeys(_source_line(entry) for entry in entries)
        parts.append(f"### {document}\n\n" + "\n".join(lines) + "\n")
    parts.append("## Kept as a check: only the tests read these\n")
    tables = _by_path("outside_tables").outside_tables()
    parts.append("\n".join(_source_line(Entry(table.source, table.id, table.seen)) for table in tables) + "\n")
    parts.append("## Without a second word\n")
    parts.append(SECOND)
    parts.append("\n".join(_by_path("second_words").lines()) + "\n")
    return "\n".join(parts)


def _source_line(entry: Entry) -> str:
    seen = f" ({entry.seen})" if entry.seen else ""
    return f"- {entry.source}: `{entry.used_for}`{seen}"


def _by_path(name: str) -> ModuleType:
    """A helper of the tests, which are no package."""
    spec = importlib.util.spec_from_file_location(name, DOCS.parent / "tests" / "support" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def architecture_page() -> str:
    """The page as it stands, with the table of floors and the line of each room made anew."""
    text = (DOCS / "architecture.md").read_text(encoding="utf-8")
    made = f"\\1\n\n{_by_path('floors').floor_table()}\n\n\\2"
    return re.sub(r"(<!-- floors: [^>]*-->)\n.*?(<!-- floors end -->)", made, text, flags=re.DOTALL)


def pages() -> dict[str, str]:
    """Every page that is made, by name."""
    return {
        "checks.md": checks_page(),
        "commands.md": commands_page(),
        "bank-file.md": manual(),
        "sources.md": sources_page(),
        "words.md": words_page(),
        "architecture.md": architecture_page(),
    }


if __name__ == "__main__":
    for page, text in pages().items():
        (DOCS / page).write_text(text, encoding="utf-8")
        print(f"docs/{page}", file=sys.stderr)
