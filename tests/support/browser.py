"""Waiting in a real browser for what a step causes, with patience for a loaded machine; no step waits for a time alone.

Gives: PATIENCE, PATIENT, until(), whole(), queue_is_empty(), Fetched.
"""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from playwright.sync_api import Page, Request

__all__ = ["PATIENCE", "PATIENT", "Fetched", "queue_is_empty", "until", "whole"]

PATIENCE = 120.0  # s that a test waits for the server or the page; only a failure takes that long
# A page calls the link lost after 3 to 8 s without an answer; a loaded machine is no lost link: forty times that.
PATIENT = """(() => {
  const plain = window.setTimeout;
  window.setTimeout = (work, ms, ...more) => plain(work, ms >= 3000 ? 40 * ms : ms, ...more);
})()"""


def until(page: Page, true: Callable[[], bool], seconds: float = PATIENCE) -> None:
    """Wait; a page with a strict policy does not let a test's own condition be evaluated inside."""
    for _ in range(int(seconds * 20)):
        if true():
            return
        page.wait_for_timeout(50)
    raise AssertionError("it did not come true")


def whole(page: Page) -> None:
    """The findings of Plan are all there: none waits for its variants."""
    page.locator("#findings .below").wait_for(state="attached")  # its last part: the page is parsed that far
    page.locator("#findings .strip").wait_for(state="detached")


def queue_is_empty(page: Page) -> None:
    """Nothing waits in the browser any more: what was entered is stored."""
    kept = "localStorage.getItem('bankwright.queue.' + location.host)"
    until(page, lambda: page.evaluate(kept) in (None, "[]"))


class Fetched:
    """What a page has fetched beside itself, told from its first step on: make it before going there."""

    def __init__(self, page: Page) -> None:
        """Listen."""
        self.page, self.paths = page, set[str]()
        page.on("requestfinished", self._heard)

    def _heard(self, request: Request) -> None:
        self.paths.add(urlsplit(request.url).path)

    def steps_ahead(self) -> None:
        """Wait for the steps after the one on the screen."""
        named = self.page.locator(".work[data-ahead]").get_attribute("data-ahead")
        assert named
        until(self.page, lambda: self.paths.issuperset(named.split()))
