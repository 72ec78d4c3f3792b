"""Small decisions of zones and of some checks, each alone: which device, which end, which pole, which twin.

What lies around a decision is put in by the test; the answer stands here by hand.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding
from bankwright.forms.trace import Traced
from bankwright.forms.wording import Figure
from bankwright.plan.checks import bar, charge, number, order, place, windows
from bankwright.plan.context import plan_of
from bankwright.plan.zones import breakers, charged, guarding, tails, taps, twins, wiring, zones
from support.plan_cases import edited

pytestmark = pytest.mark.quick


class Some(SimpleNamespace):
    """Anything with the fields that a decision reads."""

    __hash__ = object.__hash__


def some(**fields: Any) -> Any:
    return Some(**fields)


def fuse(at: str, **kind: Any) -> Any:
    told = {"name": "main", "type": "fuse", "device_class": "gG", "least_breaking": None, "rating": 100.0, **kind}
    return some(name=at, kind=some(**told))


# --- which device


@pytest.mark.parametrize(
    ("on", "is_backed"),
    [
        ({"L+": "F125", "L-": None}, True),  # in one pole is enough
        ({"L+": None, "L-": "F125"}, True),
        ({"L+": "F300", "L-": None}, False),  # another kind backs nothing
        ({"L+": None, "L-": None}, False),
    ],
)
def test_a_breaker_is_backed_by_the_fuse_that_its_sheet_names(on: dict[str, str | None], is_backed: bool) -> None:
    module: Any = some(name="M1", posts=("M1+", "M1-"), kind=some(breaker_backed_by="F125"))
    rows = {link: [] if kind is None else [fuse(link, name=kind)] for link, kind in on.items()}
    plan: Any = some(
        links_at=lambda post: [some(name=f"L{post[-1]}")],
        bank=some(devices_on=lambda name: rows[name]),
    )
    found = breakers.backing_fuse(plan, module)
    assert (found is not None and found.kind.name == "F125") is is_backed
    assert breakers.backing_fuse(plan, some(kind=some(breaker_backed_by=None))) is None  # type: ignore[arg-type]


def test_every_path_of_a_pole_needs_the_backing_fuse() -> None:
    module: Any = some(name="M1", posts=("M1+", "M1-"), kind=some(breaker_backed_by="F125"))
    rows = {"A+": [fuse("F", name="F125")], "B+": [], "A-": [], "B-": []}
    plan: Any = some(
        links_at=lambda post: [some(name=f"A{post[-1]}"), some(name=f"B{post[-1]}")],
        bank=some(devices_on=lambda name: rows[name]),
    )
    assert breakers.backing_fuse(plan, module) is None
    rows["B+"] = [fuse("G", name="F125")]
    assert breakers.backing_fuse(plan, module).name == "F"  # type: ignore[union-attr]


def a_charger(name: str, amps: float | None) -> Any:
    return some(name=name, kind=some(current=amps, path=f"kinds.charger.{name}"))


A, B, BIG = a_charger("A", 40.0), a_charger("B", 50.0), a_charger("C", 120.0)


def sent(monkeypatch: Any, allowed: float, rows: dict[str, tuple[Any, ...]], lengths: dict[str, float | None]) -> Any:
    stretches = [some(name=name, length=lengths[name]) for name in rows]
    monkeypatch.setattr(charged, "_sent", lambda _plan, stretch: rows[stretch.name])
    monkeypatch.setattr(charged, "_carries", lambda *_: allowed)
    monkeypatch.setattr(charged, "guarding_of", lambda _: some(wiring=some(of_link={"L": stretches})))
    plan: Any = some(protected_poles="+", bank=some(key=lambda path: path), book=some(source=lambda _: None))
    told: dict[str, Any] = {}

    def found(at: str, figure: Figure, *_: Any, **more: Any) -> str:
        told.update(figure=figure.value, **more)
        return at

    link: Any = some(name="L", pole="+", origin=some(path="links.L"))
    made = charged.charged(plan, link, card=some(found=found))  # type: ignore[arg-type]
    return None if made is None else told


def test_the_most_that_any_stretch_is_sent_counts(monkeypatch: Any) -> None:
    rows, lengths = {"a": (A,), "b": (A, B)}, {"a": 1.0, "b": 0.4}
    assert sent(monkeypatch, 90.0, rows, lengths) is None
    told = sent(monkeypatch, 89.9, rows, lengths)
    assert (told["figure"], told["case"], told["forced"]) == (0.4, "short on L, fed by A + B", None)
    both = sent(monkeypatch, 39.9, rows, lengths)  # both stretches are too thin now
    assert (both["figure"], both["case"]) == (1.4, "short on L, fed by A + B")
    other = sent(monkeypatch, 89.9, {"a": (BIG,), "b": (A, B)}, lengths)  # one of 120 A is more than two of 90 A
    assert other["case"] == "short on L, fed by C"


@pytest.mark.parametrize(("length", "forced"), [(1.5, None), (1.5015, "fail")])
def test_a_metre_and_a_half_of_it_may_lie_bare(monkeypatch: Any, length: float, forced: str | None) -> None:
    assert sent(monkeypatch, 30.0, {"a": (A,)}, {"a": length})["forced"] == forced


def test_a_stretch_without_length_and_a_charger_without_current_are_asked_for(monkeypatch: Any) -> None:
    with pytest.raises(NeedsValue, match="length"):
        sent(monkeypatch, 30.0, {"a": (A,)}, {"a": None})
    with pytest.raises(NeedsValue, match="current"):
        sent(monkeypatch, 100.0, {"a": (A, a_charger("D", None))}, {"a": 1.0})


@pytest.mark.parametrize(
    ("least_fault", "class_", "breaks", "ends"),
    [
        ([3000.0, 500.0], "class T", 249.0, True),  # half of the least, 250 A
        ([3000.0, 500.0], "class T", 250.0, False),
        ([3000.0, 500.0], "class T", 1000.0, False),
        ([3000.0, 500.0], "gG", 1000.0, True),  # a full-range fuse breaks what melts it
        ([3000.0, 500.0], "class T", None, True),
    ],
)
def test_a_device_ends_a_zone_by_its_least_fault(monkeypatch, least_fault, class_, breaks, ends) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(guarding, "clearing", lambda _device, half: 1.0 if half >= 250.0 else 9.0)
    own: Any = some(least=lambda *_: [some(current=value) for value in least_fault])
    device: Any = fuse("F", device_class=class_, least_breaking=breaks)
    assert guarding.Guarding._clears(own, device, frozenset()) is ends


def test_a_device_that_clears_the_largest_fault_alone_ends_no_zone(monkeypatch: Any) -> None:
    monkeypatch.setattr(guarding, "clearing", lambda _device, half: 1.0 if half >= 250.0 else 9.0)
    own: Any = some(least=lambda *_: [some(current=3000.0), some(current=499.0)])
    assert guarding.Guarding._clears(own, fuse("F"), frozenset()) is False


# --- how far, and by which end


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (("F1", "F2", "F3"), "F1 + F2 + F3"),
        (("F3", "F1", "F2", "F4"), "F1 to F4 (4)"),
        (("F1", "F2", "F3", "G1"), "F1 to F3 (3) + G1"),
        (("F1", "F2", "G1", "G2"), "F1 + F2 + G1 + G2"),
    ],
)
def test_many_of_one_stem_are_told_by_the_first_and_the_last(names: tuple[str, ...], told: str) -> None:
    assert tails.listed(names) == told


def a_tail(monkeypatch: Any, bounds: dict[str, float], far: dict[str, float]) -> tails.Tail:
    rows = tuple(
        some(device=some(name=name, distance=0.1), stretch=f"s-{name}", inside=f"in-{name}") for name in bounds
    )
    far = {**far, **{f"in-{name}": value for name, value in bounds.items()}}
    stretches = [*(some(name=f"s-{name}", link=f"L-{name}") for name in bounds), some(name="else", link="L-else")]
    monkeypatch.setattr(tails, "_bare", lambda *_: (["M1"], [some(counts="no")]))
    monkeypatch.setattr(tails, "_distances", lambda *_: far)
    monkeypatch.setattr(tails, "guarding_of", lambda _: some(wiring=some(sources={"M1+": "M1"}, stretches=stretches)))
    links = [some(name=each.link, length=1.0) for each in stretches]
    plan: Any = some(users=[], bank=some(links=links))
    zone: Any = some(places={"M1+"}, bounds=rows, stretches=())
    return tails._tail(plan, zone)


def test_a_tail_runs_to_the_farthest_of_the_first_devices(monkeypatch: Any) -> None:
    found = a_tail(monkeypatch, {"F1": 0.3, "F2": 1.2, "F3": 0.9}, {"M1+": 0.0, "end": 4.0})
    assert (found.device, found.longest) == ("F2", 1.2)
    assert found.links == ("L-F1", "L-F2", "L-F3")  # cables of these devices, and no others
    bare = a_tail(monkeypatch, {}, {"M1+": 0.0, "a": 2.0, "end": 4.0})
    assert (bare.device, bare.longest) == ("", 4.0)


@pytest.mark.parametrize(
    ("at", "length", "distance", "told"),
    [
        ("F side a", 2.0, 0.5, 0.5),
        ("F side b", 2.0, 2.5, 2.0),  # no farther than the cable is long
        ("F@L", 2.0, None, 0.0),
        ("L middle", 2.0, 0.5, 1.0),
        ("B", 2.0, 0.5, 2.0),
        ("G side a", 2.0, 0.5, None),
        ("F side a", None, 0.5, None),
    ],
)
def test_a_place_on_a_cable(at: str, length: float | None, distance: float | None, told: float | None) -> None:
    bank: Any = some(devices=[some(name="E", distance=1.9), some(name="F", distance=distance)])
    link: Any = some(name="L", b="B", length=length)
    assert wiring._place_of(bank, link, at) == told


@pytest.mark.parametrize(
    ("own", "like", "is_turned"),
    [
        (("bar+", "M1+"), ("bar-", "M1-"), False),
        (("bar+", "M1+"), ("M1-", "bar-"), True),
        (("M1+", "bar+"), ("bar-", "M1-"), True),
        (("bar+", "M1+"), ("M1-", "x"), True),  # one end is enough
        (("bar+", "M1+"), ("x", "bar-"), True),
        (("bar+", "x"), ("bar-", "M1-"), False),
        (("a", "b"), ("c", "d"), False),
        (("bar+", "bar2+"), ("bar-", "bar-"), False),  # what is the same too is not turned
    ],
)
def test_a_twin_that_runs_the_other_way(own: tuple[str, str], like: tuple[str, str], is_turned: bool) -> None:
    owners = {"bar+": "bar", "bar-": "bar", "M1+": "M1", "M1-": "M1", "bar2+": "bar2"}
    ends = {"a": "A", "b": "B", "c": "C", "d": "D", "x": "X"}
    posts = [some(name=name, owner=owner) for name, owner in {**owners, **ends}.items()]
    made = twins.Twins(some(bank=some(posts=posts)))
    assert made._turned(some(a=own[0], b=own[1]), some(a=like[0], b=like[1])) is is_turned  # type: ignore[arg-type]


LEADS = [
    some(name="L1+", role="lead", pole="+", a="M1+", b="bar+1"),
    some(name="L2-", role="lead", pole="-", a="M2-", b="bar-2"),
    some(name="x", role="link", pole="+", a="M2+", b="M1+"),
    some(name="L2+", role="lead", pole="+", a="bar+2", b="M2+"),
]


def test_the_lead_of_the_last_module_is_found_by_role_and_pole() -> None:
    made: Any = some(bank=some(modules=[some(posts=("M1+", "M1-")), some(posts=("M2+", "M2-"))], links=LEADS))
    assert zones._last_lead(made, "+") == ("L2+", "bar+2")
    assert zones._last_lead(made, "-") == ("L2-", "bar-2")
    assert zones._last_lead(some(bank=some(modules=[some(posts=("M3+",))], links=LEADS)), "+") is None  # type: ignore[arg-type]


def test_a_module_to_come_copies_the_device_of_the_last_lead() -> None:
    of_link = {"L2+": (some(name="L2+|a"), some(name="F2"))}
    made: Any = some(
        bank=some(modules=[some(posts=("M2+", "M2-"))], links=LEADS, site=some(extension=2)),
        poles={"bar+2": "+"}, of_link=of_link,
    )  # fmt: skip
    first, own = (
        zones.Bound(some(name=name), stretch, "bar+2", beyond)
        for name, stretch, beyond in (("F1", "F1", "M1+"), ("F2", "F2", "M2+"))
    )
    (found,) = zones._copies(made, {"bar+2"}, [first, own])
    assert (found.device.name, found.stretch, found.inside, found.beyond, found.copies) == (
        "F2", "F2 to come", "bar+2", "M2+", 2,
    )  # fmt: skip
    assert zones._copies(made, {"bar+2"}, [first]) == []


@pytest.mark.parametrize(
    ("ends", "distances", "told"),
    [
        (("bar", "I1+"), {"F": 0.5, "G": 1.5}, ("F", 0.5)),
        (("I1+", "bar"), {"F": 0.5, "G": 1.5}, ("G", 0.5)),  # counted from the bar: 2.0 less 1.5 m
        (("bar", "I1+"), {"F": 0.17779, "G": 1.5}, None),  # 7 in and less
        (("bar", "I1+"), {"F": 0.1780, "G": 1.5}, ("F", 0.1780)),
        (("I1+", "I2+"), {"F": 0.5}, None),
        (("bar", "bar2"), {"F": 0.5}, None),
    ],
)
def test_the_first_device_of_a_users_cable(monkeypatch, ends, distances, told) -> None:  # type: ignore[no-untyped-def]
    own = [some(name=name, distance=value) for name, value in distances.items()]
    ahead = some(name="main")
    zone = some(bare=())
    all_zones = some(of_place={"bar": zone, "bar2": zone}, feeding=lambda _: [some(device=ahead)])
    monkeypatch.setattr(taps, "guarding_of", lambda _: some(all_zones=all_zones))
    monkeypatch.setattr(taps.lines, "is_guard", lambda _: True)
    plan: Any = some(users=[some(posts=("I1+", "I2+"))], bank=some(devices_on=lambda _: own))
    found = taps._device(plan, some(name="L", a=ends[0], b=ends[1], length=2.0))  # type: ignore[arg-type]
    assert (None if found is None else (found[0].name, pytest.approx(found[1]))) == told


# --- checks


def test_the_longest_surge_counts(monkeypatch: Any) -> None:
    plan: Any = some(
        bank=some(
            inverters=[some(kind=some(surge_time=t, path=f"kinds.inverter.i{t:g}")) for t in (2.0, 5.0, 3.0)],
            key=lambda path: path,
        )
    )
    device: Any = some(name="F", kind=some(path="kinds.device.F"))
    amps = Traced(Figure(300.0, "current"), case="surge")

    def told(seconds: float) -> Finding:
        monkeypatch.setattr(order, "melting_at", lambda *_: seconds)
        return order._outlasts(plan, device, amps, ())

    assert told(6.0).limits == (5.0, None)
    assert [told(5.0 * part).verdict == "fail" for part in (0.999, 1.001)] == [True, False]


def test_the_corner_of_charging_is_the_larger_of_both(monkeypatch: Any) -> None:
    plan = plan_of(edited({}))
    ends = [np.diag([1.0, -25.0, 1.0]), np.diag([1.0, 32.0, 1.0])]
    monkeypatch.setattr(charge, "corners_of", lambda *_: ends)
    worst, figure = charge._charging(plan, plan.bank.modules[1])
    assert (figure.value, figure.high) == (worst.value, 32.0)


@pytest.mark.parametrize(("material", "density"), [("aluminium", "700 A"), ("copper", "1000 A"), ("brass", "1000 A")])
def test_a_bar_is_held_against_the_density_of_its_metal(material: str, density: str) -> None:
    # 700 and 1000 A per square inch, NEC 366.23 [read]
    piece: Any = some(material=material, path="bars[0]", whole="bar")
    rows = bar._density_inputs(plan_of(edited({})), piece, 1e-4, 1.55e6, 3.5e6)
    assert f"{density} per square inch" in str(rows[1].origin)


@pytest.mark.parametrize(
    ("rules", "book", "asked"),
    [(None, "iec-60364", place.ABROAD), (None, "nec-2023", None), ("irc-1921", "nec-2023", "Known editions")],
)
def test_storage_rules_are_asked_for_by_the_book(rules: str | None, book: str, asked: str | None) -> None:
    plan: Any = some(bank=some(storage_rules=rules, book=book))
    with pytest.raises(NeedsValue) as lacks:
        place.rules_of(plan)
    (missing,) = lacks.value.missing
    assert missing.key == "storage_rules"
    assert (missing.how == place.ABROAD) is (asked == place.ABROAD)
    assert asked is None or asked in missing.how


@pytest.mark.parametrize(
    ("key", "listing", "verdict"),
    [("spacing", (), "fail"), ("spacing", ("UL 9540A",), "caution"), ("door", ("UL 9540A",), "fail")],
)
def test_fire_tests_let_units_stand_nearer_but_not_doors(key: str, listing: tuple[str, ...], verdict: str) -> None:
    plan = plan_of(edited({}))
    bank = plan.bank.replaced(site=replace(plan.bank.site, listing=listing))
    limit: Any = some(value=0.914, source=some(document="IRC", edition="2021"), table="", row="", at={})

    def told(value: float) -> str:
        keep = place._source
        try:
            place._source = lambda _: plan.book.source("space")
            return place._apart(plan_of(bank), key, value, limit).verdict
        finally:
            place._source = keep

    assert [told(0.914 * part) for part in (0.999, 1.0, 1.001)] == [verdict, "pass", "pass"]


@pytest.mark.parametrize(
    ("switches", "first", "most", "count"),
    [
        (4, 0, None, 16), (4, 1, None, 15), (4, None, None, 16), (4, 1, 12, 12), (4, 0, 15, 16), (None, 1, None, None),
        (2, 1, 15, 3), (2, 0, 15, 4),
    ],
)  # fmt: skip
@pytest.mark.parametrize("kept", [None, 2, 40])  # for a leader
def test_addresses_there_are(
    switches: int | None, first: int | None, most: int | None, count: int | None, kept: int | None
) -> None:
    module: Any = some(kind=some(address=some(switches=switches, first=first, most=most, base=None, reserved=kept)))
    count = None if count is None else count - (kept == 2)
    assert number._addresses(module) == count


def test_modules_of_one_kind_are_alike_and_two_kinds_are_compared() -> None:
    plan = plan_of(edited({}))
    assert [f.text.text()[:29] for f in number.modules_are_alike.function(plan)] == ["All modules are of one kind, "]  # type: ignore[union-attr]
    first, *rest = plan.bank.modules
    other = replace(first, kind=replace(first.kind, path="kinds.module.other", cells=first.kind.cells - 1))
    found = list(number.modules_are_alike.function(plan_of(plan.bank.replaced(modules=(other, *rest)))))
    assert "fail" in {finding.verdict for finding in found}
    assert not any("of one kind" in finding.text.text() for finding in found if finding.text is not None)


def test_the_module_with_the_fewest_cells_sets_the_window(monkeypatch: Any) -> None:
    seen: list[int] = []
    monkeypatch.setattr(windows, "_rated", lambda _plan, _inverter, module: seen.append(module.kind.cells) or iter(()))
    monkeypatch.setattr(windows, "_stops", lambda *_: iter(()))
    plan = plan_of(edited({}))
    first, *rest = plan.bank.modules
    fewer = replace(first, kind=replace(first.kind, cells=14))
    list(windows.window_suits_the_cells.function(plan_of(plan.bank.replaced(modules=(*rest, fewer)))))
    assert set(seen) == {14}
