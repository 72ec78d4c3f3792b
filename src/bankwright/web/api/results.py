"""What is computed, over the interface: findings, cases, drawing, parts, building sheet, the page on fault and fire.

Gives: router(). Bodies are those of the command line (--json), so that both say the same.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response

from bankwright.draw.wiring import wiring
from bankwright.job.building import not_earthed
from bankwright.job.documents import (
    case_document,
    cases_document,
    emergency_document,
    explained_document,
    findings_document,
    match_document,
    parts_document,
    sheet_document,
)
from bankwright.job.explained import explained
from bankwright.web.api.shapes import ERRORS, shown
from bankwright.web.desk import Desk
from bankwright.web.pages.match import entry_of, judged
from bankwright.web.stages import steps_of

__all__ = ["router"]

CaseName = Annotated[str, Query(max_length=120, description="A name out of /api/cases.")]


def router(desk: Desk) -> APIRouter:
    """Routes of results."""
    routes = APIRouter(tags=["results"], responses=ERRORS)
    _planned(routes, desk)
    _after_plan(routes, desk)
    return routes


def _planned(routes: APIRouter, desk: Desk) -> None:
    """Findings, cases and drawing of Plan."""

    @routes.get("/findings")
    def findings() -> dict[str, Any]:
        """Findings of Plan, worst first, with what would settle the unknown ones and what was not checked."""
        job = shown(desk.look())
        return findings_document(job)

    @routes.get("/cases")
    def cases() -> dict[str, Any]:
        """Names of all operating conditions."""
        job = shown(desk.look())
        return cases_document(job)

    @routes.get("/case")
    def case(name: CaseName) -> dict[str, Any]:
        """Current, drop and heat of every edge in one case. [A, V, W]"""
        return case_document(shown(desk.look()), name)

    @routes.get("/drawing.svg", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
    def drawing(size: Literal["desk", "phone"] = "desk", name: CaseName | None = None) -> Response:
        """The drawing of the bank, alone, with the currents of a case."""
        job = shown(desk.look())
        solution = job.solution(name) if name is not None else None
        svg = wiring(job.bank, solution, job.findings, size)
        return Response(svg.text, media_type="image/svg+xml")


def _after_plan(routes: APIRouter, desk: Desk) -> None:
    """Results of the stages after Plan, and what holds for all of them."""

    @routes.get("/parts")
    def parts() -> dict[str, Any]:
        """Every part that the bank needs, counted with the shopping file beside the bank file."""
        job = shown(desk.look())
        return parts_document(job, desk.shop.listing(job))

    @routes.get("/sheet")
    def sheet() -> dict[str, Any]:
        """The building sheet with the state of every step."""
        job = shown(desk.look())
        return sheet_document(job, steps_of(job, desk))

    @routes.get("/match")
    def match() -> dict[str, Any]:
        """The two verdicts on the readings that were entered last, each with its findings."""
        job = shown(desk.look())
        return match_document(job, judged(job, entry_of(job, desk), desk), not_earthed(job.bank, desk.book()))

    @routes.get("/explained")
    def told(
        check: Annotated[str, Query(max_length=40, description="A code or a place: P-CABLE-1, Plan 3.1")],
        at: Annotated[str | None, Query(max_length=120, description="A place of the bank, to take apart")] = None,
    ) -> Any:
        """One check of any stage: what it tests and why, with what it found in this bank, or at one place of it."""
        job = shown(desk.look())
        return explained_document(job, explained(job, check, at=at))

    @routes.get("/emergency")
    def fire() -> dict[str, Any]:
        """What to do in a fault or fire."""
        return emergency_document(shown(desk.look()))
