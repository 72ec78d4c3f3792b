"""The wheel holds every file, the demo banks and a manual that needs no internet; the sdist brings its own tests."""

import re
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def built(target, folder):
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", target, "-d", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    (made,) = folder.iterdir()
    return made


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, whose manual was built with warnings as errors: a link that leads nowhere fails here."""
    return zipfile.ZipFile(built("wheel", tmp_path_factory.mktemp("wheel")))


@pytest.fixture(scope="module")
def manual(wheel):
    names = [name for name in wheel.namelist() if name.startswith("bankwright/manual/")]
    return {name.removeprefix("bankwright/manual/"): wheel.read(name) for name in names}


@pytest.mark.slow
@pytest.mark.xdist_group("wheel")
def test_the_wheel_holds_every_file_of_the_source_tree(wheel):
    packed = set(wheel.namelist())
    source = {
        str(path.relative_to(ROOT / "src"))
        for path in (ROOT / "src" / "bankwright").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert source <= packed, sorted(source - packed)
    for name in ("four.toml", "barn.toml", "barn-map.toml"):
        assert wheel.read(f"bankwright/demo/{name}") == (ROOT / "demo" / name).read_bytes()


@pytest.mark.slow
@pytest.mark.xdist_group("wheel")
def test_the_wheel_holds_every_page_of_the_manual_and_each_is_listed(manual):
    pages = {path.relative_to(ROOT / "docs").with_suffix(".html").as_posix() for path in (ROOT / "docs").rglob("*.md")}
    assert pages <= set(manual), sorted(pages - set(manual))
    contents = manual["index.html"].decode()
    unlisted = [page for page in pages - {"index.html"} if f'href="{page}"' not in contents]
    assert unlisted == [], "not in the contents of the manual"


@pytest.mark.slow
@pytest.mark.xdist_group("wheel")
def test_the_manual_loads_nothing_from_elsewhere_and_nothing_inline(manual):
    wrong = []
    for name, content in manual.items():
        text = content.decode() if name.endswith((".html", ".css")) else ""
        if name.endswith(".html"):
            loaded = re.findall(r'<(?:script|img|link|iframe)[^>]*?(?:src|href)="([^"]*)"', text)
            wrong += [f"{name}: {address}" for address in loaded if re.match(r"(?:https?:)?//", address)]
            wrong += [f"{name}: inline" for _ in re.findall(r"<style|<script>| style=\"", text)]
            wrong += [f"{name}: missing {a}" for a in loaded if not there(manual, name, a)]
        wrong += [f"{name}: {address}" for address in re.findall(r"url\([\"']?(https?:[^)]*)", text)]
    assert wrong == []
    assert b"fuse" in manual["searchindex.js"]
    assert not [name for name in manual if name.endswith(".map")]


def there(manual, page, address):
    target = re.split(r"[?#]", address)[0]
    parts = page.split("/")[:-1]
    for part in target.split("/"):
        if part == "..":
            parts.pop()
        elif part:
            parts.append(part)
    return not target or "/".join(parts) in manual


@pytest.mark.slow
@pytest.mark.xdist_group("wheel")
def test_every_code_of_a_check_has_an_anchor(manual):
    from bankwright.forms.codes import places

    page = manual["checks.html"].decode()
    anchors = set(re.findall(r'\bid="([^"]*)"', page))
    assert {code.lower() for code in places()} <= anchors


def test_only_a_wheel_asks_for_what_the_manual_is_made_with(monkeypatch):
    monkeypatch.chdir(ROOT)
    monkeypatch.syspath_prepend(str(ROOT / "tools"))
    import backend

    assert any(name.startswith("sphinx") for name in backend.get_requires_for_build_wheel())
    for quick in (backend.get_requires_for_build_editable(), backend.get_requires_for_build_sdist()):
        assert not [name for name in quick if "sphinx" in name or "myst" in name]


@pytest.mark.slow
def test_the_sdist_brings_what_its_tests_need(tmp_path):
    with tarfile.open(built("sdist", tmp_path)) as packed:
        names = {name.partition("/")[2] for name in packed.getnames()}
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode == 0:
        assert set(listed.stdout.splitlines()) <= names, sorted(set(listed.stdout.splitlines()) - names)
    for needed in (
        "tools/make_docs.py",
        "tools/system-packages.sh",
        "tests/conftest.py",
        "CONTRIBUTING.md",
        "Makefile",
    ):
        assert needed in names


SEEN = """
import pytest

class Seen:
    @pytest.hookimpl(tryfirst=True)
    def pytest_ignore_collect(self, collection_path):  # a file is told, and not imported
        if collection_path.is_file():
            print("seen", collection_path)
            return True

pytest.main(["--collect-only", "-q", "-p", "no:cacheprovider"], plugins=[Seen()])
"""


@pytest.mark.slow
def test_every_test_folder_is_collected():
    files = {str(path) for path in (ROOT / "tests").rglob("test_*.py")}
    done = subprocess.run([sys.executable, "-c", SEEN], cwd=ROOT, capture_output=True, text=True)
    seen = {line.removeprefix("seen ") for line in done.stdout.splitlines() if line.startswith("seen ")}
    assert files <= seen, files - seen
