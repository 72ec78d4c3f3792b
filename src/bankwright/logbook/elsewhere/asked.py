"""What a person may settle about a foreign file.

Gives: Asked. Empty means: find out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["Asked"]


@dataclass(frozen=True, slots=True)
class Asked:
    """Answers given beforehand."""

    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None  # point | comma
    header: int | None = None  # line of the headings; 0: none
    columns: tuple[str, ...] = ()  # headings in the place of missing ones
    dates: str | None = None  # day-first | month-first | year-first
    zone: str | None = None
    start: tuple[str, ...] = ()  # when an elapsed time or a clock without date begins; one more for each beginning anew
    module: str | None = None  # what columns without a number belong to: a module, or "bank"
    positive: str | None = None  # charging | discharging
    count_from: int | None = None  # 0 | 1
    units: Mapping[str, str] = field(default_factory=dict)  # heading -> unit
    takes: Mapping[str, str] = field(default_factory=dict)  # heading -> "quantity at place [in unit]" or "nothing"
