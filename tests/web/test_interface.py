"""The interface under /api: strict, declared, one fault shape."""

import json

import pytest

from support.page import bank_file, client

pytestmark = pytest.mark.quick

FAULT = {"file", "line", "column", "path", "code", "found", "expected", "hint", "also"}


@pytest.fixture
def web(tmp_path):
    with client(bank_file(tmp_path, "two"), accept="application/json") as made:
        yield made


def faults_of(answer):
    body = answer.json()
    assert body["format"] == "bankwright.faults/1"
    assert all(set(fault) == FAULT for fault in body["faults"])
    assert body["faults"]
    return body["faults"]


def test_every_answer_names_its_format(web):
    for path in ("bank", "findings", "cases", "parts", "sheet", "emergency", "log"):
        answer = web.get(f"/api/{path}")
        assert answer.status_code == 200, path
        assert answer.json()["format"].startswith("bankwright."), path


def test_case_and_drawing_by_name(web):
    name = web.get("/api/cases").json()["cases"][0]
    currents = web.get("/api/case", params={"name": name}).json()
    assert {edge["name"] for edge in currents["edges"]} >= {"M1", "M2"}
    assert web.get("/api/drawing.svg", params={"name": name}).text.startswith("<svg")


def test_a_value_over_the_interface(web):
    digest = web.get("/api/bank").json()["digest"]
    made = web.patch("/api/bank", json={"path": "title", "value": "Shed", "digest": digest}).json()
    assert made["saved"] is True
    assert made["digest"] != digest
    old = web.patch("/api/bank", json={"path": "title", "value": "Late", "digest": digest})
    assert old.status_code == 409
    assert faults_of(old)[0]["code"] == "changed-outside"
    assert web.post("/api/bank/undo", json={"digest": made["digest"]}).json()["digest"] == digest


def test_a_trial_says_what_would_change_and_writes_nothing(web):
    digest = web.get("/api/bank").json()["digest"]
    body = {"path": "wiring.main.length", "value": "40 m", "digest": digest, "write": False}
    made = web.patch("/api/bank", json=body).json()
    assert (made["saved"], made["digest"]) == (False, digest)
    assert made["changes"]


def test_an_edit_with_a_fault_is_told_in_the_one_shape(web):
    digest = web.get("/api/bank").json()["digest"]
    made = web.patch("/api/bank", json={"path": "wiring.main.length", "value": "40", "digest": digest}).json()
    assert made["saved"] is False
    assert set(made["faults"][0]) == FAULT


@pytest.mark.slow
@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"\xff\xfe{", 400),
        (b"{", 422),
        (b"[]", 422),
        (b'{"path":"title","value":"x","digest":"0","more":1}', 422),
        (b'{"path":"title","value":NaN,"digest":"0"}', 422),
        (b'{"path":7,"value":"x","digest":"0"}', 422),
        (b'{"path":"a..b","value":"x","digest":"0"}', 422),
        (b'{"path":"title","value":' + b"[" * 2000 + b"]" * 2000 + b',"digest":"0"}', 400),
        (b'{"path":"title","value":"' + b"x" * 30_000 + b'","digest":"0"}', 422),
        (b'{"path":"title","value":"' + b"x" * (1 << 20) + b'","digest":"0"}', 413),
    ],
)
def test_bodies_that_cannot_be_taken(web, body, status):
    answer = web.patch("/api/bank", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == status
    faults_of(answer)


def test_what_is_not_there_and_what_cannot_be_asked(web):
    assert faults_of(web.get("/api/nothing"))[0]["code"] == "http-404"
    assert faults_of(web.post("/api/findings"))[0]["code"] == "http-405"
    assert faults_of(web.get("/api/case", params={"name": "none such"}))[0]["code"] == "unknown-case"
    assert faults_of(web.get("/api/log", params={"last": "0"}))[0]["path"] == "last"


@pytest.mark.slow
def test_without_a_bank_every_result_is_a_fault(tmp_path):
    with client(tmp_path / "none.toml", accept="application/json") as web:
        for path in ("findings", "cases", "parts", "sheet", "emergency"):
            answer = web.get(f"/api/{path}")
            assert answer.status_code == 422
            assert faults_of(answer)[0]["code"] == "no-bank"


def test_match_over_the_interface(web):
    assert web.get("/api/match").status_code == 422  # no reading yet
    names = [m.name for m in web.desk.look().job.bank.modules]
    entries = [
        {"id": f"{n + 1:016x}", "kind": "reading", "at": name, "text": f"52.{61 + n} V"} for n, name in enumerate(names)
    ]
    web.post("/api/entries", json={"entries": entries})
    body = web.get("/api/match").json()
    assert body["format"] == "bankwright.match/2"
    assert (body["may_join"], body["equally_charged"]) == ("unknown", "unknown")  # no window, no rest told
    assert sorted(body["order"]) == sorted(names)


def test_the_description_declares_every_error(web):
    found = web.get("/api/openapi.json").json()
    assert "/api/bank" in found["paths"]
    for path, methods in found["paths"].items():
        for method, operation in methods.items():
            assert {"400", "401", "403", "404", "409", "413", "421", "422", "429"} <= set(operation["responses"]), (
                path,
                method,
            )
    assert "http" not in json.dumps(found.get("servers", ""))


def test_the_documentation_page_of_the_library_is_off(web):
    for path in ("/docs", "/redoc", "/api/docs"):
        assert web.get(path).status_code == 404
