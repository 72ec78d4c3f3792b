"""Poles of a floating bank against the frame.

Case: a floating bank of 53.6 V with a centre-grounded pair of equal high resistors (a trade page; battcon.com paper
228): 26.8 and 26.8 V is healthy, or equal leaks; 53.6 and 0 V a bolted fault at the pole that reads 0; 40 and 13.6 V a
partial one at the pole with the lower reading.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.bank.read import read_bank
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.running.frame import frame_finding, halves
from bankwright.watch.section import Asked

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
START = 1.7e9 // 3600 * 3600


@pytest.mark.parametrize(
    ("plus", "minus", "kind", "pole"),
    [(26.8, 26.8, "none", None), (53.6, 0.0, "bolted", "minus"), (0.0, 53.6, "bolted", "plus"),
     (40.0, 13.6, "partial", "minus"), (13.6, 40.0, "partial", "plus"), (27.9, 25.7, "none", None),
     (30.0, 23.6, "partial", "minus")],
)  # fmt: skip
def test_the_case_is_classified(plus: float, minus: float, kind: str, pole: str | None) -> None:
    found = halves(plus, minus, None)
    assert (found.kind, found.pole, found.ohms) == (kind, pole, None)


def test_the_leak_beside_known_resistors() -> None:
    # 100 kohm each; a leak of 50 kohm at minus makes 33.3 kohm there: a quarter of the whole
    found = halves(40.2, 13.4, 100e3)
    assert found.ohms == pytest.approx(50e3, rel=0.01)


def floating(pole: str) -> Bank:
    bank = read_bank(BARN)
    earthing = replace(bank.site.earthing, pole=pole, detector=True)  # type: ignore[arg-type]
    return bank.replaced(site=replace(bank.site, earthing=earthing))


def told(tmp_path: Path, pole: str, plus: float, minus: float) -> list[tuple[str, str]]:
    value = np.array([[plus, minus]] * 20)
    columns = Columns(
        "frame_voltage", ("bar+1", "bar-1"), START + 30 * np.arange(20), value, np.zeros((20, 2), np.uint8)
    )
    with open_telemetry(tmp_path / "barn.toml") as telemetry:
        telemetry.append_dated(columns, source="bench")
        found = list(frame_finding(Asked(floating(pole), telemetry, START, START + 3600, START + 3600)))
    return [(f.verdict, "" if f.text is None else f.text.text("metric")) for f in found]


def test_from_the_logbook_the_first_fault_is_an_alarm_and_what_cannot_be_seen_is_said(tmp_path: Path) -> None:
    ((verdict, words),) = told(tmp_path, "none", 40.0, -13.6)
    assert verdict == "fail"
    assert "minus pole leaks" in words


def test_equal_halves_pass_and_say_what_they_cannot_see(tmp_path: Path) -> None:
    ((verdict, words),) = told(tmp_path, "none", 26.8, -26.8)
    assert verdict == "pass"
    assert "two equal ones" in words


def test_a_pole_that_is_earthed_is_not_judged(tmp_path: Path) -> None:
    assert told(tmp_path, "minus", 53.6, 0.0) == []
