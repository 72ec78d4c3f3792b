"""How soon the page is there: server up, page ready, answer to an edit, findings that rest on the scatter.

Measures a server of its own on an invented bank of 8 modules, as a browser asks; prints medians and the time wanted,
asserts nothing. `python bench/bench_page.py`
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request
from pathlib import Path

MODULES = 8
HEAD = """format = 1
title = "Bench"
rules = "nec-2023"
[site]
ambient = "5 degC to 35 degC"
rack_rise = "8 K"
[kinds.module.M]
cells = 16
capacity = "100 Ah"
energy = "5.12 kWh"
breaker = { rating = "125 A", interrupts = "6 kA", volts = "80 V" }
posts = { pairs = 2, inner = "40 uohm", stud = "M8", lugs = 1, torque = "10 N m", through = "320 A" }
[kinds.module.M.resistance]
dc = "14 mohm +- 3 mohm"
after = "30 s"
surge = "9 mohm +- 2 mohm"
surge_after = "10 s"
ohmic = "6 mohm +- 1 mohm"
cells = "9 mohm"
[kinds.module.M.discharge]
continuous = "100 A"
trip = "150 A for 3 s"
cell_trip = "2.5 V"
[kinds.module.M.charge]
continuous = "60 A"
trip = "110 A for 3 s"
cell_trip = "3.75 V"
cell_full = "3.65 V"
inhibits = true
[kinds.inverter.I]
power = "5 kW"
efficiency = "93 %"
surge_power = "10 kW"
surge_time = "5 s"
lowest_voltage = "46 V"
cut_out = "43 V"
[kinds.device.F]
type = "fuse"
rating = "300 A"
volts = "80 V"
interrupts = "50 kA"
resistance = "0.25 mohm"
[wiring]
pattern = "chain"
feed = "opposite ends"
link = { cable = "4/0 AWG", strands = "fine", insulation = "90 degC", length = "330 mm", joint = "20 uohm +- 10 uohm" }
main = { cable = "4/0 AWG", strands = "fine", insulation = "90 degC", length = "1.6 m", joint = "20 uohm +- 10 uohm" }
branch = { cable = "4/0 AWG", strands = "fine", insulation = "90 degC", length = "1.1 m", joint = "20 uohm +- 10 uohm" }
[[devices]]
name = "F1"
kind = "F"
on = "main+"
at = "bank end"
"""


def bank() -> str:
    """The bank file."""
    modules = "".join(f'[[modules]]\nname = "M{k}"\nkind = "M"\nslot = {k}\n' for k in range(1, MODULES + 1))
    return HEAD + modules + "".join(f'[[inverters]]\nname = "I{k}"\nkind = "I"\n' for k in (1, 2))


def asked(url: str, body: dict[str, str] | None = None) -> tuple[float, str]:
    """Ask once; time and text."""
    base = url.split("/", 3)
    origin = "/".join(base[:3])
    data = urllib.parse.urlencode(body).encode() if body is not None else None
    request = urllib.request.Request(url, data, {"origin": origin, "hx-request": "true", "accept": "text/html"})
    begun = time.perf_counter()
    with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(request, timeout=60) as answer:
        text = answer.read().decode()
    return time.perf_counter() - begun, text


def row(what: str, seconds: list[float], wanted: float) -> None:
    """One printed line."""
    middle = statistics.median(seconds)
    print(f"{what:<58} {middle * 1000:7.0f} ms   wanted {wanted * 1000:5.0f} ms   ratio {middle / wanted:4.2f}")


def started(path: Path, port: int) -> tuple[subprocess.Popen[str], float, str]:
    """Start a server; time to the first answer of a small page."""
    begun = time.perf_counter()
    command = [sys.executable, "-m", "bankwright", "open", str(path), "--port", str(port), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, text=True)
    base = f"http://127.0.0.1:{port}"
    while True:
        try:
            asked(base + "/static/icon.svg")
            return process, time.perf_counter() - begun, base
        except OSError:
            time.sleep(0.01)


def main() -> None:
    """Measure and print."""
    ups, firsts = [], []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.toml"
        path.write_text(bank())
        for turn in range(3):
            process, up, base = started(path, 8391 + turn)
            ups.append(up)
            firsts.append(asked(base + "/plan")[0])
            if turn < 2:
                process.terminate()
                process.wait(10)
        try:
            row("server up: process started to first answer", ups, 1.5)
            row("first page of Plan after the start", firsts, 1.0)
            for name in ("plan", "buy", "build/all", "match", "fire"):
                row(f"page /{name}", [asked(f"{base}/{name}")[0] for _ in range(5)], 1.0)
            tried, saved, scattered = [], [], []
            for n in range(9):
                body = {"path": "wiring.main.length", "value": f"1.{n + 1} m"}
                tried.append(asked(base + "/plan/try", body)[0])
                digest = asked(base + "/plan/bank")[1].split('data-digest="')[1].split('"')[0]
                begun = time.perf_counter()
                saved.append(asked(base + "/plan/value", body | {"digest": digest})[0])
                asked(base + "/plan/findings")
                scattered.append(time.perf_counter() - begun)
            row("a key typed: faults and what would change", tried, 0.15)
            row("an edit written: faults, steady findings, drawing, route", saved, 0.15)
            row("an edit written, to findings that rest on the scatter", scattered, 1.0)
        finally:
            process.terminate()
            process.wait(10)


if __name__ == "__main__":
    main()
