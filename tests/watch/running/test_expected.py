"""Shares of the current: two rows at two temperatures in parallel, explained before any joint is blamed.

Case: one row of packs against a cold outer wall at 8 degC, the other at 18 degC (a forum of solar electric homes): the
warm row works harder. Resistance over temperature: handbook table lfp/resistance-temperature.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.circuit.of_bank.cell_part import temperature_factor
from bankwright.watch.running.expected import currents_at, expected_shares, heard_shares
from bankwright.watch.running.hours import Hours
from bankwright.watch.running.tables import HOUR, Table

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
COLD, WARM = 8.0, 18.0


def test_the_warm_row_works_harder_by_what_the_cold_adds_to_its_cells() -> None:
    bank = read_bank(BARN)
    even = expected_shares(bank, np.full(5, WARM))
    rows = expected_shares(bank, np.array([COLD, COLD, WARM, WARM, WARM]))
    assert sum(share.value for share in rows) == pytest.approx(1.0)
    change = [one.value / other.value for one, other in zip(rows, even, strict=True)]
    assert max(change[:2]) < 0.93
    assert min(change[2:]) > 1.04
    by_cells = float(temperature_factor(COLD) / temperature_factor(WARM))
    assert 1.05 < change[3] / change[0] < by_cells  # metal of the module and leads do not change


def test_without_temperatures_the_band_is_wider() -> None:
    bank = read_bank(BARN)
    known, unknown = (expected_shares(bank, np.full(5, degc))[0] for degc in (25.0, np.nan))
    assert unknown.high - unknown.low > known.high - known.low
    assert known.low <= 0.2 <= known.high


def hours(share: np.ndarray, days: int = 4, offset: float = 0.0) -> Hours:
    luck = np.random.default_rng(2)
    time = 1.7e9 // HOUR * HOUR + HOUR * np.arange(24 * days)
    whole = luck.uniform(-100, 100, 24 * days)
    amps = whole[:, None] * share + luck.normal(0, 0.2, (24 * days, len(share))) + offset
    volts, none = np.full(amps.shape, 52.0), np.zeros(amps.shape)
    names = tuple(f"M{k + 1}" for k in range(len(share)))
    return Hours(names, time, HOUR, Table(time, volts, volts, volts, none), Table(time, amps, amps, amps, none))


def test_shares_that_were_heard_and_an_offset_is_none_of_them() -> None:
    share = np.array([0.3, 0.2, 0.2, 0.2, 0.1])
    for offset in (0.0, 0.5):
        found = heard_shares(hours(share, offset=offset), np.full(5, 100.0))
        for one, true in zip(found, share, strict=True):
            assert one is not None
            assert one.low - 0.001 < true < one.high + 0.001
            assert one.high - one.low < 0.01


def test_a_day_or_a_bank_at_rest_tells_no_share() -> None:
    assert heard_shares(hours(np.full(2, 0.5), days=1), np.full(2, 1e4)) == (None, None)


def test_a_current_of_the_bank_by_share() -> None:
    (share, *_) = heard_shares(hours(np.array([0.5, 0.5])), np.full(2, 100.0))
    assert share is not None
    value, low, high = currents_at(share, -200.0)
    assert low <= value <= high
    assert value == pytest.approx(-100.0, abs=1.0)
