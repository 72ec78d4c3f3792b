"""What the interface takes and gives, as types: bodies are strict, every answer names its format.

Gives: the models, ERRORS (declared with every route).
Limits: findings, parts and steps are written by forms/as_json; their inner shape is described there and in the docs.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictFloat, StrictInt, StrictStr

from bankwright.forms.faults import Fault
from bankwright.job import Job
from bankwright.job.documents import fault_values
from bankwright.web.desk import State
from bankwright.web.entries import EntryIn

__all__ = [
    "ERRORS",
    "BankOut",
    "EditIn",
    "EditOut",
    "EntriesIn",
    "EntriesOut",
    "FaultOut",
    "FaultsOut",
    "StepBackIn",
    "TakenOut",
    "fault_out",
    "shown",
]


class _In(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)


class Spot(BaseModel):
    """A place in a file."""

    file: str
    line: int
    column: int


class FaultOut(BaseModel):
    """One fault: where, what was found, what would be right."""

    file: str | None
    line: int | None
    column: int | None
    path: str
    code: str
    found: str
    expected: str
    hint: str
    also: Spot | None


class FaultsOut(BaseModel):
    """Faults of a question; nothing was computed, nothing stored."""

    format: Literal["bankwright.faults/1"] = "bankwright.faults/1"
    faults: list[FaultOut]


ERRORS: dict[int | str, dict[str, Any]] = {
    code: {"model": FaultsOut, "description": words}
    for code, words in {
        400: "The body is no text that can be read.",
        401: "No session: the code of the terminal is asked for at /enter.",
        403: "The request came from another page.",
        404: "There is no such thing.",
        409: "The file was changed by another program; nothing was overwritten.",
        413: "The body is larger than is taken here.",
        421: "Not the address that the terminal printed.",
        422: "The question has faults.",
        429: "Too many requests at once.",
    }.items()
}

Text = Annotated[StrictStr, Field(max_length=20_000)]
Scalar = StrictBool | StrictInt | StrictFloat | Text
Inner = Annotated[list[Scalar], Field(max_length=64)]


class EditIn(_In):
    """One value of the file; null takes it out."""

    path: Annotated[str, Field(min_length=1, max_length=300, examples=["wiring.feed"])]
    value: Scalar | Annotated[list[Scalar | Inner], Field(max_length=256)] | None
    digest: Annotated[str, Field(max_length=64, description="Of the file that the edit was made on.")]
    write: bool = Field(True, description="False: only say what it would come to.")


class StepBackIn(_In):
    """Undo or redo on a file."""

    digest: Annotated[str, Field(max_length=64)]


class BankOut(BaseModel):
    """The bank file as it stands."""

    format: Literal["bankwright.bank/1"] = "bankwright.bank/1"
    file: str
    digest: str
    title: str | None
    text: str
    saved: str | None
    faults: list[FaultOut]
    undo: int
    redo: int


class EditOut(BaseModel):
    """What an edit came to."""

    format: Literal["bankwright.edit/2"] = "bankwright.edit/2"
    saved: bool
    digest: str
    faults: list[FaultOut]
    changes: list[dict[str, Any]] = Field(description="Checks whose worst finding differs.")


class EntriesIn(_In):
    """Entries made beside the rack, each with an id of its own; sent until the answer says that they are stored."""

    entries: Annotated[list[EntryIn], Field(min_length=1, max_length=100)]


class TakenOut(BaseModel):
    """What became of one entry."""

    id: str
    number: int | None
    again: bool
    faults: list[FaultOut]
    warning: str


class EntriesOut(BaseModel):
    """What became of each entry, in order."""

    format: Literal["bankwright.taken/1"] = "bankwright.taken/1"
    results: list[TakenOut]


def fault_out(fault: Fault) -> FaultOut:
    """A fault in the one shape."""
    return FaultOut(**fault_values(fault))


def shown(state: State) -> Job:
    """The bank that can be shown; a fault when there is none."""
    from bankwright.forms.faults import QuestionError

    if state.job is None:
        faults = state.faults or (Fault("", "no-bank", "no bank is described yet"),)
        raise QuestionError(faults, "the bank file")
    return state.job
