"""Prove's documents as JSON values: one function a document, for every face alike.

Gives: power_document(), shares_document(), share_plan_document(), millivolts_document().
Limits: values only, as in job/documents; the settings card is in job/settings.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from bankwright.forms.as_json import plain
from bankwright.forms.finding import Missing, summary
from bankwright.job.documents import head
from bankwright.prove.sheet.sheet import ProveSheet, way_back

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.prove.millivolt_test import MillivoltTest
    from bankwright.prove.share_plan import ShareDue
    from bankwright.prove.share_test import ShareTest

__all__ = ["millivolts_document", "power_document", "share_plan_document", "shares_document"]

Document = dict[str, Any]


def _made(job: Job, what: str, body: Document) -> Document:
    body = {**body, "plan_fails": job.carried.fails}
    return {**head(job, what), **{key: plain(value) for key, value in body.items()}}


def power_document(job: Job, sheet: ProveSheet) -> Document:
    """The sheet of first power-up."""
    here = sheet.here
    body: Document = {"title": sheet.title, "steps": sheet.steps, "here": None if here is None else here.step.id}
    body |= {"back": () if here is None else way_back(here), "absent": sheet.absent, "not_earthed": sheet.not_earthed}
    return _made(job, "prove-sheet", {**body, "count": summary(sheet.findings), "findings": sheet.findings})


def _told(found: ShareTest | MillivoltTest) -> Document:
    """What both load tests say of the branches."""
    which = found.which
    body: Document = {"count": summary(found.findings), "findings": found.findings, "next": found.next}
    body |= {"suspect": None if which is None else which.first, "parts": found.parts}
    return {**body, "next_reading": None if found.next is None or which is None else which.next}


def shares_document(job: Job, found: ShareTest) -> Document:
    """The share test."""
    return _made(job, "prove-shares", {**_told(found), "rounds": found.record()["rounds"]})


def share_plan_document(
    job: Job, how: Sequence[str], loads: Sequence[ShareDue], missing: Sequence[Missing]
) -> Document:
    """What is due in a share test before anything is read."""
    return _made(job, "prove-share-plan", {"how": how, "loads": loads, "missing": missing})


def millivolts_document(job: Job, found: MillivoltTest) -> Document:
    """The millivolt test, or its plan."""
    body: Document = {**_told(found), "wanted": found.wanted, "not_read": found.not_read, "missing": found.missing}
    return _made(job, "prove-millivolts", {**body, "readings": found.record()["readings"]})
