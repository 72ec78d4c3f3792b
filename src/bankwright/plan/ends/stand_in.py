"""Published ranges in the place of values that the file does not give,
so that a short file still gives a page of use.

Gives: StoodIn, stood_in(), range_of(), efficiency_of(). Up to eight banks: the missing resistances of modules and of
metal (cables, bars), each at the low and the high end of its range, and lowest working voltage and efficiency of the
inverters at both ends of theirs: low, the largest current, first. A figure that is the same in all of them does not
depend on what is missing; one that differs is a band, marked assumed.
Limits: no capacity, no range.
Sources: handbook table published/ranges, each range with its own: cells, metal of a module, bar segment, cell limits.
A surge lies between the first second and 30 s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, BarPiece, Inverter, Link, Module
from bankwright.bank.model_kinds import CableKind, ModuleKind, Resistances
from bankwright.bank.unfold.conductors import wire_resistance
from bankwright.forms.assumed import Assumed
from bankwright.forms.finding import Input
from bankwright.forms.origin import Cited, Source
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.forms.wording import Figure
from bankwright.handbook.tables import look_up
from bankwright.handbook.wires import wire

__all__ = ["StoodIn", "efficiency_of", "range_of", "stood_in"]

TABLE = "published/ranges"
WORDS = {"dc": "30 s into a step", "surge": "at the surge's time", "ohmic": "first millisecond"}
SYMBOLS = {"dc": "R_30", "surge": "R_t", "ohmic": "R_ac"}
QUESTIONS = ("dc", "surge", "ohmic")
LEAST_SIZE = "25 mm2"  # where the size of a cable is not given: common practice, no source


@dataclass(frozen=True)
class StoodIn:
    """Banks at the ends of what is possible, [resistance end][voltage end], and what stands in."""

    banks: tuple[tuple[Bank, ...], ...]
    resistances: dict[str, tuple[Input, ...]]  # by question: "dc", "surge", "ohmic"; those of metal in all three
    metal: tuple[Input, ...]  # cables and bars
    voltages: tuple[Input, ...]  # lowest voltage and efficiency of inverters, end of discharge under a load


def _range(item: str, column: str) -> tuple[float, float, Cited]:
    cited = look_up(TABLE, item, column)
    low, high = cited.low, cited.high
    return cited.value if low is None else low, cited.value if high is None else high, cited


@cache
def _cells(question: str) -> tuple[float, float, Source]:
    """Ends of resistance times capacity of a cell, in ohm Ah, and where they come from."""
    first, second = {"dc": ("cell 30 s",) * 2, "surge": ("cell ohmic", "cell 30 s"), "ohmic": ("cell ohmic",) * 2}[
        question
    ]
    (low, _, a), (_, high, b) = _range(first, "cell"), _range(second, "cell")
    sources = [each for each in dict.fromkeys((a.origin, b.origin)) if isinstance(each, Source)]
    metal = _range("module metal", "resistance")[2].origin
    document = "; ".join(each.document for each in sources)
    place = "; ".join(each.place for each in sources)
    return low, high, Source(document, "", f"{place}; and {metal}", "published range")


@cache
def range_of(kind: ModuleKind, question: str) -> Toleranced | None:
    """Published range of a module's resistance; None without a capacity."""
    if kind.capacity_ah is None:
        return None
    least, most = (each * kind.cells / kind.capacity_ah for each in _cells(question)[:2])
    metal = _range("module metal", "resistance")
    dc, cells = kind.resistance.dc, kind.resistance.cells
    low_metal = 0.0 if dc is None or cells is None else max(dc.low - cells.high, 0.0)
    low, high = least + max(metal[0], low_metal), most + max(metal[1], low_metal)
    ohmic = kind.resistance.ohmic
    if dc is not None:
        low, high = min(low, dc.low), min(high, dc.high) if question == "ohmic" else dc.high
    if ohmic is not None:
        low, high = ohmic.low, max(high, ohmic.low)
    return Toleranced((low + high) / 2, low, high)


def stood_in(bank: Bank) -> StoodIn:
    """The banks to solve: one when nothing is missing."""
    missing = {q: _missing(bank, q) for q in QUESTIONS}
    resistances = [bank]
    metal = (*_bar_inputs(bank), *_link_inputs(bank))
    if any(missing.values()):
        resistances = [_with_modules(bank, end) for end in ("low", "high")]
    if metal:
        resistances = [_with_metal(each, end) for each in resistances for end in ("low", "high")]
    voltages = (
        [_with_voltage(each, "low") for each in resistances],
        [_with_voltage(each, "high") for each in resistances],
    )
    lacking = tuple(i for i in bank.inverters if i.kind.lowest_voltage is None)
    lossy = tuple(i for i in bank.inverters if i.kind.efficiency is None)
    endless = _endless(bank)
    two = lacking or lossy or endless
    banks = tuple(zip(*voltages, strict=True)) if two else tuple((each,) for each in voltages[0])
    inputs = (
        *(_voltage_input(bank, each) for each in lacking),
        *(_efficiency_input(each) for each in lossy),
        *(_empty_input(each) for each in endless),
    )
    return StoodIn(
        banks,
        {q: (*dict.fromkeys(_input(kind, q) for kind in missing[q]), *metal) for q in QUESTIONS},
        metal,
        tuple(dict.fromkeys(inputs)),
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
    return Input(
        SYMBOLS[question], f"resistance of {kind.name}, {WORDS[question]}", figure, _cells(question)[2], True, settle
    )


def _with_modules(bank: Bank, end: str) -> Bank:
    kinds = {module.kind.path: _kind(module, end) for module in bank.modules}
    taken = [
        _taken(_input(kind, question), end, [m.name for m in bank.modules if m.kind.path == kind.path])
        for question in QUESTIONS
        for kind in _missing(bank, question)
    ]
    modules = tuple(replace(module, kind=kinds[module.kind.path]) for module in bank.modules)
    return bank.replaced(modules=modules, assumed=(*bank.assumed, *taken))


def _taken(item: Input, end: str, places: Sequence[str]) -> Assumed:
    """What stands in, as one end of its range."""
    assert isinstance(item.figure, Figure)
    figure = replace(item.figure, value=getattr(item.figure, end))
    key = "" if item.settle is None else item.settle.key
    return Assumed(item.name, figure, "low" if end == "low" else "high", item.origin, tuple(places), key, item.settle)


def _with_metal(bank: Bank, end: str) -> Bank:
    bar = exact(_range("bar segment", "joint")[:2][end == "high"])
    bars = [_taken(item, end, _segments(bank, item)) for item in _bar_inputs(bank)]
    links = [_taken(item, end, _open_links(bank, item)) for item in _link_inputs(bank)]
    return bank.replaced(
        assumed=(*bank.assumed, *bars, *links),
        pieces=tuple(replace(p, resistance=bar) if _is_bare_segment(p) else p for p in bank.pieces),
        links=tuple(_with_cable(link, end) if _is_open(link) else link for link in bank.links),
    )


def _segments(bank: Bank, item: Input) -> list[str]:
    owners = [bar.name for bar in bank.bars if item.settle and item.settle.key.startswith(f"{bar.origin.path}.")]
    return [piece.name for piece in bank.pieces if piece.owner in owners and _is_bare_segment(piece)]


def _open_links(bank: Bank, item: Input) -> list[str]:
    path = item.settle.key.rpartition(".")[0] if item.settle else ""
    return [link.name for link in bank.links if link.origin.path == path and _is_open(link)]


def _is_open(link: Link) -> bool:
    return link.resistance is None and (link.cable is None or link.length is None)


def _longest(link: Link) -> Cited:
    words = "a link or lead" if link.role in ("link", "lead") else "a main or branch"
    return _range(f"length of {words}", "length")[2]


def _with_cable(link: Link, end: str) -> Link:
    """The link with a cable: without resistance, or as long and as thin as it may be."""
    size = wire(LEAST_SIZE)
    cable = link.cable or CableKind(LEAST_SIZE, size.area, wire_resistance(LEAST_SIZE), f"{link.origin.path}.cable")
    length = link.length if link.length is not None else _longest(link).high
    return replace(link, length=length, cable=cable if end == "high" else replace(cable, ohm_per_m=0.0))


def _link_inputs(bank: Bank) -> tuple[Input, ...]:
    """One input for each key that leaves the resistance of cables open."""
    found = {}
    for link in bank.links:
        if _is_open(link):
            most = _with_cable(link, "high")
            assert most.cable is not None
            assert most.length is not None
            high = most.cable.ohm_per_m * most.length
            keys = [key for key, value in (("cable", link.cable), ("length", link.length)) if value is None]
            settle = asking(f"{link.origin.path}.{keys[-1]}")
            figure = Figure(high / 2, "resistance", 0.0, high)
            name = f"cable of {link.origin.path}, {' and '.join(keys)} not given"
            found[link.origin.path] = Input("r_link", name, figure, _longest(link).origin, True, settle)
    return tuple(found.values())


def _is_bare_segment(piece: BarPiece) -> bool:
    return piece.role == "segment" and piece.resistance is None


def _bar_inputs(bank: Bank) -> tuple[Input, ...]:
    """One input for each bar whose section is not given."""
    owners = dict.fromkeys(piece.owner for piece in bank.pieces if _is_bare_segment(piece))
    low, high, cited = _range("bar segment", "joint")
    found = []
    for bar in bank.bars:
        if bar.name in owners:
            key = next((k for k in ("width", "thickness", "spacing") if getattr(bar, k) is None), "width")
            figure = Figure(cited.value, "resistance", low, high)
            found.append(
                Input(
                    "r_bar", f"a segment of {bar.name}", figure, cited.origin, True, asking(f"{bar.origin.path}.{key}")
                )
            )
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
    empty = _range("cell empty", "voltage")[0]
    ends = [m.kind.cells * (m.kind.discharge.cell_empty or empty) for m in bank.modules]
    low = inverter.kind.cut_out or min(ends)
    return low, max(_range("cell nominal", "voltage")[1] * cells, low)


def _voltage_input(bank: Bank, inverter: Inverter) -> Input:
    low, high = _voltage_range(bank, inverter)
    settle = asking(f"{inverter.kind.path}.lowest_voltage")
    name = f"lowest voltage at which {inverter.kind.name} gives rated power"
    return Input("V", name, Figure(low, "voltage", low, high), _volts(), True, settle)


def _volts() -> Source:
    empty, nominal = (_range(item, "voltage")[2] for item in ("cell empty", "cell nominal"))
    words = f"the inverter's cut-out, or the sheet's end of discharge, or {empty.value:g} V a cell ({empty.origin})"
    return Source(words, "", f"to {nominal.value:g} V a cell ({nominal.origin})", "published range")


def efficiency_of(inverter: Inverter) -> tuple[float, float, tuple[Input, ...]]:
    """Least and best efficiency of an inverter, and what stands in where its kind gives none."""
    given = inverter.kind.efficiency
    if given is not None:
        return given, given, ()
    low, high, _ = _range("inverter efficiency", "share")
    return low, high, (_efficiency_input(inverter),)


def _efficiency_input(inverter: Inverter) -> Input:
    low, high, cited = _range("inverter efficiency", "share")
    settle = asking(f"{inverter.kind.path}.efficiency")
    name = f"efficiency of {inverter.kind.name} at rated power"
    return Input("eta", name, Figure(cited.value, "share", low, high), cited.origin, True, settle)


def _endless(bank: Bank) -> tuple[ModuleKind, ...]:
    """Kinds without an end of discharge, where a load given as power hangs on it."""
    if all(load.power is None or load.current is not None for load in bank.loads):
        return ()
    return tuple(dict.fromkeys(m.kind for m in bank.modules if m.kind.discharge.cell_empty is None))


def _empty_range() -> tuple[float, float, Source]:
    empty, working = (_range(item, "voltage") for item in ("cell empty", "cell low working"))
    return empty[0], working[0], Source(f"{empty[2].origin}; to {working[2].origin}", how_known="published range")


def _empty_input(kind: ModuleKind) -> Input:
    low, high, source = _empty_range()
    name = f"end of discharge of a cell of {kind.name}, for loads given as power"
    settle = asking(f"{kind.path}.discharge.cell_empty")
    return Input("V_end", name, Figure(low, "voltage", low, high), source, True, settle)


def _with_end(bank: Bank, end: str) -> Bank:
    """Every module with an end of discharge, a missing one at this end of its range."""
    if not _endless(bank):
        return bank
    low, high, _ = _empty_range()
    value = high if end == "high" else low
    kinds = {k: replace(k, discharge=replace(k.discharge, cell_empty=value)) for k in _endless(bank)}
    hungry = [load.name for load in bank.loads if load.current is None]
    taken = [_taken(_empty_input(kind), end, hungry) for kind in kinds]
    modules = tuple(replace(m, kind=kinds.get(m.kind, m.kind)) for m in bank.modules)
    return bank.replaced(modules=modules, assumed=(*bank.assumed, *taken))


def _with_voltage(bank: Bank, end: str) -> Bank:
    """Every inverter with a lowest voltage and an efficiency, missing ones at this end of their range; modules too."""
    made = []
    lacking = [(i.name, _voltage_input(bank, i)) for i in bank.inverters if i.kind.lowest_voltage is None]
    lossy = [(i.name, _efficiency_input(i)) for i in bank.inverters if i.kind.efficiency is None]
    stood = tuple(dict.fromkeys(item for _, item in (*lacking, *lossy)))
    taken = [_taken(item, end, [name for name, each in (*lacking, *lossy) if each == item]) for item in stood]
    for inverter in bank.inverters:
        kind = inverter.kind
        if kind.lowest_voltage is None:
            kind = replace(kind, lowest_voltage=_voltage_range(bank, inverter)[0 if end == "low" else 1])
        if kind.efficiency is None:
            kind = replace(kind, efficiency=efficiency_of(inverter)[:2][0 if end == "low" else 1])
        made.append(inverter if kind is inverter.kind else replace(inverter, kind=kind))
    return _with_end(bank.replaced(inverters=tuple(made), assumed=(*bank.assumed, *taken)), end)
