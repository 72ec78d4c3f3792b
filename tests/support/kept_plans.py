"""Plans kept by value: tests that ask many commands and pages of one bank compute it once a process.

Gives: keep_plans(). Only the job's own door is changed, the plan of a bank as read; a bank that a command changes, or
one that a check makes for itself, is another value and is computed for itself. Checks that a test puts in the place of
those of Plan are run anew. The last MOST banks are kept.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection

import pytest

from bankwright.bank.model import Bank
from bankwright.forms.finding import Finding
from bankwright.plan import context, results
from bankwright.plan.context import Plan

__all__ = ["keep_plans"]

MOST = 16
Key = tuple[str, str]
PLANS: OrderedDict[Key, Plan] = OrderedDict()
FINDINGS: dict[tuple[Key, tuple[str, ...]], tuple[Finding, ...]] = {}
CHECKS = results.CHECKS


def _key(bank: Bank) -> Key:
    return bank.digest, bank.file


def _keep(key: Key, plan: Plan) -> Plan:
    PLANS[key] = plan
    while len(PLANS) > MOST:
        old, _ = PLANS.popitem(last=False)
        for name in [name for name in FINDINGS if name[0] == old]:
            del FINDINGS[name]
    return plan


def keep_plans(patch: pytest.MonkeyPatch) -> None:
    """Let jobs of one and the same bank share its plan and its findings until the patch is taken back."""
    plain_plan, plain_findings = context.plan_of, results.findings_of

    def plan_of(bank: Bank) -> Plan:
        found = PLANS.get(_key(bank))
        if found is None:
            return _keep(_key(bank), plain_plan(bank))
        return found if found.bank == bank else plain_plan(bank)

    def findings_of(plan: Plan, without: Collection[str] = ()) -> tuple[Finding, ...]:
        if PLANS.get(_key(plan.bank)) is not plan or results.CHECKS is not CHECKS:
            return plain_findings(plan, without)
        key = (_key(plan.bank), tuple(without))
        if key not in FINDINGS:
            FINDINGS[key] = plain_findings(plan, without)
        return FINDINGS[key]

    patch.setattr(context, "plan_of", plan_of)
    patch.setattr(results, "findings_of", findings_of)
