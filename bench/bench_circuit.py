"""Speed of the network solver beside general-purpose tools, in one run; prints ratios, tests nothing.

Beside: ngspice in batch mode at its best number of networks a netlist (start of the process included, writing the deck
and reading the result not), and bare numpy.linalg.solve of the same networks as full nodal stacks (stacks ready made,
linear, no constant power). Run: python bench/bench_circuit.py
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from bankwright.circuit.network import Network  # noqa: E402
from bankwright.circuit.solution import Case  # noqa: E402
from bankwright.circuit.solver.basis import shared_basis  # noqa: E402
from bankwright.circuit.solver.laws import Power  # noqa: E402
from bankwright.circuit.solver.solve import currents  # noqa: E402
from support.networks import ladder, star  # noqa: E402
from support.spice import netlist  # noqa: E402

WATTS = {"I1": 6000.0, "I2": 4500.0}
VARIANTS = 10_000


def best(action: Callable[[], object], times: int) -> float:
    """Shortest of several runs, in seconds."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        spent.append(time.perf_counter() - start)
    return min(spent)


def variants(network: Network, count: int) -> np.ndarray:
    luck = np.random.default_rng(1)
    return network.resistances() * luck.uniform(0.8, 1.2, (count, len(network.elements)))


def ours(network: Network, R: np.ndarray, times: int = 3) -> float:
    case = Case("bench", {name: Power(WATTS.get(name, 5000.0)) for name in network.load_names})
    E = np.full(len(network.modules), 51.2)
    return best(lambda: currents(network, case, R, E), times)


def by_ngspice(network: Network, folder: Path) -> tuple[float, int]:
    """Best seconds a network, and the number a netlist."""
    found = []
    E = np.full(len(network.modules), 51.2)
    for count in (5, 10, 20, 50, 100):
        R = network.edge_resistances(variants(network, count))
        deck = folder / f"deck{count}.cir"
        deck.write_text(
            netlist([(network, r, E, WATTS) for r in R], folder / f"out{count}", quick=True), encoding="ascii"
        )
        call = ["ngspice", "-b", str(deck)]
        took = best(lambda call=call: subprocess.run(call, capture_output=True, check=True), 3)
        assert (folder / f"out{count}.raw").stat().st_size > 8 * count * len(network.edges), "ngspice gave no result"
        found.append((took / count, count))
    return min(found)


def nodal_stacks(network: Network, R: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Conductance matrices (variants, nodes-1, nodes-1) and right sides, loads as given currents."""
    ohms = network.edge_resistances(R)
    solid = [e for e, edge in enumerate(network.edges) if edge.kind != "load"]
    incidence = np.zeros((len(solid), len(network.nodes)))
    incidence[np.arange(len(solid)), network.ends[solid, 0]] = 1.0
    incidence[np.arange(len(solid)), network.ends[solid, 1]] = -1.0
    incidence = incidence[:, 1:]
    G = 1.0 / ohms[:, solid]
    sides = np.zeros((len(R), len(network.nodes) - 1, 1))
    is_module = np.array([network.edges[e].kind == "module" for e in solid])
    sides[:, :, 0] = -(G * is_module * 51.2) @ incidence
    for load in network.loads:
        for node, sign in zip(network.ends[load], (-1.0, 1.0), strict=True):
            if node:
                sides[:, node - 1, 0] += sign * 110.0
    return np.einsum("en,be,em->bnm", incidence, G, incidence, optimize=True), sides


def main() -> None:
    shapes = {
        "chain, 2 inverters": ladder(16, "opposite ends", 0.014, 1e-4, 3e-4, 2),
        "busbar, 2 inverters": star([0.014] * 16, [2e-4] * 16, 1e-5, 3e-4, 2),
    }
    print(f"16 modules, every edge current, constant power; {VARIANTS} variants against bare numpy.linalg.solve")
    for name, network in shapes.items():
        R = variants(network, VARIANTS)
        mine = ours(network, R)
        G, sides = nodal_stacks(network, R)
        bare = best(lambda G=G, sides=sides: np.linalg.solve(G, sides), 3)
        del G, sides
        size = f"{len(network.nodes)} nodes, {len(network.edges)} edges, K = {len(shared_basis(network).inner)}"
        print(f"  {name} ({size}): ours {mine:.3f} s, nodal solve {bare:.3f} s, ratio {bare / mine:.1f}")
        if shutil.which("ngspice"):
            with tempfile.TemporaryDirectory() as folder:
                each, count = by_ngspice(network, Path(folder))
            per = mine / VARIANTS
            print(f"    ngspice {each * 1e3:.2f} ms a network at {count} a netlist, ours {per * 1e6:.1f} us: ", end="")
            print(f"{each / per:.0f} times faster")
        else:
            print("    ngspice is not installed: no comparison")
    print("growth, chain, 2 inverters, 1,000 variants (256 modules: 100); first: tree, loops and products made once")
    for count in (4, 16, 64, 256):
        network = ladder(count, "opposite ends", 0.014, 1e-4, 3e-4, 2)
        number = 100 if count == 256 else 1000
        R = variants(network, number)
        start = time.perf_counter()
        ours(network, R[:1], 1)
        first = time.perf_counter() - start
        took = ours(network, R, 2)
        tracemalloc.start()
        ours(network, R, 1)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(
            f"  {count:4d} modules: first {first * 1e3:8.1f} ms, then {took / number * 1e6:9.1f} us a variant, ", end=""
        )
        print(f"peak {peak / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
