"""The inner loop of the pretend bank: half-second steps of parallel modules on one load of given power, compiled.

Gives: day(). Two relaxation branches, hysteresis, heat; currents from the modules' loops, solved each minute.
Source: the same equations as docs/run.md, written again by another way: not the product's own engine.
"""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True)
def _table(x, xs, ys):
    j = 0
    while j < xs.shape[0] - 2 and x > xs[j + 1]:
        j += 1
    return ys[j] + (ys[j + 1] - ys[j]) * (x - xs[j]) / (xs[j + 1] - xs[j])


@njit(cache=True, fastmath=True)
def day(power, loops, cells, metal, one, two, tau1, tau2, charge, hyst, cooling, state, air, ocv, ft, ff, step):
    """Currents and voltages (step, module), temperatures (minute, module); `state` (6, module) is carried on in place.

    loops (24, module, module) of each hour; cells, metal, one, two [ohm]; air (minute, module) [degC]; state rows:
    charge 0..1, branch 1, branch 2 [V], hysteresis -1..1, temperature [degC], heat [J].
    """
    steps, n = power.shape[0], cells.shape[0]
    current, voltage = np.empty((steps, n)), np.empty((steps, n))
    warm = np.empty((air.shape[0], n))
    emf, factor, share = np.zeros(n), np.ones(n), np.zeros(n)
    keep1, keep2 = np.exp(-step / tau1), np.exp(-step / tau2)
    inverse = np.zeros((n, n))
    total = 1.0
    minute = int(60 / step)
    full, empty = False, False
    last = ocv.shape[0] - 1
    for s in range(steps):
        if s % minute == 0:
            m = s // minute
            for k in range(n):
                t = state[4, k]
                state[4, k] = t + (state[5, k] - cooling[k] * (t - air[m, k]) * 60.0) / 40e3
                state[5, k] = 0.0
                warm[m, k] = state[4, k]
                factor[k] = np.exp(_table(state[4, k], ft, ff))
            matrix = loops[m // 60].copy()
            for k in range(n):
                matrix[k, k] += cells[k] * factor[k] + metal[k]
            inverse = np.linalg.inv(matrix)
            total = 0.0
            for k in range(n):
                share[k] = inverse[k].sum()
                total += share[k]
        mean, open_volts = 0.0, 0.0
        for k in range(n):
            z = min(max(state[0, k], 0.0), 0.999999) * last
            j = int(z)
            e = ocv[j] + (ocv[j + 1] - ocv[j]) * (z - j)
            emf[k] = e + hyst[k] * state[3, k] - state[1, k] - state[2, k]
            open_volts += share[k] * emf[k] / total
            mean += state[0, k] / n
        full = (full and mean > 0.945) or mean > 0.975
        empty = (empty and mean < 0.15) or mean < 0.10
        p = power[s]
        if (full and p < 0.0) or (empty and p > 0.0):
            p = 0.0
        load = 2.0 * p / (open_volts + np.sqrt(open_volts * open_volts - 4.0 * p / total))
        for k in range(n):
            i = share[k] * (load / total - open_volts)
            for j in range(n):
                i += inverse[k, j] * emf[j]
            ohm = cells[k] * factor[k] + metal[k]
            r1, r2 = one[k] * factor[k], two[k] * factor[k]
            current[s, k], voltage[s, k] = i, emf[k] - ohm * i
            state[5, k] += (ohm * i * i + state[1, k] ** 2 / r1 + state[2, k] ** 2 / r2) * step
            state[1, k] = keep1[k] * state[1, k] + (1.0 - keep1[k]) * r1 * i
            state[2, k] = keep2[k] * state[2, k] + (1.0 - keep2[k]) * r2 * i
            moved = -i * step / charge[k]
            state[0, k] += moved
            toward = 1.0 if moved > 0.0 else -1.0
            state[3, k] += 15.0 * abs(moved) * (toward - state[3, k])
    return current, voltage, warm


@njit(cache=True)
def heard(current, voltage, offset, at, age, noise_i, noise_v, step_i, step_v, gain_i, gain_v, zero_i, zero_v, step):
    """Readings (cycle, module) of registers that each module refreshes by its own clock.

    at (cycle,) s of the day when a poll begins, offset (module,) s later each is read; age (2, module): period and
    phase of its own clock; noises (cycle, module) [A], [V]; gains and zeros (module,).
    """
    cycles, n = at.shape[0], offset.shape[0]
    amps, volts = np.empty((cycles, n)), np.empty((cycles, n))
    for c in range(cycles):
        for k in range(n):
            t = at[c] + offset[k]
            if age[0, k] > 0:
                t = np.floor((t - age[1, k]) / age[0, k]) * age[0, k] + age[1, k]
            s = min(max(int(t / step), 0), current.shape[0] - 1)
            i = current[s, k] * gain_i[k] + zero_i[k] + noise_i[c, k]
            v = voltage[s, k] * gain_v[k] + zero_v[k] + noise_v[c, k]
            amps[c, k] = np.round(i / step_i) * step_i
            volts[c, k] = np.round(v / step_v) * step_v
    return amps, volts
