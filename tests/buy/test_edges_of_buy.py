"""Every limit that decides a verdict of Buy, pinned from both sides, and the limit itself."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from bankwright.bank.lug_choice import LEAST_GAP, LOOSE_GAP
from bankwright.bank.model import Bank
from bankwright.bank.pieces import sleeves
from bankwright.bank.pieces.fits import SAME_THREAD
from bankwright.buy import cut, receiving
from bankwright.buy.cards import CARDS
from bankwright.buy.cut import Stock, Wanted, cut_plan
from bankwright.buy.parts import TRIAL_END, parts
from bankwright.buy.receiving import Received, waits
from bankwright.buy.stock import DEFAULT, read_shopping
from bankwright.forms.finding import Finding
from support.buy_edges import EDGES, RED, Edge, list_at
from support.plan_cases import TWIN, edited

pytestmark = pytest.mark.quick

RANK = ["unknown", "caution", "fail"]


def told(edge: Edge, value: str) -> Finding | None:
    """The worst finding of the code that the edge means; None where nothing is told."""
    found = [f for f in list_at(edge, value).findings if f.code == edge.code]
    meant = [f for f in found if not edge.at or any(edge.at in place for place in (*f.at, *f.more))]
    return max(meant, key=lambda finding: RANK.index(finding.verdict), default=None)


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_a_limit_holds_from_both_sides(edge: Edge) -> None:
    inside, outside = told(edge, edge.inside), told(edge, edge.outside)
    assert (inside.verdict if inside else "pass") == edge.quiet
    assert outside is not None
    assert outside.verdict == edge.told, outside.text.text()
    assert f"{outside.source.document} {outside.source.edition}".strip() == edge.source
    limits = [limit for limit in outside.limits if limit is not None]
    assert limits == ([] if edge.limit is None else [pytest.approx(edge.limit, rel=1e-5)])
    if edge.figure is not None:
        assert outside.figure is not None
        assert (outside.figure.value, outside.figure.quantity) == (pytest.approx(edge.figure, rel=1e-5), edge.quantity)


@pytest.mark.parametrize(("shorter", "verdicts"), [(0.0, []), (1e-4, ["caution"]), (0.0005, ["caution"])])
def test_lengths_of_one_group_differ_by_nothing_at_all(shorter: float, verdicts: list[str]) -> None:
    """A tenth of a millimetre, what a length is kept to, is told; the limit is zero."""
    bank = edited({})
    links = [
        dataclasses.replace(n, length=n.length - shorter) if n.name == "L2+" and n.length else n for n in bank.links
    ]
    found = [f for f in parts(bank.replaced(links=tuple(links))).findings if f.code == "B-EQUAL"]
    assert [f.verdict for f in found] == verdicts
    for finding in found:
        assert finding.limits == (None, 0.0)
        assert finding.figure is not None
        assert finding.figure.value == pytest.approx(shorter)


@pytest.mark.parametrize(("reel", "verdicts"), [("1.532 m", ["fail"]), ("1.85 m", [])])
def test_stock_that_is_long_enough_on_paper_fails_where_its_ends_are_too_short(reel: str, verdicts: list[str]) -> None:
    """Two of 1.532 m hold 3.064 m, the need with cuts 3.062 m; yet 1.21 and 0.31 m leave no room for a third lead.

    Two of 1.85 m: 1.21 + 0.51 m in one, 0.51 + 0.51 + 0.31 m in the other.
    """
    text = f'kerf = "3 mm"\n[[reel]]\nitem = "{RED}"\nlength = "{reel}"\ncount = 2\n'
    found = [f for f in parts(edited({}), read_shopping(text)).findings if f.code == "B-CUT"]
    assert [f.verdict for f in found] == verdicts


@pytest.mark.parametrize(("studs", "verdicts"), [(4, ["fail"]), (5, [])])
def test_one_stud_more_gives_the_second_main_its_place(studs: int, verdicts: list[str]) -> None:
    """Three leads, the main and its twin: five cables."""
    bank = edited({"+links": TWIN, "bars[0].studs": ["M1", "M2", "M3", "main", ""][:studs]})
    assert [f.verdict for f in parts(bank).findings if f.code == "B-STUDS"] == verdicts


def test_every_code_of_buy_has_its_edge() -> None:
    assert {edge.code for edge in EDGES} | {"B-EQUAL"} == {card.code for card in CARDS}


def test_a_length_is_kept_to_a_tenth_of_a_millimetre_rounded_up() -> None:
    """Two pieces of 0.50001 m count 0.5001 m each; a piece of 0.5 m as it is."""
    two = [Wanted("a", 0.50001), Wanted("b", 0.50001)]
    assert cut.GRID == 1e-4
    assert [len(cut_plan(two, [Stock("reel", long)]).cuts) for long in (1.0002, 0.6)] == [1, 2]
    assert len(cut_plan([Wanted("a", 0.5), Wanted("b", 0.5)], [Stock("reel", 1.0)]).cuts) == 1
    assert [len(cut_plan([Wanted("a", 0.5)], [Stock("reel", long)]).unplaced) for long in (0.5, 0.4999)] == [0, 1]


def test_what_is_left_of_a_reel_has_lost_one_kerf_a_cut_and_none_at_its_end() -> None:
    """Two of 0.5 m and two cuts of 3 mm from 1.1 m leave 94 mm; from 1.003 m they leave nothing, with one cut."""
    two = [Wanted("a", 0.5), Wanted("b", 0.5)]
    for long, rest in ((1.1, 0.094), (1.003, 0.0)):
        (only,) = cut_plan(two, [Stock("reel", long)], kerf=0.003).cuts
        assert only.rest == pytest.approx(rest, abs=1e-12)


def held(volts: float) -> Received:
    return Received("M1", "A1", "none", volts, date(2026, 3, 1))


def waiting(bank: Bank, volts: float, standby: float | None = None) -> str:
    first = bank.modules[0]
    return waits(dataclasses.replace(first, kind=dataclasses.replace(first.kind, standby_power=standby)), held(volts))


@pytest.mark.parametrize("cell_trip", ["2.5 V", None])
@pytest.mark.parametrize(
    ("volts", "words"),
    [(-0.001, "Below zero"), (0.0, "Below its cut-off"), (39.96, "Below its cut-off"), (40.04, "Nearly empty"),
     (47.952, "Nearly empty"), (48.048, "Read it by")],
)  # fmt: skip
def test_volts_at_delivery_from_both_sides(volts: float, words: str, cell_trip: str | None) -> None:
    """16 cells: 40 V at 2.5 V a cell, its own or the published range; 48 V at 3.0 V, working band of LFP cells."""
    bank = edited({"kinds.module.S100.discharge.cell_trip": cell_trip})
    assert words in waiting(bank, volts)


@pytest.mark.parametrize(
    ("days", "read", "top"), [(21.9, "2026-03-22", "2026-03-22"), (22.1, "2026-03-23", "2026-03-23"),
                              (91.1, "2026-05-31", "2026-05-31"), (93.1, "2026-06-01", "2026-06-02")],
)  # fmt: skip
def test_days_of_waiting_from_both_sides(days: float, read: str, top: str) -> None:
    """A fifth of 100 Ah at 51.2 V is 1024 Wh, taken in whole days; read after 92 days, by 1 June (common practice)."""
    words = waiting(edited({}), 53.0, 1024 / 24 / days)
    assert f"Read it by {read}" in words
    assert f"top it up by {top}" in words


@pytest.mark.parametrize(
    ("diameter", "sleeve"),
    [(17.255, "19 to 6"), (17.29, "24 to 8"), (10.9, "12 to 4"), (10.92, "19 to 6")],
)
def test_the_sleeve_slips_over_and_shrinks_onto_the_cable(diameter: float, sleeve: str) -> None:
    """Bore as supplied at least 1.1 x the cable: 19 / 1.1 = 17.27 mm, 12 / 1.1 = 10.909 mm."""
    lines = parts(edited({"wiring.link.outer_diameter": f"{diameter} mm"})).lines
    uses = {use: line.item for line in lines if line.group == "sleeves" for use in line.uses}
    assert uses["L1-@M1-"].startswith(f"sleeve/{sleeve} mm/black")


@pytest.mark.parametrize(("diameter", "fits"), [(3.337, True), (3.33, False), (35.42, True), (35.49, False)])
def test_no_sleeve_of_the_table_fits_a_cable_too_thin_or_too_thick(diameter: float, fits: bool) -> None:
    """The smallest, 9 to 3 mm, shrinks onto 3 / 0.9 = 3.333 mm; the largest, 39 mm, slips over 39 / 1.1 = 35.45 mm."""
    bank = edited({"wiring.link.outer_diameter": f"{diameter} mm"})
    assert (sleeves.sleeve_for(bank.link("L1-").cable, None) is not None) == fits


def test_amounts_of_the_list_stand_as_documented() -> None:
    """Common practice, no source, each said so beside it in the code."""
    assert (DEFAULT.kerf, DEFAULT.trim, DEFAULT.strip, DEFAULT.routing, DEFAULT.spares) == (0, 0.005, 0.025, 0, 0.05)
    assert (SAME_THREAD, LEAST_GAP, LOOSE_GAP) == (0.2e-3, 0.2e-3, 1.6e-3)
    assert (sleeves.OVERLAP, sleeves.BARREL, TRIAL_END) == (0.025, 0.030, 0.15)
    assert (receiving.READ_AGAIN, receiving.FIFTH, cut.SLACK) == (92, 0.2, 1e-9)


@pytest.mark.parametrize(("share", "spares"), [("5.5 %", 1), ("5.6 %", 2)])
def test_spares_are_a_share_rounded_up(share: str, spares: int) -> None:
    """18 lugs: 5.5 % are 0.99 and one spare, 5.6 % are 1.008 and two."""
    line = parts(edited({}), read_shopping(f'spares = "{share}"\n')).line("lug/ring/2/0 AWG")
    assert (line.need, line.spares, line.order) == (18, spares, 18 + spares)
