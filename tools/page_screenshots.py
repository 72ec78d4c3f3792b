"""Screenshots of the page on a copy of the demo bank: every stage, desk and phone, light and dark.

`python tools/page_screenshots.py [out/page] [--docs]`: all of them into a folder; with --docs the few that the
documentation shows go to docs/pictures too. Needs a Chromium (CHROMIUM, or `chromium` on the path).
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PAGES = {
    "plan": "/plan", "bank": "/plan/bank?key=wiring.main.length", "place": "/at/M1", "buy": "/buy", "steps": "/build/all",
    "step": "/build", "match": "/match", "fire": "/fire",
}  # fmt: skip
SIZES = {"desk": (1280, 900), "phone": (390, 844)}
VOLTS = ("52.61", "52.58", "52.71", "52.62", "52.55")


@contextmanager
def served(path: Path) -> Iterator[str]:
    """A server on a file, ended by its own process id."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "bankwright", "open", str(path), "--port", str(port), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    try:
        for _ in range(400):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.05)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(10)


def worked(page: Any, base: str) -> None:
    """Do some of the job, so that there is something to see: readings of Match, steps of Build."""
    page.goto(base + "/match")
    for module, volts in zip(("M1", "M2", "M3", "M4", "M5"), VOLTS, strict=True):
        page.get_by_label(f"{module}, volts").fill(volts)
    page.get_by_label("Meter: its name, or its accuracy").fill("0.5 % + 2 digits")
    page.get_by_label("Rested, where not said above").fill("6 h")
    page.get_by_role("button", name="Judge these readings").click()
    page.get_by_role("heading", name="May they be joined?").wait_for()
    page.goto(base + "/build/all")
    page.locator(".carried input[name=done]").check()  # the demo bank has faults to look at: read, and known
    page.wait_for_timeout(1000)
    page.goto(base + "/build/all")
    links = page.locator(".stepslist a", has_text="Bolt")
    hrefs = [link.get_attribute("href") for link in links.all()]
    for href in hrefs[:3]:
        page.goto(base + href)
        for box in page.locator('input[name="box"]').all():
            box.check()
        page.wait_for_timeout(400)
    PAGES["step"] = hrefs[3]


def main(target: Path, docs: bool) -> None:
    """Take them all."""
    from playwright.sync_api import sync_playwright

    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        sys.exit("No Chromium on this machine: name one with CHROMIUM.")
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        path = Path(shutil.copy(ROOT / "demo" / "barn.toml", folder))
        browser = play.chromium.launch(executable_path=chromium, args=list(FLAGS))
        with served(path) as base:
            worked(browser.new_page(), base)
            for size, (width, height) in SIZES.items():
                for paper in ("light", "dark"):
                    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=paper)
                    page = context.new_page()
                    for name, address in PAGES.items():
                        page.goto(base + address)
                        page.wait_for_timeout(300)
                        page.screenshot(path=target / f"{name}-{size}-{paper}.png")
                    context.close()
        browser.close()
    if docs:
        for name in ("plan-desk-light", "step-phone-light", "match-desk-dark"):
            shutil.copy(target / f"{name}.png", ROOT / "docs" / "pictures" / f"page-{name}.png")
    print(f"{len(list(target.glob('*.png')))} screenshots in {target}")


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if not word.startswith("--")]
    main(Path(words[0]) if words else ROOT / "out" / "page", "--docs" in sys.argv)
