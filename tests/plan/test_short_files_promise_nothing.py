"""What a short file says must hold for every full file that it may become: fail, caution and pass never turn round."""

import re
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.forms.checks import findings
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of

TWO = (Path(__file__).parents[1] / "support" / "banks" / "two.toml").read_text("utf-8")
FULL = TWO.replace('cut_out = "44 V"', 'cut_out = "44 V"\nsurge_power = "9 kW"\nsurge_time = "5 s"\nphases = 3')
RESISTANCE = re.search(r"resistance = \{[^}]*\}\n", FULL).group(0)


def resistance(dc, surge, ohmic):
    values = f'dc = "{dc} mohm +- 1 uohm", surge = "{surge} mohm", surge_after = "10 s", ohmic = "{ohmic} mohm"'
    return f"resistance = {{ {values} }}\n"


# what is left out, and what the maker or the tape measure may say
GAPS = {
    "resistance": (RESISTANCE, [resistance(8.01, 3.4, 3.3), resistance(20.9, 20.8, 12.9), resistance(8.01, 8, 3.3)]),
    "efficiency": ('efficiency = "93 %"\n', ['efficiency = "85.1 %"\n', 'efficiency = "95.9 %"\n']),
    "lowest voltage": ('lowest_voltage = "48 V"\n', [f'lowest_voltage = "{v} V"\n' for v in (44.1, 51.1)]),
    "length of links": ('length = "320 mm", ', ['length = "5 mm", ', 'length = "990 mm", ']),
    "length of mains": ('length = "1.5 m", ', ['length = "50 mm", ', 'length = "4.9 m", ']),
}
POWERS = ("4 kW", "6 kW", "8.5 kW")


def verdicts(text):
    bank = bank_from_text(text, Path("two.toml"))
    found = {}
    for item in findings(CHECKS, plan_of(bank), bank.book):
        if item.verdict != "unknown" or item.figure is not None:
            found.setdefault((item.code, item.at[0], (item.case or "")[:11], item.ends_at), []).append(item)
    return found


@pytest.mark.share(3)
@pytest.mark.slow
@pytest.mark.parametrize("power", POWERS)
@pytest.mark.parametrize("gap", GAPS)
def test_no_verdict_turns_round_when_the_gap_is_filled(gap, power):
    """No verdict turns round when a gap of the file is filled."""
    words, answers = GAPS[gap]
    full = FULL.replace('power = "6 kW"', f'power = "{power}"').replace("opposite ends", "same end")
    assert words in full
    short, compared = verdicts(full.replace(words, "", 1)), 0
    for answer in answers:
        filled = verdicts(full.replace(words, answer, 1))
        for key in short.keys() & filled.keys():
            for before, after in zip(short[key], filled[key], strict=False):
                compared += 1
                turned = (before.verdict, after.verdict)
                assert turned not in {("pass", "fail"), ("pass", "caution"), ("fail", "pass")}, (key, answer)
                assert turned not in {("caution", "fail"), ("fail", "caution")}, (key, answer)
    assert compared > 20
