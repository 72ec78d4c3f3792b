"""Lift table and stability at each stage, against the worked figures."""

from __future__ import annotations

import dataclasses

import pytest

from bankwright.bank.model import Bank, Rack
from bankwright.build.rack.anchors import anchor_findings
from bankwright.build.rack.lifts import hands_for, lift_findings, lifts
from bankwright.build.rack.load import rack_findings
from bankwright.build.rack.stability import Stage, stage_findings
from bankwright.build.steps.frame import known_stages
from bankwright.forms.finding import Finding
from support.banks.rack import KIND, RACK, chain


def with_kind(bank: Bank, **changes: object) -> Bank:
    kind = dataclasses.replace(KIND, **changes)  # type: ignore[arg-type]
    return bank.replaced(modules=tuple(dataclasses.replace(m, kind=kind) for m in bank.modules))


def with_rack(bank: Bank, **changes: object) -> Bank:
    kind = dataclasses.replace(RACK, **changes)  # type: ignore[arg-type]
    return bank.replaced(racks=(Rack("R1", kind, bank.racks[0].origin),))


def full(bank: Bank) -> Stage:
    return known_stages(bank, bank.racks[0])[0][-1]


def found(bank: Bank, code: str) -> Finding:
    rack = bank.racks[0]
    every = [*rack_findings(bank, rack, full(bank)), *anchor_findings(bank, rack, full(bank))]
    every += [f for stage in known_stages(bank, rack)[0] for f in stage_findings(bank, rack, stage)]
    return next(f for f in every if f.code == code)


def test_the_lift_follows_from_the_equation() -> None:
    # Hands at half of 3 U: 6.7 cm at the floor; slot 1 begins at 0.10 m: 16.7 cm. Depth 48 cm: H = 25 + 24 = 49 cm
    # at both
    # (below 25 cm, NIOSH 94-110 p. 8). Travel 10 cm counts as 25: DM 1. VM 0.795 and 0.825, CM 0.95. 23 x 25/49 x
    # 0.795 x 0.95.
    lift = lifts(chain(1))[0]
    assert lift.allowed == pytest.approx(23 * 25 / 49 * (1 - 0.003 * (75 - 6.6675)) * 0.95, rel=1e-3)
    assert lift.allowed_end == pytest.approx(23 * 25 / 49 * (1 - 0.003 * (75 - 16.6675)) * 0.95, rel=1e-3)
    assert lift.index[1] == pytest.approx(46 / lift.allowed)
    assert lift.index[2] == pytest.approx(46 / (lift.allowed * 2 * 0.6667))
    assert lift.index[3] == pytest.approx(46 / (lift.allowed * 3 * 0.5))
    assert lift.people is None
    assert hands_for(lift) == "a lift"


@pytest.mark.parametrize(
    ("mass", "people", "hands"), [(8.0, 1, "one person"), (11.0, 2, "two people"), (46.0, None, "a lift")]
)
def test_people_only_where_the_equation_gives_it_to_them(mass: float, people: int | None, hands: str) -> None:
    lift = lifts(with_kind(chain(1), mass=mass))[0]
    assert lift.people == people
    assert hands_for(lift) == hands


def test_unknown_mass_asks_for_the_scale() -> None:
    bank = with_kind(chain(1), mass=None)
    finding = next(lift_findings(bank, lifts(bank)[0]))
    assert finding.verdict == "unknown"
    assert finding.missing[0].ask == "measure"


def test_stages_run_from_the_empty_frame_to_the_full_one() -> None:
    bank = chain(3)
    stages, missing = known_stages(bank, bank.racks[0])
    assert missing == ()
    assert [len(stage.loaded) for stage in stages] == [0, 1, 2, 3]
    assert stages[0].height == pytest.approx(0.6)
    # Frame 40 kg at 0.6 m, three modules of 46 kg from 0.1 m, 3 U each: by hand.
    u = 0.04445
    heights = [0.1 + (n + 0.5) * 3 * u for n in range(3)]
    assert stages[3].height == pytest.approx((40 * 0.6 + 46 * sum(heights)) / (40 + 138))


def test_low_loading_stands_better_than_high() -> None:
    low = chain(3)
    high = low.replaced(modules=tuple(dataclasses.replace(m, unit=10 + 3 * n) for n, m in enumerate(low.modules)))
    assert full(high).height > full(low).height
    assert found(high, "BLD-LOW").verdict == "caution"


def test_heavier_above_lighter_is_named() -> None:
    bank = chain(2)
    heavy = dataclasses.replace(KIND, mass=60.0)
    bank = bank.replaced(modules=(bank.modules[0], dataclasses.replace(bank.modules[1], kind=heavy)))
    finding = found(bank, "BLD-HEAVY")
    assert finding.at == ("M2", "M1")
    assert finding.verdict == "caution"


def test_rack_of_earthquake_guidance_loads_the_floor() -> None:
    # Frame 25 kg, six modules of 45 kg, 0.6 x 0.6 m: 8.0 kN/m2 (arithmetic), above any live load of a dwelling.
    bank = with_rack(with_kind(chain(6), mass=45.0), mass=25.0)
    finding = found(bank, "BLD-FLOOR")
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(8.0e3, rel=0.01)
    # Detached garage and no figure of the site: IRC 50 psf (2.39 kPa) stands in, so it ends at caution.
    assert finding.limits[1] == pytest.approx(2394, rel=0.001)
    assert finding.verdict == "caution"
    given = bank.replaced(site=dataclasses.replace(bank.site, floor_load=10e3))
    assert found(given, "BLD-FLOOR").verdict == "pass"


def test_casters_by_three_wheels_and_by_factor() -> None:
    # 40 + 6 x 46 = 316 kg on four: a third is 105.3 kg, 1.5/4 is 118.5 kg: the larger counts.
    bank = with_rack(chain(6), on="wheels", wheels=4, wheel_load=118.4)
    finding = found(bank, "BLD-CASTER")
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(118.5)
    assert finding.verdict == "fail"
    assert found(with_rack(chain(6), on="wheels", wheels=4, wheel_load=118.5), "BLD-CASTER").verdict == "pass"


def test_anchor_tension_by_hand() -> None:
    # S_DS 1.0, W = 316 kg x 9.80665; Fp = 0.3 W (the least force governs at grade), Omega 2 (from memory), b 0.3
    # m, rows 0.6 m,
    # two anchors a side: T = max(0, 2 x 0.3 W h - 0.7 W x 0.3) / 0.6 / 2.
    bank = with_rack(chain(6), anchor_tension=2000.0)
    weight, height = 316 * 9.80665, full(bank).height
    finding = found(bank, "BLD-ANCHOR")
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(max(0.0, 0.6 * weight * height - 0.21 * weight) / 1.2)
    assert finding.verdict == "pass"
    assert "from memory" in str(finding.source)
    assert found(with_rack(chain(6), anchor_tension=50.0), "BLD-ANCHOR").verdict == "fail"


def test_without_the_sites_acceleration_the_anchors_are_unknown() -> None:
    bank = chain(3)
    bank = bank.replaced(site=dataclasses.replace(bank.site, seismic=None))
    finding = found(bank, "BLD-ANCHOR")
    assert finding.verdict == "unknown"
    assert finding.missing[0].key == "site.seismic"


def test_a_frame_without_mass_says_what_to_measure() -> None:
    bank = with_rack(chain(2), mass=None)
    stages, missing = known_stages(bank, bank.racks[0])
    assert stages == ()
    assert [m.key for m in missing] == ["kinds.rack.frame-24.mass"]


def test_module_pulled_out_of_the_nearly_empty_frame() -> None:
    # 46 kg pulled 0.48 m in 86 kg: 0.257 m of 0.3 m. Statics.
    finding = found(chain(1), "BLD-PULL")
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(46 * 0.48 / 86)
    assert finding.verdict == "pass"


@pytest.mark.parametrize(("width", "verdict"), [(0.44, "pass"), (0.45, "pass"), (0.452, "fail"), (None, "unknown")])
def test_a_module_goes_between_the_rails(width: float | None, verdict: str) -> None:
    # EIA-310: 450 mm of opening between the rails [read on secondary pages]
    finding = found(with_kind(chain(2), width=width), "BLD-WIDTH")
    assert finding.verdict == verdict
    assert finding.at == ("M1",)
    assert [item.key for item in finding.missing] == (["kinds.module.M100.width"] if width is None else [])


def test_a_frame_that_is_not_counted_in_rack_units_has_no_rails() -> None:
    bank = with_rack(with_kind(chain(2), width=0.5), units=None)
    assert "BLD-WIDTH" not in [f.code for f in rack_findings(bank, bank.racks[0], full(bank))]
