"""The share test: worked cases, closures, ages, limits, sensors, and the uncertainty table of its instruments.

Cases and tables were computed elsewhere (derived, or Monte Carlo with 200,000 draws); they stand here as printed.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bankwright.circuit.inverse.fit import fit
from bankwright.circuit.inverse.looks import Observation, State, current_look
from bankwright.circuit.inverse.point import Unknowns, predicted
from bankwright.circuit.inverse.prior import prior_of
from bankwright.circuit.network import Edge, Element, Network
from bankwright.forms.faults import QuestionError
from bankwright.forms.toleranced import Toleranced
from bankwright.prove.currents import Level, Taken, taken
from bankwright.prove.meters import Bus, Clamp, clamp_of, current_errors
from bankwright.prove.which import Drop
from support.networks import load, star
from support.proved import barn, one_round, share, verdicts

ZERO = one_round(0, [0.1, -0.1, 0.0, 0.1, 0.0])
LOW_THIRD = one_round(200, [40.6, 40.6, 37.9, 40.5, 40.5])
LEVEL = Level(200)
MODULES = ["M1", "M2", "M3", "M4", "M5"]


def test_one_low_branch_by_shares_alone_cannot_be_told() -> None:
    # 40.6 40.6 37.9 40.5 40.5 at 200 A: the module's tolerance gives it in most banks; next: millivolts of its links
    found = share("bars", ZERO, LOW_THIRD)
    assert set(verdicts(found, "V-SHARE-1").values()) == {"pass"}
    assert found.which is not None
    assert found.which.outcome.outside == ()
    assert found.which.first is not None
    assert {found.which.first.name, *found.which.first.alike} >= {"M3", "L3+", "L3-", "L3+@M3+"}
    assert found.which.first.growth == pytest.approx(1.0e-3, rel=0.05)
    words = found.next.text() if found.next else ""
    assert "millivolts over L3" in words
    assert "13.70 mV if M3" in words
    assert "51." in words


def drops(*pairs: tuple[str, float]) -> tuple[Drop, ...]:
    return tuple(Drop(at, LEVEL, 1e-3 * millivolts, 5e-4, 0.005) for at, millivolts in pairs)


def test_one_low_branch_with_its_millivolts_is_the_plus_link() -> None:
    # post to bar plus 51.7 mV where 14.5 are due, minus 13.7: +1.0 mohm in the plus link of M3
    more = drops(("L1+", 14.5), ("L2+", 14.5), ("L3+", 51.7), ("L3-", 13.7), ("L4+", 14.5))
    found = share("bars", ZERO, LOW_THIRD, drops=more)
    assert found.which is not None
    assert set(found.which.outcome.outside) == {"L3+@M3+", "L3+", "L3+@bar+4"}
    assert found.which.outcome.released[0].growth == pytest.approx(1.0e-3, rel=0.03)
    words = found.next.text() if found.next else ""
    assert "millivolts over L3+@M3+: 38.80 mV if L3+@M3+" in words  # post to palm, if it is that contact
    (finding,) = [f for f in found.findings if f.code == "V-WHICH-1"]
    assert finding.verdict == "caution"
    assert "--apart" in finding.do.text()
    nearer = share("bars", ZERO, LOW_THIRD, drops=(*more, *drops(("L3+@M3+", 38.7), ("L3+@bar+4", 0.8))))
    assert nearer.which is not None
    assert nearer.which.outcome.outside == ("L3+@M3+",)


def test_one_low_branch_with_good_links_in_a_colder_module() -> None:
    # the same currents, links good, M3 read 4 K colder: 0.8 to 0.9 of the 1.0 mohm; no finding on joints
    good = drops(*((f"L{k}{pole}", 14.2) for k in (1, 2, 4, 5) for pole in "+-"), ("L3+", 13.4), ("L3-", 13.4))
    cells = {**dict.fromkeys(MODULES, 25.0), "M3": 21.0}
    found = share("bars", ZERO, LOW_THIRD, drops=good, cells_degc=cells)
    assert verdicts(found, "V-WHICH-1") == {}
    assert set(verdicts(found, "V-SHARE-1").values()) == {"pass"}
    due = found.subject.dues[0].expected
    assert due is not None
    assert float(due.solution.module_currents()[2]) < 39.0  # the cold explains most of it
    element = due.network.elements[due.network.element_index["M3"]]
    assert element.resistance is not None
    assert element.resistance.nominal - 14e-3 == pytest.approx(0.85e-3, abs=0.06e-3)


def test_one_load_without_zero_says_nothing() -> None:
    # single reading 41.4 41.4 34.6 41.4 41.4: unknown, and the zero reading is asked for
    found = share("bars", one_round(200, [41.4, 41.4, 34.6, 41.4, 41.4]))
    for code in ("V-ZERO-1", "V-SHARE-1", "V-LIMIT-1"):
        assert set(verdicts(found, code).values()) == {"unknown"}, code
    assert found.which is None
    assert all(gap.key == "readings.clamp.zero" for f in found.findings if f.verdict == "unknown" for gap in f.missing)


def test_with_its_zero_the_difference_in_charge_is_seen_and_the_shares_are_even() -> None:
    # zero reading -5.4 and +1.4: E 0.1 V low; the differences are 40.0 all
    zero = one_round(0, [1.4, 1.4, -5.4, 1.4, 1.4])
    found = share("bars", zero, one_round(200, [41.4, 41.4, 34.6, 41.4, 41.4]))
    assert verdicts(found, "V-ZERO-1")["M3"] == "caution"
    assert {place for place, verdict in verdicts(found, "V-ZERO-1").items() if verdict == "pass"} == set(MODULES) - {
        "M3"
    }
    assert set(verdicts(found, "V-SHARE-1").values()) == {"pass"}
    assert found.subject.dues[0].taken.values == pytest.approx([40.0] * 5)
    assert found.which is not None
    assert found.which.outcome.outside == ()


@pytest.mark.parametrize(("amps", "third", "others"), [(0.0, -5.43, 1.36), (50.0, 4.57, 11.36), (200.0, 34.57, 41.36)])
def test_a_module_lower_by_a_tenth_of_a_volt(amps: float, third: float, others: float) -> None:
    # E 0.1 V low in M3, R 14.724 mohm each [derived]
    unknowns = Unknowns(star([0.014724] * 5, [0.0] * 5, 0.0, 0.0), (State("a", {"I1": amps}),))
    emf = np.array([51.2, 51.2, 51.1, 51.2, 51.2])
    looks = [current_look("M3", "a"), current_look("M1", "a")]
    values, _ = predicted(unknowns, looks, unknowns.start(unknowns.network.resistances(), emf))
    assert values == pytest.approx([third, others], abs=0.006)


@pytest.mark.parametrize(
    ("amps", "third", "others", "apparent"),
    [(50.0, 4.57, 11.36, 21.9e-3), (100.0, 14.57, 21.36, 6.86e-3), (200.0, 34.57, 41.36, 2.89e-3)],
)
def test_read_as_one_load_it_looks_like_resistance(amps: float, third: float, others: float, apparent: float) -> None:
    # who believes that all voltages are equal fits 21.9, 6.86 or 2.89 mohm too much, by the load [derived]
    made = star([0.014724] * 5, [0.0] * 5, 0.0, 0.0)
    wide = Edge("M3", "M3-", "M3+", "module", (Element("M3", "module", Toleranced(0.02, 0.001, 0.1)),))
    network = Network.of([wide if edge.name == "M3" else edge for edge in made.edges])
    unknowns = Unknowns(network, (State("a", {"I1": amps}),))
    read = [Observation(current_look(f"M{k}", "a"), third if k == 3 else others, 1e-3) for k in range(1, 6)]
    found = fit(prior_of(unknowns, np.full(5, 51.2), 0.5, apart=1e-9), read)
    assert found.value("M3") - 0.014724 == pytest.approx(apparent, rel=0.01)


def test_a_corner_of_the_tolerances() -> None:
    # 11 against four of 17 mohm, links 0.724, 200 A: 54.86 and 36.29 A [derived]
    unknowns = Unknowns(star([0.011724] + [0.017724] * 4, [0.0] * 5, 0.0, 0.0), (State("a", {"I1": 200.0}),))
    looks = [current_look("M1", "a"), current_look("M2", "a")]
    values, _ = predicted(unknowns, looks, unknowns.start(unknowns.network.resistances(), np.full(5, 51.2)))
    assert values == pytest.approx([54.86, 36.29], abs=0.006)
    assert load("I1", "a", "b").kind == "load"


AS_IS, IN_PLACE = Clamp(zero=0.5), Clamp(zero=0.2)
SPREADS = [
    # one standard deviation of a share in %, bars of five at 50, 100, 200 A: clamp as is, zeroed in place, three
    # rounds; the modules' own sensors in steps of 0.1 A, and with 3 % gains; always load less zero
    ("clamp", AS_IS, Bus(), 1, (3.7, 1.9, 1.05)),
    ("clamp", IN_PLACE, Bus(), 1, (1.6, 0.91, 0.64)),
    ("clamp", IN_PLACE, Bus(), 3, (0.92, 0.53, 0.37)),
    ("bus", AS_IS, Bus(), 1, (0.63, 0.55, 0.52)),
    ("bus", AS_IS, Bus(gain=0.03), 1, (1.6, 1.6, 1.6)),
]


def even(by: str, amps: float, rounds: int, clamp: Clamp, bus: Bus) -> Taken:
    passes = [
        one_round(total, [total / 5] * 5, by=by, number=number)  # type: ignore[arg-type]
        for number in range(1, rounds + 1)
        for total in (0.0, amps)
    ]
    found = taken(passes, Level(amps), by, MODULES, clamp, bus=bus)  # type: ignore[arg-type]
    assert found is not None
    return found


@pytest.mark.parametrize(("by", "clamp", "bus", "rounds", "expected"), SPREADS)
def test_the_uncertainty_of_a_share_by_instrument(by, clamp, bus, rounds, expected) -> None:  # type: ignore[no-untyped-def]
    found = []
    for amps in (50.0, 100.0, 200.0):
        errors = even(by, amps, rounds, clamp, bus).share_errors
        found.append(100 * float(np.sqrt((errors**2).sum(axis=1) / 3).mean()))
    assert found == pytest.approx(expected, rel=0.06)


def test_coarse_steps_are_never_taken_finer_than_they_are() -> None:
    # 1 A steps: 2.0, 1.4, 1.0 % when the steps of a real staircase are drawn; flat limits are wider, never narrower
    for amps, drawn in ((50.0, 2.0), (100.0, 1.4), (200.0, 1.0)):
        errors = even("bus", amps, 1, AS_IS, Bus(step=1.0)).share_errors
        assert 100 * float(np.sqrt((errors**2).sum(axis=1) / 3).mean()) >= 0.97 * drawn


def test_gain_of_the_clamp_falls_out_of_shares_and_the_sensor_s_own_does_not() -> None:
    plain = even("clamp", 200.0, 1, IN_PLACE, Bus()).share_errors
    strong = even("clamp", 200.0, 1, replace(IN_PLACE, gain=0.2), Bus()).share_errors
    assert np.abs(strong).sum() == pytest.approx(np.abs(plain).sum())
    low, high = (even("bus", amps, 1, IN_PLACE, Bus(offset=0.0)).share_errors for amps in (50.0, 200.0))
    assert np.abs(high[:, :5]).max() == pytest.approx(np.abs(low[:, :5]).max())


def test_closure_of_branches_and_main() -> None:
    # 99 % of the gaps lie within +-2.8 A at 200 A (clamp zeroed in place), +-3.4 A as is [200,000 draws elsewhere]
    for clamp, expected in ((IN_PLACE, 2.8), (AS_IS, 3.4)):
        found = share("bars", ZERO, one_round(200, [40.0] * 5, main=200.0), clamp=clamp)
        (finding,) = [f for f in found.findings if f.code == "V-SUM-1"]
        assert finding.verdict == "pass"
        half = finding.text.figures["half"].value  # type: ignore[union-attr]
        assert half == pytest.approx(expected, rel=0.12)


def test_a_closure_that_fails_makes_everything_unknown_and_accuses_nothing() -> None:
    found = share("bars", ZERO, one_round(200, [40.0] * 5, main=212.0))
    assert set(verdicts(found, "V-SUM-1").values()) == {"unknown"}
    assert set(verdicts(found, "V-SHARE-1").values()) == {"unknown"}
    assert set(verdicts(found, "V-LIMIT-1").values()) == {"unknown"}
    assert found.which is None
    assert all(f.verdict != "fail" for f in found.findings)


def test_the_age_of_the_step_is_kept_and_compared_with_the_resistance_at_that_age() -> None:
    # the same bad joint at the ohmic moment: 35.72 A of 40; judged against 6 mohm, not 14
    young = one_round(200, [41.3, 41.1, 35.7, 41.0, 40.9], age=0.5)
    found = share("bars", ZERO, young)
    assert set(verdicts(found, "V-AGE-1").values()) == {"caution"}
    due = found.subject.dues[0].expected
    assert due is not None
    assert due.network.elements[0].resistance.nominal == pytest.approx(6e-3)  # type: ignore[union-attr]
    assert found.record()["rounds"][1]["currents"][2]["age"] == 0.5
    late = share("bars", ZERO, one_round(200, [40.0] * 5, age=3600.0))
    assert set(verdicts(late, "V-SHARE-1").values()) == {"unknown"}
    never = share("bars", ZERO, one_round(200, [40.0] * 5, age=None))
    assert set(verdicts(never, "V-AGE-1").values()) == {"unknown"}
    assert set(verdicts(never, "V-SHARE-1").values()) == {"unknown"}


def test_whether_a_limit_is_near() -> None:
    # full load of the demo bank is 233.7 A (2 x 5 kW / 0.93 / 46 V): a share of 2.14 of the mean reaches 100 A
    assert set(verdicts(share("bars", ZERO, one_round(200, [40.0] * 5)), "V-LIMIT-1").values()) == {"pass"}
    over = share("bars", ZERO, one_round(200, [90.0, 27.5, 27.5, 27.5, 27.5]))
    assert verdicts(over, "V-LIMIT-1")["M1"] == "fail"
    assert verdicts(over, "V-SHARE-1")["M1"] == "caution"
    near = share("bars", ZERO, one_round(200, [81.0, 29.75, 29.75, 29.75, 29.75]))
    assert verdicts(near, "V-LIMIT-1")["M1"] in ("caution", "fail")
    without_zero = share("bars", one_round(400, [120.0, 70.0, 70.0, 70.0, 70.0]))
    assert verdicts(without_zero, "V-LIMIT-1")["M1"] == "fail"  # past its limit whatever the zero
    charge = share("bars", ZERO, one_round(-200, [-70.0, -32.5, -32.5, -32.5, -32.5]))
    assert verdicts(charge, "V-LIMIT-1")["M1"] == "fail"  # 60 A is its charging limit


def test_a_sensor_is_told_from_a_branch() -> None:
    # M2's sensor reads 5 % high, M4's 1.2 A high at every load; the clamp agrees with the others
    def told(amps: float) -> list[float]:
        return [amps, 1.05 * amps, amps, amps + 1.2, amps]

    rounds = []
    for number, total in enumerate((0.0, 100.0, 200.0), 1):
        rounds.append(one_round(total, [total / 5] * 5, number=number))
        rounds.append(one_round(total, told(total / 5), by="bus", number=number + 10))
    both = [replace(a, currents=(*a.currents, *b.currents)) for a, b in zip(rounds[::2], rounds[1::2], strict=True)]
    found = share("bars", *both)
    assert {k for k, v in verdicts(found, "V-SENSOR-1").items() if v == "caution"} == {"M2"}
    assert {k for k, v in verdicts(found, "V-SENSOR-2").items() if v == "caution"} == {"M4"}
    assert found.which is not None
    assert found.which.outcome.outside == ()
    assert found.next is None  # the clamp's shares are even: no branch is in question


@pytest.mark.parametrize("by", ["clamp", "bus"])
def test_each_instrument_alone_makes_a_test(by: str) -> None:
    found = share("bars", one_round(0, [0.0] * 5, by=by), one_round(100, [20.0] * 5, by=by))  # type: ignore[arg-type]
    assert set(verdicts(found, "V-SHARE-1")) == set(MODULES)
    assert set(verdicts(found, "V-SHARE-1").values()) == {"pass"}


def test_volts_at_the_posts_give_the_module_s_own_resistance() -> None:
    rest, under = dict.fromkeys(MODULES, 52.80), {**dict.fromkeys(MODULES, 52.24), "M4": 51.80}
    found = share("bars", one_round(0, [0.0] * 5, volts=rest), one_round(200, [40.0] * 5, volts=under))
    parts = {f.at[0]: f.figure.value for f in found.findings if f.code == "V-MODULE-1" and f.figure is not None}
    assert parts["M4"] == pytest.approx(25e-3, rel=0.01)
    assert verdicts(found, "V-MODULE-1")["M4"] == "caution"
    assert {v for k, v in verdicts(found, "V-MODULE-1").items() if k != "M4"} == {"pass"}


def test_a_split_row_of_a_chain_is_the_link_at_the_gap() -> None:
    # all below a gap low, all above it high: +3 mohm in L2+ of the chain
    zero = one_round(0, [0.0] * 4)
    found = share("chain", zero, one_round(100, [21.0, 20.2, 28.9, 29.9]), clamp=Clamp(zero=0.05, place=0.002))
    assert found.which is not None
    first = found.which.first
    assert first is not None
    assert {"L2+", "L2+@M2+b"} & {first.name, *first.alike}


def test_the_errors_of_a_reading_have_names_that_say_what_they_share() -> None:
    one, two = (current_errors("clamp", "M1", 40.0, key, IN_PLACE, bus=Bus()) for key in ("a", "b"))
    assert set(one) & set(two) == {"clamp gain"}
    one, two = (current_errors("bus", "M1", 40.0, key, IN_PLACE, bus=Bus()) for key in ("a", "b"))
    assert set(one) & set(two) == {"bus gain M1", "bus offset M1"}


def test_a_clamp_by_name_and_by_its_words() -> None:
    named, worded = clamp_of("clamp", barn()), clamp_of("1.5 % + 3 digits", barn(), zeroed=True)
    assert (named.gain, named.zero, named.step) == (0.02, 0.5, 0.1)
    assert (worded.gain, worded.zero) == (0.015, 0.2)
    with pytest.raises(QuestionError, match="no instrument 'tong'"):
        clamp_of("tong", barn())


def test_nothing_read_is_no_test() -> None:
    with pytest.raises(QuestionError, match="no current was given"):
        share("bars")


SIGNATURES = [
    # +1 mohm in a chain of four, opposite ends, 100 A: currents, the group they point to, the link to read next with
    # the millivolts if it is that link [computed elsewhere with the same bank]
    ([24.06, 25.12, 25.10, 25.72], {"M1", "L1+", "L1+@M1+b"}, "L1+", 27.2),
    ([23.72, 23.06, 26.32, 26.90], {"L2+", "L2+@M2+b", "L2+@M3+"}, "L2+", 53.0),
    ([26.9, 26.3, 23.1, 23.7], {"L2-", "L2-@M2-b", "L2-@M3-"}, "L2-", 53.0),
    ([29.01, 23.40, 23.47, 24.12], {"L1-", "L1-@M1-b", "L1-@M2-"}, "L1-", 80.4),
    ([25.7, 25.1, 25.1, 24.1], {"M4", "L3-", "L3-@M4-"}, "L3-", 27.2),
]


@pytest.mark.parametrize(("amps", "group", "link", "millivolts"), SIGNATURES)
def test_signatures_point_to_their_group_and_the_link_to_read(
    amps: list[float], group: set[str], link: str, millivolts: float
) -> None:
    found = share("chain", one_round(0, [0.0] * 4), one_round(100, amps))
    assert found.which is not None
    first = found.which.first
    assert first is not None
    assert group <= {first.name, *first.alike}
    assert found.which.next is not None
    assert found.which.next.look.at == (link,)
    assert 1e3 * abs(found.which.next.shown[link]) == pytest.approx(millivolts, rel=0.04)


def test_one_low_inside_a_chain_is_only_a_module() -> None:
    found = share("chain", one_round(0, [0.0] * 4), one_round(100, [25.7, 23.5, 25.1, 25.7]))
    assert found.which is not None
    assert found.which.first is not None
    assert (found.which.first.name, found.which.first.alike) == ("M2", ())


def test_a_module_that_was_left_out_is_asked_for() -> None:
    found = share("bars", ZERO, one_round(200, [40.0, 40.0, 40.0, 40.0]))
    unknown = [f for f in found.findings if f.code == "V-SHARE-1"]
    assert [f.verdict for f in unknown] == ["unknown"]
    assert [gap.key for gap in unknown[0].missing] == ["readings.M5.current"]


def test_the_smallest_of_module_breaker_and_fuse_is_the_limit() -> None:
    from bankwright.prove.branch_limits import branch_limits

    bank = barn()
    kind = replace(bank.modules[0].kind, breaker=replace(bank.modules[0].kind.breaker, rating=63.0))  # type: ignore[type-var]
    small = bank.replaced(modules=tuple(replace(m, kind=kind) for m in bank.modules))
    assert [limit.value for limit in branch_limits(bank, "M1", False)] == [100.0, 125.0]
    assert min(limit.value or 0 for limit in branch_limits(small, "M1", False)) == 63.0
    assert branch_limits(bank, "M1", True)[0].value == 60.0


def test_readings_at_unlike_ages_are_each_compared_with_their_own() -> None:
    # while resistance still grows, M1 read at 2 s and M5 at 25 s have unlike figures due
    reads = one_round(200, [41.3, 41.1, 35.7, 41.0, 40.9])
    aged = replace(reads, currents=tuple(replace(r, age=2.0 + 5.75 * k) for k, r in enumerate(reads.currents)))
    due = share("bars", ZERO, aged).subject.dues[0]
    ohms = [due.of(name).network.resistances()[0] for name in MODULES]
    assert ohms == sorted(ohms)
    assert ohms[0] == pytest.approx(6e-3 + 3e-3 * np.log(2) / np.log(10), rel=1e-6)
    late = share("bars", ZERO, one_round(200, [40.0] * 5, age=60.0)).subject.dues[0]
    assert late.own == {}  # from its own time on the value of the sheet is held


def test_volts_at_the_inverters_or_the_bars_give_the_common_scale() -> None:
    # every module 3 mohm more: no current tells it, the sag at the bars does
    zero, under = one_round(0, [0.0] * 5), one_round(200, [40.0] * 5)
    ratios = share("bars", zero, under)
    sag = share("bars", replace(zero, volts={"bank": 52.80}), replace(under, volts={"bank": 52.80 - 0.711}))
    for found, halves in ((ratios, (1.0e-3, 3.0e-3)), (sag, (0.0, 1.2e-3))):
        assert found.which is not None
        half = found.which.estimate.half("M1", "M2", "M3", "M4", "M5") / 5
        assert halves[0] < half < halves[1]
    assert sag.which is not None
    low, high = sag.which.estimate.band("M1", "M2", "M3", "M4", "M5")
    assert low / 5 < 16.9e-3 < high / 5
    assert sag.which.estimate.value("M1", "M2", "M3", "M4", "M5") / 5 > 16.0e-3
    assert ratios.which.estimate.value("M1", "M2", "M3", "M4", "M5") / 5 == pytest.approx(14e-3, abs=0.1e-3)  # type: ignore[union-attr]


def test_a_load_that_was_told_roughly_accuses_nothing() -> None:
    found = share("bars", ZERO, one_round(150, [40.1, 40.0, 39.9, 40.1, 40.0], volts=dict.fromkeys(MODULES, 52.2)))
    assert found.which is not None
    assert found.which.outcome.outside == ()
    assert set(verdicts(found, "V-SHARE-1").values()) == {"pass"}


def test_only_what_was_read_counts_as_measured() -> None:
    fine = tuple(Drop(at, LEVEL, 14.5e-3, 5e-5, 0.001) for at in ("L1+", "L1-"))  # counts of 0.01 mV
    found = share("bars", ZERO, one_round(200, [40.0] * 5), drops=fine)
    settled = {part.name for part in found.parts if part.settled}
    assert {"L1+", "L1-"} <= settled
    assert not settled & {"main+", "main-", "I1+lead", "L2+", "L5-"}


def test_a_module_outside_its_tolerance_is_no_joint_to_undo() -> None:
    rest, under = dict.fromkeys(MODULES, 52.80), {**dict.fromkeys(MODULES, 52.24), "M4": 51.56}
    zero, loaded = one_round(0, [0.0] * 5, volts=rest), one_round(200, [44.0, 44.0, 44.0, 24.0, 44.0], volts=under)
    found = share("bars", zero, loaded)
    (finding,) = [f for f in found.findings if f.code == "V-WHICH-1" and "M4" in f.at]
    assert "ask the maker" in finding.do.text()
    assert "--apart" not in finding.do.text()


def test_two_modules_give_one_number_and_its_group_says_so() -> None:
    # 55 and 45 A: M2 high, or the minus link that carries its current; never a joint that shrank
    from bankwright.circuit.steady import steady
    from bankwright.prove.share_subject import ShareSubject
    from bankwright.prove.share_test import share_test
    from support.banks import sample

    bank = sample("two")
    rounds = (one_round(0, [0.0, 0.1]), one_round(100, [55.0, 45.0]))
    found = share_test(ShareSubject(bank, steady(bank), rounds, clamp=IN_PLACE))
    assert found.which is not None
    first = found.which.first
    assert first is not None
    assert first.growth > 0.0
    assert {first.name, *first.alike} == {"M2", "L1-", "L1-@M1-", "L1-@M2-"}
    assert "millivolts over L1-" in (found.next.text() if found.next else "")


def test_what_the_meter_leaves_against_a_shunt() -> None:
    # 50 mV at 500 A: 20.0 mV at 200 A; 0.5 % + 5 counts of 0.1 or 0.01 mV leave 6.0 or 1.5 A open
    from bankwright.prove.meters import Millivolts

    for step, amps in ((1e-4, 6.0), (1e-5, 1.5)):
        assert Millivolts(step=step).half(20e-3) / 0.1e-3 == pytest.approx(amps)


def test_both_poles_close_each_for_itself() -> None:
    from bankwright.prove.currents import CurrentRead

    good = one_round(200, [40.0] * 5, main=200.0)
    wrong = replace(good, currents=(*good.currents, CurrentRead("main-", "clamp", 188.0, 40.0, "188 A")))
    found = share("bars", ZERO, wrong)
    assert verdicts(found, "V-SUM-1") == {"main+": "pass", "main-": "unknown"}
    assert set(verdicts(found, "V-SHARE-1").values()) == {"unknown"}
