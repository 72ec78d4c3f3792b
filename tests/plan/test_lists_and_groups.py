"""Findings of one kind read as one; what is missing becomes two short lists, the most useful first."""

from dataclasses import replace

import pytest

from bankwright.bank.asks import asking
from bankwright.forms.finding import MAY_BE_ASSUMED, Missing
from bankwright.forms.grouping import together
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.lists.gaps import decisions, measurements, questions, told, waiting
from bankwright.plan.results import findings_of
from support.banks import bank_of, bank_text, only, sample
from support.plan_cases import edited

SHORT = bank_text(
    3,
    only("cells", "capacity", "discharge.continuous", "charge.continuous", mass="45 kg"),
    kind="box",
    head={"rules": "nec-2023"},
    inverter={"power": "3 kW"},
    wiring={
        "pattern": "chain",
        "feed": "opposite ends",
        "link": {"cable": "2/0 AWG", "length": "300 mm"},
        "main": {"cable": "2/0 AWG", "length": "1.5 m"},
    },
)


def raw(bank):
    plan = plan_of(bank)
    return [finding for check in CHECKS for finding in check.function(plan)]


def test_one_check_that_fails_at_many_links_reads_as_one_finding_with_its_worst_place_first():
    bank = edited({"wiring.link.cable": "14 AWG"})
    alone = [finding for finding in raw(bank) if finding.code == "P-CABLE-1" and finding.verdict == "fail"]
    (one,) = (finding for finding in together(raw(bank)) if finding.code == "P-CABLE-1" and finding.verdict == "fail")
    assert len(alone) == 6
    assert one.margin == min(finding.margin for finding in alone)
    assert {*one.at, *one.more} == {place for finding in alone for place in finding.at}


@pytest.mark.slow
def test_grouping_loses_no_place_and_no_verdict():
    findings = raw(sample("five"))
    one = together(findings)
    assert {(f.code, f.verdict, place) for f in findings for place in (*f.at, *f.more)} == {
        (f.code, f.verdict, place) for f in one for place in (*f.at, *f.more)
    }


def test_charge_and_discharge_are_told_apart():
    cases = [finding.case for finding in findings_of(plan_of(sample("sound"))) if finding.code == "P-SHARE-1"]
    assert sorted(case.partition(" at")[0] for case in cases) == ["full charge", "full discharge"]


def test_a_short_file_gives_figures_and_short_lists():
    # Only volts, capacity, continuous currents, mass and lengths are known.
    findings = findings_of(plan_of(bank_of(SHORT)))
    figures = {finding.code for finding in told(findings)}
    assert {
        "P-SHARE-1",
        "P-SHARE-3",
        "P-CABLE-1",
        "P-DROP-1",
        "P-FAULT-2",
        "P-POST-1",
        "P-REACH-1",
        "P-VOLTS-2",
    } <= figures
    on_ranges = [finding for finding in findings if finding.assumed]
    assert {f.verdict for f in on_ranges if f.code in MAY_BE_ASSUMED} <= {"assumed", "unknown"}
    assert {f.verdict for f in on_ranges if f.code not in MAY_BE_ASSUMED} <= {"caution", "unknown"}
    assert [f.code for f in on_ranges if f.verdict == "assumed"]
    gaps = questions(findings)
    assert len(gaps) < 30
    assert [gap.findings for gap in gaps] == sorted((gap.findings for gap in gaps), reverse=True)
    assert all(gap.text.endswith("?") for gap in gaps)
    assert len(measurements(findings)) < 10
    assert decisions(findings)
    assert len(told(findings)) + len(waiting(findings)) == len(findings)


def test_a_gap_counts_the_places_it_would_settle():
    findings = findings_of(plan_of(bank_of(SHORT)))
    gap = next(gap for gap in questions(findings) if gap.keys == ("kinds.module.box.posts.through",))
    assert gap.findings == 4  # M1-, M2+, M2-, M3+ carry the bank's current
    assert gap.settles == ("P-POST-1",)


def test_answers_take_the_place_of_assumptions():
    findings = findings_of(
        plan_of(
            bank_of(
                SHORT.replace(
                    'capacity = "100 Ah"', 'capacity = "100 Ah"\nresistance = { dc = "14 mohm", ohmic = "6 mohm" }'
                )
            )
        )
    )
    keys = {key for gap in questions(findings) for key in gap.keys}
    assert "kinds.module.box.resistance.dc" not in keys
    assert "kinds.module.box.resistance.ohmic" not in keys
    fault = next(finding for finding in findings if finding.code == "P-FAULT-2")
    assert fault.figure.low is None


def test_questions_can_be_sent_and_measurements_can_be_taken():
    assert asking("kinds.module.M100.resistance.ohmic").question.startswith(
        "What is the ohmic (1 kHz AC) resistance of the M100"
    )
    assert asking("wiring.main.length").ask == "measure"
    assert asking("kinds.device.F.whatever_else").ask == "maker"
    assert isinstance(asking("some.key"), Missing)


def test_an_ill_posed_wiring_gives_one_finding_that_names_the_place():
    bank = sample("two")
    bridge = replace(bank.links[0], name="X", a="M1+", b="M1-", joints=(), devices=())
    findings = findings_of(plan_of(bank.replaced(links=(*bank.links, bridge))))
    assert [finding.code for finding in findings] == ["P-NETWORK-1"]
    assert findings[0].verdict == "fail"
    assert "M1" in findings[0].at
