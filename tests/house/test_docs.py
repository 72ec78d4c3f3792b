"""The pages that are made from the code say what the code says; links between pages lead somewhere."""

import importlib.util
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def made_pages():
    spec = importlib.util.spec_from_file_location("make_docs", ROOT / "tools" / "make_docs.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.pages()


@pytest.mark.parametrize("name", ["checks.md", "commands.md", "bank-file.md", "sources.md"])
def test_a_made_page_is_up_to_date(name):
    assert (ROOT / "docs" / name).read_text(encoding="utf-8") == made_pages()[name], "run `make docs`"


def test_links_and_pictures_lead_somewhere():
    broken = []
    for page in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]:
        for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            if "://" not in target and not (page.parent / target).exists():
                broken.append(f"{page.name}: {target}")
    assert not broken


def test_project_text_says_never_that_a_thing_is_safe_and_names_no_machine():
    wrong = []
    for path in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md"), *(ROOT / "src").rglob("*.py")]:
        text = path.read_text(encoding="utf-8")
        if re.search(r"\bis safe\b|\bare safe\b", text):
            wrong.append(f"{path.relative_to(ROOT)} calls a thing safe")
        if re.search(r"(?<![A-Za-z0-9_.])/(work|root|home)/", text):
            wrong.append(f"{path.relative_to(ROOT)} carries a path of one machine")
    assert not wrong
