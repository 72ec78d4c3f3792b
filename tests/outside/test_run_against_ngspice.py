"""Runs against ngspice transients: banks of 4 and 8 modules on the curve of an LFP cell, constant power by steps.

ngspice is an independent general-purpose circuit simulator; the test is skipped where it is not installed. Each module
is a capacitor that counts charge, a source reading the curve, and resistors and capacitors for its branches.
"""

import shutil
import subprocess

import numpy as np
import pytest

from bankwright.circuit.network import Edge, Network
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run
from support.run_banks import lfp_curve

pytestmark = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")

STEPS = ((0.0, 3000.0), (600.0, -1500.0), (1500.0, 4500.0), (2100.0, 0.0))
UNTIL = 3000.0
LINK, LEAD, MAIN = 2e-4, 1e-4, 5e-4


def netlist(soc, capacity, r0, r1, r2, power_scale):
    """A chain, feed at opposite ends."""
    z, v = lfp_curve()
    table = ", ".join(f"{a:.6g}, {16 * b:.9g}" for a, b in zip(z, v, strict=True))
    lines = ["bank"]
    for k in range(len(soc)):
        lines += [
            f"Cz{k} z{k} 0 {capacity[k] * 3600:.9g} IC={soc[k]:.9g}",
            f"Bz{k} z{k} 0 I=i(Vm{k})",
            f"Be{k} e{k} n{k} V=pwl(v(z{k}), {table})",
            f"R1{k} e{k} a{k} {r1[k]:.9g}",
            f"C1{k} e{k} a{k} {35 / r1[k]:.9g} IC=0",
            f"R2{k} a{k} b{k} {r2[k]:.9g}",
            f"C2{k} a{k} b{k} {1000 / r2[k]:.9g} IC=0",
            f"R0{k} b{k} c{k} {r0[k]:.9g}",
            f"Vm{k} c{k} p{k} 0",
        ]
        if k:
            lines += [f"RLp{k} p{k - 1} p{k} {LINK}", f"RLn{k} n{k - 1} n{k} {LINK}"]
    last = len(soc) - 1
    points = ", ".join(
        f"{t + (0 if not n else 1e-3 * side):.9g}, {STEPS[n - (1 - side)][1] * power_scale:.9g}"
        for n, (t, _) in enumerate(STEPS)
        for side in ((1,) if n == 0 else (0, 1))
    )
    lines += [
        f"Rmp p{last} top {MAIN}",
        f"Rmn n0 0 {MAIN}",
        f"Bp top 0 I=pwl(time, {points}, 1e6, {STEPS[-1][1]:.9g})/max(v(top), 1)",
        ".options reltol=1e-6 abstol=1e-9 vntol=1e-7 method=gear maxord=2",
        f".tran 1 {UNTIL} 0 1 UIC",
        ".control",
        "run",
        "wrdata out.txt " + " ".join(f"i(Vm{k})" for k in range(len(soc))) + " v(top)",
        "quit",
        ".endc",
        ".end",
    ]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("count", [4, 8])
def test_transients_agree_with_ngspice(count, tmp_path):
    rng = np.random.default_rng(count)
    spread = rng.uniform(-1, 1, (5, count))
    soc, capacity = 0.45 + 0.1 * spread[0], 100 * (1 + 0.05 * spread[1])
    r0, r1, r2 = 8e-3 * (1 + 0.2 * spread[2]), 6e-3 * (1 + 0.2 * spread[3]), 5e-3 * (1 + 0.2 * spread[4])
    (tmp_path / "bank.cir").write_text(netlist(soc, capacity, r0, r1, r2, count / 4))
    done = subprocess.run(["ngspice", "-b", "bank.cir"], cwd=tmp_path, capture_output=True, text=True, timeout=120)
    assert (tmp_path / "out.txt").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    table = np.loadtxt(tmp_path / "out.txt")
    time, values = table[:, 0], table[:, 1::2]

    edges = [Edge(f"M{k}", f"n{k}", f"p{k}", "module") for k in range(count)]
    edges += [Edge(f"L{k}+", f"p{k - 1}", f"p{k}") for k in range(1, count)]
    edges += [Edge(f"L{k}-", f"n{k - 1}", f"n{k}") for k in range(1, count)]
    edges += [Edge("main+", f"p{count - 1}", "top"), Edge("main-", "bottom", "n0"), Edge("I1", "top", "bottom", "load")]
    network = Network.of(edges)
    ohm = [MAIN if e.name.startswith("main") else LINK if e.name.startswith("L") else 0.0 for e in edges]
    modules = run_modules(
        lfp_curve(),
        capacity,
        r0,
        branch_1=(r1, 35.0),
        branch_2=(r2, 1000.0),
        names=tuple(e.name for e in edges[:count]),
    )
    profile = Profile(tuple(t for t, _ in STEPS), tuple(p * count / 4 for _, p in STEPS))
    found = run(
        Ports.of_network(network, np.array(ohm)),
        modules,
        [RunLoad("I1", "power", profile)],
        until=UNTIL,
        soc=soc,
        tolerance=1e-6,
    )
    largest = np.abs(found.module_current).max()
    quiet = np.ones(len(time), dtype=bool)
    for moment, _ in STEPS:
        quiet &= np.abs(time - moment) > 2.0  # ngspice rounds the corner of a step
    for k in range(count):
        ours = np.interp(time, found.time, found.module_current[:, k])
        assert np.abs(ours - values[:, k])[quiet].max() < 1e-3 * largest
    volts = np.interp(time, found.time, found.load_voltage[:, 0])
    assert np.abs(volts / values[:, -1] - 1)[quiet].max() < 1e-5
