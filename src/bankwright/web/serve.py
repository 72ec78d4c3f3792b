"""Start and stop the page: sockets, addresses, the code in the terminal, signals.

Gives: serve(), Listening. Loopback by default; to the network only when asked (`share`), then with a one-time code.
Stops within two seconds on a signal, also with open streams.
"""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import uvicorn

from bankwright.forms.faults import Fault, QuestionError
from bankwright.web.crowd import BACKLOG, Crowd, connection_of
from bankwright.web.door import Door

__all__ = ["Listening", "serve"]

DEFAULT_PORT = 8347
EVERYWHERE = "0.0.0.0"  # every network of this machine


@dataclass(frozen=True)
class Listening:
    """A bound socket and the addresses it answers under."""

    socket: socket.socket
    port: int
    address: str  # the one to type
    hosts: tuple[str, ...]


def listen(port: int | None, share: bool) -> Listening:
    """Bind; with no port asked for, the next free one from the default upward. QuestionError when it cannot be had."""
    place = EVERYWHERE if share else "127.0.0.1"
    for candidate in [port] if port is not None else [*range(DEFAULT_PORT, DEFAULT_PORT + 20), 0]:
        sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            sock.bind((place, candidate))
        except OSError as error:
            sock.close()
            if port is not None:
                found = f"port {port} cannot be used: {error.strerror}"
                raise QuestionError((Fault("--port", "port", found, "a free port from 1024 to 65535"),)) from error
            continue
        got = sock.getsockname()[1]
        own = own_address() if share else "127.0.0.1"
        hosts = {f"127.0.0.1:{got}", f"localhost:{got}", f"{own}:{got}"}
        return Listening(sock, got, own, tuple(sorted(hosts)))
    raise QuestionError((Fault("--port", "port", "no free port was found", "name one with --port"),))


def own_address() -> str:
    """Address of this machine on its network; nothing is sent (the address is from RFC 5737, documentation only)."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"


def invitation(listening: Listening, code: str) -> str:
    """Text and QR for one device: the code stands behind `#`, which a browser never sends to a server."""
    import io

    import segno

    url = f"http://{listening.address}:{listening.port}/enter#{code}"
    drawn = io.StringIO()
    segno.make(url, error="m").terminal(drawn, compact=True)
    spaced = f"{code[:4]} {code[4:]}"
    return (
        f"{drawn.getvalue()}\nOr open http://{listening.address}:{listening.port}/enter and type  {spaced}\n"
        "The code lets one device in and lasts ten minutes; the next one follows when it is used."
    )


class _Server(uvicorn.Server):
    """The server, with the crowd's word on what the loop complains of; `ready` is called when it takes signals."""

    def __init__(self, config: uvicorn.Config, crowd: Crowd, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self.crowd = crowd
        self.ready = ready

    async def serve(self, sockets: list[socket.socket] | None = None) -> None:
        asyncio.get_running_loop().set_exception_handler(self.crowd.complain)
        await super().serve(sockets)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self.ready()


class _Turning:
    """The application of the bank that is open now; another one takes its place for the requests that follow."""

    def __init__(self, make: Callable[[Path, Callable[[Path], None] | None], Any]) -> None:
        self._make = make
        self._app: Any = None

    def turn(self, bank_file: Path) -> None:
        """Open another bank; the logbook of the one before is closed."""
        before, self._app = self._app, self._make(bank_file, self.turn)
        if before is not None:
            before.app.state.desk.close()

    def alone(self, bank_file: Path) -> None:
        """Open a bank that no other takes the place of."""
        self._app = self._make(bank_file, None)

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        await self._app(scope, receive, send)


def serve(bank_file: Path, port: int | None, share: bool, say: Callable[[str], None]) -> None:
    """Serve the page until a signal comes. `say` prints a line."""
    from bankwright.web.app import make_app

    listening = listen(port, share)
    door = Door(open_to_all=not share)

    def invite() -> None:
        if share:
            say(invitation(listening, door.new_code()))

    running: list[uvicorn.Server] = []

    def stopping() -> bool:
        return bool(running) and running[0].should_exit  # open streams end by themselves

    app = _Turning(
        lambda path, turn: make_app(path, door, listening.hosts, entered=invite, stopping=stopping, turn=turn)
    )
    (app.alone if share else app.turn)(bank_file)
    crowd = Crowd()
    config = uvicorn.Config(
        app, log_level="error", timeout_graceful_shutdown=1, server_header=False, lifespan="off",
        http=connection_of(crowd), ws="none", backlog=BACKLOG,
    )  # fmt: skip

    def ready() -> None:
        say(f"The page of {bank_file.name} is at http://127.0.0.1:{listening.port}/   (stop with Ctrl-C)")
        if share:
            say("Everybody on this network who has a code may read and change this bank's file and logbook.")
        invite()

    running.append(_Server(config, crowd, ready))
    running[0].run(sockets=[listening.socket])
