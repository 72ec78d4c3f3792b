"""Published ranges in the place of values that the file does not give, so that a short file still gives a page of use.

Gives: StoodIn, stood_in(). Up to four banks: the missing resistances at the low and the high end of their range, and the
lowest working voltage of the inverters at both ends of its own. A figure that is the same in all of them does not
depend on what is missing; one that differs is a band, marked assumed.
Limits: no capacity, no range. Efficiency has no published range: at 100 % the current is "at least".
Sources: resistance times capacity of LFP cells, mohm Ah: 20.5 (1 s, own fit of open measured data, one 26650 cell),
50 (large prismatic cells, stated "up to 0.5 mohm" for 100 Ah and more, read in a summary), 100 (10 s, 26650, Naumann,
doi 10.17632/kxh42bfgtj.1); bars 0 to 90 micro-ohm a segment [common practice, no source]; metal of a module 0 to 4 mohm [common practice, no source]; cell limits 2.5 and 3.2 V.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from bankwright.bank.model import Bank, BarPiece, Inverter, Module
from bankwright.bank.model_kinds import ModuleKind, Resistances
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.forms.wording import Figure
from bankwright.plan.asks import asking

__all__ = ["StoodIn", "range_of", "stood_in"]

CELLS = Source("resistance times capacity of LFP cells, several families", "", "published values", "published range")
VOLTS = Source("cut-out, or 2.5 V a cell (data sheets of LFP cells), to 3.2 V a cell", "", "", "published range")
BARS = Source("segment of a bar, none to 300 mm of 10 mm x 6 mm copper", "", "", "common practice, no source")
SEGMENT = (0.0, 90e-6)  # ohm
MOHM_AH = {"dc": (50e-3, 100e-3), "surge": (20.5e-3, 100e-3), "ohmic": (20.5e-3, 50e-3)}  # ohm Ah a cell
METAL = (0.0, 4e-3)  # ohm
WORDS = {"dc": "30 s into a step", "surge": "at the surge's time", "ohmic": "first millisecond"}
SYMBOLS = {"dc": "R_30", "surge": "R_t", "ohmic": "R_ac"}
QUESTIONS = ("dc", "surge", "ohmic")


@dataclass(frozen=True)
class StoodIn:
    """Banks at the ends of what is possible, [resistance end][voltage end], and what stands in."""

    banks: tuple[tuple[Bank, ...], ...]
    resistances: dict[str, tuple[Input, ...]]  # by question: "dc", "surge", "ohmic"
    voltages: tuple[Input, ...]
    efficiency: tuple[Missing, ...]


@cache
def range_of(kind: ModuleKind, question: str) -> Toleranced | None:
    """Published range of a module's resistance; None without a capacity."""
    if kind.capacity_ah is None:
        return None
    least, most = (each * kind.cells / kind.capacity_ah for each in MOHM_AH[question])
    dc, cells = kind.resistance.dc, kind.resistance.cells
    low_metal = 0.0 if dc is None or cells is None else max(dc.low - cells.high, 0.0)
    low, high = least + max(METAL[0], low_metal), most + max(METAL[1], low_metal)
    if dc is not None:
        low, high = min(low, dc.low), min(high, dc.high)
    return Toleranced((low + high) / 2, low, high)


def stood_in(bank: Bank) -> StoodIn:
    """The banks to solve: one when nothing is missing."""
    missing = {q: _missing(bank, q) for q in QUESTIONS}
    resistances = [bank]
    bars = _bar_inputs(bank)
    if any(missing.values()) or bars:
        resistances = [_with_resistances(bank, end) for end in ("low", "high")]
    voltages = [_with_voltage(each, "low") for each in resistances], [_with_voltage(each, "high") for each in resistances]
    lacking = tuple(i for i in bank.inverters if i.kind.lowest_voltage is None)
    banks = tuple(zip(*voltages, strict=True)) if lacking else tuple((each,) for each in voltages[0])
    no_efficiency = {i.kind.path: asking(f"{i.kind.path}.efficiency") for i in bank.inverters if i.kind.efficiency is None}
    return StoodIn(
        banks,
        {q: (*dict.fromkeys(_input(kind, q) for kind in missing[q]), *bars) for q in QUESTIONS},
        tuple(dict.fromkeys(_voltage_input(bank, inverter) for inverter in lacking)),
        tuple(no_efficiency.values()),
    )


def _missing(bank: Bank, question: str) -> tuple[ModuleKind, ...]:
    kinds = dict.fromkeys(module.kind.path for module in bank.modules)
    by_path = {module.kind.path: module.kind for module in bank.modules}
    found = [by_path[path] for path in kinds]
    return tuple(k for k in found if getattr(k.resistance, question) is None and range_of(k, question) is not None)


def _input(kind: ModuleKind, question: str) -> Input:
    found = range_of(kind, question)
    assert found is not None
    figure = Figure(found.nominal, "resistance", found.low, found.high)
    settle = asking(f"{kind.path}.resistance.{question}")
    return Input(SYMBOLS[question], f"resistance of {kind.name}, {WORDS[question]}", figure, CELLS, True, settle)


def _with_resistances(bank: Bank, end: str) -> Bank:
    kinds = {module.kind.path: _kind(module, end) for module in bank.modules}
    bar = exact(SEGMENT[0 if end == "low" else 1])
    return bank.replaced(
        modules=tuple(replace(module, kind=kinds[module.kind.path]) for module in bank.modules),
        pieces=tuple(replace(p, resistance=bar) if _is_bare_segment(p) else p for p in bank.pieces),
    )


def _is_bare_segment(piece: BarPiece) -> bool:
    return piece.role == "segment" and piece.resistance is None


def _bar_inputs(bank: Bank) -> tuple[Input, ...]:
    """One input for each bar whose section is not given."""
    owners = dict.fromkeys(piece.owner for piece in bank.pieces if _is_bare_segment(piece))
    found = []
    for bar in bank.bars:
        if bar.name in owners:
            key = next((k for k in ("width", "thickness", "spacing") if getattr(bar, k) is None), "width")
            figure = Figure(sum(SEGMENT) / 2, "resistance", *SEGMENT)
            found.append(Input("r_bar", f"a segment of {bar.name}", figure, BARS, True, asking(f"{bar.origin.path}.{key}")))
    return tuple(found)


def _kind(module: Module, end: str) -> ModuleKind:
    kind, given = module.kind, module.kind.resistance
    values: dict[str, Toleranced] = {}
    for question in QUESTIONS:
        found = range_of(kind, question)
        if getattr(given, question) is None and found is not None:
            values[question] = exact(getattr(found, end))
    if not values:
        return kind
    filled: Resistances = replace(given, **values)  # type: ignore[arg-type]
    return replace(kind, resistance=filled)


def _voltage_range(bank: Bank, inverter: Inverter) -> tuple[float, float]:
    cells = min(module.kind.cells for module in bank.modules)
    low = inverter.kind.cut_out or 2.5 * cells
    return low, max(3.2 * cells, low)


def _voltage_input(bank: Bank, inverter: Inverter) -> Input:
    low, high = _voltage_range(bank, inverter)
    settle = asking(f"{inverter.kind.path}.lowest_voltage")
    name = f"lowest voltage at which {inverter.kind.name} gives rated power"
    return Input("V", name, Figure(low, "voltage", low, high), VOLTS, True, settle)


def _with_voltage(bank: Bank, end: str) -> Bank:
    """Every inverter with a lowest voltage and an efficiency; 100 % where none is given, which callers mark."""
    made = []
    for inverter in bank.inverters:
        kind = inverter.kind
        if kind.lowest_voltage is None:
            kind = replace(kind, lowest_voltage=_voltage_range(bank, inverter)[0 if end == "low" else 1])
        if kind.efficiency is None:
            kind = replace(kind, efficiency=1.0)
        made.append(inverter if kind is inverter.kind else replace(inverter, kind=kind))
    return bank.replaced(inverters=tuple(made))
