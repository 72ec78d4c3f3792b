"""Keys of the bank file that first power-up reads: detector, shunt, clamp, pre-charge resistor, serial numbers."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from bankwright.bank.read import BankFileError, bank_from_text
from bankwright.bus.of_bank import expected_of
from bankwright.job import open_bank
from bankwright.job.bus import explain, keep_survey
from bankwright.job.powering import powering
from bankwright.logbook.logbook import open_logbook
from bankwright.prove.meters import Bus, clamp_of, current_errors
from bankwright.prove.sheet.due import Facts
from bankwright.prove.sheet.sheet import StepNow, prove_sheet
from support.pretend_racks import surveyed
from support.proved import barn

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


def step(facts: Facts, name: str) -> StepNow:
    return next(now for now in prove_sheet(facts, {}).steps if now.step.id == name)


def frame(plus: float, minus: float, ohms: float = 1e7, **earthing: object) -> dict[str, str]:
    bank = barn()
    earth = replace(bank.site.earthing, pole="none", detector=True, **earthing)  # type: ignore[arg-type]
    taken = {("B3", "frame_voltage", "bar+1"): plus, ("B3", "frame_voltage", "bar-1"): -minus}
    taken |= {("B3", "voltage", "bar+1"): 53.2, ("B3", "resistance", "bar+1"): ohms}
    facts = Facts(bank.replaced(site=replace(bank.site, earthing=earth)), MappingProxyType(taken), may_join=True)
    return {f.code: f.verdict for f in step(facts, "B3").findings if f.code.startswith("V-FRAME")}


def test_a_detector_of_two_100_kohm_reads_as_50() -> None:
    # detector 2 x 100 kohm: 26.47 V each with a meter of 10 Mohm, 25.33 V with 1 Mohm
    for volts, ohms in ((26.47, 1e7), (25.33, 1e6)):
        assert frame(volts, volts, ohms, detector_resistance=1e5, detector_alarm=2e4)["V-FRAME-2"] == "pass"


def test_a_leak_beside_the_detector_is_told_and_its_alarm_is_the_limit() -> None:
    # R+ 100 and 12 kohm in parallel, R- 100 kohm: 9.68 kohm together
    plus, minus = 5.099, 47.591
    found = frame(plus, minus, 1e6, detector_resistance=1e5)
    assert found == {"V-FRAME-1": "pass", "V-FRAME-2": "caution"}
    assert frame(plus, minus, 1e6, detector_resistance=1e5, detector_alarm=2e4)["V-FRAME-1"] == "fail"
    assert "V-FRAME-2" not in frame(plus, minus, 1e6)


def loaded(millivolts: float, accuracy: float | None, amps: float = 200.0) -> str:
    bank = barn()
    made = tuple(
        replace(d, kind=replace(d.kind, accuracy=accuracy)) if d.kind.type == "shunt" else d for d in bank.devices
    )
    taken = {("E2", "current", "main+"): amps, ("E2", "voltage_drop", "X1"): millivolts * 1e-3}
    facts = Facts(bank.replaced(devices=made), MappingProxyType(taken), may_join=True)
    return next(f.verdict for f in step(facts, "E2").findings if f.code == "V-SHUNT-1")


@pytest.mark.parametrize(
    ("millivolts", "verdict"), [(20.0, "pass"), (19.2, "pass"), (17.0, "unknown"), (24.0, "unknown")]
)
def test_shunt_and_clamp_are_two_meters_of_one_current(millivolts: float, verdict: str) -> None:
    # 50 mV at 500 A: 20.0 mV at 200 A
    assert loaded(millivolts, 0.005) == verdict


def test_a_shunt_without_its_class_is_asked_for() -> None:
    assert loaded(20.0, None) == "unknown"


def test_errors_of_a_clamp_by_kind_are_those_of_the_file() -> None:
    text = BARN.read_text("utf-8") + (
        '\n[[instruments]]\nname = "good clamp"\nquantity = "current"\naccuracy = "1 % + 3 digits"\n'
        'resolution = "0.1 A"\nzero = "0.1 A"\nplace = "0.4 %"\n'
    )
    clamp = clamp_of("good clamp", bank_from_text(text, BARN))
    assert (clamp.gain, clamp.zero, clamp.place, clamp.assumed) == (0.01, 0.1, 0.004, False)
    errors = current_errors("clamp", "M1", 40.0, "k", clamp, bus=Bus())
    assert errors["clamp place M1 k"] == pytest.approx(0.16)
    plain = clamp_of("clamp-400", bank_from_text(text, BARN)) if "clamp-400" in text else None
    assert plain is None or plain.place == 0.01
    assert clamp_of("good clamp", bank_from_text(text, BARN), zeroed=True).zero == 0.1


def test_the_tolerance_of_the_resistor_widens_time_and_what_stays() -> None:
    def window(part: float | None) -> tuple[float, float]:
        bank = barn()
        made = []
        for inverter in bank.inverters:
            assert inverter.kind.precharge is not None
            pre = replace(inverter.kind.precharge, tolerance=part)
            made.append(replace(inverter, kind=replace(inverter.kind, precharge=pre)))
        taken = {("B1", "voltage", f"M{k}"): 53.2 for k in range(1, 6)}
        facts = Facts(bank.replaced(inverters=tuple(made)), MappingProxyType(taken))
        due = step(facts, "C1").readings[0].due
        assert due.expected is not None
        assert due.expected.value == pytest.approx(3.01, abs=0.01)  # 53.2 V, 30 ohm, 24 mF, 40 mA to 2 V
        return due.window  # type: ignore[return-value]

    none, narrow, wide = window(None), window(0.01), window(0.10)
    assert none[0] < narrow[0]
    assert wide[1] > none[1] > narrow[1]


def test_an_exchanged_module_is_seen_by_its_serial_number_and_stops(tmp_path: Path) -> None:
    plates = {"M1": "PRETEND-M2", "M2": "PRETEND-M1", "M3": "PRETEND-M3"}
    facts, told = surveyed(serials=plates)
    assert told["BUS-EXCHANGED"].verdict == "fail"
    assert set(told["BUS-EXCHANGED"].at) == {"M1", "M2"}
    path = tmp_path / "barn.toml"
    path.write_text(BARN.read_text("utf-8"), "utf-8")
    job = open_bank(path)
    with open_logbook(path, job.bank) as book:
        book.hand_over("match record", {"may_join": "pass"})
        before = next(now for now in powering(job, book).steps if now.step.id == "B5")
        assert not before.findings
        assert "no record yet" in before.step.acts[0]
        keep_survey(book, facts, explain(facts), "Kim")
        sheet = powering(job, book)
        after = next(now for now in sheet.steps if now.step.id == "B5")
        assert after.state == "stopped"
        assert any("PRETEND" not in f.text.text() and "M2 answers" in f.text.text() for f in after.findings)
        assert next(now for now in sheet.steps if now.step.id == "C1").state == "locked"
        clean, _ = surveyed(serials={f"M{k}": f"PRETEND-M{k}" for k in range(1, 6)})
        keep_survey(book, clean, explain(clean))
        after = next(now for now in powering(job, book).steps if now.step.id == "B5")
        assert {f.verdict for f in after.findings if f.code == "V-SURVEY-1"} <= {"pass", "caution"}


def test_a_plate_that_the_file_does_not_know_is_a_caution() -> None:
    _, told = surveyed(serials={"M4": "1234"})
    assert (told["BUS-EXCHANGED"].verdict, told["BUS-EXCHANGED"].at) == ("caution", ("M4",))
    assert "BUS-EXCHANGED" not in surveyed(serials={"M4": "PRETEND-M4 "})[1]


def test_serial_numbers_of_the_file_reach_the_survey_and_none_stands_twice() -> None:
    text = BARN.read_text("utf-8")
    first = text.index('name = "M1"')
    one = text[:first] + 'serial = "A-1"\n' + text[first:]
    assert expected_of(bank_from_text(one, BARN), None).serials == {"M1": "A-1"}
    second = one.index('name = "M2"')
    with pytest.raises(BankFileError) as refused:
        bank_from_text(one[:second] + 'serial = "A-1"\n' + one[second:], BARN)
    assert "double-serial" in {fault.code for fault in refused.value.faults}
