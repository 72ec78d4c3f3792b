"""Buy: need, have, order; tick off; reels and the cut plan to scale; the list as CSV and on paper.

Gives: router(). What is there, prices and reels go to the shopping file beside the bank file; what was bought is ticked
off in the logbook, with the amount it was ticked for, so that a list that grew opens the line again.
Limits: counting and cutting are in buy/.
"""

from __future__ import annotations

from datetime import date
from itertools import groupby
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from bankwright.draw.charts import Cut, cut_plan
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.grouping import numbered
from bankwright.job import Job
from bankwright.job.buying import (
    Cutting,
    PartLine,
    amount,
    bare,
    card_rows,
    order_words,
    parts_csv,
    plan_text,
    receive,
    received_of,
    rules_text,
    shown_unit,
    typed_amount,
)
from bankwright.job.logs import SystemClock
from bankwright.job.quantity import QuantityFault
from bankwright.web.desk import Desk, State
from bankwright.web.drawn import drawn
from bankwright.web.pages.plan import empty
from bankwright.web.paper import page
from bankwright.web.shell import shell
from bankwright.web.stages import got, to_get

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
    left = [line for line in listing.lines if to_get(line) and ticked.get(line.item) != line.order]
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
        "bare": lambda value, line: bare(value, line, units),
        "unit_of": lambda line: shown_unit(line, units),
        "order_words": lambda line: order_words(line, units),
        "cuts": cuts,
        "cut_items": [c.item for c in listing.cuttings],
        "rules": rules_text(listing.shopping, units),
        "numbered": numbered(listing.findings),
        "reels": listing.shopping.reels,
        "shop_file": desk.shop.path.name,
        "buy_faults": faults,
        "cards": card_rows(job.bank, received_of(desk.book())),
        "drawing": drawn(job.bank, None, (), foot=(("Letters", "what is counted"),)),
    }


def _job_of(desk: Desk) -> tuple[State, Job]:
    state = desk.look()
    if state.shown is None:
        raise QuestionError((Fault("", "no-bank", "no bank is described yet"),))
    return state, state.shown


def _line_of(desk: Desk, job: Job, item: str) -> PartLine:
    try:
        return desk.shop.listing(job).line(item)
    except KeyError:
        raise QuestionError((Fault("item", "unknown-item", f'the list has no item "{item[:80]}"'),)) from None


def router(desk: Desk) -> APIRouter:
    """Routes of Buy."""
    routes = APIRouter(include_in_schema=False)
    _listed(routes, desk)
    _entered(routes, desk)
    _owned(routes, desk)
    return routes


def _listed(routes: APIRouter, desk: Desk) -> None:
    """The list as page and CSV."""

    @routes.get("/buy")
    def show() -> HTMLResponse:
        state = desk.look()
        if state.shown is None:
            return empty(desk, state)
        return page("buy.html", **_values(desk, state, state.shown))

    @routes.get("/buy/parts.csv")
    def as_csv() -> Response:
        _, job = _job_of(desk)
        head = {"content-disposition": 'attachment; filename="parts.csv"'}
        return PlainTextResponse(
            parts_csv(desk.shop.listing(job), job.units, job.carried), media_type="text/csv", headers=head
        )


def _entered(routes: APIRouter, desk: Desk) -> None:
    """Ticks, and the receiving card."""

    @routes.post("/buy/got")
    def tick(request: Request, item: Item, done: Annotated[str, Form(max_length=5)] = "") -> Response:
        _, job = _job_of(desk)
        line = _line_of(desk, job, item)
        book = desk.book(write=True)
        assert book is not None
        book.tick("buy", item, done=bool(done), digest=repr(line.order))
        if "hx-request" in request.headers:
            return HTMLResponse("", headers={"HX-Refresh": "true"})
        return RedirectResponse("/buy", 303)

    @routes.post("/buy/receive")
    def came(module: Item, serial: Typed = "", damage: Item = "none", volts: Typed = "", on: Typed = "") -> Response:
        """Write a receiving card down."""
        state, job = _job_of(desk)
        book, now = desk.book(write=True), SystemClock().now()
        assert book is not None
        try:
            day = date.fromisoformat(on.strip() or now.wall[:10])
            receive(book, job.bank, module, serial=serial, damage=damage, volts=volts, on=day, now=now)
        except ValueError:
            fault = Fault("date", "time-unreadable", f'found "{on}"', "Write the year first: 2026-11-27")
            return page("buy.html", 422, **_values(desk, state, job, (fault,)))
        except QuestionError as error:
            return page("buy.html", 422, **_values(desk, state, job, error.faults))
        return RedirectResponse("/buy#receiving", 303)


def _owned(routes: APIRouter, desk: Desk) -> None:
    """What is there, and what it costs."""

    @routes.post("/buy/have")
    def have(item: Item, have: Typed = "", price: Typed = "") -> Response:
        state, job = _job_of(desk)
        line = _line_of(desk, job, item)
        try:
            for table, text, old in (("have", have, line.have), ("price", price, line.price)):
                number = _number(text, table, line, job.units)
                if not _same(number, old):
                    desk.shop.set_number(table, item, number, job)
        except QuestionError as error:
            return page("buy.html", 422, **_values(desk, state, job, error.faults))
        return RedirectResponse("/buy", 303)

    @routes.post("/buy/reel")
    def reel(item: Item, length: Typed = "", price: Typed = "", owned: Typed = "") -> Response:
        state, job = _job_of(desk)
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
        _, job = _job_of(desk)
        desk.shop.drop_reel(number, job)
        return RedirectResponse("/buy#cutting", 303)


def _plain_number(text: str, what: str) -> float:
    try:
        found = float(text.strip())
    except ValueError:
        found = float("nan")
    if not 0 <= found < 1e7:
        raise QuestionError((Fault(what, "no-number", f'found "{text}"', "Write a number, zero or more"),))
    return found


def _same(new: float | None, old: float | None) -> bool:
    """What the field shows is a rounded figure of what is kept: sent back, it changes nothing."""
    return new == (old or None) or (new is not None and old is not None and abs(new - old) <= 1e-5 * abs(old))


def _number(text: str, table: str, line: PartLine, units: str) -> float | None:
    """An amount in the unit shown, or with a unit of its own; or money."""
    if not text.strip():
        return None
    if table == "price":
        return _plain_number(text, table) or None
    try:
        found = typed_amount(text, line, units)
    except QuantityFault as bad:
        raise QuestionError((Fault("have", bad.code, bad.found, bad.hint),)) from bad
    except ValueError:
        found = float("nan")
    return _plain_number(str(found), table) or None
