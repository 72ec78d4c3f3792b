"""Runs tests with a browser as on a slow device behind a slow link: python tools/slow_browser.py [RATE] [LATE] [words for pytest].

RATE: how many times slower the scripts of a page run (6); LATE: how late each answer comes (0.8 s). Without words: every
test with a browser. What fails here and not in `make test` waits for too little, or is a fault of the page.
Limits: pages of a context that is taken off the link are off it altogether; they are late again when it is back.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext

ROOT = Path(__file__).parents[1]


class Slow:
    """Slows every page down as it is made."""

    def __init__(self, rate: float, late: float) -> None:
        self.rate, self.late = rate, late

    def pytest_configure(self) -> None:
        plain, offline, lines = BrowserContext.new_page, BrowserContext.set_offline, list[tuple[BrowserContext, Any]]()

        def link(line: Any, is_off: bool) -> None:
            late = {"latency": 1000 * self.late, "downloadThroughput": -1, "uploadThroughput": -1}
            line.send("Network.emulateNetworkConditions", {"offline": is_off, **late})

        def new_page(context: BrowserContext, **more: Any) -> Any:
            page = plain(context, **more)
            line = context.new_cdp_session(page)
            line.send("Emulation.setCPUThrottlingRate", {"rate": self.rate})
            link(line, False)
            lines.append((context, line))
            return page

        def set_offline(context: BrowserContext, is_off: bool) -> None:
            offline(context, is_off)
            for line in (line for own, line in lines if own is context):
                link(line, is_off)

        BrowserContext.new_page = new_page  # type: ignore[method-assign]
        BrowserContext.set_offline = set_offline  # type: ignore[method-assign]


if __name__ == "__main__":
    rate, late, *words = [*sys.argv[1:3], *("6", "0.8")[len(sys.argv[1:3]) :], *sys.argv[3:]]
    chosen = words or ["-m", "browser", str(ROOT / "tests")]
    sys.exit(pytest.main(["-q", "-p", "no:cacheprovider", *chosen], plugins=[Slow(float(rate), float(late))]))
