"""Start from nothing: a short dialogue that ends in a bank that plans.

Gives: router(). The answers make the same starter file as `bankwright new`.
Limits: only while there is no bank file; what is there is never overwritten.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from bankwright.bank.document import ChangedOutside
from bankwright.bank.new import Start, first_document
from bankwright.bank.read import BankFileError, bank_from
from bankwright.forms.faults import Fault
from bankwright.web.desk import Conflict, Desk
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["router"]

# heading -> (answer, question, help, choices)
QUESTIONS: tuple[tuple[str, tuple[tuple[str, str, str, tuple[str, ...]], ...]], ...] = (
    ("1. The modules, from their data sheet", (
        ("modules", "How many modules?", "1 to 64", ()),
        ("capacity", "Capacity of one", "as on the sheet", ()),
        ("cells", "Cells in series in one", "16 for 51.2 V", ()),
        ("discharge", "Continuous discharge current of one", "not the peak", ()),
        ("charge", "Continuous charge current of one", "", ()),
        ("mass", "Mass of one", "may stay empty; decides how it is lifted", ()),
    )),
    ("2. How they are cabled", (
        ("pattern", "Wiring", "chain: module to module; busbar: each to a bar", ("busbar", "chain")),
        ("feed", "Where the main cables meet the bank", "", ("opposite ends", "same end", "both ends")),
    )),
    ("3. What they feed", (
        ("inverters", "How many inverters?", "0 to 16", ()),
        ("power", "Continuous power of one", "", ()),
        ("efficiency", "Its efficiency at that power", "", ()),
        ("lowest_voltage", "Lowest battery voltage at which it still gives that power", "", ()),
    )),
    ("4. Where", (
        ("title", "What is the bank called?", "", ()),
        ("rules", "Rule book", "that your inspector goes by", ("nec-2023", "iec-60364")),
        ("units", "Units of the output", "both are understood everywhere", ("metric", "us")),
        ("place", "Where it stands", "may stay empty: detached garage, utility room", ()),
    )),
)  # fmt: skip
_WHOLE = {"modules": (1, 64), "cells": (1, 32), "inverters": (0, 16)}


def router(desk: Desk) -> APIRouter:
    """Routes of the dialogue."""
    routes = APIRouter(include_in_schema=False)

    def show(answers: dict[str, str], faults: dict[str, str], status: int = 200) -> HTMLResponse:
        values = shell(desk, desk.look(), "Plan", questions=QUESTIONS, answers=answers, faults=faults)
        return page("start.html", status, **values)

    @routes.get("/start")
    def ask() -> Response:
        if desk.look().digest:
            return RedirectResponse("/plan", 303)
        default = Start()
        return show({f.name: "" if (v := getattr(default, f.name)) is None else str(v) for f in fields(default)}, {})

    @routes.post("/start")
    async def answer(request: Request) -> Response:
        form = await request.form(max_files=0, max_fields=40)
        names = {field.name for field in fields(Start)}
        typed = {key: str(value)[:200].strip() for key, value in form.items() if key in names}
        given, faults = _read(typed)
        if not faults:
            document = first_document(Start(**given), desk.path)
            try:
                _ = bank_from(document)
            except BankFileError as error:
                faults = dict(map(_about, error.faults))
            else:
                try:
                    desk.begin(document)
                except (ChangedOutside, OSError) as error:
                    raise Conflict((Fault("", "exists", str(error)),)) from error
                return RedirectResponse("/plan", 303)
        return show({**dict.fromkeys(names, ""), **typed}, faults, 422)

    return routes


def _read(typed: dict[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    given: dict[str, Any] = {}
    faults: dict[str, str] = {}
    choices = {name: allowed for _, rows in QUESTIONS for name, _, _, allowed in rows if allowed}
    for key, text in typed.items():
        if key in _WHOLE:
            low, high = _WHOLE[key]
            if not text.isdecimal() or not low <= int(text) <= high:
                faults[key] = f'found "{text}". Write a whole number from {low} to {high}'
            else:
                given[key] = int(text)
        elif key in choices and text not in choices[key]:
            faults[key] = f'found "{text}". One of: {", ".join(choices[key])}'
        elif text:
            given[key] = text
        elif key not in ("mass", "place", "ambient"):
            faults[key] = "an answer is needed"
    return given, faults


def _about(fault: Fault) -> tuple[str, str]:
    """A fault of the file that would be written, said of the answer it comes from."""
    last = fault.path.rsplit(".", 1)[-1]
    name = {"continuous": "charge" if ".charge." in fault.path else "discharge"}.get(last, last)
    return name, f"{fault.found}. {fault.expected} {fault.hint}".strip()
