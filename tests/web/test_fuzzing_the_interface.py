"""The interface under /api, fuzzed from its own description, fixed seed; apart, for the fuzzer is slow to load."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from support.page import Page, bank_file


class _Loose:
    """The application as a browser of the same origin reaches it."""

    def __init__(self, app):
        self.app = app

    async def __call__(self, scope, receive, send):
        if scope["type"] == "http":
            kept = [(k, v) for k, v in scope["headers"] if k.lower() not in (b"host", b"origin", b"sec-fetch-site")]
            scope = {**scope, "headers": [*kept, (b"host", b"127.0.0.1:8347"), (b"origin", b"http://127.0.0.1:8347")]}
        self.app._buckets.clear()  # a fuzzer is faster than a hand
        await self.app(scope, receive, send)


def fuzzed(folder: Path, examples: int) -> list[str]:
    """Asks every operation so many times, with right and wrong bodies; what was tried."""
    import schemathesis  # two seconds, which no other run need wait for
    from schemathesis.specs.openapi.checks import positive_data_acceptance

    page = Page(bank_file(folder, "two"), accept="application/json")
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", _Loose(page.app))
    tried = []
    quiet = list(HealthCheck)
    for found in schema.get_all_operations():
        operation = found.ok()
        tried.append(operation.label)

        @settings(max_examples=examples, derandomize=True, deadline=None, database=None, suppress_health_check=quiet)
        @given(case=operation.as_strategy())
        def conforms(case):
            case.call_and_validate(excluded_checks=[positive_data_acceptance])  # 422: a bank's own rules

        conforms()
    page.desk.close()
    return tried


@pytest.mark.slow
def test_no_body_and_no_question_leaves_the_description(tmp_path):
    tried = fuzzed(tmp_path, 10)
    assert "PATCH /api/bank" in tried
    assert "POST /api/entries" in tried


@pytest.mark.soak
def test_no_body_and_no_question_leaves_the_description_in_a_long_try(tmp_path):
    """The interface under /api, fuzzed with 250 bodies or questions an operation."""
    assert "PATCH /api/bank" in fuzzed(tmp_path, 250)
