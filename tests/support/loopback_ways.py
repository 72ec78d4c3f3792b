"""Servers on the loopback address that take what the ways out deliver: a broker, a mail server, a web address.

Gives: Broker, MailServer, WebServer; each has `port` and `got`. No more of each protocol than one delivery needs.
"""

from __future__ import annotations

import socketserver
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any


class _Served:
    """A threaded server; what came stands in `got`."""

    def __init__(self, handler: Any) -> None:
        self.got: list[Any] = []
        self.server = socketserver.ThreadingTCPServer(("127.0.0.1", 0), handler)
        self.server.daemon_threads = True
        self.server.got = self.got  # type: ignore[attr-defined]
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()


class _BrokerTalk(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        while True:
            head = self.rfile.read(1)
            if not head:
                return
            length, shift = 0, 0
            while True:
                byte = self.rfile.read(1)[0]
                length += (byte & 127) << shift
                shift += 7
                if byte < 128:
                    break
            body = self.rfile.read(length)
            kind = head[0] >> 4
            if kind == 1:
                self.wfile.write(b"\x20\x02\x00\x00")
            elif kind == 3:
                size = int.from_bytes(body[:2], "big")
                qos, retain = (head[0] >> 1) & 3, head[0] & 1
                at = 2 + size + (2 if qos else 0)
                self.server.got.append((body[2 : 2 + size].decode(), body[at:].decode(), qos, retain))  # type: ignore[attr-defined]
                if qos:
                    self.wfile.write(b"\x40\x02" + body[2 + size : 4 + size])
            elif kind == 14:
                return


class Broker(_Served):
    """Takes CONNECT and PUBLISH of MQTT 3.1.1 (OASIS standard, 2014); `got`: topic, payload, QoS, retain."""

    def __init__(self) -> None:
        super().__init__(_BrokerTalk)


class _MailTalk(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        self.wfile.write(b"220 here\r\n")
        lines: list[str] = []
        inside = False
        for raw in self.rfile:
            line = raw.decode().rstrip("\r\n")
            if inside:
                if line == ".":
                    inside = False
                    self.server.got.append("\n".join(lines))  # type: ignore[attr-defined]
                    self.wfile.write(b"250 taken\r\n")
                else:
                    lines.append(line)
                continue
            word = line[:4].upper()
            if word == "DATA":
                inside = True
                self.wfile.write(b"354 go on\r\n")
            elif word == "QUIT":
                self.wfile.write(b"221 bye\r\n")
                return
            else:
                self.wfile.write(b"250 fine\r\n")


class MailServer(_Served):
    """Takes one mail after the other; `got`: their texts."""

    def __init__(self) -> None:
        super().__init__(_MailTalk)


class WebServer:
    """Takes what is posted; `status` is what it answers, `turn` where it would send one to."""

    def __init__(self, status: int = 200, turn: str = "") -> None:
        got = self.got = []  # type: ignore[var-annotated]

        class Talk(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                got.append((self.path, self.rfile.read(int(self.headers["Content-Length"])).decode()))
                self.send_response(status)
                if turn:
                    self.send_header("Location", turn)
                self.end_headers()

            def do_GET(self) -> None:
                self.do_POST()

            def log_message(self, *given: object) -> None:
                pass

        self.server = HTTPServer(("127.0.0.1", 0), Talk)
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()
