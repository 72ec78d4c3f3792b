"""Sets of invented banks: in most of them one mistake must be found where it is and for what it is; the others stand.

Gives: tests over the sets beside this file, fresh to fresh7. Verdicts, places and reasons were judged by
hand from the rules that a bank's rule book and the manual state, never taken from an answer of the program;
expected.toml says how each entry is read. NOT_YET names the banks that are not judged rightly yet; one that becomes
right must leave.
"""

import re
import tomllib
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import bank_from
from bankwright.forms.checks import findings
from bankwright.forms.finding import Finding
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import Plan, plan_of
from bankwright.plan.results import findings_of

SETS = {
    one: Path(__file__).parent / one
    for one in ("fresh", "fresh2", "fresh3-own", "fresh4", "fresh5", "fresh6", "fresh7")
}
TABLES = {one: tomllib.loads((room / "expected.toml").read_text(encoding="utf-8")) for one, room in SETS.items()}
MET_BY = {"fail": ("fail",), "caution": ("caution", "unknown", "fail"), "unknown": ("unknown",)}
NOT_YET: frozenset[str] = frozenset()


def rows(part: str) -> list:
    late = pytest.mark.xfail(strict=True, reason="not judged rightly yet")
    named = [(one, name) for one, table in TABLES.items() for name in table[part]]
    return [pytest.param(one, name, marks=late if name in NOT_YET else (), id=f"{one}-{name}") for one, name in named]


def plan_named(one: str, name: str) -> Plan:
    return plan_of(bank_from(Document.read(SETS[one] / f"{name}.toml")))


@cache
def by_checks(one: str, name: str) -> tuple[Finding, ...]:
    """What the checks that may find a mistake say; the others are not run."""
    plan, due = plan_named(one, name), TABLES[one]["bad"][name]
    asked = tuple(check for check in CHECKS if any(fnmatchcase(check.code, code) for code in due["codes"]))
    return tuple(findings(asked, plan, plan.bank.book))


def told(finding: Finding) -> str:
    return " ".join([finding.title, finding.text.text() if finding.text else "", finding.do.text()])


def speaks_of(text: str, word: str) -> bool:
    """Whether a word, or a word that begins so, stands in the text; units and short forms as whole words."""
    short = len(word) <= 2
    pattern = rf"(?<![A-Za-z]){re.escape(word)}" + (r"(?![A-Za-z])" if short else "")
    return re.search(pattern, text, 0 if short else re.IGNORECASE) is not None


def rightly(finding: Finding, due: dict) -> bool:
    """At least the due verdict, at the thing that is wrong, by a check that may find it, for that reason."""
    at = any(fnmatchcase(place, one) for place in (*finding.at, *finding.more) for one in due["at"])
    by = any(fnmatchcase(finding.code, one) for one in due["codes"])
    why = any(speaks_of(told(finding), word) for word in due.get("says", ())) or "says" not in due
    named = "key" not in due or any(due["key"] in one.key for one in finding.missing)
    return finding.verdict in MET_BY[due["due"]] and at and by and why and named


def given(document: dict, key: str) -> bool:
    """Whether the file gives a value under this dotted key; `modules[2].slot` counts from 0."""
    here: object = document
    for part in re.findall(r"[^.\[\]]+", key):
        if isinstance(here, list) and part.isdigit() and int(part) < len(here):
            here = here[int(part)]
        elif isinstance(here, dict) and part in here:
            here = here[part]
        else:
            return False
    return True


def names_what_is_missing(finding: Finding, document: dict) -> bool:
    """Whether an unknown names at least one key, and none that the file gives."""
    return bool(finding.missing) and not any(given(document, one.key) for one in finding.missing)


@pytest.mark.slow
@pytest.mark.parametrize(("one", "name"), rows("bad"))
def test_the_mistake_is_found_where_it_is(one, name):
    due = TABLES[one]["bad"][name]
    seen = [f"{f.verdict} {f.code} {f.at} {told(f)}" for f in by_checks(one, name) if f.verdict != "pass"]
    assert any(rightly(finding, due) for finding in by_checks(one, name)), "\n".join([due["why"], *seen])


@pytest.mark.slow
@pytest.mark.parametrize(("one", "name"), rows("sound"))
def test_a_sound_bank_does_not_fail_and_its_unknowns_name_what_is_not_given(one, name):
    document = tomllib.loads((SETS[one] / f"{name}.toml").read_text(encoding="utf-8"))
    every = findings_of(plan_named(one, name))
    failing = [f"{f.code} {f.at} {told(f)}" for f in every if f.verdict == "fail"]
    unknown = [f for f in every if f.verdict == "unknown"]
    idle = [f"{f.code} {f.at} {told(f)}" for f in unknown if not names_what_is_missing(f, document)]
    assert not failing, "\n".join(failing)
    assert not idle, "\n".join(idle)


@pytest.mark.parametrize("one", SETS)
def test_the_set_is_whole(one):
    files = {path.stem for path in SETS[one].glob("*.toml")} - {"expected", "map15", "map16"}
    assert files == {*TABLES[one]["bad"], *TABLES[one]["sound"]}
    assert (len(TABLES[one]["bad"]), len(TABLES[one]["sound"])) == ((16, 4) if one == "fresh3-own" else (30, 10))


def test_no_bank_has_two_places_and_all_that_wait_exist():
    names = [name for table in TABLES.values() for part in ("bad", "sound") for name in table[part]]
    assert len(names) == len(set(names))
    assert set(names) >= NOT_YET
