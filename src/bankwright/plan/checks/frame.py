"""What every check has in common: its card, and the way it goes over its places.

Gives: Card (code, title, formula, source, kind of test) with found(), unknown() and over().
A place whose data is missing becomes one `unknown` finding that names the keys; the other places go on.
Limits: the verdict is derived in forms/finding; findings of one kind are put together in plan/grouping.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, TypeVar

from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say

__all__ = ["Card", "Limits"]

Limits = tuple[float | None, float | None]
Place = TypeVar("Place")
ASK = {
    "maker": "Ask the maker, or read the data sheet.",
    "measure": "Measure it.",
    "decide": "Decide it, and write it into the file.",
}


@dataclass(frozen=True, slots=True)
class Card:
    """What a check says about itself."""

    code: str
    title: str
    formula: str  # with the symbols of the inputs
    source: Source
    test: Literal["code", "physical", "statement"] = "physical"
    ends_at: Literal["fail", "caution"] = "fail"

    def found(
        self,
        at: str | tuple[str, ...],
        figure: Figure | None,
        limits: Limits,
        text: Say,
        do: Say,
        inputs: Iterable[Input] = (),
        case: str | None = None,
        missing: tuple[Missing, ...] = (),
        caution_limits: Limits | None = None,
        forced: Literal["caution", "fail"] | None = None,
        source: Source | None = None,
        ends_at: Literal["fail", "caution"] | None = None,
    ) -> Finding:
        """A finding under this card."""
        return Finding(
            self.code,
            self.title,
            (at,) if isinstance(at, str) else at,
            figure,
            limits,
            source or self.source,
            do,
            self.test,
            case,
            tuple(dict.fromkeys(inputs)),
            tuple(dict.fromkeys(missing)),
            ends_at or self.ends_at,
            caution_limits,
            forced,
            self.formula,
            text,
        )

    def unknown(self, at: str | tuple[str, ...], missing: tuple[Missing, ...]) -> Finding:
        """A finding that could not be made, and what would make it."""
        missing = tuple(dict.fromkeys(missing))
        keys = ", ".join(item.key for item in missing)
        text = say(
            "This could not be checked: {keys} is not given"
            if len(missing) == 1
            else "This could not be checked: {keys} are not given",
            keys=keys,
        )
        do = say("{how}", how=" ".join(dict.fromkeys(item.how or ASK[item.ask] for item in missing)))
        return self.found(at, None, (None, None), text, do, missing=missing)

    def over(
        self, places: Iterable[Place], one: Callable[[Place], Finding | Iterable[Finding] | None], name: str = "name"
    ) -> Iterator[Finding]:
        """Go over places: each gives a finding, several, or none; a missing value gives an `unknown` there."""
        for place in places:
            at = place if isinstance(place, str) else str(getattr(place, name))
            try:
                made = one(place)
                if made is not None:
                    yield from (made,) if isinstance(made, Finding) else made
            except NeedsValue as error:
                yield self.unknown(at, error.missing)
