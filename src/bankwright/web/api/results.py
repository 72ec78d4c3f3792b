"""What is computed, over the interface: findings, cases, drawing, parts, building sheet, the page on fault and fire.

Gives: router(). Bodies are those of the command line (--json), so that both say the same.
"""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response

from bankwright.build.emergency import emergency
from bankwright.buy.pages import parts_json
from bankwright.circuit.errors import CircuitError
from bankwright.draw.wiring import wiring
from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import summary
from bankwright.plan.checks import CHECKS
from bankwright.plan.gaps import decisions, measurements, questions
from bankwright.plan.not_checked import not_checked
from bankwright.web.api.shapes import ERRORS, head, shown
from bankwright.web.desk import Desk
from bankwright.web.pages.match import entry_of, judged
from bankwright.web.stages import steps_of

__all__ = ["router"]

CaseName = Annotated[str, Query(max_length=120, description="A name out of /api/cases.")]


def router(desk: Desk) -> APIRouter:
    """Routes of results."""
    routes = APIRouter(tags=["results"], responses=ERRORS)

    @routes.get("/findings")
    def findings() -> dict[str, Any]:
        """Findings of Plan, worst first, with what would settle the unknown ones and what was not checked."""
        job = shown(desk.look())
        found = job.findings
        return head(job, "findings") | {
            "rules": job.bank.book,
            "count": summary(found),
            "findings": plain(found),
            "questions": plain(questions(found)),
            "measurements": plain(measurements(found)),
            "decisions": plain(decisions(found)),
            "not_checked": list(not_checked(CHECKS, job.bank.book)),
        }

    @routes.get("/cases")
    def cases() -> dict[str, Any]:
        """Names of all operating conditions."""
        job = shown(desk.look())
        return head(job, "cases") | {"cases": list(job.steady.names)}

    @routes.get("/case")
    def case(name: CaseName) -> dict[str, Any]:
        """Currents of one case by module and by link. [A]"""
        job = shown(desk.look())
        solution = _solved(job, name)
        modules = {m.name: float(solution.current(m.name)) for m in job.bank.modules}
        links = {link.name: float(solution.current(link.name)) for link in job.bank.links}
        return {**head(job, "case"), "case": name, "modules": plain(modules), "links": plain(links)}

    @routes.get("/drawing.svg", response_class=Response, responses={200: {"content": {"image/svg+xml": {}}}})
    def drawing(size: Literal["desk", "phone"] = "desk", name: CaseName | None = None) -> Response:
        """The drawing of the bank, alone, with the currents of a case."""
        job = shown(desk.look())
        solution = _solved(job, name) if name is not None else None
        svg = wiring(job.bank, solution, job.findings, size)
        return Response(svg.text, media_type="image/svg+xml")

    @routes.get("/parts")
    def parts() -> dict[str, Any]:
        """Every part that the bank needs, counted with the shopping file beside the bank file."""
        job = shown(desk.look())
        made: dict[str, Any] = json.loads(parts_json(job.bank, desk.shop.listing(job)))
        return made

    @routes.get("/sheet")
    def sheet() -> dict[str, Any]:
        """The building sheet with the state of every step."""
        job = shown(desk.look())
        states = steps_of(job, desk)
        return head(job, "sheet") | {
            "title": job.sheet.title,
            "steps": [
                plain(s.step) | {"state": s.state, "ticked": list(s.ticked), "waits_for": list(s.waits_for)}
                for s in states
            ],
        }

    @routes.get("/match")
    def match() -> dict[str, Any]:
        """The two verdicts on the readings that were entered last, each with its findings."""
        job = shown(desk.look())
        found = judged(job, entry_of(job, desk), desk)
        return head(job, "match") | {
            "may_join": found.may_join,
            "equally_charged": found.equally_charged if found.charge else None,
            "order": list(found.order),
            "largest_difference": found.largest_difference,
            "not_read": list(found.not_read),
            "joining": plain((*found.stopped, *found.joining)),
            "charge": plain(found.charge),
            "ranges": plain(found.ranges),
        }

    @routes.get("/emergency")
    def fire() -> dict[str, Any]:
        """What to do in a fault or fire."""
        job = shown(desk.look())
        return head(job, "emergency") | {"emergency": plain(emergency(job.bank))}

    return routes


def _solved(job: Any, name: str) -> Any:
    if name not in job.steady.names:
        raise QuestionError((Fault("name", "unknown-case", f'there is no case "{name}"', "See /api/cases"),))
    try:
        return job.steady.case(name)
    except CircuitError as error:
        raise QuestionError((Fault("name", "not-solved", str(error)),)) from error
