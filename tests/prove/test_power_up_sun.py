"""Strings of solar modules on the sheet, against worked examples and a case that were computed elsewhere.

String of 8 x 49.5 V, -0.26 %/K, 72 cells, 800 W/m2, cells at 45 degC: 371.2 V; less one 324.8, less a third 355.7, one
reversed 278.4; 14 A, +0.05 %/K: 11.31 A. Cells are 3 K warmer than the back.
"""

from __future__ import annotations

from types import MappingProxyType

import pytest

from bankwright.bank.model_house import SolarKind, SunString
from bankwright.bank.read import BankFileError, bank_from_text
from bankwright.forms.origin import FileKey
from bankwright.physics.solar import short_current, string_voltage
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.proved import barn

KIND = SolarKind("S", "kinds.solar.S", 49.5, 14.0, -0.0026, 0.0005, 72)
BACK = 42.0


def step(name: str, volts: dict[str, float], quantity: str = "voltage", sun: float | None = 800.0) -> StepNow:
    strings = tuple(SunString(at, "roof", KIND, 8, "I1", FileKey("arrays[0]")) for at in ("A", "B", "C"))
    taken = {(name, quantity, at): value for at, value in volts.items()}
    taken |= {(name, "temperature_degc", "A"): BACK}
    taken |= {} if sun is None else {(name, "irradiance", "A"): sun}
    facts = Facts(barn().replaced(strings=strings), MappingProxyType(taken), may_join=True)
    return next(now for now in prove_sheet(facts, {}).steps if now.step.id == name)


def verdicts(now: StepNow, code: str) -> dict[str, str]:
    return {f.at[0]: f.verdict for f in now.findings if f.code == code}


def test_open_volts_of_a_string() -> None:
    # ideality 1.2; 1.0 and 1.4 move it by 0.7 V
    ends = [
        string_voltage(49.5, -0.0026, 72, 45.0, 800.0, in_series=8, ideality=ideality) for ideality in (1.0, 1.2, 1.4)
    ]
    assert ends[1] == pytest.approx(371.2, abs=0.1)
    assert ends[0] - ends[1] == pytest.approx(ends[1] - ends[2]) == pytest.approx(0.7, abs=0.05)
    assert string_voltage(49.5, -0.0026, 72, 45.0, 800.0, in_series=7) == pytest.approx(324.8, abs=0.1)
    assert ends[1] * (1 - 1 / 24) == pytest.approx(355.7, abs=0.1)
    assert ends[1] * (1 - 2 / 8) == pytest.approx(278.4, abs=0.1)


def test_short_current_of_a_string() -> None:
    assert short_current(14.0, 0.0005, 45.0, 800.0) == pytest.approx(11.31, abs=0.01)


def test_the_figure_due_is_that_of_the_moment() -> None:
    now = step("H1", {})
    due = next(each.due for each in now.readings if (each.due.at, each.due.quantity) == ("A", "voltage"))
    assert due.expected is not None
    assert due.expected.value == pytest.approx(371.2, abs=0.1)
    wide = next(r.due for r in step("H1", {}, sun=None).readings if (r.due.at, r.due.quantity) == ("A", "voltage"))
    assert wide.band[0] < 0.95 * due.band[0]  # type: ignore[operator]
    assert wide.band[1] > due.band[1]  # type: ignore[operator]


@pytest.mark.parametrize(
    ("volts", "verdict", "nearest"),
    [
        (371.0, "pass", ""),
        (356.0, "caution", "one third"),
        (325.0, "caution", "one missing"),
        (278.0, "caution", "one reversed"),
    ],
)
def test_like_strings_name_what_is_off(volts: float, verdict: str, nearest: str) -> None:
    # A 371, B 356, C 372: 4.1 % less is one third of one solar module, inside 5 %, outside 1.5 %: caution
    now = step("H1", {"A": 371.0, "B": volts, "C": 372.0})
    assert verdicts(now, "V-SUN-2") == {"A": "pass", "B": verdict, "C": "pass"}
    words = next(f for f in now.findings if f.code == "V-SUN-2" and f.at == ("B",)).do.text()
    assert nearest in words


def test_a_reversed_string_stops() -> None:
    now = step("H1", {"A": -371.0})
    assert verdicts(now, "V-SUN-1") == {"A": "fail"}
    assert now.state == "stopped"


@pytest.mark.parametrize(
    ("volts", "verdict"), [(371.0, "pass"), (350.0, "pass"), (325.0, "caution"), (400.0, "caution")]
)
def test_one_string_alone_lies_in_its_band_or_not(volts: float, verdict: str) -> None:
    assert verdicts(step("H1", {"A": volts}), "V-SUN-1") == {"A": verdict}


def test_current_needs_the_sun_and_is_held_against_its_like() -> None:
    assert verdicts(step("H2", {"A": 11.3}, "current"), "V-SUN-3")["A"] == "pass"
    assert verdicts(step("H2", {"A": 7.9}, "current"), "V-SUN-3")["A"] == "caution"
    assert verdicts(step("H2", {"A": 11.3}, "current", sun=None), "V-SUN-3")["A"] == "unknown"
    alike = step("H2", {"A": 11.3, "B": 10.5, "C": 11.2}, "current", sun=None)
    assert verdicts(alike, "V-SUN-2") == {"A": "pass", "B": "caution", "C": "pass"}


ARRAYS = """
[kinds.solar.s-400]
open_voltage = "49.5 V"
voltage_drift = "-0.26 %/K"
cells = 72

[[arrays]]
name = "roof"
kind = "s-400"
in_series = 8
strings = 2
input = "I1"
"""


def text(more: str) -> str:
    from pathlib import Path

    path = Path(__file__).parents[2] / "demo" / "barn.toml"
    return path.read_text("utf-8") + more


def test_strings_of_the_file_are_on_the_sheet_and_above_60_volts_they_are_an_electricians() -> None:
    from pathlib import Path

    bank = bank_from_text(text(ARRAYS), Path("barn.toml"))
    assert [each.name for each in bank.strings] == ["roof.s1", "roof.s2"]
    found = {now.step.id: now for now in prove_sheet(Facts(bank), {}).steps}
    assert found["H1"].step.hands == "electrician"
    assert "H1" not in {now.step.id for now in prove_sheet(Facts(barn()), {}).steps}
    current = next(each.due for each in found["H2"].readings if each.due.quantity == "current")
    assert "kinds.solar.s-400.short_current" in {gap.key for gap in current.missing}


@pytest.mark.parametrize(
    ("before", "after", "code"),
    [
        ('input = "I1"', 'input = "I7"', "unknown-input"),
        ('kind = "s-400"', 'kind = "s-4"', "unknown-kind"),
        ('"-0.26 %/K"', '"-26 %/K"', "out-of-range"),
        ("in_series = 8", "in_series = 0", "out-of-range"),
        ('name = "roof"', 'name = "M1"', "double-name"),
    ],
)
def test_a_wrong_array_is_named(before: str, after: str, code: str) -> None:
    from pathlib import Path

    with pytest.raises(BankFileError) as refused:
        bank_from_text(text(ARRAYS.replace(before, after)), Path("barn.toml"))
    assert code in {fault.code for fault in refused.value.faults}, refused.value.faults
