"""Any body, any question to the interface under /api is answered by a described status, in JSON, and breaks no file.

Bodies are drawn from the keys that the interface's own description names, with values of any kind (numbers beyond
every range, text of any letters, deep nesting), whole and damaged; independent of the fuzzer next door.
"""

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.page import Page, bank_file

TEXT = st.text(max_size=12) | st.sampled_from(
    ["", "M1", "M1+", "wiring.main.cable", "2/0 AWG", "52.6 V", "\0", "\x1b]0;x\7"]
)
NUMBER = st.integers() | st.floats(allow_nan=True, allow_infinity=True) | st.sampled_from([10**400, -1, 0, 1e308])
PLAIN = st.none() | st.booleans() | NUMBER | TEXT
ANY = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3), max_leaves=6
)


def described(page: Page) -> dict:
    return page.get("/api/openapi.json").json()


def keys_of(schema: dict, whole: dict) -> list[str]:
    """Keys that a body may have, by its description."""
    if "$ref" in schema:
        return keys_of(whole["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]], whole)
    inner = [
        key for part in ("anyOf", "oneOf", "allOf") for each in schema.get(part, ()) for key in keys_of(each, whole)
    ]
    items = keys_of(schema["items"], whole) if "items" in schema else []
    own = schema.get("properties", {})
    below = [key for each in own.values() for key in keys_of(each, whole)]
    return list(dict.fromkeys([*own, *inner, *items, *below]))


def bodies(keys: list[str]) -> st.SearchStrategy:
    """JSON of these keys and others, as text; sometimes cut or with strange bytes."""
    named = st.dictionaries(
        st.sampled_from(keys or ["x"]), ANY | st.dictionaries(st.sampled_from(keys or ["x"]), ANY, max_size=3)
    )
    whole = st.builds(lambda value: json.dumps(value).encode("utf-8", "surrogatepass"), named | ANY)
    cut = st.builds(lambda body, at: body[: at % (len(body) + 1)], whole, st.integers(0, 400))
    return whole | cut | st.binary(max_size=30)


def asked(
    page: Page, operation: tuple[str, str, dict], drawn: tuple[st.SearchStrategy, st.SearchStrategy], examples: int
):
    """Ask one operation so many times."""
    method, path, told = operation

    @settings(
        max_examples=examples, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck)
    )
    @given(body=drawn[0], question=drawn[1])
    def holds(body, question):
        page.app._buckets.clear()  # a test is faster than a hand
        more = {"content": body, "headers": {"content-type": "application/json"}} if method != "GET" else {}
        answer = page.request(method, path, params=question, **more)
        assert str(answer.status_code) in told["responses"], (answer.status_code, answer.text[:300])
        if "svg" not in answer.headers["content-type"]:
            json.loads(answer.content)
        tomllib.loads(page.desk.path.read_text(encoding="utf-8"))

    holds()


def tried(folder: Path, examples: int) -> set[str]:
    """Ask every operation that takes a body or a question; what was asked."""
    page = Page(bank_file(folder, "two"), accept="application/json")
    description, done = described(page), set()
    for path, operations in description["paths"].items():
        for method, told in operations.items():
            content = told.get("requestBody", {}).get("content", {})
            keys = keys_of(content["application/json"]["schema"], description) if "application/json" in content else []
            names = [each["name"] for each in told.get("parameters", ())]
            if keys or names:
                questions = st.dictionaries(st.sampled_from(names or ["x"]), TEXT | st.integers().map(str), max_size=2)
                asked(page, (method.upper(), path, told), (bodies(keys), questions), examples)
                done.add(f"{method.upper()} {path}")
    page.desk.close()
    return done


def test_every_body_is_answered_as_described(tmp_path):
    assert {"PATCH /api/bank", "POST /api/entries", "GET /api/case"} <= tried(tmp_path, 12)


@pytest.mark.soak
def test_every_body_is_answered_as_described_in_a_long_try(tmp_path):
    """The interface under /api, asked with 400 bodies or questions an operation, drawn without the fuzzer."""
    assert "PATCH /api/bank" in tried(tmp_path, 400)
