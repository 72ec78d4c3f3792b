"""Speed of the run engine beside general-purpose tools at equal accuracy, in one run; prints ratios, tests nothing.

Beside: every method of scipy.integrate.solve_ivp at its loosest tolerance that holds 1e-4 V against a tight reference,
and ngspice at its longest step that does (start of the process taken off). Accuracy is that of the bus voltage: of this
engine at every node it makes, of the others at the full hours, which are nodes of this engine too. The reference is
this engine far tighter; an eighth-order integrator far tighter checks it. Each time is the shortest of as many runs.
Then 1,000 tolerance variants as one batch, a year of four modules at profile steps of a minute, and a table of growth.
Run: python bench/bench_run.py
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from bankwright.circuit.run.loads import Profile, RunLoad  # noqa: E402
from bankwright.circuit.run.modules import Limits, RunModules, run_modules  # noqa: E402
from bankwright.circuit.run.ports import Ports  # noqa: E402
from bankwright.circuit.run.run import Run, run  # noqa: E402
from support.run_banks import DAY, HOURS, lfp_curve  # noqa: E402

WANTED = 1e-4  # V
LEAD, MAIN, TAU1, TAU2, R2 = 5e-4, 5e-4, 35.0, 1000.0, 5e-3
MOMENTS = np.arange(0.0, 86401.0, 3600.0)
REPEATS = 7
LIMITS = Limits(150.0, 3.0, 110.0, 3.0, 3.65, 2.5)


def best(action: Callable[[], object], times: int = 3) -> float:
    """Shortest of several runs, in seconds."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        spent.append(time.perf_counter() - start)
    return min(spent)


class Bank:
    """Modules a little different from each other; with variants in front where there are any."""

    def __init__(self, count: int, variants: int | None = None, limits: Limits | None = None) -> None:
        luck = np.random.default_rng(1)
        shape = (count,) if variants is None else (variants, count)
        self.count = count
        self.r0 = 8e-3 * (1 + 0.1 * luck.uniform(-1, 1, shape))
        self.r1 = 6e-3 * (1 + 0.1 * luck.uniform(-1, 1, shape))
        self.capacity = 100 * (1 + 0.02 * luck.uniform(-1, 1, shape))
        self.soc = 0.5 + 0.02 * luck.uniform(-1, 1, shape)
        self.watts = tuple(value * count / 8 for value in DAY)
        names = tuple(f"M{i}" for i in range(count))
        self.modules: RunModules = run_modules(
            lfp_curve(),
            self.capacity,
            self.r0,
            names=names,
            branch_1=(self.r1, TAU1),
            branch_2=(R2, TAU2),
            limits=limits,
        )
        self.ports = Ports.common_bar(np.full(count, LEAD), MAIN)

    def load(self, days: int = 1) -> RunLoad:
        """The daily profile, ramps between full hours."""
        times = tuple(86400.0 * d + t for d in range(days) for t in HOURS[:-1]) + (86400.0 * days,)
        return RunLoad("load", "power", Profile(times, self.watts[:-1] * days + self.watts[-1:], "ramps"))

    def go(self, tolerance: float, days: int = 1) -> Run:
        """Run it."""
        return run(self.ports, self.modules, [self.load(days)], until=86400.0 * days, soc=self.soc, tolerance=tolerance)


def volts_at(found: Run) -> np.ndarray:
    """Bus voltage at the moments, the full hours: the profile bends there, so each is a node."""
    return np.interp(MOMENTS, found.time, found.load_voltage[:, 0])


class Equations:
    """The same bank written out for a general integrator."""

    def __init__(self, bank: Bank) -> None:
        self.b, self.M = bank, bank.count
        self.z, v = lfp_curve()
        self.v, self.g = 16 * v, 1 / (bank.r0 + LEAD)
        self.G = self.g.sum()
        self.Z, self.Q = 1 / self.G + MAIN, bank.capacity * 3600
        self.start = np.concatenate([bank.soc, np.zeros(2 * bank.count)])

    def _emf(self, y: np.ndarray) -> np.ndarray:
        M = self.M
        return np.interp(y[:M], self.z, self.v) - y[M : 2 * M] - y[2 * M :]

    def rates(self, t: float, y: np.ndarray) -> np.ndarray:
        """Right side."""
        M, E = self.M, self._emf(y)
        power, open_volts = np.interp(t, HOURS, self.b.watts), self.g @ E / self.G
        J = 2 * power / (open_volts + np.sqrt(open_volts**2 - 4 * self.Z * power))
        i = self.g * (E - open_volts + J / self.G)
        return np.concatenate([-i / self.Q, (self.b.r1 * i - y[M : 2 * M]) / TAU1, (R2 * i - y[2 * M :]) / TAU2])

    def volts(self, t: float, y: np.ndarray) -> float:
        """Bus voltage."""
        E = self._emf(y)
        power, open_volts = np.interp(t, HOURS, self.b.watts), self.g @ E / self.G
        return float((open_volts + np.sqrt(open_volts**2 - 4 * self.Z * power)) / 2)


def ours(bank: Bank) -> tuple[float, float, float, int]:
    """Seconds, error, tolerance and steps at the loosest tolerance that holds."""
    for tolerance in (4e-3, 2e-3, 1e-3, 5e-4, 2e-4, 1e-4, 5e-5):
        found = bank.go(tolerance)
        there = np.interp(found.time, REFERENCE.time, REFERENCE.load_voltage[:, 0])  # at this run's own nodes
        error = float(np.abs(found.load_voltage[:, 0] - there).max())
        if error < WANTED:
            return best(lambda t=tolerance: bank.go(t), REPEATS), error, tolerance, found.steps
    raise SystemExit("no tolerance holds 1e-4 V")


def by_solve_ivp(bank: Bank, reference: np.ndarray) -> tuple[float, str, float]:
    """Best seconds over all methods, each at its loosest tolerance that holds."""
    from scipy.integrate import solve_ivp

    equations, found = Equations(bank), []
    for method in ("RK23", "RK45", "DOP853", "Radau", "BDF", "LSODA"):
        for rtol in (3e-2, 1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6):

            def go(method: str = method, rtol: float = rtol) -> object:
                return solve_ivp(
                    equations.rates,
                    (0, 86400),
                    equations.start,
                    method=method,
                    rtol=rtol,
                    atol=rtol / 100,
                    t_eval=MOMENTS,
                )

            answer = go()
            volts = np.array([equations.volts(t, y) for t, y in zip(answer.t, answer.y.T, strict=True)])
            error = float(np.abs(volts - reference).max())
            if error < WANTED:
                seconds = best(go, REPEATS)
                print(f"  solve_ivp {method:<7} rtol {rtol:.0e}  {1e3 * seconds:8.1f} ms  error {error:.1e} V")
                found.append((seconds, method, error))
                break
    return min(found)


def independent(bank: Bank) -> np.ndarray:
    """Bus voltage at the moments by an eighth-order integrator, hour by hour: no bend of the profile is crossed."""
    from scipy.integrate import solve_ivp

    equations = Equations(bank)
    y, volts = equations.start, [equations.volts(0.0, equations.start)]
    for start, end in pairwise(HOURS):
        y = solve_ivp(equations.rates, (start, end), y, method="DOP853", rtol=1e-10, atol=1e-12).y[:, -1]
        volts.append(equations.volts(end, y))
    return np.array(volts)


def batch_error(batch: Bank, found: Run) -> float:
    """Largest error of three variants of the batch against each alone, far tighter, at the full hours."""
    worst = 0.0
    for row in (0, 499, 999):
        one = Bank(8)
        one.soc = batch.soc[row]
        one.modules = run_modules(
            lfp_curve(),
            batch.capacity[row],
            batch.r0[row],
            names=one.modules.names,
            branch_1=(batch.r1[row], TAU1),
            branch_2=(R2, TAU2),
        )
        mine = np.interp(MOMENTS, found.time, found.load_voltage[row, :, 0])
        worst = max(worst, float(np.abs(mine - volts_at(one.go(1e-7))).max()))
    return worst


def deck(bank: Bank, step: float, until: float = 86400.0) -> str:
    """The bank for ngspice: capacitors count charge, sources read the curve."""
    z, v = lfp_curve()
    table = ", ".join(f"{a:.6g}, {16 * b:.9g}" for a, b in zip(z, v, strict=True))
    points = ", ".join(f"{t:.9g}, {w:.9g}" for t, w in zip(HOURS, bank.watts, strict=True))
    lines = ["bank"]
    for k in range(bank.count):
        lines += [
            f"Cz{k} z{k} 0 {bank.capacity[k] * 3600:.9g} IC={bank.soc[k]:.9g}",
            f"Bz{k} z{k} 0 I=i(Vm{k})",
            f"Be{k} e{k} 0 V=pwl(v(z{k}), {table})",
            f"R1{k} e{k} a{k} {bank.r1[k]:.9g}",
            f"C1{k} e{k} a{k} {TAU1 / bank.r1[k]:.9g} IC=0",
            f"R2{k} a{k} b{k} {R2}",
            f"C2{k} a{k} b{k} {TAU2 / R2:.9g} IC=0",
            f"R0{k} b{k} c{k} {bank.r0[k] + LEAD:.9g}",
            f"Vm{k} c{k} bar 0",
        ]
    return "\n".join(
        [*lines, f"Rm bar top {MAIN}", f"Bp top 0 I=pwl(time, {points}, 1e6, {bank.watts[-1]:.9g})/max(v(top), 1)",
         ".options reltol=1e-4 method=gear maxord=2", f".tran {step} {until} 0 {step} UIC", ".control", "run",
         "wrdata out.txt v(top)", "quit", ".endc", ".end", ""]
    )  # fmt: skip


def by_ngspice(bank: Bank, reference: np.ndarray) -> float | None:
    """Seconds at the longest step that holds, start of the process taken off."""
    if shutil.which("ngspice") is None:
        return None
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)

        def go() -> None:
            subprocess.run(["ngspice", "-b", "deck.cir"], cwd=folder, capture_output=True, check=False)

        for step in (120.0, 60.0, 40.0, 30.0, 20.0, 10.0, 5.0, 2.0):
            (folder / "deck.cir").write_text(deck(bank, step))
            go()
            table = np.loadtxt(folder / "out.txt")
            error = float(np.abs(np.interp(MOMENTS[1:], table[:, 0], table[:, 1]) - reference[1:]).max())
            if error < WANTED:
                whole = best(go, REPEATS)
                (folder / "deck.cir").write_text(deck(bank, 1.0, 2.0))
                seconds = whole - best(go, REPEATS)
                print(f"  ngspice           step {step:g} s  {1e3 * seconds:8.1f} ms  error {error:.1e} V")
                return seconds
    return None


def bare(bank: Bank, watts: np.ndarray, steps: int = 20_000) -> float:
    """CPU seconds of a year of the shortest explicit step that numpy allows: no event, no error, nothing kept."""
    equations = Equations(bank)
    y, h, M = equations.start.copy(), 60.0, bank.count
    f1, f2 = np.exp(-h / TAU1), np.exp(-h / TAU2)
    spent = time.process_time()
    for power in watts[:steps].tolist():
        E = np.interp(y[:M], equations.z, equations.v) - y[M : 2 * M] - y[2 * M :]
        open_volts = float(equations.g @ E) / equations.G
        J = 2 * power / (open_volts + np.sqrt(open_volts**2 - 4 * equations.Z * power))
        i = equations.g * (E - open_volts + J / equations.G)
        y[:M] -= h / equations.Q * i
        y[M : 2 * M] = f1 * y[M : 2 * M] + (1 - f1) * bank.r1 * i
        y[2 * M :] = f2 * y[2 * M :] + (1 - f2) * R2 * i
    return (time.process_time() - spent) * len(watts) / steps


def year() -> None:
    """Four modules, a year, a new power every minute."""
    bank, luck, minutes = Bank(4, limits=LIMITS), np.random.default_rng(3), 525_600
    clock = np.arange(minutes) * 60.0
    day = (clock % 86400) / 86400
    sun = np.where((day > 0.3) & (day < 0.7), -2500 * np.sin((day - 0.3) / 0.4 * np.pi), 0.0)
    use = 900 + 500 * np.sin(2 * np.pi * day + 1) + 300 * luck.uniform(-1, 1, minutes)
    watts = sun + use
    whole = watts.reshape(-1, 1440)
    whole = whole - whole.mean(axis=1, keepdims=True)

    def go(offset: float, days: int) -> Run:
        values = (whole[:days] + offset).ravel()
        load = RunLoad("load", "power", Profile(tuple(clock[: len(values)].tolist()), tuple(values.tolist())))
        return run(bank.ports, bank.modules, [load], until=86400.0 * days, soc=bank.soc, tolerance=1e-3)

    trial = go(0.0, 20)  # what the losses take in 20 days is given back in the year, so that it ends where it began
    lost = float(((trial.soc[0] - trial.soc[-1]) * bank.capacity).sum()) * 52.0 / (20 * 24)
    start, spent = time.perf_counter(), time.process_time()
    found = go(-lost, 365)
    spent = time.process_time() - spent
    seconds = time.perf_counter() - start
    low, high = found.soc.min(), found.soc.max()
    plain = bare(bank, watts)
    print("\na year of 4 modules, a new power every minute, limits watched (12 s of CPU asked)")
    print(f"  {spent:.1f} s of CPU, {seconds:.1f} s on the wall, {found.steps} steps")
    print(f"  a year of bare explicit steps: {plain:.1f} s of CPU")
    print(f"  state of charge {100 * low:.0f} to {100 * high:.0f} %, {len(found.events)} events")


def growth() -> None:
    """How the time grows with modules, variants and duration."""
    print("\ngrowth, tolerance 1e-3 V, in ms (steps)\nmodules   1 day          10 days        100 variants, 1 day")
    for count in (2, 4, 8, 16, 32):
        one, many = Bank(count), Bank(count, 100)
        cells = []
        for go in (lambda b=one: b.go(1e-3), lambda b=one: b.go(1e-3, 10), lambda b=many: b.go(1e-3)):
            seconds, steps = best(go, 2), go().steps
            cells.append(f"{1e3 * seconds:7.1f} ({steps})".ljust(15))
        print(f"{count:<9} {''.join(cells)}")


if __name__ == "__main__":
    bank8 = Bank(8)
    REFERENCE = bank8.go(1e-8)
    reference = volts_at(REFERENCE)
    apart = np.abs(reference - independent(bank8)).max()
    print(f"reference: differs from an eighth-order integrator at 1e-10 by {apart:.1e} V")
    print("24 h of 8 modules, daily profile in ramps, every method at its loosest setting within 1e-4 V")
    seconds, error, tolerance, steps = ours(bank8)
    print(
        f"  this engine      tolerance {tolerance:.0e} V  {1e3 * seconds:8.1f} ms  error {error:.1e} V, {steps} steps"
    )
    rival, method, _ = by_solve_ivp(bank8, reference)
    spice = by_ngspice(bank8, reference)
    print(f"  ratio to the best of solve_ivp ({method}): {rival / seconds:.1f} (10 asked)")
    if spice is not None:
        print(f"  ratio to ngspice: {spice / seconds:.1f} (above 1 asked)")
    batch = Bank(8, 1000)
    together = best(lambda: batch.go(tolerance))
    print(f"\n1,000 variants of it as one batch: {together:.2f} s, {1e3 * together / 1000:.2f} ms a variant")
    print(f"  error of three of them: {batch_error(batch, batch.go(tolerance)):.1e} V")
    print(f"  ratio to looping the best of solve_ivp: {1000 * rival / together:.0f} (50 asked)")
    if spice is not None:
        print(f"  ratio to looping ngspice: {1000 * spice / together:.0f} (50 asked)")
    growth()
    year()
