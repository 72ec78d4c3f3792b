"""The page of a bank for tests: in this process (client), or as a server of its own (served)."""

from __future__ import annotations

import asyncio
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from bankwright.web.app import make_app
from bankwright.web.desk import Desk
from bankwright.web.door import Door
from support.banks import sample_path

__all__ = ["HOST", "Page", "await_port", "bank_file", "client", "desk_of", "digest_of", "free_port", "served"]

HOST = "127.0.0.1:8347"
PATIENCE = 120.0  # s that a server of its own may take to come up on a loaded machine


def bank_file(folder: Path, name: str = "five") -> Path:
    """A copy of a sample bank in a folder of its own."""
    target = folder / f"{name}.toml"
    shutil.copy(sample_path(name), target)
    return target


class Page:
    """A browser without a screen: same origin, asks for pages, follows redirects."""

    def __init__(
        self, path: Path, door: Door | None = None, entered: Callable[[], None] = lambda: None, **headers: str
    ) -> None:
        """Make the application of a bank file."""
        self.app = make_app(path, door or Door(open_to_all=True), (HOST,), entered)
        self.desk: Desk = self.app.app.state.desk  # type: ignore[attr-defined]
        self.headers = {"origin": f"http://{HOST}", "accept": "text/html", **headers}

    def __enter__(self) -> Page:
        """Give itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the logbook."""
        self.desk.close()

    def request(self, method: str, path: str, **more: Any) -> httpx.Response:
        """Ask once."""
        headers = {**self.headers, **more.pop("headers", {})}
        follow = more.pop("follow_redirects", True)

        async def ask() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}", headers=headers) as web:
                return await web.request(method, path, follow_redirects=follow, **more)

        with ThreadPoolExecutor(1) as pool:  # a thread of its own: a browser's driver may hold this one's loop
            return pool.submit(lambda: asyncio.run(ask())).result()

    def get(self, path: str, **more: Any) -> httpx.Response:
        """Ask for a page."""
        return self.request("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx.Response:
        """Send a form or a body."""
        return self.request("POST", path, **more)

    def patch(self, path: str, **more: Any) -> httpx.Response:
        """Change a value."""
        return self.request("PATCH", path, **more)


def client(path: Path, **headers: str) -> Page:
    """A browser without a screen."""
    return Page(path, **headers)


def desk_of(web: Page) -> Desk:
    """The desk behind a client."""
    return web.desk


def digest_of(web: Page) -> str:
    """Digest of the file as the page shows it."""
    return re.search(r'data-digest="([0-9a-f]*)"', web.get("/plan/bank").text)[1]  # type: ignore[index]


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(path: Path, *options: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """A server of its own, as a person starts it; ended by its own process id."""
    port = free_port()
    command = [sys.executable, "-m", "bankwright", "open", str(path), "--port", str(port), "--no-browser", *options]
    env = {**os.environ, "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env)
    try:
        await_port(port, process)
        yield f"http://127.0.0.1:{port}", process
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        assert process.stdout is not None
        process.stdout.close()


def await_port(port: int, process: subprocess.Popen[str]) -> None:
    """Wait until a server listens; an error if it ended instead."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        if process.poll() is not None:
            raise AssertionError(f"the server ended: {process.stdout.read() if process.stdout else ''}")
        with socket.socket() as probe:
            probe.settimeout(0.2)
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.02)
    raise AssertionError(f"the server did not come up within {PATIENCE:.0f} s")
