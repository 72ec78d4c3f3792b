"""Time outside a limit by the minute: surely, by the mean, at most."""

from __future__ import annotations

import numpy as np

from bankwright.watch.running.limits import Outside, Wall, outside, touches
from bankwright.watch.running.tables import Table

TIME = 60.0 * np.arange(10)
COLD = Wall("charge.lowest", "charged too cold", "temperature_degc", 0.0, False, "charging")
HIGH = Wall("charge.cell_trip", "a cell above", "cell_voltage", 3.65, True)


def table(mean: np.ndarray, by: float = 0.0) -> Table:
    return Table(TIME, mean - by, mean, mean + by, np.zeros(mean.shape))


def judged(wall: Wall, mean: list[float], amps: float = -20.0, by: float = 0.0) -> Outside:
    found, flow = table(np.array(mean)[:, None], by), table(np.full((10, 1), amps))
    return outside(wall, found, flow)


def test_every_reading_of_a_minute_is_sure_and_any_is_the_most() -> None:
    volts = [3.6] * 4 + [3.66, 3.66, 3.70, 3.66] + [3.6] * 2
    found = judged(HIGH, volts, by=0.02)
    assert (found.surely, found.by_mean, found.at_most) == (0.0, 240.0, 240.0)
    found = judged(HIGH, volts, by=0.0)
    assert found.surely == 240.0
    assert found.furthest == 3.70


def test_a_minute_that_stands_alone_is_not_sure() -> None:
    found = judged(HIGH, [3.6] * 5 + [4.2] + [3.6] * 4)
    assert (found.surely, found.at_most) == (0.0, 60.0)


def test_cold_counts_only_while_it_is_charged() -> None:
    assert judged(COLD, [-2.0] * 10).surely == 600.0
    assert judged(COLD, [-2.0] * 10, amps=5.0).at_most == 0.0
    assert judged(COLD, [-2.0] * 10, amps=0.0).at_most == 0.0


def test_one_sensor_of_several_is_said_to_be_alone() -> None:
    degc = np.stack([np.full(10, -2.0), np.full(10, 6.0), np.full(10, 6.5)], axis=1)
    flow = table(np.full((10, 1), -20.0))
    assert outside(COLD, table(degc), flow).is_alone
    degc[:, 1] = -1.0
    assert not outside(COLD, table(degc), flow).is_alone


def test_what_was_not_heard_stands_nowhere() -> None:
    nothing = table(np.full((10, 1), np.nan))
    assert not touches(HIGH, nothing).any()
    assert outside(HIGH, nothing, table(np.zeros((10, 1)))).at_most == 0.0
