"""Findings of Plan redone from what `--explain CODE --at PLACE` prints, and from nothing else.

Each test parses the printed numbers, applies the printed formula by itself, and compares with the printed figure.
Solved figures are solved again here: node by node (Kirchhoff), not by the loops that the program uses. Formulas of this
file: ripple's share of the current, a = |Zc / (Zc + R + jwL)|, k_r = sqrt(1 + a^2/2), Zc = R_C + 1/(jwC), w = 2 pi 2f
(current divider and RMS of mean plus sine [stated law]); adiabatic (k S)^2 (IEC 60364-5-54 annex A).
Printed figures have three digits, solved ones five: figures agree within 1 %, solved ones within 0.1 %.
"""

from __future__ import annotations

import json
import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bankwright.cli.main import main

DEMO = str(Path(__file__).parents[2] / "demo" / "barn.toml")
SCALE = {
    "": 1.0, "A": 1.0, "kA": 1e3, "mA": 1e-3, "V": 1.0, "mV": 1e-3, "kW": 1e3, "W": 1.0, "Ω": 1.0, "mΩ": 1e-3,
    "µΩ": 1e-6, "µH": 1e-6, "mF": 1e-3, "Hz": 1.0, "%": 0.01, "°C": 1.0, "K": 1.0, "s": 1.0, "ms": 1e-3, "mm²": 1.0,
    "A²s": 1.0, "A/mm²": 1.0,
}  # fmt: skip
AMOUNT = re.compile(r"(-?[\d.\u202f]+)(?: × 10([⁰¹²³⁴⁵⁶⁷⁸⁹]+))?(?: ([^\s:(;,]+))?")
ROW = re.compile(r"^(.+?) \[(.+?)\] to \[(.+?)\]: (?:(\S+) V behind )?(\S+) mohm, (\S+) A$")
DRAW = re.compile(r"^(.+?) \[(.+?)\] to \[(.+?)\] draws (\S+) A(?: at (\S+) V)?: (.*)$")
PART = re.compile(r"^\w+ (.+?): (\S+) mohm = (\S+) mohm x (\S+)(?: at (\S+) degC)?(?:; (.*))?$")


def amount(text: str) -> float:
    number, power, unit = AMOUNT.match(text.replace("−", "-")).groups()  # type: ignore[union-attr]
    ten = 10.0 ** int(power.translate(str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789"))) if power else 1.0
    return float(number.replace("\u202f", "")) * ten * SCALE[unit or ""]


class Trace:
    """What one call printed: `numbers` by symbol, `said` the sentence, `rows`, `draws`, `parts` of the solved case."""

    def __init__(self, text: str) -> None:
        first = text[text.index("\n-- ") :].split("\n-- ")[1:]
        finding = first[0].split("\n", 1)[1]
        lines: list[str] = []
        for line in finding.splitlines():
            if line.startswith(" ") and lines:
                lines[-1] += f" {line.strip()}"
            else:
                lines.append(line)
        self.said = lines[0]
        self.numbers: dict[str, list[float]] = {}
        for line in lines[1:]:
            symbol = re.match(r"(sum\(I r\)|\S+)\s+(.*)", line)
            if (
                symbol
                and symbol[1] != "formula"
                and AMOUNT.match(symbol[2])
                and " to " not in symbol[2].split(":")[0].split("(")[0]
            ):
                self.numbers.setdefault(symbol[1], []).append(amount(symbol[2]))
        solved = next((part for part in first if part.startswith("solved ")), "")
        logical: list[str] = []
        for line in solved.splitlines()[1:]:
            if line.startswith(("  - ", "      . ")):
                logical.append(line.strip()[2:].strip())
            elif logical and line.startswith("    "):
                logical[-1] += f" {line.strip()}"
        self.rows = [m.groups() for line in logical if (m := ROW.match(line))]
        self.draws = [m.groups() for line in logical if (m := DRAW.match(line))]
        self.parts = {m[1]: m for line in logical if (m := PART.match(line))}

    def __getitem__(self, symbol: str) -> float:
        return self.numbers[symbol][0]

    def solved(self) -> tuple[dict[str, float], dict[str, float]]:
        """Potentials of places and currents of rows, from ohms, volts and draws alone; a short is a wire."""
        nodes = sorted({end for row in (*self.rows, *self.draws) for end in row[1:3]})
        index = {node: i for i, node in enumerate(nodes)}
        wires = [d for d in self.draws if d[0] == "the short"]
        size = len(nodes) + len(wires)
        G, b = np.zeros((size, size)), np.zeros(size)
        for _, start, end, emf, mohm, _ in self.rows:
            g = 1.0 / max(float(mohm) * 1e-3, 1e-9)
            i, j, e = index[start], index[end], float(emf or 0.0)
            G[[i, j], [i, j]] += g
            G[i, j] -= g
            G[j, i] -= g
            b[i] -= g * e  # the source drives from start to end
            b[j] += g * e
        for name, start, end, amps, *_ in self.draws:
            if name != "the short":
                b[index[start]] -= float(amps)
                b[index[end]] += float(amps)
        for k, (_, start, end, *_) in enumerate(wires, len(nodes)):
            G[index[start], k] += 1.0
            G[index[end], k] -= 1.0
            G[k, index[start]], G[k, index[end]] = 1.0, -1.0
        G[0, :], b[0] = 0.0, 0.0
        G[0, 0] = 1.0
        x = np.linalg.solve(G, b)
        volts = {node: float(x[i]) for node, i in index.items()}
        amps = {
            name: (volts[start] - volts[end] + float(emf or 0.0)) / max(float(mohm) * 1e-3, 1e-9)
            for name, start, end, emf, mohm, _ in self.rows
        }
        amps |= {d[0]: float(x[k]) for k, d in enumerate(wires, len(nodes))}
        return volts, amps


@cache
def printed(code: str, place: str, bank: str = DEMO) -> str:
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out), pytest.raises(SystemExit):
        main(("plan", bank, "--explain", code, "--at", place))
    return out.getvalue()


def trace(code: str, place: str) -> Trace:
    return Trace(printed(code, place))


def said(one: Trace, pattern: str) -> float:
    found = re.search(pattern, one.said)
    assert found, one.said
    return amount(found[1])


def agrees_with_its_own_table(one: Trace) -> tuple[dict[str, float], dict[str, float]]:
    volts, amps = one.solved()
    most = max(abs(float(row[5])) for row in one.rows)
    for row in one.rows:
        assert amps[row[0]] == pytest.approx(float(row[5]), abs=2e-3 * most), row[0]
    for name, found in one.parts.items():
        assert float(found[2]) == pytest.approx(float(found[3]) * float(found[4]), rel=2e-4, abs=1e-9), name
    return volts, amps


def test_ampacity_of_a_lead_folded_into_a_group() -> None:
    one = trace("P-CABLE-2", "L2+")
    carries = min(one["I_table"] * one["f_air"] * one["f_bundle"], one["I_term"])
    assert said(one, r"may carry ([\d.]+ k?A)") == pytest.approx(carries, rel=0.01)
    _, amps = agrees_with_its_own_table(one)
    assert amps["L2+"] == pytest.approx(one["I_nominal"], rel=0.003)
    assert one["I_nominal"] < one["Ib"] < one["I_corner"]  # the quantile inside the file's tolerances decides
    assert said(one, r": ([\d.]+ A) left") == pytest.approx(carries - one["Ib"], rel=0.01)


def test_terminal_column() -> None:
    one = trace("P-CABLE-1", "main+")
    _, amps = agrees_with_its_own_table(one)
    need = 1.25 * abs(amps["main+"])
    assert said(one, r"needs ([\d.]+ A)") == pytest.approx(need, rel=0.01)
    assert said(one, r": ([\d.]+ A) over") == pytest.approx(need - one["I_term"], rel=0.02)


def test_rating_of_a_fuse() -> None:
    one = trace("P-DEVICE-1", "F2-I2")
    _, amps = agrees_with_its_own_table(one)
    assert said(one, r"needs a rating of ([\d.]+ A)") == pytest.approx(1.25 * abs(amps["I2+lead"]), rel=0.01)


@pytest.mark.parametrize(("code", "place"), [("P-DEVICE-3", "F1"), ("P-BAR-1", "bar+[2-3]")])
def test_heating_current_with_the_ripple_of_the_loop(code: str, place: str) -> None:
    one = trace(code, place)
    w = 2 * math.pi * 2 * one["f"]
    zc = one["R_C"] + 1 / (1j * w * one["C"])
    low = one["R_C"] + 1 / (1j * w * 1.2 * one["C"])  # the tolerance of the capacitors is printed beside them
    a = max(abs(z / (z + one["R_loop"] + 1j * w * one["L_loop"])) for z in (zc, low))
    assert one["k_r"] == pytest.approx(math.sqrt(1 + a**2 / 2), rel=0.012)
    if code == "P-DEVICE-3":
        assert said(one, r"heated as by ([\d.]+ A)") == pytest.approx(one["k_r"] * one["Ib"], rel=0.01)
        assert said(one, r"carries ([\d.]+ A) of") == pytest.approx(one["In"] * one["f_T"], rel=0.01)
    else:
        assert said(one, r"carries ([\d.]+ A/mm²)") == pytest.approx(one["k_r"] * one["I"] / one["section"], rel=0.01)


def test_largest_fault_through_a_fuse_without_its_own_resistance() -> None:
    one = trace("P-FAULT-1", "F2-I2")
    _, amps = agrees_with_its_own_table(one)
    row = next(row for row in one.rows if row[0] == "F2-I2")
    assert float(row[4]) == 0.0
    assert amps["the short"] == pytest.approx(one["I_k,max"], rel=0.006)
    assert abs(float(row[5])) == pytest.approx(one["I_k,max"], rel=0.006)


def test_what_the_others_drive_into_a_module() -> None:
    one = trace("P-FAULT-2", "M2")
    _, amps = agrees_with_its_own_table(one)
    assert "M2" not in amps  # its own place is the short
    assert amps["the short"] == pytest.approx(one["I_k,others"], rel=0.006)
    assert said(one, r"([\d.]+ kA) over") == pytest.approx(amps["the short"] - one["Icn"], rel=0.01)


def test_smallest_fault_of_one_cold_module() -> None:
    one = trace("P-CLEAR-3", "F1")
    _, amps = agrees_with_its_own_table(one)
    assert amps["the short"] == pytest.approx(one["I_k,min"], rel=0.006)
    assert said(one, r"may be ([\d.]+ k?A)") == pytest.approx(0.5 * amps["the short"], rel=0.01)


def test_drop_at_full_power() -> None:
    one = trace("P-DROP-1", "I1")
    volts, _ = agrees_with_its_own_table(one)
    own = next(draw for draw in one.draws if draw[0] == "I1")
    power, efficiency, least = re.match(r"(\S+) W / efficiency (\S+) / (\S+) V", own[5]).groups()  # type: ignore[union-attr]
    assert float(own[3]) == pytest.approx(float(power) / float(efficiency) / float(least), rel=1e-4)
    at = volts[own[1]] - volts[own[2]]
    posts = [volts[row[2]] - volts[row[1]] for row in one.rows if row[3]]
    assert max(posts) - at == pytest.approx(one["sum(I r)"], rel=0.01)
    assert said(one, r"\(([\d.]+ %) of") == pytest.approx((max(posts) - at) / one["V_nominal"], rel=0.015)


def test_lowest_voltage_in_a_cold_surge() -> None:
    one = trace("P-DROP-2", "I2")
    volts, _ = agrees_with_its_own_table(one)
    own = next(draw for draw in one.draws if draw[0] == "I2")
    at = volts[own[1]] - volts[own[2]]
    assert at == pytest.approx(one["V"], rel=0.002)
    power, efficiency = re.match(r"(\S+) W / efficiency (\S+) / its volts", own[5]).groups()  # type: ignore[union-attr]
    assert float(own[3]) * at == pytest.approx(float(power) / float(efficiency), rel=1e-3)
    assert one.parts["M3"][5] == "2"  # f(T) of the cells is printed with its temperature
    assert float(one.parts["M3"][4]) > 1.3


def test_withstand_of_a_lead() -> None:
    one = trace("P-CLEAR-1", "I2+lead")
    k = float(re.search(r"k = ([\d.]+) A s", " ".join(printed("P-CLEAR-1", "I2+lead").split()))[1])  # type: ignore[index]
    assert said(one, r"stands ([^:;]+)") == pytest.approx((k * one["S"]) ** 2, rel=0.015)
    heat = sum(math.sqrt(each) for each in one.numbers["I2t"]) ** 2
    assert said(one, r"lets? (\S+(?: × 10\S+)? A²s) through") == pytest.approx(heat, rel=0.015)
    agrees_with_its_own_table(one)


def test_current_of_a_module_while_another_is_away() -> None:
    one = trace("P-SHARE-3", "M2")
    _, amps = agrees_with_its_own_table(one)
    assert abs(amps["M2"]) == pytest.approx(one["I_k"], rel=0.005)


def test_precharge_by_its_formula() -> None:
    one = trace("P-PRECHARGE-2", "I2")
    rest = one["R"] * one["Is"]
    time = -one["R"] * one["C"] * math.log((2.0 - rest) / (one["E"] - rest))
    assert said(one, r"after ([\d.]+ s)") == pytest.approx(time, rel=0.01)


def test_every_place_of_every_check_can_be_taken_apart(capsys: pytest.CaptureFixture[str]) -> None:
    for code in ("P-CABLE-3", "P-EARTH-3"):
        with pytest.raises(SystemExit):
            main(("plan", DEMO, "--explain", code, "--json"))
        told = json.loads(capsys.readouterr().out)
        assert told["at"] is None
        assert told["solved"] == []
        for place in told["places"][:6]:
            with pytest.raises(SystemExit):
                main(("plan", DEMO, "--explain", code, "--at", place, "--json"))
            one = json.loads(capsys.readouterr().out)
            assert one["at"] == place
            assert one["findings"]
            assert all(place in finding["at"] for finding in one["findings"])
            if code == "P-CABLE-3":
                assert place in {row["name"] for row in one["solved"][0]["rows"]}


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--explain", "P-CABLE-2", "--at", "L99+"), "Did you mean"),
        (("--explain", "P-CABLE-2", "--at", ""), "It speaks of"),
        (("--at", "L2+"), "--at goes with --explain"),
    ],
)
def test_a_place_that_is_not_there(words: tuple[str, ...], hint: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(("plan", DEMO, *words))
    assert end.value.code == 2
    assert hint in capsys.readouterr().err
