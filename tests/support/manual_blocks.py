"""Fenced blocks of the manual, and a reader that does what a page says in a folder of its own.

Marks stand in a comment before a fence; a reader does not see them:
    refuses                 every command of the block ends with exit code 2
    not run: WHY            commands are parsed, Python is compiled, nothing is run
    file NAME               the block is the content of that file, which the reader has by now
    edit NAME: A => B       the reader changes every A of that file into B; \\n is the end of a line
    empty folder            the reader begins without the demo banks
A block `sh` holds commands, `python` a program that goes on with the names of the page's earlier ones. A block `text`
after commands is printed by them: each of its lines, a line "..." apart.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import shutil
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import click

from bankwright.bank.texts.demo import write_demo
from bankwright.cli.main import group, main

ROOT = Path(__file__).parents[2]
PAGES = tuple(sorted([ROOT / "README.md", *(ROOT / "docs").rglob("*.md")]))
_FENCE = re.compile(r"^(`{3,})([^\n`]*)\n(.*?)^\1$", re.DOTALL | re.MULTILINE)
_MARKS = re.compile(r"(?:<!-- (?:(?!-->).)*-->\s*)+\Z", re.DOTALL)
_MARK = re.compile(r"<!-- (.*?) -->", re.DOTALL)
_LOOSE = re.compile(r"^(?:    )?(?:\$ )?bankwright [a-z]", re.MULTILINE)
_PARTED = re.compile(r"(?:\s{2,}|\s)#\s.*$")


@dataclass(frozen=True)
class Block:
    """One fence with the marks before it."""

    page: Path
    line: int
    info: str
    body: str
    marks: tuple[str, ...]

    def mark(self, name: str) -> str | None:
        """What stands behind a mark; None where it is not set."""
        for each in self.marks:
            if each == name or each.startswith((f"{name}:", f"{name} ")):
                return each[len(name) :].lstrip(": ")
        return None

    def __str__(self) -> str:
        return f"{self.page.relative_to(ROOT)}:{self.line}"


def blocks(page: Path) -> tuple[Block, ...]:
    """Every fence of a page, in order."""
    text = page.read_text("utf-8")
    return tuple(_blocks(page, text))


def _blocks(page: Path, text: str) -> Iterator[Block]:
    for found in _FENCE.finditer(text):
        before = _MARKS.search(text[: found.start()])
        marks = tuple(" ".join(mark.split()) for mark in _MARK.findall(before[0])) if before else ()
        yield Block(page, text.count("\n", 0, found.start()) + 1, found[2].strip(), found[3], marks)


def loose_commands(page: Path) -> list[str]:
    """Commands that stand outside a fence `sh`: they would never be tried."""
    text = page.read_text("utf-8")
    kept = _FENCE.sub(lambda found: "" if found[2].strip() == "sh" else found[0], text)
    return [kept[found.start() :].splitlines()[0] for found in _LOOSE.finditer(kept)]


def commands(block: Block) -> list[list[str]]:
    """The commands of a fence, one a line; a line that ends in a backslash goes on; a comment ends it."""
    joined = block.body.replace("\\\n", " ")
    lines = (_PARTED.sub("", line).strip() for line in joined.splitlines())
    return [shlex.split(line) for line in lines if line and not line.startswith("#")]


@dataclass
class Reader:
    """Somebody who does what a page says, word for word, in the current folder."""

    printed: str = ""
    names: dict[str, object] = field(default_factory=lambda: {"__name__": "manual"})

    def does(self, block: Block) -> None:
        """Follow one block; AssertionError says where the page is wrong."""
        for mark in block.marks:
            if mark.startswith("edit "):
                self._edits(block, mark)
        name = block.mark("file")
        if name is not None:
            Path(name).parent.mkdir(parents=True, exist_ok=True)
            Path(name).write_text(block.body, "utf-8")
        elif block.info == "sh":
            self._commands(block)
        elif block.info == "python":
            self._python(block)
        elif block.info == "text" and self.printed:
            self._compares(block)
        elif block.info == "toml":
            tomllib.loads(block.body)

    def _edits(self, block: Block, mark: str) -> None:
        name, _, change = mark.removeprefix("edit ").partition(": ")
        old, _, new = change.replace("\\n", "\n").partition(" => ")
        text = Path(name).read_text("utf-8")
        assert old in text, f"{block}: {name} holds no {old!r}"
        Path(name).write_text(text.replace(old, new), "utf-8")

    def _commands(self, block: Block) -> None:
        why, wanted = block.mark("not run"), (2,) if block.mark("refuses") is not None else (0, 1)
        self.printed = "" if why is None else self.printed
        for words in commands(block):
            if words[0] == "cp":
                shutil.copy(words[1], words[2])
            elif words[0] != "bankwright":
                assert why, f"{block}: only `bankwright` and `cp` are run; mark it `not run: WHY`"
            elif why is None:
                code, told = run(words[1:])
                assert code in wanted, f"{block}: {shlex.join(words)} ended with {code}\n{told[-1500:]}"
                self.printed += told
            else:
                parsed(words[1:])

    def _python(self, block: Block) -> None:
        code = compile("\n" * block.line + block.body, str(block.page), "exec")
        if block.mark("not run") is None:
            out = io.StringIO()
            with contextlib.redirect_stdout(out):
                exec(code, self.names)
            self.printed = out.getvalue()

    def _compares(self, block: Block) -> None:
        told = [" ".join(line.split()) for line in self.printed.splitlines()]
        for line in block.body.splitlines():
            wanted = " ".join(line.split())
            if wanted and wanted != "...":
                assert any(wanted in each for each in told), f"{block}: never printed: {line}\n{self.printed[:3000]}"


def run(words: list[str]) -> tuple[int, str]:
    """Run a command as typed, without a terminal; its exit code, and all that it prints."""
    kept = sys.stdout, sys.stderr, sys.stdin
    both = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    sys.stdout, sys.stderr, sys.stdin = both, both, io.StringIO()
    try:
        main(words)
    except SystemExit as end:
        code = end.code
    finally:
        sys.stdout, sys.stderr, sys.stdin = kept
    both.flush()
    return int(code or 0), both.buffer.getvalue().decode("utf-8")


def parsed(words: list[str]) -> None:
    """Parse a command without running it: every option exists and takes what stands there."""
    context = click.Context(group, info_name="bankwright")
    command, rest = group, list(words)
    while isinstance(command, click.Group) and rest and rest[0] in command.list_commands(context):
        found = command.get_command(context, rest[0])
        assert found is not None
        command, rest = found, rest[1:]
    with contextlib.suppress(click.exceptions.Exit), contextlib.redirect_stdout(io.StringIO()):
        command.make_context(command.name, rest)


def follow(page: Path) -> None:
    """Do all that a page says in the current folder, which is empty."""
    every = blocks(page)
    if not any(block.mark("empty folder") is not None for block in every):
        write_demo(Path())
    reader = Reader()
    for block in every:
        reader.does(block)
