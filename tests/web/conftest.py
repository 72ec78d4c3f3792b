"""One browser for each file of tests that needs one."""

import os
import shutil

import pytest

from support.browser import PATIENCE, PATIENT

FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


@pytest.fixture(scope="module")  # its driver holds the loop of this thread: not longer than needed
def browser():
    from playwright.sync_api import sync_playwright

    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        pytest.skip("no browser on this machine")
    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=found, args=list(FLAGS))
        yield made
        made.close()


@pytest.fixture
def opened(browser):
    """Opens pages on a desk or a phone, light or dark; a word on the console or an error on a page fails the test."""
    contexts, said = [], []

    def page(width=1280, height=900, dark=False, quiet=True, **more):
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light", **more
        )
        contexts.append(context)
        context.add_init_script(PATIENT)
        made = context.new_page()
        made.set_default_timeout(PATIENCE * 1000)  # a busy machine is no failure
        if quiet:

            def hear(message):
                if message.type in ("error", "warning"):
                    said.append(f"{message.text} {message.location.get('url')}")

            made.on("console", hear)
            made.on("pageerror", lambda error: said.append(str(error)))
        return made

    yield page
    for context in contexts:
        context.close()
    late = ("ERR_INCOMPLETE_CHUNKED_ENCODING", "ERR_CONNECTION_REFUSED")  # the server stopped before the page
    assert not [words for words in said if not any(part in words for part in late)]
