"""Documents of the data bus as JSON: the survey, and the address sheet.

Gives: survey_document(), address_document(); Told, AddressTold, PollTold (what stands in them).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from bankwright.forms.as_json import plain
from bankwright.forms.codes import place_text
from bankwright.forms.wording import Say
from bankwright.job.documents import head

if TYPE_CHECKING:
    from bankwright.bank.addresses import AddressRow
    from bankwright.bank.data_line import LinePlan
    from bankwright.bus.of_bank import PollPlan
    from bankwright.bus.survey.explain.told import Explanation
    from bankwright.bus.survey.facts import Facts
    from bankwright.job import Job

__all__ = ["AddressTold", "PollTold", "Told", "address_document", "survey_document"]


@dataclass(frozen=True, slots=True)
class Told:
    """One explanation of a survey."""

    code: str
    place: str
    title: str
    verdict: Literal["pass", "caution", "fail", "unknown"]
    at: tuple[str, ...]
    observed: Say
    sure: str
    why: str
    next_test: Say | None


@dataclass(frozen=True, slots=True)
class AddressTold:
    """One module's address and switches; `address` null: the file does not say how its kind counts."""

    module: str
    address: int | None
    switches: tuple[bool, ...]  # True: on; switch 1 first
    given: bool
    fault: str


@dataclass(frozen=True, slots=True)
class PollTold:
    """What one poll of all modules asks, and how long it takes at least. [s]"""

    requests: int  # a module
    registers: int  # a module; 0 where it speaks ASCII frames
    shortest: float | None
    wished: float | None
    fits: bool | None
    silent_costs: float
    apart: bool  # current and voltage in different requests
    characters: int  # of requests and replies, a module


def survey_document(job: Job, facts: Facts, told: Iterable[Explanation]) -> dict[str, Any]:
    """Who was heard, and what it means, worst first."""
    rows = [Told(e.code, place_text(e.code), e.title, e.verdict, e.at, e.observed, e.sure, e.why, e.test) for e in told]
    names = {target.unit: target.name for target in facts.expected.modules}
    body: dict[str, Any] = {
        "framing": None if facts.framing is None else str(facts.framing),
        "planned": list(facts.planned_modules),
        "heard": [{"address": unit, "module": names.get(unit)} for unit in facts.found],
        "requests": facts.requests, "held_back": facts.held_back, "told": rows,
    }  # fmt: skip
    return {**head(job, "survey"), **{key: plain(value) for key, value in body.items()}}


def address_document(job: Job, rows: Sequence[AddressRow], line: LinePlan, poll: PollPlan | None) -> dict[str, Any]:
    """Addresses and switches, the line, the poll."""
    told = [AddressTold(r.module, r.address, r.switches, r.given, r.fault) for r in rows]
    timed = None
    if poll is not None:
        registers = sum(getattr(block, "count", 0) for block in poll.blocks)
        timed = PollTold(
            len(poll.blocks), registers, poll.cycle, poll.wished, poll.fits, poll.silent_cost, poll.apart,
            sum(block.characters for block in poll.blocks),
        )  # fmt: skip
    body: dict[str, Any] = {"addresses": told, "line": line, "poll": timed}
    return {**head(job, "address"), **{key: plain(value) for key, value in body.items()}}
