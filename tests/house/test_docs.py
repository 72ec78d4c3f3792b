"""The pages that are made from the code say what the code says; links between pages lead somewhere."""

import importlib.util
import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def tool(name):
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


def made_pages():
    return tool("make_docs").pages()


@pytest.mark.parametrize(
    "name", ["checks.md", "commands.md", "bank-file.md", "sources.md", "words.md", "architecture.md"]
)
def test_a_made_page_is_up_to_date(name):
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == made_pages()[name], "run `make docs`"


def test_the_page_of_long_tests_lists_each_of_them():
    soak = tool("soak")
    assert soak.PAGE.read_text(encoding="utf-8") == soak.page(soak.rows()), "run `make soak`, or tools/soak.py --list"
    assert all(len(words) > 20 for words in soak.tests().values()), "a long test says in a line what it does"


def test_links_and_pictures_lead_somewhere():
    broken = []
    for page in [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")]:
        for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            if "://" not in target and not (page.parent / target).exists():
                broken.append(f"{page.name}: {target}")
    assert not broken


def test_project_text_says_never_that_a_thing_is_safe_and_names_no_machine():
    wrong = []
    for path in [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "src").rglob("*.py")]:
        text = path.read_text(encoding="utf-8")
        if re.search(r"\bis safe\b|\bare safe\b", text):
            wrong.append(f"{path.relative_to(ROOT)} calls a thing safe")
        if re.search(r"(?<![A-Za-z0-9_.])/(work|root|home)/", text):
            wrong.append(f"{path.relative_to(ROOT)} carries a path of one machine")
    assert not wrong
