"""What a spread of cell voltages means, against cases from the field and the published curves themselves.

Sources of the cases: a forum of home builders, thread on "normal" cell differences at the charge voltage (58 mV at
3.475 V mean; under 20 mV at rest on the flat: common practice, no source); the curves: handbook, with their sources.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.run.curves import published_curves
from bankwright.watch.cells.kinds import Deviation, End, deviation, kind_of, step_resistance
from bankwright.watch.cells.spread import charge_apart, meaning

pytestmark = pytest.mark.quick

CURVES = published_curves()


def test_fifty_eight_millivolts_at_the_top_are_normal() -> None:
    # 8 cells, 27.8 V at the end of charge, lowest 3.440 V, highest 3.498 V
    found = meaning(3.498, 3.440, CURVES, rate=0.02, current=4.6, ohm=0.5e-3)
    assert found.kind == "even"
    assert found.apart is not None
    assert found.apart.high < 0.03


def test_the_same_millivolts_on_the_flat_are_no_difference_of_charge() -> None:
    found = meaning(3.33, 3.272, CURVES)
    assert found.kind == "not charge"
    assert found.apart is not None
    assert found.apart.low > 0.25


def test_twenty_millivolts_on_the_flat_can_be_anything() -> None:
    assert meaning(3.35, 3.33, CURVES).kind == "unknown"


@pytest.mark.parametrize(
    ("volts", "spread", "low", "high"),
    [
        # points of charge over the curves, computed apart from this program from the same published tables
        (3.55, 0.050, 0.0, 0.7),
        (3.45, 0.050, 0.1, 1.8),
        (3.33, 0.050, 25.0, 50.0),
        (3.26, 0.020, 3.0, 8.0),
        (3.15, 0.050, 1.2, 2.2),
        (3.00, 0.050, 0.4, 1.8),
    ],
)
def test_charge_by_zone(volts: float, spread: float, low: float, high: float) -> None:
    found = charge_apart(volts, volts - spread, CURVES)
    assert low <= found.low * 100 <= found.middle * 100 <= found.high * 100 <= high


def test_under_load_nothing_is_said() -> None:
    assert meaning(3.33, 3.25, CURVES, rate=0.3, current=30.0, ohm=1e-3).kind == "too much current"


def test_a_small_current_widens_the_band() -> None:
    plain, loaded = (charge_apart(3.30, 3.28, CURVES, doubt) for doubt in (0.0, 0.005))
    assert loaded.low < plain.low
    assert loaded.high > plain.high
    with pytest.raises(ValueError, match="curve"):
        charge_apart(3.3, 3.2, ())


@pytest.mark.parametrize("capacity", [0.70, 0.90])
def test_the_weakest_cell_rules_the_string(capacity: float) -> None:
    # a mailing list for makers of renewable energy plants, 2014: one cell of 70 Ah in a string of 100 Ah is empty first
    # and, charged from there, full first; here all are full together, and the discharge ends with the weak one
    curve = next(c for c in CURVES if c.name == "parameter set")
    out = np.concatenate([np.zeros(30), np.linspace(0, capacity * 0.97, 400)])
    charges = 1 - np.stack([out, out, out, out / capacity, out], axis=1)
    cells = np.interp(charges, curve.soc, curve.volts)
    found = [kind_of(one) for one in deviation(cells, np.full(len(cells), 20.0), CURVES)]
    assert found == ["even", "even", "even", "capacity", "even"]
    assert out.max() == pytest.approx(capacity, rel=0.05)  # what the string gives is what that cell gives


def test_a_cell_that_holds_less_charge_is_lower_at_both_ends() -> None:
    curve = next(c for c in CURVES if c.name == "parameter set")
    soc = np.concatenate([np.full(30, 0.995), np.linspace(0.995, 0.06, 400)])
    charges = np.stack([soc, soc, soc - 0.03, soc, soc], axis=1)
    cells = np.interp(charges, curve.soc, curve.volts)
    found = [kind_of(one) for one in deviation(cells, np.full(len(cells), 20.0), CURVES)]
    assert found == ["even", "even", "charge", "even", "even"]


@pytest.mark.parametrize(
    ("full", "empty", "kind"),
    [
        (0.03, -0.04, "capacity"), (-0.03, -0.04, "charge"), (0.03, 0.04, "charge"), (0.03, 0.0, "charge"),
        (0.0, -0.04, "capacity"), (0.0, 0.0, "even"), (0.03, None, "unknown"), (None, None, "even"),
        (-0.03, 0.04, "even"), (0.008, -0.008, "even"), (-0.012, -0.012, "even"), (0.008, -0.05, "capacity"),
    ],
)  # fmt: skip
def test_kinds(full: float | None, empty: float | None, kind: str) -> None:
    ends = [None if share is None else End(share * 0.9, share) for share in (full, empty)]
    assert kind_of(Deviation(ends[0], ends[1], 0.0, np.inf)) == kind


def test_what_goes_with_the_current_is_resistance() -> None:
    luck = np.random.default_rng(1)
    current = luck.uniform(-50, 50, 500)
    cells = 3.3 + luck.normal(0, 1e-3, (500, 8)) - current[:, None] * 1e-3
    cells[:, 5] -= current * 0.6e-3
    found = deviation(cells, current, CURVES)
    assert [kind_of(one) for one in found].count("resistance") == 1
    assert found[5].ohm == pytest.approx(0.6e-3, abs=3e-5)


def test_resistance_from_two_points_of_a_log() -> None:
    # a builders' forum: four cells, 14.8 V at 5 A, then 13.7 V at 85 A; read to 10 mV and 0.5 A
    found = step_resistance((14.8, 5.0), (13.7, 85.0), 0.01, 0.5)
    assert found.nominal == pytest.approx(13.75e-3, abs=0.005e-3)
    assert found.high - found.nominal == pytest.approx(0.2e-3, abs=0.05e-3)
    assert found.nominal / 4 == pytest.approx(3.44e-3, abs=0.005e-3)
    with pytest.raises(ValueError, match="10 A"):
        step_resistance((52.0, 5.0), (51.9, 6.0), 0.01, 0.5)
