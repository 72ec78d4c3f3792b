"""The card of a check: the only hand that makes a Finding, in every stage.

Gives: Card (code, title, formula, source, kind of test) with found(), unknown() and over().
A place whose data is missing becomes one `unknown` finding that names the keys; the other places go on.
Limits: the verdict is derived in forms/finding, what to do follows it in forms/by_verdict; findings of one kind are
put together in forms/grouping.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, TypeVar

from bankwright.forms.by_verdict import by_verdict
from bankwright.forms.checks import BeyondTable, NeedsValue, beyond, lacking
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say

__all__ = ["Card", "Forced", "Limits"]

Limits = tuple[float | None, float | None]
Forced = Literal["caution", "fail"]
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
    why: str = ""  # what it tests, and why, where no check's own text says so

    def found(
        self,
        at: str | tuple[str, ...],
        figure: Figure | None,
        limits: Limits,
        text: Say | None,
        do: Say,
        *,
        inputs: Iterable[Input] = (),
        case: str | None = None,
        missing: Iterable[Missing] = (),
        caution_limits: Limits | None = None,
        forced: Forced | None = None,
        source: Source | None = None,
        ends_at: Literal["fail", "caution"] | None = None,
        more: tuple[str, ...] = (),
    ) -> Finding:
        """Make a finding under this card; what is not given here stands on the card; what to do follows the verdict."""
        made = Finding(
            code=self.code,
            title=self.title,
            at=(at,) if isinstance(at, str) else at,
            figure=figure,
            limits=limits,
            source=source or self.source,
            do=do,
            test=self.test,
            case=case,
            inputs=tuple(dict.fromkeys(inputs)),
            missing=tuple(dict.fromkeys(missing)),
            ends_at=ends_at or self.ends_at,
            caution_limits=caution_limits,
            forced=forced,
            formula=self.formula,
            text=text,
            more=more,
        )
        return by_verdict(made)

    def unknown(self, at: str | tuple[str, ...], missing: tuple[Missing, ...]) -> Finding:
        """A finding that could not be made, and what would make it."""
        missing = tuple(dict.fromkeys(missing))
        text = say("This could not be checked: {lacking}", lacking=lacking(missing))
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
            except BeyondTable as error:
                yield beyond(self.code, self.title, error, (at,))
