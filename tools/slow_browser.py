"""Runs tests with a browser as on a slow device behind a slow link: python tools/slow_browser.py [RATE] [LATE] [words for pytest].

RATE: how many times slower the scripts of a page run (6); LATE: how late each answer comes (0.8 s). Without words: every
test with a browser. What fails here and not in `make test` waits for too little, or is a fault of the page.
Limits: after a test has taken a link away and given it back, answers come as soon as they can.
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
        plain, rate, late = BrowserContext.new_page, self.rate, self.late

        def new_page(context: BrowserContext, **more: Any) -> Any:
            page = plain(context, **more)
            line = context.new_cdp_session(page)
            line.send("Emulation.setCPUThrottlingRate", {"rate": rate})
            link = {"offline": False, "latency": 1000 * late, "downloadThroughput": -1, "uploadThroughput": -1}
            line.send("Network.emulateNetworkConditions", link)
            return page

        BrowserContext.new_page = new_page  # type: ignore[method-assign]


if __name__ == "__main__":
    rate, late, *words = [*sys.argv[1:3], *("6", "0.8")[len(sys.argv[1:3]) :], *sys.argv[3:]]
    chosen = words or ["-m", "browser", str(ROOT / "tests")]
    sys.exit(pytest.main(["-q", "-p", "no:cacheprovider", *chosen], plugins=[Slow(float(rate), float(late))]))
