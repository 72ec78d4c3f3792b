"""Rooms one mind wide: a file longer than 400 lines is refused unless a reason is listed here."""

from pathlib import Path

SRC = Path(__file__).parents[2] / "src" / "bankwright"
MOST = 400
REASONS: dict[str, str] = {}


def test_no_source_file_is_longer_than_one_mind_is_wide():
    long = {
        str(path.relative_to(SRC)): count
        for path in SRC.rglob("*.py")
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > MOST
    }
    assert set(long) == set(REASONS), long


def test_every_module_says_what_it_gives():
    silent = [
        str(path.relative_to(SRC))
        for path in SRC.rglob("*.py")
        if not path.read_text(encoding="utf-8").lstrip().startswith('"""')
    ]
    assert not silent
