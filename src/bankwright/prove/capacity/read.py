"""What was counted and read in a capacity test, typed or taken from telemetry, and what the bank's names say.

Gives: Counted, CapacityRead, CapacityTyped, capacity_read(), names_of().
Limits: texts are parsed here, judged in prove/capacity/judged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.logbook.plausible import cell_place

__all__ = ["CapacityRead", "CapacityTyped", "Counted", "capacity_read", "names_of"]

HOUR = 3600.0
Texts = Sequence[str]


@dataclass(frozen=True, slots=True)
class Counted:
    """One way: charge by one sensor, and how long it took. [Ah], [h]"""

    charge: float
    hours: float


@dataclass(frozen=True, eq=False)
class CapacityRead:
    """A test as it was made; None where something was not read."""

    bank: Bank
    out: Counted | None = None  # by the shunt or clamp of the bank
    back: Counted | None = None
    modules_out: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))  # Ah, by their own sensors
    modules_back: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    zeros: tuple[float, ...] = ()  # A shown at no current, before and after
    degc: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))  # of cells, by module or "bank"
    low: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))  # V, cell places at the end
    high: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))  # V, cell places at the top
    from_full: bool = True
    gain: float = 0.0  # of the sensor, where it is known to be more than 1 %

    @property
    def capacity(self) -> float | None:
        """Capacity of all modules by their names; None where one has none. [Ah]"""
        names = names_of(self.bank)
        return None if None in names.values() else sum(value or 0.0 for value in names.values())

    @property
    def rate(self) -> float | None:
        """Mean current of the discharge over the capacity. [1/h]"""
        if self.out is None or not self.capacity or self.out.hours <= 0.0:
            return None
        return self.out.charge / self.out.hours / self.capacity

    @property
    def cells_degc(self) -> float | None:
        """Mean temperature of the cells. [degC]"""
        return sum(self.degc.values()) / len(self.degc) if self.degc else None

    @property
    def zero(self) -> float | None:
        """What the sensor shows of nothing: mean before and after. [A]"""
        return sum(self.zeros) / len(self.zeros) if self.zeros else None


def names_of(bank: Bank) -> dict[str, float | None]:
    """Capacity of each module: of its sheet. [Ah]"""
    return {module.name: module.kind.capacity_ah for module in bank.modules}


class _Typed:
    """Texts into values; all faults at once."""

    def __init__(self, bank: Bank) -> None:
        self.bank, self.faults = bank, list[Fault]()

    def value(self, option: str, text: str | None, quantity: str) -> float | None:
        if text is None:
            return None
        try:
            return parse(text, quantity).nominal
        except QuantityFault as fault:
            self.faults.append(Fault(option, fault.code, fault.found, hint=fault.hint))
            return None

    def placed(self, option: str, texts: Texts, quantity: str, *, cells: bool = False) -> dict[str, float]:
        found: dict[str, float] = {}
        modules = [module.name for module in self.bank.modules]
        for text in texts:
            at, _, value = (part.strip() for part in text.partition("="))
            if not (cell_place(self.bank, at) if cells else at in modules):
                hint = "A cell is M1.c3" if cells else did_you_mean(at, modules, f"Modules: {', '.join(modules)}", 3)
                self.faults.append(Fault(option, "which-place", f'found "{text}"', hint=hint))
                continue
            number = self.value(option, value, quantity)
            if number is not None:
                found[at] = number
        return found

    def way(self, option: str, charge: str | None, time: str | None) -> Counted | None:
        amount, seconds = self.value(option, charge, "capacity_ah"), self.value(f"{option}-time", time, "time")
        if (charge is None) != (time is None):
            self.faults.append(
                Fault(option, "half-given", "charge and time go together", hint=f"{option}, {option}-time")
            )
        if amount is None or seconds is None:
            return None
        if amount <= 0.0 or seconds <= 0.0:
            self.faults.append(Fault(option, "out-of-range", f'found "{charge}" in "{time}"', "both above zero"))
            return None
        return Counted(amount, seconds / HOUR)


@dataclass(frozen=True, slots=True)
class CapacityTyped:
    """What a person wrote: charge and time of both ways, and lists of "M1=text"."""

    out: str | None = None
    out_time: str | None = None
    back: str | None = None
    back_time: str | None = None
    module: tuple[str, ...] = ()
    module_back: tuple[str, ...] = ()
    low: tuple[str, ...] = ()
    high: tuple[str, ...] = ()
    zero: tuple[str, ...] = ()
    temperature: tuple[str, ...] = ()
    partly: bool = False  # it did not begin at full


def capacity_read(bank: Bank, given: CapacityTyped) -> CapacityRead:
    """A test as typed; QuestionError with all faults."""
    typed = _Typed(bank)
    made = CapacityRead(
        bank,
        typed.way("--out", given.out, given.out_time),
        typed.way("--back", given.back, given.back_time),
        typed.placed("--module", given.module, "capacity_ah"),
        typed.placed("--module-back", given.module_back, "capacity_ah"),
        tuple(v for text in given.zero if (v := typed.value("--zero", text, "current")) is not None),
        _degc(typed, given.temperature),
        typed.placed("--low", given.low, "cell_voltage", cells=True),
        typed.placed("--high", given.high, "cell_voltage", cells=True),
        from_full=not given.partly,
    )
    if typed.faults:
        raise QuestionError(tuple(typed.faults), "the options")
    if made.out is None:
        hint = '--out "496.0 Ah" --out-time 5h --back "500.5 Ah" --back-time 5.5h --temperature 21degC'
        raise QuestionError(
            (Fault("--out", "no-readings", "no charge was given", "what went out", hint),), "the options"
        )
    return made


def _degc(typed: _Typed, texts: Texts) -> dict[str, float]:
    """Temperatures of modules, or one of all: "M3=8 degC" or "20 degC"."""
    whole = [text for text in texts if "=" not in text]
    found = typed.placed("--temperature", [text for text in texts if "=" in text], "temperature_degc")
    for text in whole:
        value = typed.value("--temperature", text, "temperature_degc")
        found |= {} if value is None else {"bank": value}
    return found
