"""Each module says what it gives, and gives it; the package root offers a fixed list of names, none loaded early."""

from __future__ import annotations

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

SRC = Path(__file__).parents[2] / "src"
BARN = SRC.parent / "demo" / "barn.toml"
FACE = ["BankFileError", "Job", "__version__", "differences", "draw", "match", "open_bank", "reading"]
HEAVY = ("numpy", "scipy", "pydantic", "click", "bankwright.job", "bankwright.bank", "bankwright.draw")


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(SRC).with_suffix("").parts).removesuffix(".__init__")


MODULES = [path for path in sorted(SRC.rglob("*.py")) if path.name != "__main__.py"]


def gives(tree: ast.Module) -> list[str]:
    """Public functions, classes and values that a module makes."""
    made = [node.name for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    for node in tree.body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        made += [target.id for target in targets if isinstance(target, ast.Name)]
    return [name for name in made if not name.startswith("_")]


def listed(tree: ast.Module) -> list[str] | None:
    """Names in `__all__`, read without running the module; None when there is none."""
    found: list[str] | None = None
    for node in tree.body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AugAssign) else []
        )
        if any(isinstance(target, ast.Name) and target.id == "__all__" for target in targets):
            found = (found or []) + list(ast.literal_eval(node.value))  # type: ignore[union-attr]
    return found


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_module_lists_what_it_gives(path: Path) -> None:
    tree = parsed(path.read_text("utf-8"))
    names = listed(tree)
    if names is None:
        assert not gives(tree), f"{name_of(path)} gives {gives(tree)} without __all__"
        return
    assert len(names) == len(set(names)), f"{name_of(path)} lists a name twice"
    assert [name for name in names if name.startswith("_") and name != "__version__"] == []
    module = import_module(name_of(path))
    missing = [name for name in names if not hasattr(module, name)]
    assert not missing, f"{name_of(path)} lists {missing}, which it does not have"


def test_the_face_is_this_list() -> None:
    import bankwright

    assert bankwright.__all__ == FACE
    assert dir(bankwright) == sorted(FACE)
    for name in FACE:
        assert getattr(bankwright, name) is not None
    with pytest.raises(AttributeError, match="no public name 'manager'; it has BankFileError"):
        _ = bankwright.manager


def test_importing_the_package_loads_nothing() -> None:
    code = f"import sys, bankwright; print([name for name in {HEAVY!r} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_the_face_does_the_job(tmp_path: Path) -> None:
    import bankwright as bw

    job = bw.open_bank(BARN)
    other = job.changed("kinds.inverter.box-5k.power", "2 kW")
    assert {line.code for line in bw.differences(job, other)}
    assert job.steady.case("full discharge").share("M1") == pytest.approx(0.2, abs=0.01)
    assert bw.draw.wiring(job.bank).save(tmp_path / "wiring.svg").read_text("utf-8").startswith("<svg")


@pytest.mark.slow
def test_match_is_a_room_that_can_be_called() -> None:
    import bankwright as bw
    import bankwright.match.verdicts as verdicts

    bank = bw.open_bank(BARN).bank
    low = [bw.reading(f"M{k}", "52.60 V", rested="6 h", temperature="15 degC") for k in (1, 2, 3, 4)]
    far = bw.match(bank, [*low, bw.reading("M5", "54.9 V")], meter="0.5 % + 2 digits")
    assert isinstance(far, verdicts.Match)
    assert [round(each.voltage, 2) for each in far.readings] == [52.6] * 4 + [54.9]
    assert far.may_join == "fail"


def test_a_faulty_file_is_told_by_its_own_error(tmp_path: Path) -> None:
    import bankwright as bw

    file = tmp_path / "short.toml"
    file.write_text("format = 1\n")
    with pytest.raises(bw.BankFileError) as caught:
        bw.open_bank(file)
    assert {fault.path for fault in caught.value.faults} == {"modules", "wiring"}
