"""Practice cases put as banks: what Plan finds in them."""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import edited
from support.plan_rows import on_bar, row

pytestmark = pytest.mark.quick

BY_CODE = {check.code: check for check in CHECKS}
INV, F = "kinds.inverter.inv", "kinds.device.main"


def verdicts(code, bank, at):
    return {finding.verdict for finding in BY_CODE[code].function(plan_of(bank)) if at in finding.at}


def test_cable_one_size_too_small_and_fuse_one_size_too_big_are_two_findings():
    # Facts: eneronix.com, a home bank whose insulation charred. Numbers of our own: 35 mm2 at 55 degC in a conduit
    # carries 164 x 0.76 = 125 A (IEC 60364-5-52 B1 and B.52.14), design current 128 A, gG fuse 160 A.
    bank = {
        "rules": "iec-60364",
        "wiring.main.cable": "35 mm2",
        "wiring.main.method": "raceway",
        "wiring.main.bundled": 2,
        "site.ambient": "8 degC to 55 degC",
        f"{INV}.power": "5.65 kW",
        f"{F}.rating": "160 A",
        f"{F}.class": "gG",
    }
    assert verdicts("P-CABLE-2", edited(bank), "main+") == {"fail"}
    assert verdicts("P-DEVICE-2", edited(bank), "main+") == {"fail"}
    larger = edited({**bank, "wiring.main.cable": "70 mm2"})
    assert verdicts("P-CABLE-2", larger, "main+") == verdicts("P-DEVICE-2", larger, "main+") == {"pass"}
    smaller = edited({**bank, "wiring.main.cable": "50 mm2", f"{F}.rating": "200 A"})
    assert verdicts("P-CABLE-2", smaller, "main+") == {"pass"}
    assert verdicts("P-DEVICE-2", smaller, "main+") == {"fail"}


def test_automotive_fuses_on_a_big_bank_fail_twice():
    # A fuse for vehicles: 32 V, 2 kA; the bus reaches 60.0 V and a fault tens of kA. Trade page, address withheld.
    bank = edited({f"{F}.volts": "32 V", f"{F}.interrupts": "2 kA"})
    assert verdicts("P-DEVICE-4", bank, "F1") == {"fail"}
    assert verdicts("P-FAULT-1", bank, "F1") == {"fail"}


def test_devices_at_a_dead_short_of_7_kiloamperes():
    # Published bench test: C. Freitas, Home Power 27 (1992), p. 26: two strings of 12 V, 6960 A, a breaker of about
    # 5 kA that did not clear, one with an AC rating and a class T fuse that did. Put as: 5 kA, AC only, 20 kA on DC.
    # Our bus: one module of 8.3 mohm, so that a short through the main is near 7 kA.
    def bank(**device):
        kind = "".join(f"{key} = {value}\n" for key, value in device.items())
        more = f'[kinds.device.B]\nrating = "200 A"\nvolts = "80 V"\n{kind}'
        more += '[[devices]]\nname = "F"\nkind = "B"\non = "main+"\nat = "bar+2"\n'
        return on_bar(
            1, 20.0, more=more, resistance={"dc": "14 mohm", "ohmic": "8.2 mohm"}, full="3.65 V", charger="0.001 A"
        )

    for device, expected in (
        ({"type": '"breaker"', "interrupts": '"5 kA"'}, "fail"),
        ({"type": '"breaker"', "interrupts": '"42 kA"', "ac_rating_only": "true"}, "fail"),
        ({"type": '"fuse"', "class": '"class T"', "interrupts": '"20 kA"'}, "pass"),
        ({"type": '"fuse"'}, "unknown"),
    ):
        made = bank(**device)
        finding = next(iter(BY_CODE["P-FAULT-1"].function(plan_of(made))))
        assert finding.figure.value == pytest.approx(7.0e3, rel=0.03)
        assert finding.verdict == expected, device


def test_both_leads_on_one_module_fail_already_with_all_four_on():
    # Shares of the published row (links 0.1 of a module, same end): 38.5 % of 300 A is 115.6 A of 100 A.
    findings = list(BY_CODE["P-SHARE-1"].function(plan_of(row(4, "same end", 0.1, 300.0))))
    worst = max(findings, key=lambda finding: finding.figure.value)
    assert worst.figure.value == pytest.approx(115.6, abs=0.1)
    assert worst.verdict == "fail"


def test_a_breaker_guided_by_magnets_between_bars_and_inverter_charger():
    # Trade pages, addresses withheld; fail whichever way round it sits.
    for turned in (True, False):
        bank = edited({"kinds.device.switch.polarised": True, "devices[2].reversed": turned})
        assert verdicts("P-DEVICE-5", bank, "X1") == {"fail"}


def test_one_main_fuse_leaves_the_leads_of_two_packs_bare():
    # trawlerforum.com, two packs on a bar: with one main fuse a short in a lead is fed by the other pack directly.
    one_main = edited({"devices[0]": None})
    assert verdicts("P-REACH-1", one_main, "L1+") == {"fail"}
    with_branches = edited({})
    assert verdicts("P-REACH-1", with_branches, "L1+") == {"pass"}
