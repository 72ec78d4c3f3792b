"""What comes late, twice or in another order in a browser: a tap is not lost, a stored tick stays, typed text is kept.

Each test holds one answer of the server back until the hand has done something else. Where nothing is to happen, it is
given a moment to happen in.
"""

import secrets
from urllib.parse import urlsplit

import httpx
import pytest

from bankwright.logbook.logbook import open_logbook
from support.browser import Fetched, queue_is_empty, until
from support.page import bank_file, served

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]
FIRST, SECOND = "/build/step/build.place", "/build/step/build.people"  # boxes of the first: permit, clear


class Held:
    """Answers to what a page asks at one path, taken from the server at once and given to the page when told.

    What the browser asks for itself (the mark of the tab, resource type `other`) goes by.
    """

    def __init__(self, page, path, method="GET", fresh=False):
        self.page, self.path, self.method, self.fresh, self.kept = page, path, method, fresh, []
        self.over = False
        page.route(lambda url: urlsplit(url).path == path, self._took)

    def _took(self, route):
        asked = route.request
        if self.over or asked.method != self.method or asked.resource_type == "other":
            route.fallback()
        else:
            self.kept.append((route, None if self.fresh else route.fetch()))

    def wait(self, count=1):
        until(self.page, lambda: len(self.kept) >= count)

    def give(self, place=0):
        """Give one that is held, the first or that one; what comes after it is held too."""
        route, answer = self.kept.pop(place)
        if answer is None:
            route.continue_()
        else:
            route.fulfill(response=answer)

    def end(self):
        """Give all, and hold nothing more."""
        self.over = True
        while self.kept:
            self.give()


def ticked_elsewhere(base, *boxes):
    """Another device ticks boxes of the first step."""
    made = [{"id": secrets.token_hex(8), "kind": "tick", "step": "build.place", "box": b, "done": True} for b in boxes]
    head = {"origin": base, "x-bankwright": "1"}
    answer = httpx.post(base + "/api/entries", json={"entries": made}, headers=head, trust_env=False, timeout=60)
    assert [each["faults"] for each in answer.json()["results"]] == [[]] * len(boxes)


def first_step(page, base):
    """The first step, once it and the steps ahead were fetched: what is asked for later is asked for by a hand."""
    fetched, paths = Fetched(page), []
    page.on("requestfinished", lambda request: paths.append(urlsplit(request.url).path))
    page.goto(base + FIRST)
    fetched.steps_ahead()
    until(page, lambda: paths.count(FIRST) >= 2)


def box(page, name):
    return page.locator(f'.tick input[value="{name}"]')


@pytest.fixture
def base(tmp_path):
    with served(bank_file(tmp_path, "two")) as (address, _):
        yield address


def test_a_tap_on_what_is_drawn_anew_under_the_finger_is_taken(opened, base):
    page = opened()
    page.goto(base + "/plan")
    place = page.locator('.wide [data-place="M2"]').first
    place.hover()
    place.evaluate("e => { e.dataset.old = 'yes' }")
    page.mouse.down()
    page.evaluate("htmx.ajax('GET', '/plan/drawing', {target: '#drawing', swap: 'outerHTML'})")  # as the findings do
    page.locator("[data-old]").wait_for(state="detached")
    page.mouse.up()
    page.wait_for_url("**/at/M2")


@pytest.mark.soak
def test_of_two_links_the_one_that_was_tapped_last_is_opened(opened, base):
    """Of two links the one that was tapped last is opened."""
    page = opened()
    page.goto(base + "/plan")
    asked, sheet = Held(page, "/static/icon.svg"), Held(page, "/match")
    page.locator(".route a", has_text="Buy").click()
    asked.wait()
    page.locator(".route a", has_text="Match").click()
    asked.wait(2)
    asked.give(1)
    sheet.wait()
    asked.give()
    sheet.give()
    page.get_by_role("button", name="Judge these readings").wait_for()
    assert page.url == base + "/match"


@pytest.mark.soak
def test_of_two_buttons_of_a_form_the_one_that_was_pressed_last_is_sent(opened, tmp_path):
    """Of two buttons of a form the one that was pressed last is sent."""
    with served(tmp_path / "shed.toml") as (base, _):
        page = opened()
        page.goto(base + "/start")
        asked = Held(page, "/static/icon.svg")
        page.locator("#typed").fill("2")
        page.keyboard.press("Enter")
        asked.wait()
        page.get_by_role("button", name="I do not know").click()
        asked.end()
        page.get_by_text("Question 2 of").wait_for()
        assert "not known" in page.locator(".known .gapq").inner_text()


@pytest.mark.soak
def test_next_tapped_twice_is_one_step_and_one_step_back(opened, base):
    """Next tapped twice is one step and one step back."""
    page = opened()
    ticked_elsewhere(base, "permit", "clear")
    first_step(page, base)
    onward, step = page.locator("[data-next]", has_text="Next step"), Held(page, SECOND)
    onward.click()
    step.wait()
    onward.click()
    page.wait_for_timeout(300)  # whatever the second tap asks for is held too, then
    step.end()
    page.locator(".stepno", has_text="Step 2 of").wait_for()
    page.go_back()
    page.locator(".stepno", has_text="Step 1 of").wait_for()


def test_an_older_sheet_does_not_untick_what_was_stored_meanwhile(opened, base):
    page = opened()
    first_step(page, base)
    sent, heard = Held(page, "/api/entries", "POST", fresh=True), Held(page, FIRST)
    box(page, "permit").click()
    sent.wait()
    page.wait_for_timeout(2100)  # of a busy computer
    ticked_elsewhere(base, "clear")
    heard.wait()  # without the tick that is on its way
    sent.end()
    queue_is_empty(page)
    heard.give()
    heard.wait()
    assert box(page, "permit").is_checked()
    heard.end()
    until(page, box(page, "clear").is_checked)
    assert box(page, "permit").is_checked()


def test_a_tick_before_the_page_is_whole_is_one_tick(opened, tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (base, _):
        page = opened()
        last = Held(page, "/static/link.js")
        page.goto(base + FIRST, wait_until="commit")
        last.wait()
        until(page, lambda: page.evaluate("performance.getEntriesByName(location.origin + '/static/queue.js').length"))
        page.wait_for_timeout(200)  # it has run
        box(page, "permit").click()
        last.end()
        page.locator("[data-next]", has_text="not ticked yet").wait_for()
        queue_is_empty(page)
        with open_logbook(path, write=False) as book:
            assert [entry.body["tick"] for entry in book.entries(kind="tick")] == ["permit"]


@pytest.mark.soak
def test_an_open_card_of_stages_stays_open_when_another_device_ticks(opened, base):
    """An open card of stages stays open when another device ticks."""
    page = opened(390, 844, has_touch=True)
    first_step(page, base)
    page.locator(".cardstrip summary").tap()
    ticked_elsewhere(base, "permit", "clear")
    page.locator(".card", has_text="step 2 of").wait_for()


@pytest.mark.soak
def test_a_step_that_is_gone_is_said_by_the_server_not_by_a_lost_link(opened, base):
    """A step that is gone is said by the server not by a lost link."""
    page = opened(quiet=False)
    ticked_elsewhere(base, "permit", "clear")
    first_step(page, base)
    page.route("**" + SECOND, lambda route: route.fulfill(status=404, content_type="text/html", body="<p>gone</p>"))
    page.locator("[data-next]", has_text="Next step").click()
    page.get_by_text("gone").wait_for()
    assert page.url == base + SECOND


@pytest.mark.soak
def test_a_device_that_keeps_nothing_still_sends(opened, base):
    """A device that keeps nothing still sends."""
    page = opened()
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full') }")
    page.goto(base + FIRST)
    sent = Held(page, "/api/entries", "POST", fresh=True)
    box(page, "permit").click()
    sent.wait()
    box(page, "clear").click()
    page.locator("#waiting", has_text="keeps nothing for later").wait_for()
    sent.end()
    page.locator("#waiting").wait_for(state="hidden")
    other = opened()
    other.goto(base + FIRST)
    assert box(other, "permit").is_checked()
    assert box(other, "clear").is_checked()


@pytest.mark.soak
def test_what_was_heard_late_of_an_own_edit_renews_nothing(opened, base):
    """What was heard late of an own edit renews nothing."""
    page = opened()
    stale = "retry: 600000\n\nevent: bank\ndata: " + "0" * 64 + "\n\n"
    page.route("**/live?*", lambda route: route.fulfill(content_type="text/event-stream", body=stale))
    with page.expect_response("**/api/bank"):
        page.goto(base + "/plan/bank")
    page.evaluate("window.kept = true")
    page.wait_for_timeout(200)
    assert page.evaluate("window.kept")
    assert page.locator("#notice").inner_text().strip() == ""


@pytest.mark.soak
def test_what_is_typed_on_a_sheet_gone_back_to_stays(opened, base):
    """What is typed on a sheet gone back to stays."""
    page = opened()
    page.goto(base + "/match")
    page.goto(base + "/buy")
    asked = Held(page, "/static/icon.svg")
    page.go_back()
    asked.wait()
    field = page.locator(".readings input").first
    field.fill("52.61")
    page.evaluate("window.kept = true")
    asked.end()
    page.wait_for_timeout(300)
    assert page.evaluate("window.kept")
    assert field.input_value() == "52.61"
