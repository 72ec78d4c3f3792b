"""A changed bank file opens the steps that it touches, and no others: the whole road from the file to the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.job import open_bank

BARN = Path(__file__).parents[1] / "support" / "banks" / "two_inverters.toml"
LEADS = {f"build.link.L{n}{pole}" for n in range(1, 6) for pole in "+-"}
MODULES = {f"build.module.M{n}" for n in range(1, 6)}
CHANGES = {
    "a longer lead": ('length = "700 mm"', 'length = "750 mm"', LEADS | {"build.make.1 AWG", "build.signs"}),
    "torque of the module": ('torque = "10 N m"', 'torque = "11 N m"', LEADS),
    "emergency number": ("helpers = 1", 'helpers = 1\nemergency_number = "112"', {"build.place"}),
    "helpers": ("helpers = 1", "helpers = 2", MODULES),
    "anchors": ("anchors = 4", "anchors = 6", {"build.anchor.R1"}),
    "bond": ('bond = "4 AWG"', 'bond = "2 AWG"', {"build.bond.R1"}),
    "another place in the rack": (
        'name = "M5"\nkind = "slab-100"\nslot = 5',
        'name = "M5"\nkind = "slab-100"\nunit = 16',
        {"build.module.M5", "build.nuts.R1", "build.place"},
    ),
    "first address": ("first = 1", "first = 2", {"build.addresses"}),
    "mass": ('mass = "46 kg"', 'mass = "40 kg"', MODULES | {"build.anchor.R1", "build.place"}),
    "rating of a fuse": (
        'rating = "300 A"\nvolts = "160 V"',
        'rating = "250 A"\nvolts = "160 V"',
        {"build.fuses", "build.signs"},
    ),
    "place of the main switch": (
        'at = "300 mm"\nreach = "beside the rack, 1.4',
        'at = "400 mm"\nreach = "beside the rack, 1.4',
        {"build.make.4/0 AWG", "build.link.main+", "build.signs"},
    ),
    "no earthed pole": (
        'pole = "minus", at = ["bar-1"]',
        'pole = "none"',
        {"build.poles", "build.live", "build.earth", "build.earth.live"},
    ),
    "title": ('title = "Two inverters behind fuses"', 'title = "Barn"', set()),
    "units": ('units = "metric"', 'units = "us"', set()),
    "a comment": ("[wiring]", "# joined on the third of May\n[wiring]", set()),
    "power": ('power = "5 kW"', 'power = "4.9 kW"', set()),
}


def digests(folder: Path, text: str) -> dict[str, str]:
    file = folder / "barn.toml"
    file.write_text(text, encoding="utf-8")
    return {step.id: step.digest for step in open_bank(file).sheet.steps}


@pytest.mark.share(2)
@pytest.mark.slow
@pytest.mark.parametrize("name", CHANGES)
def test_what_a_change_opens(tmp_path: Path, name: str) -> None:
    """A change of the bank opens exactly the steps that it touches."""
    old, new, touched = CHANGES[name]
    text = BARN.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    before, after = digests(tmp_path, text), digests(tmp_path, text.replace(old, new, 1))
    assert {step for step in before if after.get(step) != before[step]} == touched
