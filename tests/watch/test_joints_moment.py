"""Readings brought to one moment: slopes by known times, products of different cycles, stairs of a coarse voltage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from bankwright.watch.joints.blocks import blocks_of
from bankwright.watch.joints.cycles import Cycles, Series, cycles_of
from bankwright.watch.joints.moment import products, slopes, without_stairs

SLOT, PERIOD = 0.16, 2.0


def cycles(current: np.ndarray, voltage: np.ndarray) -> Cycles:
    count = current.shape[1]
    time = PERIOD * np.arange(len(current)) + 1e5
    return Cycles(time, current, voltage, PERIOD, np.full(count, 0.01), SLOT * np.arange(count))


def test_the_moment_of_each_module_is_told_from_its_own_times() -> None:
    time = 2.0 * np.arange(50)
    told = [Series(time + late, np.ones(50), np.full(50, 52.0)) for late in (0.0, 0.32, 0.16)]
    assert cycles_of(told, 16).late == pytest.approx([0.0, 0.32, 0.16])


def test_what_goes_on_evenly_makes_no_difference_between_modules_that_are_read_one_after_the_other() -> None:
    count, steps = 8, 2000
    at = PERIOD * np.arange(steps)[:, None] + SLOT * np.arange(count)
    current = np.full((steps, count), 5.0)
    current[:, :] += (np.arange(steps) // 300 % 2)[:, None] * 10.0
    volts = 52.0 + 3e-4 * np.abs(at % 1200 - 600)  # up and down by 0.3 mV/s
    sensor = np.array([np.full(count, 0.01), np.full(count, 0.01)])
    made = blocks_of(cycles(current, volts), sensor)
    apart = made.channel[:, count : 2 * count] - made.channel[:, count : 2 * count].mean(axis=1, keepdims=True)
    rising = 3e-4 * SLOT * (np.arange(count) - 3.5)  # what is seen of it as read
    assert np.median(np.abs(apart[:, 0])) < 0.05 * abs(rising[0])


def test_a_step_beside_a_block_is_no_slope_of_it() -> None:
    current = np.ones((30, 2))
    current[15:] += 0.3  # below the gate
    volts = 52.0 + 0.001 * np.arange(30)[:, None] * np.ones(2)
    found = slopes(cycles(current, volts), np.array([1, 10, 15, 0]), np.array([5, 14, 19, 3]))
    assert found[0] == pytest.approx([0.0, 0.0, 0.0005, 0.0005])
    assert not found[1:].any()  # the step after, the step before, no cycle before


def test_what_flickers_within_a_cycle_makes_no_resistance() -> None:
    # each module is read at another moment: its flicker f is seen in its own current, and as -R f in its own voltage
    draw = np.random.default_rng(3)
    ohms, blocks, weight = 8e-3, 4000, np.full(4000, 4.0)
    signal = np.repeat(draw.normal(0, 1.0, blocks), 4)[:, None] * np.ones(3)
    flicker = draw.normal(0, 0.6, (4 * blocks, 3))
    each = np.concatenate([signal + flicker, -ohms * flicker], axis=1)  # the drop of the wiring itself: none
    mean = each.reshape(blocks, 4, 6).mean(axis=1)
    found = products(mean, weight, each)
    plain = (mean * weight[:, None]).T @ mean
    assert found[0, 0] == pytest.approx(4.0 * blocks, rel=0.06)
    assert abs(found[0, 3] / found[0, 0]) < 0.2 * abs(plain[0, 3] / plain[0, 0])
    assert found[3, 3] == pytest.approx(plain[3, 3])  # of voltages the noise stays


def test_the_stair_of_a_coarse_voltage_is_taken_off_where_it_is() -> None:
    # outside check: the mean of a rounded normal value, summed over its steps
    step, noise, count = 0.01, 0.003, 8
    draw = np.random.default_rng(5)
    true = 52.0 + np.cumsum(draw.normal(0, 0.4e-3, 3000))[:, None] + draw.uniform(-0.03, 0.03, count)
    steps = np.arange(5100, 5300)
    chance = np.diff(norm.cdf((np.append(steps, steps[-1] + 1) - 0.5)[:, None, None] * step, true, noise), axis=0)
    told = (steps[:, None, None] * step * chance).sum(axis=0)
    level = np.repeat(told.mean(axis=0, keepdims=True), len(true), axis=0)
    sensor = np.array([np.full(count, noise), np.full(count, step)])
    left = without_stairs(told, level, np.zeros(len(true)), np.ones(len(true)), sensor) - true
    assert (told - true).std() > 0.3e-3
    assert left.std() < 0.5 * (told - true).std()
    fine = np.array([np.full(count, 0.01), np.full(count, step)])
    assert without_stairs(told, level, np.zeros(len(true)), np.ones(len(true)), fine) is told
