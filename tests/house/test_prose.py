"""What the prose names exists: names after "Gives", codes of checks, rooms and files, anywhere."""

from __future__ import annotations

import ast
import re
import tokenize
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path

import pytest

from bankwright.forms.codes import places
from support.floors import FLOORS, TO_COME
from support.imports import MODULES, SRC
from support.source import parsed

ROOT = SRC.parents[1]
PAGES = [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")]
ROOMS = "|".join(room for _, rooms, _ in FLOORS for room in rooms if room not in TO_COME)
ADDRESS = re.compile(rf"(?<![\w./`-])((?:{ROOMS})/[a-z0-9_]+(?:/[a-z0-9_]+)*)(?:\.(py|toml|css|html))?(?![\w/-])")
PATH = re.compile(r"(?<![\w./-])((?:tests|tools|docs|demo|bench|src)/[\w./-]*\w)")
CODE = re.compile(r"\b(?:[PMBHSVW]-[A-Z]{2,}(?:-\d+)?|BLD-[A-Z]+(?:-[A-Z]+)*)\b")
NOT_CODES = {"P-N"}
TO_COME_PAGES: set[str] = set()  # named already; a page that came leaves this list


pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]


@cache
def said(name: str) -> str:
    """The header of a module; by its quotes, which every module begins with, so that collecting parses nothing."""
    text = MODULES[name].read_text("utf-8")
    if text.startswith('"""'):
        return text[3 : text.index('"""', 3)].strip()
    return ast.get_docstring(parsed(text)) or ""


def given(header: str) -> list[str]:
    """Names that stand after "Gives:", up to the end of that sentence."""
    found = re.search(
        r"^Gives: (.*?)(?:\.(?=\s|$)|;? (?=Limits|Sources?|Law|Takes)|\Z)", header, re.DOTALL | re.MULTILINE
    )
    if found is None:
        return []
    return re.findall(r"\b([A-Za-z_]\w*)\(\)", found[1]) + re.findall(r"(?:^|, )([A-Z]\w*)(?=[,:;.]|$)", found[1])


@cache
def made(name: str) -> set[str]:
    """Names that a module or a class of it makes or takes in."""
    names: set[str] = set()
    for node in ast.walk(parsed(MODULES[name].read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.ImportFrom | ast.Import):
            names |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            names.add(node.id)
    return names


@pytest.mark.parametrize("name", [name for name in MODULES if "Gives: " in said(name)])
def test_what_a_header_gives_is_there(name: str) -> None:
    lacking = [each for each in given(said(name)) if each not in made(name)]
    assert not lacking, f"{name} does not give {lacking}"


def prose(path: Path) -> Iterator[tuple[str, int]]:
    """Docstrings, comments and texts of a Python file, each with its line."""
    with path.open("rb") as stream:
        for token in tokenize.tokenize(stream.readline):
            if token.type in (tokenize.COMMENT, tokenize.STRING):
                yield token.string, token.start[0]


@lru_cache(maxsize=1)
def pieces() -> tuple[tuple[str, str], ...]:
    """All prose of the project, each with the place where it stands."""
    return tuple(_pieces())


def _pieces() -> Iterator[tuple[str, str]]:
    for path in MODULES.values():
        for text, line in prose(path):
            yield f"{path.relative_to(ROOT)}:{line}", text
    for page in PAGES:
        if page.name not in ("CHANGELOG.md", "sources.md"):  # what was; files of others
            yield page.name, page.read_text("utf-8")


def test_codes_that_are_named_exist() -> None:
    families = {code.rsplit("-", 1)[0] for code in places()} | set(places())
    wrong = {
        f"{where}: {code}"
        for where, text in pieces()
        for code in CODE.findall(text)
        if code not in families | NOT_CODES
    }
    assert not wrong, "\n".join(sorted(wrong))


def stands(address: str, ending: str) -> bool:
    """Whether room/file is a file, a room or a family of files of the source tree, or room/file/name a name in one."""
    path = SRC / address
    if ending:
        return path.with_suffix(f".{ending}").exists()
    if path.is_dir() or path.with_suffix(".py").exists():
        return True
    module = MODULES.get("bankwright." + ".".join(address.split("/")[:-1]))
    return module is not None and address.rsplit("/", 1)[1] in made("bankwright." + ".".join(address.split("/")[:-1]))


def test_rooms_and_files_that_are_named_exist() -> None:
    wrong = set()
    for where, text in pieces():
        wrong |= {f"{where}: {found}" for found, ending in ADDRESS.findall(text) if not stands(found, ending)}
        wrong |= {
            f"{where}: {found}"
            for found in PATH.findall(text)
            if not (ROOT / found).exists() and found not in TO_COME_PAGES
        }
    assert not wrong, "\n".join(sorted(wrong))
    assert not [page for page in TO_COME_PAGES if (ROOT / page).exists()]


def test_the_guard_would_notice() -> None:
    assert given("Rules.\n\nGives: RULES, one(), Two; errors Three. A Fourth() is not meant.\n") == [
        "one",
        "RULES",
        "Two",
    ]
    assert CODE.findall("see P-CABLE-4 and BLD-JOINT-GROWN, not IEC-60") == ["P-CABLE-4", "BLD-JOINT-GROWN"]
    assert ADDRESS.findall("in bank/rules_places and circuit/run/step.py") == [
        ("bank/rules_places", ""),
        ("circuit/run/step", "py"),
    ]
    assert not stands("circuit/voltages", "")
    assert stands("circuit/run", "")
    assert stands("handbook/tables", "py")
