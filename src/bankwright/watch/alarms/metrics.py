"""Figures to be fetched: what the modules last said and which alarms stand, in the open text format of metrics.

Gives: metrics_text(), Metrics. Names are our own, begin with `bankwright_` and end with their unit.
Limits: on the loopback address unless the bank file names another; it answers GET /metrics and nothing else.
Source: text format of metrics, version 0.0.4 [from memory].
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from bankwright.watch.alarms.rules import OF_JOINTS, RULES, Seen
from bankwright.watch.alarms.watchman import Alarm

__all__ = ["Metrics", "metrics_text"]


def _label(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")


def metrics_text(seen: Iterable[Seen], standing: Iterable[Alarm]) -> str:
    """Write them; what was not heard has no line."""
    seen, up = list(seen), {(alarm.rule, alarm.at) for alarm in standing}
    lines: list[str] = []

    def table(name: str, words: str, rows: Iterable[tuple[str, float]]) -> None:
        told = [f"bankwright_{name}{{{labels}}} {value:.6g}" for labels, value in rows if math.isfinite(value)]
        lines.extend([f"# HELP bankwright_{name} {words}", f"# TYPE bankwright_{name} gauge", *told])

    names = [(f'module="{_label(each.module)}"', each) for each in seen]
    table("heard_age_seconds", "Since the module was last heard.", ((at, each.age) for at, each in names))
    table("module_volts", "Voltage of the module.", ((at, each.volts) for at, each in names))
    table("module_out_amperes", "Current that leaves the module.", ((at, each.amps) for at, each in names))
    cells = [(at, [c for c in each.cells if math.isfinite(c)]) for at, each in names]
    table("cell_highest_volts", "Highest cell.", ((at, max(told)) for at, told in cells if told))
    table("cell_lowest_volts", "Lowest cell.", ((at, min(told)) for at, told in cells if told))
    table("warmest_degrees_celsius", "Warmest sensor.", ((at, max(each.warmth)) for at, each in names if each.warmth))
    own = [rule for rule in RULES if rule not in OF_JOINTS]
    rows = [(f'{at},rule="{rule}"', float((rule, each.module) in up)) for at, each in names for rule in own]
    rows += [(f'joint="{_label(at)}",rule="{rule}"', 1.0) for rule, at in sorted(up) if rule in OF_JOINTS]
    table("alarm_stands", "1 while the alarm stands.", rows)
    return "\n".join(lines) + "\n"


class Metrics:
    """A small server of the text; `text()` is asked at each fetch."""

    def __init__(self, address: str, text: Callable[[], str]) -> None:
        """Listen at host:port; OSError where that is taken."""
        host, _, port = address.rpartition(":")

        class Answer(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                """Give the figures."""
                good = self.path.split("?")[0] == "/metrics"
                body = (text() if good else "Only /metrics is here.\n").encode()
                self.send_response(200 if good else 404)
                self.send_header("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *given: object) -> None:
                """Say nothing."""

        self._server = ThreadingHTTPServer((host.strip("[]"), int(port)), Answer)
        self.port = int(self._server.server_address[1])
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def close(self) -> None:
        """End."""
        self._server.shutdown()
        self._server.server_close()
