"""Published curves of LFP cells, ready for a run.

Gives: Curve, published_curves(), curves_of(), resistance_table(). A kind's own table goes before the published ones.
Limits: all published curves come from small cylindrical cells; each ends where its table ends.
Sources: handbook tables lfp/ocv-26650 (both branches), lfp/ocv-18650, lfp/ocv-bpx, lfp/resistance-temperature.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bankwright.bank.model_kinds import ModuleKind
from bankwright.forms.origin import FileKey, Origin
from bankwright.handbook.tables import load

__all__ = ["DEFAULT", "Curve", "curves_of", "published_curves", "resistance_table"]

DEFAULT = "18650"


@dataclass(frozen=True, slots=True)
class Curve:
    """Open-circuit voltage of a cell over its state of charge."""

    name: str
    soc: tuple[float, ...]
    volts: tuple[float, ...]
    origin: Origin
    branch: str | None = None  # "charge" | "discharge" | None: direction not stated, or in between

    @property
    def table(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The two columns."""
        return self.soc, self.volts


def _columns(table: str, column: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    found = load(table)
    pairs = [(found.value(row, "soc"), found.value(row, column)) for row in found.rows]
    kept = [(z, v) for z, v in pairs if z is not None and v is not None]
    return tuple(z for z, _ in kept), tuple(v for _, v in kept)


@cache
def published_curves() -> tuple[Curve, ...]:
    """The curves of the handbook: one measured cell with both branches, one measured, one from a parameter set."""
    both = load("lfp/ocv-26650").source
    return (
        Curve("18650", *_columns("lfp/ocv-18650", "voltage"), load("lfp/ocv-18650").source),
        Curve("26650 discharge", *_columns("lfp/ocv-26650", "discharge"), both, "discharge"),
        Curve("26650 charge", *_columns("lfp/ocv-26650", "charge"), both, "charge"),
        Curve("parameter set", *_columns("lfp/ocv-bpx", "voltage"), load("lfp/ocv-bpx").source),
    )


def curves_of(kind: ModuleKind) -> tuple[Curve, ...]:
    """Curves that may hold for a kind: its own table alone where it has one, else all published ones."""
    if kind.ocv:
        soc, volts = (tuple(column) for column in zip(*kind.ocv, strict=True))
        return (Curve(f"table of {kind.name}", soc, volts, FileKey(f"{kind.path}.ocv")),)
    return published_curves()


@cache
def resistance_table() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Temperature in degC and the factor of the cells' resistance to 25 degC."""
    found = load("lfp/resistance-temperature")
    pairs = [(found.value(row, "temperature"), found.value(row, "factor")) for row in found.rows]
    kept = [(t, f) for t, f in pairs if t is not None and f is not None]
    return tuple(t for t, _ in kept), tuple(f for _, f in kept)
