"""The logbook over the interface: what hands enter, what stands there.

Gives: router(). An entry carries the id that its maker gave it; the same id is stored once.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Query, UploadFile

from bankwright.job.documents import log_document
from bankwright.web.api.shapes import ERRORS, EntriesIn, EntriesOut, TakenOut, fault_out
from bankwright.web.desk import Desk
from bankwright.web.entries import Taken, photo_taken, taken

__all__ = ["router"]

Short = Annotated[str, Form(max_length=120)]


def _out(found: Taken) -> TakenOut:
    faults = [fault_out(fault) for fault in found.faults]
    return TakenOut(id=found.id, number=found.number, again=found.again, faults=faults, warning=found.warning)


def router(desk: Desk) -> APIRouter:
    """Routes of the logbook."""
    routes = APIRouter(tags=["logbook"], responses=ERRORS)

    @routes.post("/entries")
    def entries(body: EntriesIn) -> EntriesOut:
        """Store ticks, readings and notes; each is stored or refused for itself."""
        return EntriesOut(results=[_out(taken(desk, entry)) for entry in body.entries])

    @routes.post("/photo")
    def photo(
        photo: Annotated[UploadFile, File(description="JPEG, PNG, WebP or HEIC; its name is not used.")],
        id: Annotated[str, Form(pattern=r"^[0-9a-f]{16,32}$")],  # noqa: A002
        step: Short = "",
        at: Short = "",
        who: Short = "",
    ) -> TakenOut:
        """Keep a photo beside the bank file and refer to it in the logbook."""
        content = photo.file.read()
        return _out(photo_taken(desk, content, id, step or None, at or None, who=who))

    @routes.get("/log")
    def log(last: Annotated[int, Query(ge=1, le=500)] = 100) -> dict[str, Any]:
        """The last entries, oldest first."""
        book = desk.book()
        found = list(book.entries())[-last:] if book else []
        return log_document(found)

    return routes
