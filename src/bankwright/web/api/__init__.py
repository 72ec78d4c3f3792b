"""Face: the interface under /api: the same calls as the pages and the command line, strict types, one fault shape.

Gives: router().
"""

from __future__ import annotations

from fastapi import APIRouter

from bankwright.web.api import bank, logbook, results
from bankwright.web.desk import Desk

__all__ = ["router"]


def router(desk: Desk) -> APIRouter:
    """All routes of the interface."""
    routes = APIRouter(prefix="/api")
    for module in (bank, results, logbook):
        routes.include_router(module.router(desk))
    return routes
