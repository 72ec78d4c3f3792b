"""`bankwright draw`: files written, cases chosen, faults told."""

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from click.testing import CliRunner

from bankwright.cli.draw import command

pytestmark = pytest.mark.quick

DEMO = Path(__file__).parents[2] / "demo" / "barn.toml"
FILES = {"wiring.svg", "wiring-phone.svg", "one-line.svg", "rack.svg", "shares.svg"}


def run(*args: str) -> tuple[int, str]:
    result = CliRunner().invoke(command, [str(DEMO), *args])
    return result.exit_code, result.output


def test_all_drawings_are_written_and_are_xml(tmp_path: Path) -> None:
    code, said = run("-o", str(tmp_path / "out"), "--plain")
    assert code == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == FILES
    for path in (tmp_path / "out").iterdir():
        assert ET.parse(path).getroot().tag.endswith("svg")
        assert path.name in said


def test_another_case_letters_other_currents(tmp_path: Path) -> None:
    texts = []
    for case in ("full discharge", "full charge"):
        assert run("-o", str(tmp_path), "--plain", "--case", case)[0] == 0
        texts.append((tmp_path / "wiring.svg").read_text("utf-8"))
        assert f"Bank drawing, {case}" in texts[-1]
    assert texts[0] != texts[1]


def test_cases_are_listed() -> None:
    code, said = run("--case", "list")
    assert code == 0
    assert "full discharge" in said.splitlines()


def test_an_unknown_case_is_told_with_the_nearest(tmp_path: Path) -> None:
    code, said = run("-o", str(tmp_path), "--case", "full discharg")
    assert code == 2
    assert '"full discharge"' in said


def test_findings_are_numbered_as_in_the_drawing(tmp_path: Path) -> None:
    code, said = run("-o", str(tmp_path))
    assert code == 0
    assert "numbers in the drawing" in said
    assert 'class="balloon"' in (tmp_path / "wiring.svg").read_text("utf-8")
