"""Leaks of a floating bank from voltmeter readings, against worked examples computed elsewhere, and circles."""

from __future__ import annotations

import pytest

from bankwright.physics.insulation import leaks, spread


@pytest.mark.parametrize(
    ("plus", "minus", "meter", "both", "of_plus"),
    [
        (0.571, 1.284, 10e6, 276.8e6, 399.9e6),
        (4.793, 47.928, 10e6, 90.9e3, 99.9e3),  # plus leaks: the lower reading
        (0.027, 53.147, 10e6, 4.9e3, None),
        (0.0240, 48.041, 46.78e3, 4.998e3, None),
    ],
)
def test_three_readings_give_the_leak(
    plus: float, minus: float, meter: float, both: float, of_plus: float | None
) -> None:
    found = leaks(53.2, plus, minus, meter)
    assert found.both == pytest.approx(both, rel=3e-3)
    if of_plus is not None:
        assert found.plus == pytest.approx(of_plus, rel=2e-3)


def test_counts_of_the_meter_decide_what_is_told() -> None:
    assert spread(4.793, 47.928, 10e6, 0.06) == pytest.approx(11.4e3, rel=2e-3)
    both = leaks(53.2, 0.027, 53.147, 10e6).both
    assert both + spread(0.027, 53.147, 10e6, 0.06) == pytest.approx(16.2e3, rel=5e-3)
    assert spread(0.0240, 48.041, 46.78e3, 0.06) == pytest.approx(58.4, rel=5e-3)  # [4.94, 5.06] kohm


def reads(bank: float, plus: float, minus: float, meter: float) -> tuple[float, float]:
    """What a meter shows at plus and at minus: the frame is a node with three resistors to it."""
    together = 1.0 / plus + 1.0 / minus + 1.0 / meter
    return bank / minus / together, bank / plus / together


@pytest.mark.parametrize(("meter", "shown"), [(10e6, 26.47), (1e6, 25.33)])
def test_a_detector_in_the_middle(meter: float, shown: float) -> None:
    high, low = reads(53.2, 100e3, 100e3, meter)
    assert (high, low) == pytest.approx((shown, shown), abs=0.01)  # a worked example computed elsewhere
    assert leaks(53.2, shown, shown, meter).both == pytest.approx(50e3, rel=0.03)


@pytest.mark.parametrize(("plus", "minus"), [(1e5, 1e9), (5e3, 5e3), (3e7, 2e4), (1e9, 1e9)])
def test_what_is_read_gives_back_what_leaks(plus: float, minus: float) -> None:
    high, low = reads(52.0, plus, minus, 10e6)
    found = leaks(52.0, high, low, 10e6)
    assert (found.plus, found.minus) == pytest.approx((plus, minus), rel=1e-6)


def test_nothing_read_is_no_leak() -> None:
    assert leaks(53.2, 0.0, 0.0, 10e6).both == float("inf")
