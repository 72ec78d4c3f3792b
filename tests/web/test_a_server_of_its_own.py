"""As a person starts it: up soon, stopped soon even with open streams, whole files when it is killed, doors shut."""

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
import tomllib

import httpx
import pytest

from support.page import bank_file, served

pytestmark = pytest.mark.slow


def ask(base, path, **more):
    headers = {"accept": "text/html", "origin": base, **more.pop("headers", {})}
    return httpx.request(more.pop("method", "GET"), base + path, headers=headers, timeout=60, trust_env=False, **more)


def test_it_stops_soon_with_open_streams(tmp_path):
    with served(bank_file(tmp_path, "two")) as (base, process):
        heard = []

        def listen():
            try:
                with httpx.stream(
                    "GET", base + "/live", headers={"accept": "text/event-stream"}, timeout=60, trust_env=False
                ) as stream:
                    heard.append(stream.status_code)
                    for _ in stream.iter_lines():
                        pass
            except httpx.HTTPError:
                pass

        listeners = [threading.Thread(target=listen) for _ in range(3)]
        for listener in listeners:
            listener.start()
        until = time.monotonic() + 60
        while len(heard) < 3 and time.monotonic() < until:
            time.sleep(0.02)
        process.send_signal(signal.SIGTERM)
        process.wait(60)  # two seconds on a quiet machine; a stream that is waited for has no end
        for listener in listeners:
            listener.join(60)
        assert heard == [200, 200, 200]


def test_a_change_outside_is_heard_on_the_stream(tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (base, _), httpx.stream("GET", base + "/live", timeout=60, trust_env=False) as stream:
        lines = stream.iter_lines()
        assert next(lines).startswith("retry")
        path.write_text(path.read_text() + "\n# more\n")
        assert any(line == "event: bank" for line in lines)


@pytest.mark.share(2)
@pytest.mark.parametrize("turns", [2, 8])
def test_a_server_killed_while_saving_leaves_the_old_text_or_the_new(tmp_path, turns):
    """A server that is killed while it saves leaves the old text or the new one."""
    path = bank_file(tmp_path, "two")
    seen = set()
    for turn in range(turns):
        with served(path) as (base, process):
            digest, first = ask(base, "/api/bank").json()["digest"], threading.Event()

            def edits(base=base, digest=digest, turn=turn, first=first):
                held = digest
                try:
                    for n in range(500):
                        body = {"path": "title", "value": f"{turn}-{n} " + "x" * 4000, "digest": held}
                        held = ask(base, "/api/bank", method="PATCH", json=body).json()["digest"]
                        first.set()
                except (httpx.HTTPError, KeyError):
                    pass

            writer = threading.Thread(target=edits)
            writer.start()
            assert first.wait(60)
            time.sleep(0.13 * turn)
            process.kill()
            process.wait()
            writer.join(60)
        title = tomllib.loads(path.read_text())["title"]
        assert len(title) < 100 or re.fullmatch(r"\d+-\d+ x{4000}", title)
        seen.add(title)
    assert len(seen) > 1  # something was written in between


def test_two_servers_on_one_file_do_not_overwrite_each_other(tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (one, _), served(path) as (two, _):
        digest = ask(one, "/api/bank").json()["digest"]
        body = {"path": "title", "value": "of one", "digest": digest}
        assert ask(one, "/api/bank", method="PATCH", json=body).status_code == 200
        assert ask(two, "/api/bank", method="PATCH", json=body | {"value": "of two"}).status_code == 409
        assert tomllib.loads(path.read_text())["title"] == "of one"
        fresh = ask(two, "/api/bank").json()["digest"]
        assert ask(two, "/api/bank", method="PATCH", json=body | {"digest": fresh, "value": "later"}).status_code == 200


def test_another_host_and_another_page_are_refused(tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (base, _):
        assert ask(base, "/plan", headers={"host": "bank.example"}).status_code == 421
        foreign = ask(base, "/plan/undo", method="POST", data={"digest": ""}, headers={"origin": "http://evil.example"})
        assert foreign.status_code == 403


def test_shared_on_the_network_a_code_is_asked_for_once(tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path, "--share") as (base, process):
        code = ""
        while not code:
            found = re.search(r"and type  ([0-9A-Z]{4}) ([0-9A-Z]{4})", process.stdout.readline())
            code = "".join(found.groups()) if found else ""
        shut = ask(base, "/plan")
        assert (shut.status_code, shut.headers["location"]) == (303, "/enter")
        assert ask(base, "/api/bank", headers={"accept": "application/json"}).status_code == 401
        assert ask(base, "/enter", method="POST", data={"code": "WRONG234"}).status_code == 403
        inside = ask(base, "/enter", method="POST", data={"code": code})
        cookie = inside.headers["set-cookie"]
        assert "HttpOnly" in cookie
        assert "samesite=strict" in cookie.lower()
        assert code not in inside.headers["location"]
        assert ask(base, "/plan", headers={"cookie": cookie.split(";")[0]}).status_code == 200
        assert ask(base, "/enter", method="POST", data={"code": code}).status_code == 403


@pytest.mark.share(2)
@pytest.mark.parametrize(
    "name", ["barn & mill.toml", "a'b\"c.toml", "-rf.toml", "ünï<b>.toml", "new\nline.toml", "%2e%2e.toml"]
)
def test_hostile_file_names_are_only_names(tmp_path, name):
    """Hostile names of files are names and nothing else."""
    path = tmp_path / name
    shutil.copy(bank_file(tmp_path, "two"), path)
    from support.page import client

    with client(path) as web:
        for place in ("/plan", "/plan/bank", "/buy", "/build", "/match"):
            page = web.get(place)
            assert page.status_code == 200, place
            assert "<b>.toml" not in page.text
        digest = web.get("/api/bank").json()["digest"]
        assert web.patch("/api/bank", json={"path": "title", "value": "Shed", "digest": digest}).json()["saved"]
        web.post("/api/entries", json={"entries": [{"id": "9" * 16, "kind": "note", "text": "seen"}]})
    there = {p.name for p in tmp_path.iterdir()}
    assert there <= {
        "two.toml",
        name,
        name + ".previous",
        path.with_suffix(".logbook").name,
        path.with_suffix(".logbook").name + "-wal",
        path.with_suffix(".logbook").name + "-shm",
    }


BOMBS = {
    "nested": "a = " + "[" * 5000 + "]" * 5000,
    "tables": "[" + ".".join("a" * 1 for _ in range(20_000)) + "]",
    "huge": "x = 1\n" * 400_000,
    "long line": 'title = "' + "x" * 900_000 + '"',
    "not text": "\x00\x01\x02",
    "inline": "a = " + "{b = " * 3000 + "1" + "}" * 3000,
    "number": "a = " + "9" * 200_000,
}


@pytest.mark.share(2)
@pytest.mark.parametrize("bomb", BOMBS)
def test_a_file_that_is_a_bomb_is_a_fault_and_the_page_stands(tmp_path, bomb):
    """A file that is a bomb is a fault, and the page stands."""
    from support.page import client

    path = tmp_path / "bomb.toml"
    path.write_text(BOMBS[bomb])
    begun = time.process_time()
    with client(path) as web:
        page = web.get("/plan")
        assert page.status_code == 200
        assert "cannot be read as a bank yet" in page.text
        faults = web.get("/api/bank", headers={"accept": "application/json"}).json()["faults"]
        assert faults
    assert time.process_time() - begun < 10


def test_a_file_begun_on_the_page_in_a_folder_that_is_not_there_is_refused(tmp_path):
    command = [sys.executable, "-m", "bankwright", "open", str(tmp_path / "no" / "bank.toml"), "--no-browser"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, env={**os.environ})
    assert done.returncode == 2
    assert "there is no folder" in done.stderr
