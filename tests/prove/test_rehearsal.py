"""One whole first power-up on a pretend bank and rack: each planted fault is found by the reading that should do it.

What the hand reads is the bank with its faults, solved; the sheet knows the bank as its file has it.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.forms.faults import QuestionError
from bankwright.job import Job, open_bank
from bankwright.job.rehearsing import FAULTS, Rehearsal, planted, rehearsal, usual_faults
from support.proved import barn

ROOT = Path(__file__).parents[2]
BARN = ROOT / "demo" / "barn.toml"
SIX = {
    # planted fault: step, code and verdict of the reading that should find it
    "reversed:M4": ("B1", "V-ALONE-1", "fail"),
    "unplug:M2": ("B5", "V-SURVEY-1", "fail"),
    "low:M3=0.1 V": ("B6", "V-REST-1", "caution"),
    "bond": ("D2", "V-BOND-1", "fail"),
    "tired:F1=0.5 mohm": ("E2", "V-PATH-1", "caution"),
    "loose:L3+@M3+=1 mohm": ("E3", "V-DROP-1", "caution"),
}


@pytest.fixture(scope="module")
def job() -> Job:
    return open_bank(BARN)


def first(found: Rehearsal, sort: str) -> tuple[str, str, str]:
    """Step, code and verdict of the finding that named a fault first."""
    each = next(f for f in found.found if f.fault is not None and f.fault.sort == sort)
    return each.step, each.finding.code, each.finding.verdict


@pytest.mark.slow
def test_six_faults_in_one_walk_are_each_found_by_their_reading(job: Job) -> None:
    faults = tuple(planted(text, job.bank) for text in SIX)
    begun = time.process_time()
    found = rehearsal(job, faults)
    assert time.process_time() - begun < 10.0
    assert found.missed == ()
    assert found.steps == 34
    assert found.readings > 120
    named = {text: [f for f in found.found if f.fault == fault] for text, fault in zip(SIX, faults, strict=True)}
    for text, (step, code, verdict) in SIX.items():
        assert {f.step for f in named[text]} == {step}, text
        assert (code, verdict) in {(f.finding.code, f.finding.verdict) for f in named[text]}, text
    assert not [f for f in found.found if f.fault is None and f.finding.verdict in ("fail", "caution")]
    assert first(found, "reversed") == SIX["reversed:M4"]


@pytest.mark.slow
def test_a_sound_bank_goes_through_without_a_finding_that_accuses(job: Job) -> None:
    found = rehearsal(job, ())
    assert found.missed == ()
    assert not [f for f in found.found if f.finding.verdict in ("fail", "caution")]


@pytest.mark.slow
@pytest.mark.parametrize("text", ["loose:L5-@bar-6=0.4 mohm", "low:M1=0.06 V"])
def test_other_places_and_sizes_are_found_too(job: Job, text: str) -> None:
    fault = planted(text, job.bank)
    found = rehearsal(job, (fault,))
    assert found.missed == ()
    sort = FAULTS[fault.sort]
    assert (sort.step, sort.code) in {(f.step, f.finding.code) for f in found.found if f.fault == fault}


def test_what_lies_inside_the_tolerances_is_not_found(job: Job) -> None:
    found = rehearsal(job, (planted("loose:L3+@M3+=0.003 mohm", job.bank),))
    assert [fault.sort for fault in found.missed] == ["loose"]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("lose:M3", "unknown-fault"),
        ("loose:M3", "which-place"),
        ("low:M9", "which-place"),
        ("low:M3=2 A", "wrong-dimension"),
        ("bond:M3", "which-place"),
        ("bond=3 V", "no-value"),
        ("", "unknown-fault"),
    ],
)
def test_a_fault_that_cannot_be_is_refused(text: str, code: str) -> None:
    with pytest.raises(QuestionError) as refused:
        planted(text, barn())
    assert [fault.code for fault in refused.value.faults] == [code]


def test_the_usual_faults_lie_apart_and_one_module_alone_has_fewer() -> None:
    faults = usual_faults(barn())
    assert [fault.sort for fault in faults] == ["reversed", "low", "unplug", "bond", "tired", "loose"]
    places = [fault.names(barn()) for fault in faults]
    assert all(not one & other for n, one in enumerate(places) for other in places[n + 1 :] if {"F1"} - one)


@pytest.mark.slow
def test_the_command_says_what_found_what_and_keeps_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("barn.toml", "barn-map.toml"):
        (tmp_path / name).write_text((BARN.parent / name).read_text("utf-8"), "utf-8")
    with pytest.raises(SystemExit) as end:
        main(["prove", "rehearse", str(tmp_path / "barn.toml"), "--fault", "low:M3", "--fault", "reversed:M5"])
    out = capsys.readouterr().out
    assert not end.value.code
    assert "B6, M3" in out
    assert "B1, M5" in out
    assert all(len(line) <= 80 for line in out.splitlines()[2:])
    assert {path.name for path in tmp_path.iterdir()} == {"barn.toml", "barn-map.toml"}
