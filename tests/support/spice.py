"""Networks as netlists for ngspice, an independent general-purpose circuit engine; batch mode, operating point.

Gives: currents_by_ngspice(): edge currents of several networks solved in one netlist. Power loads are current sources
I = P / V between their terminals (V not below a floor far under any solution, so that the first steps do not divide
by zero). Zero resistances become zero-volt sources.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest

from bankwright.circuit.network import Network

__all__ = ["NEEDS_NGSPICE", "currents_by_ngspice", "netlist"]

NEEDS_NGSPICE = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")
FLOOR = 15.0  # V
Job = tuple[Network, np.ndarray, np.ndarray, Mapping[str, float]]  # network, edge ohms, module emfs, watts by load


def netlist(jobs: Sequence[Job], out: Path, quick: bool = False) -> str:
    """One netlist for all networks, side by side, each tied to ground by its first node.

    `quick` lets ngspice write all currents and potentials as one binary file, which costs it least.
    """
    lines, wanted = ["* networks side by side"], []
    for n, (network, ohms, emf, watts) in enumerate(jobs):
        node = {name: "0" if k == 0 else f"n{n}_{k}" for k, name in enumerate(network.nodes)}
        sources = dict(zip(network.modules, emf, strict=True))
        for e, edge in enumerate(network.edges):
            a, b, tag = node[edge.tail], node[edge.head], f"{n}_{e}"
            if edge.kind == "load":
                lines.append(f"b{tag} {a} {b} i={watts.get(edge.name, 0.0):.17g}/max(v({a},{b}),{FLOOR})")
                wanted.append(f"@b{tag}[i]")
            elif edge.kind == "module":
                lines += [f"r{tag} {a} y{tag} {ohms[e]:.17g}", f"v{tag} {b} y{tag} {sources[e]:.17g}"]
                wanted.append(f"@r{tag}[i]")
            elif ohms[e] > 0:
                lines.append(f"r{tag} {a} {b} {ohms[e]:.17g}")
                wanted.append(f"@r{tag}[i]")
            else:
                lines.append(f"v{tag} {a} {b} 0")
                wanted.append(f"i(v{tag})")
    saving = " savecurrents" if quick else ""
    lines.append(f".options{saving} reltol=1e-9 abstol=1e-8 vntol=1e-9 gmin=1e-15 itl1=500")
    lines += [".control", "set numdgt=15", "set wr_singlescale", "set wr_vecnames", "op"]
    pieces = [f"wrdata {out}.{k} {' '.join(wanted[k : k + 200])}" for k in range(0, len(wanted), 200)]
    lines += [f"write {out}.raw"] if quick else pieces
    return "\n".join([*lines, "quit", ".endc", ".end", ""])


def currents_by_ngspice(jobs: Sequence[Job], folder: Path) -> list[np.ndarray]:
    """Edge currents of each network, signed as the project signs them."""
    out = folder / "out"
    deck = folder / "deck.cir"
    deck.write_text(netlist(jobs, out), encoding="ascii")
    run = subprocess.run(["ngspice", "-b", str(deck)], capture_output=True, text=True, timeout=120, check=False)
    pieces = sorted(folder.glob("out.*"), key=lambda path: int(path.suffix[1:]))
    if not pieces:
        raise RuntimeError(f"ngspice gave no result:\n{run.stdout[-2000:]}\n{run.stderr[-2000:]}")
    values = np.concatenate([[float(v) for v in piece.read_text().splitlines()[1].split()[1:]] for piece in pieces])
    sizes = np.cumsum([len(job[0].edges) for job in jobs])[:-1]
    return np.split(values, sizes)
