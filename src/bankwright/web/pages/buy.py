"""Buy: need, have, order; tick off; reels and the cut plan to scale; the list as CSV and on paper.

Gives: router(). What is there, prices and reels go to the shopping file beside the bank file; what was bought is ticked
off in the logbook, with the amount it was ticked for, so that a list that grew opens the line again.
Limits: counting and cutting are in buy/.
"""

from __future__ import annotations

from itertools import groupby
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from bankwright.bank.quantity_text import QuantityFault, parse
from bankwright.buy.cutting import Cutting
from bankwright.buy.pages import amount, parts_csv, plan_text, rules_text
from bankwright.buy.parts import PartLine
from bankwright.draw.charts import Cut, cut_plan
from bankwright.draw.places import numbered
from bankwright.forms.faults import Fault, QuestionError
from bankwright.job import Job
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import drawn
from bankwright.web.pages.plan import empty
from bankwright.web.paper import page
from bankwright.web.shell import shell
from bankwright.web.stages import got

__all__ = ["router"]

Item = Annotated[str, Form(max_length=300)]
Typed = Annotated[str, Form(max_length=40)]


def _cut_figure(cutting: Cutting, units: str, number: int) -> Any:
    if cutting.plan is None:
        return None
    rows = [
        Cut(f"{cut.stock.name}, {cut.number}", cut.stock.length, tuple((p.name, p.length) for p in cut.pieces))
        for cut in cutting.plan.cuts
    ]
    return cut_plan(rows, units=units, prefix=f"c{number}") if rows else None


def _values(desk: Desk, state: State, job: Job, faults: tuple[Fault, ...] = ()) -> dict[str, Any]:
    listing = desk.shop.listing(job)
    ticked = got(desk)
    units = job.units
    groups = [(name, list(lines)) for name, lines in groupby(listing.lines, key=lambda line: line.group)]
    left = [line for line in listing.lines if line.order > 0 and ticked.get(line.item) != line.order]
    cuts = [
        (c, _cut_figure(c, units, n), plan_text(c.plan, listing.shopping.currency, units) if c.plan else "")
        for n, c in enumerate(listing.cuttings)
    ]
    return shell(desk, state, "Buy") | {
        "groups": groups,
        "listing": listing,
        "left": left,
        "is_got": lambda line: line.order > 0 and ticked.get(line.item) == line.order,
        "shown_amount": lambda value, line: amount(value, line, units),
        "cuts": cuts,
        "cut_items": [c.item for c in listing.cuttings],
        "rules": rules_text(listing.shopping, units),
        "numbered": numbered(listing.findings),
        "reels": listing.shopping.reels,
        "shop_file": desk.shop.path.name,
        "buy_faults": faults,
        "drawing": drawn(job.bank, None, (), foot=(("Letters", "what is counted"),)),
    }


def router(desk: Desk) -> APIRouter:
    """Routes of Buy."""
    routes = APIRouter(include_in_schema=False)

    def job_of() -> tuple[State, Job]:
        state = desk.look()
        if state.shown is None:
            raise QuestionError((Fault("", "no-bank", "no bank is described yet"),))
        return state, state.shown

    def line_of(job: Job, item: str) -> PartLine:
        try:
            return desk.shop.listing(job).line(item)
        except KeyError:
            raise QuestionError((Fault("item", "unknown-item", f'the list has no item "{item[:80]}"'),)) from None

    @routes.get("/buy")
    def show() -> HTMLResponse:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        return page("buy.html", **_values(desk, state, state.shown))

    @routes.get("/buy/parts.csv")
    def as_csv() -> Response:
        _, job = job_of()
        head = {"content-disposition": 'attachment; filename="parts.csv"'}
        return PlainTextResponse(parts_csv(desk.shop.listing(job)), media_type="text/csv", headers=head)

    @routes.post("/buy/got")
    def tick(request: Request, item: Item, done: Annotated[str, Form(max_length=5)] = "") -> Response:
        _, job = job_of()
        line = line_of(job, item)
        book = desk.book(write=True)
        assert book is not None
        book.tick("buy", item, done=bool(done), digest=repr(line.order))
        if "hx-request" in request.headers:
            return HTMLResponse("", headers={"HX-Refresh": "true"})
        return RedirectResponse("/buy", 303)

    @routes.post("/buy/have")
    def have(item: Item, have: Typed = "", price: Typed = "") -> Response:
        state, job = job_of()
        line = line_of(job, item)
        try:
            for table, text, old in (("have", have, line.have), ("price", price, line.price)):
                number = _number(text, table, line)
                if number != (old or None):
                    desk.shop.set_number(table, item, number, job)
        except QuestionError as error:
            return page("buy.html", 422, **_values(desk, state, job, error.faults))
        return RedirectResponse("/buy", 303)

    @routes.post("/buy/reel")
    def reel(item: Item, length: Typed = "", price: Typed = "", owned: Typed = "") -> Response:
        state, job = job_of()
        values: dict[str, Any] = {"item": item, "length": length.strip()}
        try:
            if price.strip():
                values["price"] = _plain_number(price, "price")
            if owned:
                values["owned"] = True
            desk.shop.add_reel(values, job)
        except QuestionError as error:
            return page("buy.html", 422, **_values(desk, state, job, error.faults))
        return RedirectResponse("/buy#cutting", 303)

    @routes.post("/buy/reel/out")
    def reel_out(number: Annotated[int, Form(ge=0, le=999)]) -> Response:
        _, job = job_of()
        desk.shop.drop_reel(number, job)
        return RedirectResponse("/buy#cutting", 303)

    return routes


def _plain_number(text: str, what: str) -> float:
    try:
        found = float(text.strip())
    except ValueError:
        found = float("nan")
    if not 0 <= found < 1e7:
        raise QuestionError((Fault(what, "no-number", f'found "{text}"', "Write a number, zero or more"),))
    return found


def _number(text: str, table: str, line: PartLine) -> float | None:
    """A number of pieces or of money; metres may be typed with their unit."""
    typed = text.strip()
    if not typed:
        return None
    if table == "have" and line.unit == "m" and not typed.replace(".", "", 1).isdecimal():
        try:
            return parse(typed, "length").nominal
        except QuantityFault as bad:
            raise QuestionError((Fault("have", bad.code, bad.found, bad.hint),)) from bad
    return _plain_number(typed, table) or None
