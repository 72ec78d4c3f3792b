"""What differs between two plans: only the differences, worst place against worst place.

Gives: Difference, differences(), ChangedKey, changed_keys(). Findings are compared code by code: the worst finding
before with the worst one after. A figure counts as different from half a per cent on.
Limits: says what changed, not which is better over all; that is the reader's choice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from bankwright.forms.codes import place_text
from bankwright.forms.finding import Finding, worst_first

__all__ = ["ChangedKey", "Difference", "changed_keys", "differences"]

_SAME = 0.005  # of the figure


@dataclass(frozen=True, slots=True)
class Difference:
    """One check whose worst finding differs; None where a side has no such finding."""

    code: str
    title: str
    before: Finding | None
    after: Finding | None

    SHOWN: ClassVar[tuple[str, ...]] = ("place",)  # what forms/as_json writes beside the fields

    @property
    def place(self) -> str:
        """Where the check stands on the sheet."""
        return place_text(self.code)

    @property
    def verdict_changed(self) -> bool:
        """True when the verdict differs, not only the figure."""
        return self.before is None or self.after is None or self.before.verdict != self.after.verdict


@dataclass(frozen=True, slots=True)
class ChangedKey:
    """A key of the bank file whose value differs; None where a side does not give it."""

    path: str
    before: str | None
    after: str | None


def _worst_by_code(findings: Iterable[Finding]) -> dict[str, Finding]:
    worst: dict[str, Finding] = {}
    for finding in worst_first(tuple(findings)):
        worst.setdefault(finding.code, finding)
    return worst


def _differ(before: Finding, after: Finding) -> bool:
    if before.verdict != after.verdict:
        return True
    if before.figure is None or after.figure is None:
        return (before.figure is None) != (after.figure is None)
    if before.limits != after.limits:
        return True
    scale = max(abs(before.figure.value), abs(after.figure.value))
    return abs(before.figure.value - after.figure.value) > _SAME * scale


def differences(before: Iterable[Finding], after: Iterable[Finding]) -> tuple[Difference, ...]:
    """List the checks that differ: changed verdicts first, then changed figures, each in the order of `worst_first`."""
    old, new = _worst_by_code(before), _worst_by_code(after)
    rows = []
    for code in dict.fromkeys((*old, *new)):
        was, now = old.get(code), new.get(code)
        known = was or now
        assert known is not None
        if was is None or now is None or _differ(was, now):
            rows.append(Difference(code, known.title, was, now))
    return tuple(sorted(rows, key=lambda row: not row.verdict_changed))


def _flat(data: Any, path: str = "") -> dict[str, str]:
    if isinstance(data, Mapping):
        flat: dict[str, str] = {}
        for key, value in data.items():
            flat |= _flat(value, f"{path}.{key}" if path else str(key))
        return flat
    if isinstance(data, list) and data and all(isinstance(item, Mapping) for item in data):
        flat = {}
        for place, item in enumerate(data):
            flat |= _flat(item, f"{path}[{item.get('name', place)}]")
        return flat
    return {path: data if isinstance(data, str) else repr(data)}


def changed_keys(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[ChangedKey, ...]:
    """List the keys of two bank files (parsed TOML) whose values differ; blocks are told apart by their name."""
    old, new = _flat(before), _flat(after)
    paths = dict.fromkeys((*old, *new))
    return tuple(ChangedKey(path, old.get(path), new.get(path)) for path in paths if old.get(path) != new.get(path))
