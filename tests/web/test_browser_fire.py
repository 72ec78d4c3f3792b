"""Fire is in every page: one tap without any link, never an error of the browser; other links say that they need it."""

import re
from itertools import pairwise

import pytest

from support.browser import Fetched, until
from support.page import bank_file, served

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]
PAGES = ("/plan", "/plan/bank?key=wiring", "/buy", "/build", "/match", "/at/M1", "/suggest", "/nowhere")


def stopped(process):
    process.terminate()
    process.wait(60)


def test_a_phone_that_loses_the_computer_in_the_middle_of_build(opened, tmp_path):
    with served(bank_file(tmp_path)) as (base, process):
        page = opened(390, 844, quiet=False, has_touch=True)
        page.goto(base + "/match")
        fetched = Fetched(page)
        page.goto(base + "/build")
        fetched.steps_ahead()
        stopped(process)
        title, place = page.locator(".work h2").inner_text(), page.url
        page.evaluate("window.scrollTo(0, 300)")
        before = page.evaluate("window.scrollY")
        page.touchscreen.tap(350, 28)  # where the thumb is
        fire = page.locator("#fire")
        fire.wait_for()
        assert "lithium iron phosphate storage" in fire.inner_text()
        assert page.locator("#fire .back").bounding_box()["y"] < 844
        assert page.locator("#fire .back a").bounding_box()["height"] >= 72
        page.locator("#fire .back a").tap()
        fire.wait_for(state="hidden")
        until(page, lambda: page.evaluate("window.scrollY") == before)
        assert page.locator(".work h2").inner_text() == title
        page.locator(".cardstrip summary").tap()
        page.locator(".card a", has_text="Match").tap()
        page.locator("#nolink", has_text="Match").wait_for()
        assert page.url.split("#")[0] == place
        page.locator(".card a", has_text="Match").locator(".far").wait_for()
        assert page.locator(".work h2").inner_text() == title
        page.locator(".cardstrip summary").tap()
        page.locator(".firebtn").tap()
        fire.wait_for()
        page.keyboard.press("Escape")
        fire.wait_for(state="hidden")
        page.evaluate("document.querySelectorAll('.tick input').forEach(b => b.click())")
        page.locator("[data-next]").tap()
        page.locator("#waiting", has_text="wait").wait_for()
        page.locator(".stepno", has_text=re.compile("^Step 2")).wait_for()  # the steps ahead are here
        page.locator(".firebtn").tap()
        fire.wait_for()


def test_fire_opens_from_every_page_without_a_link(opened, tmp_path):
    with served(bank_file(tmp_path, "two")) as (base, _):
        page = opened(quiet=False)
        for path in PAGES:
            page.goto(base + path)
            page.context.set_offline(True)
            page.locator(".route a.fire").click()
            page.locator("#fire").wait_for()
            assert "chrome-error" not in page.url
            page.context.set_offline(False)


def test_a_form_without_a_link_keeps_what_was_typed(opened, tmp_path):
    with served(bank_file(tmp_path, "two")) as (base, process):
        page = opened(390, 844, quiet=False)
        page.goto(base + "/match")
        field = page.locator(".readings input").first
        field.fill("52.61")
        stopped(process)
        page.get_by_role("button", name="Judge these readings").click()
        page.locator("#nolink", has_text="nothing was sent").wait_for()
        assert field.input_value() == "52.61"


def test_the_link_is_noticed_when_it_comes_back(opened, tmp_path):
    with served(bank_file(tmp_path, "two")) as (base, _):
        page = opened(quiet=False)
        page.goto(base + "/plan")
        page.context.set_offline(True)
        page.locator(".route a", has_text="Buy").click()
        page.locator("#nolink", has_text="Buy").wait_for()
        page.context.set_offline(False)
        page.locator("#nolink").wait_for(state="hidden")
        page.locator(".route a", has_text="Buy").click()
        page.wait_for_url("**/buy")


MORE = """(count) => {
  for (const [box, tag] of [[".route", "a"], [".card", "li"], [".ruler", "i"]]) {
    const all = document.querySelector(box), one = all.querySelector(tag);
    while (all.querySelectorAll(tag + ":not(.fire)").length < count) { one.after(one.cloneNode(true)); }
  }
}"""


@pytest.mark.share(2)
@pytest.mark.parametrize(("width", "count"), [(360, 7), (390, 5), (901, 7), (1280, 7)])
def test_the_route_takes_seven_stages(opened, tmp_path, width, count):
    """The route of stages fits at four widths."""
    with served(bank_file(tmp_path, "two")) as (base, _):
        page = opened(width, 844)
        page.goto(base + "/buy")
        page.evaluate(MORE, count)
        if width > 900:
            cells = [a.bounding_box() for a in page.locator(".route a").all()]
            assert len(cells) == count + 1
            assert all(b["x"] >= a["x"] + a["width"] - 2 for a, b in pairwise(cells))
            cells = "Array.from(document.querySelectorAll('.route a'))"
            assert page.evaluate(cells + ".filter(a => a.scrollWidth > a.clientWidth + 1).length") == 0
        else:
            page.locator(".cardstrip summary").click()
            lines = [a.bounding_box()["height"] for a in page.locator(".card a").all()]
            assert len(lines) == count
            assert min(lines) >= 56
            fire = page.locator(".firebtn").bounding_box()
            assert (fire["width"], fire["height"]) == (88, 56)  # also while the card is open
        assert page.evaluate("document.documentElement.scrollWidth") <= width
