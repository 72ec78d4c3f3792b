"""Strangers stay outside: host, origin, session, size, rate, headers."""

import asyncio
from concurrent.futures import ThreadPoolExecutor

import httpx
import pytest

from bankwright.web.door import COOKIE, Door
from bankwright.web.guard import _BURST, MOST_BODY, Guard

pytestmark = pytest.mark.quick

HOST = "127.0.0.1:8347"


async def echo(scope, receive, send):
    size = 0
    while True:
        message = await receive()
        size += len(message.get("body", b""))
        if not message.get("more_body"):
            break
    body = str(size).encode()
    head = [(b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": 200, "headers": head})
    await send({"type": "http.response.body", "body": body})


def ask(method="GET", path="/", headers=None, door=None, guard=None, host=HOST, content=None):
    guard = guard or Guard(echo, door or Door(open_to_all=True), [HOST])

    async def one():
        transport = httpx.ASGITransport(app=guard)
        async with httpx.AsyncClient(transport=transport, base_url=f"http://{host}") as client:
            return await client.request(method, path, headers=headers or {}, content=content)

    with ThreadPoolExecutor(1) as pool:  # a thread of its own: a browser's driver may hold this one's loop
        return pool.submit(lambda: asyncio.run(one())).result()


def test_a_request_under_the_right_address_is_answered_with_strict_headers():
    answer = ask()
    assert answer.status_code == 200
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize("host", ["evil.example:8347", "127.0.0.1:9999", "localhost", "127.0.0.1.evil.example:8347"])
def test_a_foreign_host_is_refused(host):
    answer = ask(host=host)
    assert answer.status_code == 421
    assert answer.json()["faults"][0]["code"] == "host"


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site", "origin": f"http://{HOST}"},
        {},
    ],
)
def test_a_post_from_elsewhere_changes_nothing(headers):
    assert ask("POST", headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers", [{"origin": f"http://{HOST}"}, {"sec-fetch-site": "same-origin"}, {"x-bankwright": "1"}]
)
def test_a_post_of_our_own_page_goes_through(headers):
    assert ask("POST", headers=headers).status_code == 200


def test_a_body_is_bounded_by_its_announced_and_by_its_real_length():
    own = {"origin": f"http://{HOST}"}
    assert ask("POST", headers=own, content=b"x" * 1000).text == "1000"
    assert ask("POST", headers=own, content=b"x" * (MOST_BODY + 1)).status_code == 413

    async def pieces():
        for _ in range(20):
            yield b"x" * (MOST_BODY // 10)

    assert ask("POST", headers=own, content=pieces()).status_code == 413
    assert ask("POST", headers={**own, "content-length": "-5"}).status_code == 413


def test_a_shared_page_asks_for_the_code_once():
    now = [0.0]
    door = Door(open_to_all=False, clock=lambda: now[0])
    code = door.new_code()
    assert ask(door=door).status_code == 401
    assert ask(door=door, headers={"accept": "text/html"}).headers["location"] == "/enter"
    assert ask(path="/enter", door=door).status_code == 200
    token = door.enter(f" {code[:4].lower()} {code[4:]} ")
    assert token is not None
    assert door.enter(code) is None, "a code works once"
    assert ask(door=door, headers={"cookie": f"{COOKIE}={token}"}).status_code == 200
    assert ask(door=door, headers={"cookie": f"{COOKIE}={token}x"}).status_code == 401
    now[0] = 13 * 3600.0
    assert ask(door=door, headers={"cookie": f"{COOKIE}={token}"}).status_code == 401


def test_a_code_ages_and_no_wrong_try_withdraws_it():
    now = [0.0]
    door = Door(open_to_all=False, clock=lambda: now[0])
    code = door.new_code()
    now[0] = 601.0
    assert door.enter(code) is None
    code = door.new_code()
    for _ in range(1000):
        assert door.enter("WRONGONE", "10.0.0.9") is None
    assert door.enter("") is None
    assert door.enter(code, "10.0.0.9")


def test_each_wrong_code_of_an_address_makes_its_next_answer_later_and_nobody_elses():
    now = [0.0]
    door = Door(open_to_all=False, clock=lambda: now[0])
    door.new_code()
    waits = []
    for _ in range(12):
        waits.append(door.wait("10.0.0.9"))
        door.enter("WRONGONE", "10.0.0.9")
    assert waits[:5] == [0.0] * 5
    assert waits[5:8] == [0.25, 0.5, 1.0]
    assert waits[-1] == 3.0
    assert door.wait("10.0.0.8") == 0.0
    now[0] = 601.0
    assert door.wait("10.0.0.9") == 0.0
    for number in range(5000):
        door.enter("WRONGONE", f"10.{number}")
    assert len(door._wrong) <= 1000


def test_a_session_keeps_its_own_rate_beside_a_noisy_neighbour_at_the_same_address():
    now = [0.0]
    door = Door(open_to_all=False, clock=lambda: now[0])
    token = door.enter(door.new_code())
    guard = Guard(echo, door, [HOST], clock=lambda: now[0])
    noisy = [ask(guard=guard).status_code for _ in range(230)]
    assert 429 in noisy
    assert ask(guard=guard, headers={"cookie": f"{COOKIE}={token}"}).status_code == 200
    assert ask(guard=guard, path="/enter").status_code == 200, "at the door it only takes longer"


@pytest.mark.slow
def test_who_asks_too_often_waits_and_is_heard_again():
    now = [0.0]
    guard = Guard(echo, Door(open_to_all=True), [HOST], clock=lambda: now[0])
    answers = [ask(guard=guard).status_code for _ in range(int(_BURST) + 5)]
    assert answers.count(429) == 5
    now[0] = 1.0
    assert ask(guard=guard).status_code == 200
