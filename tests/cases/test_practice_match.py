"""Practice cases of joining and sharing along the whole road: bank file and typed readings in, JSON of the command out.

Expected figures: arithmetic beside each case (Ohm's law, node analysis, weighed means).
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bankwright.cli.main import main
from bankwright.match.extend import bank_charge
from support.banks import bank_text
from support.match_banks import HEAD, WIRING, module

INVERTER = {"efficiency": "100 %", "lowest_voltage": "40 V", "cut_out": "38 V"}
EXACT = ("--meter", "0 % + 0 digits", "--rested", "24h", "--temperature", "25degC", "--no-log", "--json")
Asked = Callable[..., dict[str, Any]]


def file_of(folder: Path, *kinds: dict[str, Any], power: str = "4 kW", **changed: str) -> Path:
    """A bank file: one module of each kind, named M1, M2, ...; `changed` replaces text."""
    given = {f"K{n}": module(**kind) for n, kind in enumerate(kinds, 1)}
    inverter = {"power": power, **INVERTER}
    text = bank_text(list(given), given, head=HEAD, slots=True, inverter=inverter, box="I", wiring=WIRING)
    for old, new in changed.values():
        assert old in text
        text = text.replace(old, new)
    target = folder / "bank.toml"
    target.write_text(text, encoding="utf-8")
    return target


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str]) -> Asked:
    def asked(file: Path, volts: dict[str, str], *more: str) -> dict[str, Any]:
        given = [part for name, text in volts.items() for part in ("--reading", f"{name}={text}")]
        with pytest.raises(SystemExit):
            main(["match", str(file), *given, *EXACT, *more])
        out, err = capsys.readouterr()
        assert out, err
        return dict(json.loads(out))

    return asked


def of(body: dict[str, Any], part: str, code: str) -> dict[str, Any]:
    return next(finding for finding in body[part] if finding["code"] == code)


def words_of(thing: Any) -> str:
    return json.dumps(thing, ensure_ascii=False)


@pytest.mark.slow
@pytest.mark.parametrize(("high", "apart"), [("52.4 V", 2.0), ("51.1 V", 0.7), ("53.4 V", 3.0)])
def test_two_packs_through_ten_ohm_and_half_a_watt(ask, tmp_path, high, apart):
    # stands sqrt(0.5 x 10) = 2.24 V; V/R and V^2/R at first; at 2 V 0.2 Ah an hour: two days and more
    body = ask(file_of(tmp_path, {}, {}), {"M1": high, "M2": "50.4 V"}, "--resistor", "10 ohm, 0.5 W")
    assert body["may_join"] != "pass"
    sheet = next(plan for plan in body["plans"] if "resistor" in plan["title"])
    (step,) = sheet["steps"]
    flows = next(act["figures"] for act in step["acts"] if "flows at first" in act["text"])
    assert flows["current"]["value"] == pytest.approx(apart / 10, rel=0.01)
    assert flows["power"]["value"] == pytest.approx(apart**2 / 10, rel=0.01)
    text = words_of(sheet)
    assert "does not prove equal charge" in text
    assert ("does not stand it" in text) is (apart > 2.24)
    assert "fuse" in text.casefold()
    if apart >= 2.0:
        assert step["duration"] is None or step["duration"] > 50 * 3600


def test_seven_tenths_of_a_volt_over_forty_to_a_hundred_and_sixty_milliohms(ask, tmp_path):
    # two modules of 20 to 80 mohm: 0.7 / 0.160 = 4.4 A to 0.7 / 0.040 = 17.5 A; the low one takes 4 A
    kind = {"ohmic": 50, "dc": 120, "takes": 4}
    wide = file_of(
        tmp_path, kind, kind, ohm=("50 mohm +- 1 mohm", "50 mohm +- 30 mohm"), trip=("110 A for 3 s", "5 A for 1 s")
    )
    body = ask(wide, {"M1": "52.700 V", "M2": "52.000 V"})
    into = of(body, "joining", "M-JOIN-1")
    assert into["verdict"] == "fail"
    assert into["at"] == ["M2"]
    assert into["figure"]["low"] == pytest.approx(4.4, abs=0.1)
    assert into["figure"]["high"] == pytest.approx(17.5, abs=0.2)
    assert of(body, "joining", "M-JOIN-3")["verdict"] == "fail"  # the protection opens
    assert not any("in this order" in plan["title"] for plan in body["plans"])


@pytest.mark.parametrize(
    ("volts", "equal"), [({"M1": "52.8 V", "M2": "52.9 V"}, "unknown"), ({"M1": "56.0 V", "M2": "56.1 V"}, "pass")]
)
def test_a_tenth_of_a_volt_is_a_rule_for_current_not_for_charge(ask, tmp_path, volts, equal):
    # 0.1 V / 20 mohm = 5 A either way; 6.25 mV a cell hide 5 to 20 points on the plateau, under 1 near full
    body = ask(file_of(tmp_path, {}, {}), volts)
    into = of(body, "joining", "M-JOIN-1")
    assert into["verdict"] == "pass"
    assert into["figure"]["value"] == pytest.approx(5.0, rel=0.03)
    charge = of(body, "charge", "M-CHARGE-1")
    assert charge["verdict"] == equal
    assert (charge["figure"]["high"] > 0.05) is (equal == "unknown")
    assert any("one by one" in plan["title"] for plan in body["plans"]) is (equal == "unknown")


def test_one_of_three_strings_takes_less_and_the_discharge_tells(ask, tmp_path):
    three = file_of(tmp_path, {}, {}, {})
    taking = [part for text in ("M1=20A", "M2=21A", "M3=12A") for part in ("--charging", text)]
    body = ask(three, {}, *taking)
    found = of(body, "unlike", "M-TAKE-1")
    assert found["verdict"] == "unknown"
    for reason in ("state of charge", "resistance", "capacity"):
        assert reason in words_of(found)
    assert len(found["missing"]) == 3
    for third, words in (("-12A", "low in both directions"), ("-26A", "more charge"), ("-20A", "fills first")):
        giving = [part for text in ("M1=-20A", "M2=-20A", f"M3={third}") for part in ("--discharging", text)]
        assert words in words_of(of(ask(three, {}, *taking, *giving), "unlike", "M-TAKE-1"))


@pytest.mark.slow
def test_a_hundred_and_two_hundred_ampere_hours_side_by_side(ask, tmp_path):
    # 1/3 and 2/3 while resistance goes as 1/Ah; limits of 1 C with 5 % less resistance in the small one: it reaches
    # 100 A when the bank gives 100 / share = 295 A, so 300 A are too much
    small, large = {"ohmic": 10, "dc": 16}, {"ohmic": 5, "dc": 8, "capacity": 200, "gives": 200}
    trips = ("150 A for 3 s", "400 A for 3 s")
    body = ask(file_of(tmp_path, small, large, trips=trips), {"M1": "53.2 V", "M2": "53.2 V"}, "--cycle")
    assert body["may_join"] != "fail"
    worst = of(body, "unlike", "M-OLD-1")
    share = worst["text"]["figures"]["first"]["value"]
    assert share == pytest.approx(1 / 3 if worst["at"] == ["M1"] else 2 / 3, abs=0.01)
    assert bank_charge([0.40, 0.70], [100, 200]) == pytest.approx(0.60)  # not 55 %
    stiff = {"ohmic": 9.5, "dc": 15.2}
    asked = ask(
        file_of(tmp_path, stiff, large, power="15.6 kW", trips=trips), {"M1": "53.2 V", "M2": "53.2 V"}, "--cycle"
    )
    over = of(asked, "unlike", "M-OLD-1")
    assert over["verdict"] == "fail"
    share = over["text"]["figures"]["first"]["value"]
    small_one = share if over["at"] == ["M1"] else 1 - share
    assert small_one == pytest.approx((1 / 9.5) / (1 / 9.5 + 1 / 5.0), abs=0.004)
    assert 300 * small_one > 100
    allowed = of(asked, "unlike", "M-OLD-2")["figure"]["value"]
    assert allowed < 300 * 52.0
