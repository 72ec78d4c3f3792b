"""A neighbour on the network who may not stop the page, nor lock the owner out, before or after the code is typed.

The neighbour has the address 127.0.0.2, the owner 127.0.0.1; in one test they share an address.
"""

import contextlib
import re
import resource
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import httpx
import pytest

from support.page import await_port, bank_file, free_port

pytestmark = pytest.mark.slow
SCRIPT = Path(__file__).parents[1] / "support" / "shared_page.py"
NEIGHBOUR, OWNER = "127.0.0.2", "127.0.0.1"


@contextlib.contextmanager
def shared(folder, header=20.0, handles=None):
    """A shared page: its port, its process, the file that its terminal writes."""
    port, told = free_port(), folder / "terminal.txt"
    words = [sys.executable, str(SCRIPT), str(bank_file(folder, "two")), str(port), str(header)]

    def few():
        if handles is not None:
            resource.setrlimit(resource.RLIMIT_NOFILE, (handles, handles))

    with told.open("w") as out:
        process = subprocess.Popen(words, stdout=out, stderr=subprocess.STDOUT, text=True, preexec_fn=few)
        try:
            await_port(port, process)
            yield port, process, told
        finally:
            process.terminate()
            process.wait(60)


def code_in(told):
    found = re.findall(r"and type  ([0-9A-Z]{4} [0-9A-Z]{4})", told.read_text(encoding="utf-8"))
    return found[-1]


def asked(port, method="GET", path="/enter", local=OWNER, **more):
    transport = httpx.HTTPTransport(local_address=local)
    with httpx.Client(transport=transport, base_url=f"http://127.0.0.1:{port}", timeout=90, trust_env=False) as web:
        return web.request(method, path, headers={"origin": f"http://127.0.0.1:{port}"}, **more)


def held(port, count, text=b""):
    """Connections of the neighbour that say only `text`."""
    made = []
    for _ in range(count):
        with contextlib.suppress(OSError):
            sock = socket.create_connection(("127.0.0.1", port), timeout=30, source_address=(NEIGHBOUR, 0))
            sock.sendall(text)
            made.append(sock)
    return made


def is_closed(sock):
    """Whether the server closes it within half a minute; by itself it would keep it for good."""
    sock.settimeout(30)
    try:
        while sock.recv(4096):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True


@pytest.mark.share(3)
@pytest.mark.parametrize("text", [b"", b"GET /enter HTTP/1.1\r\nHost: 127", b"POST /enter HTTP/1.1\r\n"])
def test_who_sends_no_whole_head_is_dropped(tmp_path, text):
    """Who sends no whole head of a request is dropped."""
    with shared(tmp_path, header=1.0) as (port, _, _):
        socks = held(port, 6, text)
        closed = [is_closed(sock) for sock in socks]
        for sock in socks:
            sock.close()
        assert closed == [True] * 6


def test_many_silent_connections_keep_nobody_out_and_flood_no_terminal(tmp_path):
    with shared(tmp_path, header=240.0, handles=192) as (port, process, told):
        socks = held(port, 400)
        try:
            begun = time.monotonic()
            assert asked(port).status_code == 200
            assert asked(port, "POST", data={"code": code_in(told)}).status_code == 303
            assert time.monotonic() - begun < 200.0, "before the silent ones were dropped for their silence, at 240 s"
            assert process.poll() is None
        finally:
            for sock in socks:
                sock.close()
        assert told.stat().st_size < 30_000


@pytest.mark.share(2)
@pytest.mark.parametrize("address", [NEIGHBOUR, OWNER])
def test_wrong_codes_keep_the_owner_out_from_neither_address(tmp_path, address):
    """Wrong codes keep the owner out from neither address."""
    with shared(tmp_path) as (port, _, told):
        over = threading.Event()

        def guess():
            while not over.is_set():
                with contextlib.suppress(httpx.HTTPError):
                    asked(port, "POST", data={"code": "WRONG234"}, local=address)

        guessing = [threading.Thread(target=guess) for _ in range(4)]
        for one in guessing:
            one.start()
        try:
            time.sleep(2.0)
            assert asked(port, "POST", data={"code": code_in(told)}).status_code == 303
        finally:
            over.set()
            for one in guessing:
                one.join(60)
        assert told.read_text(encoding="utf-8").count("and type") == 2, "one code at first, one after it was used"
