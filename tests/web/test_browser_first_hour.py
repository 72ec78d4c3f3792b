"""The first hour in a real browser: from nothing to a plan with no fail, questions answered on the spot, targets."""

import re

import pytest

from bankwright.bank.read import read_bank
from bankwright.bank.texts.starter import Start, starter
from support.browser import whole
from support.page import served
from support.walks import BAR

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]

SMALL = """() => [...document.querySelectorAll(
  "main a, main button, main select, main summary, main label:has(input), main input[type=text]"
)].filter(e => e.checkVisibility() && !e.closest(".vh, .note, svg") && !e.classList.contains("vh"))
  .map(e => [e.tagName, e.textContent.trim().slice(0, 24), e.getBoundingClientRect().width,
    e.getBoundingClientRect().height])
  .filter(row => row[2] < 44 || row[3] < 44)"""
BALLOONS = """() => [...document.querySelectorAll(".drawing .narrow svg a.balloon")].map(e => e.getBoundingClientRect())
  .filter(r => r.width < 44 || r.height < 44).map(r => [r.width, r.height])"""


def answered(page, answers, first=1):
    for number, answer in enumerate(answers, first):
        page.get_by_text(f"Question {number} of").wait_for()
        page.get_by_role("button", name="Next question").last.wait_for()  # what it is answered in stands before it
        if answer == "?":
            page.get_by_role("button", name="I do not know").click()
        elif page.locator("#typed").count():
            page.locator("#typed").fill(answer)
            page.keyboard.press("Enter")
        else:
            page.locator(f'input[name="typed"][value="{answer}"]').check()
            page.get_by_role("button", name="Next question").last.click()


def test_nothing_to_a_plan_with_no_fail_in_under_25_answers(opened, tmp_path):
    path = tmp_path / "garage.toml"
    with served(path) as (base, _):
        page = opened(390, 844)
        page.goto(base)
        page.get_by_role("link", name="Describe a bank").click()
        answered(page, BAR[:5])
        page.get_by_text("Question 6 of").wait_for()
        assert page.evaluate(SMALL) == []
        page.locator("#typed").fill("5O,5")  # a slip: the letter O and a comma
        page.keyboard.press("Enter")
        page.get_by_role("button", name="50.5 A?").click()
        page.get_by_text("Question 7 of").wait_for()
        page.get_by_role("link", name="Change Current in").click()
        page.get_by_text("Question 6 of").wait_for()
        page.locator("#typed").fill(BAR[5])
        page.keyboard.press("Enter")
        answered(page, BAR[6:], 7)
        assert len(BAR) < 25

        def slow_answer(route):  # the page hears of the file on disk before the answer to its own form is there
            answer = route.fetch(max_redirects=0)
            page.wait_for_timeout(1500)
            route.fulfill(response=answer)

        page.route(lambda url: "/start" in url, slow_answer)
        went = []
        page.on("request", lambda r: went.append(f"{r.method} {r.url}") if r.is_navigation_request() else None)
        page.get_by_role("button", name="Write garage.toml").click()
        page.wait_for_url("**/plan")
        whole(page)
        assert went[-2:] == [f"POST {base}/start", f"GET {base}/plan"]  # and no going to /start between them
        assert page.locator(".tally .v.fail").count() == 0
        assert len(read_bank(path).modules) == 4


def test_the_first_plan_is_short_and_its_questions_are_answered_on_the_spot(opened, tmp_path):
    path = tmp_path / "garage.toml"
    start = Start(
        title="Garage",
        mass="45 kg",
        power="6.5 kW",
        lowest_voltage="44 V",
        pattern="chain",
        units="us",
        rules="nec-2023",
    )
    path.write_text(starter(start), "utf-8")
    with served(path) as (base, _):
        page = opened(390, 844)
        page.goto(base + "/plan")
        whole(page)
        assert page.locator(".tally .v.fail").inner_text() == "1 fail"
        shown = "es => es.filter(e => e.checkVisibility()).length"
        assert page.locator(".finding, .foldq").evaluate_all(shown) <= 12
        fold = page.evaluate("document.getElementById('folded').getBoundingClientRect().top + scrollY")
        assert fold < 4 * 844
        assert page.evaluate(SMALL) == []
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        assert page.evaluate(BALLOONS) == []
        case = page.locator("#case")
        assert case.input_value() == "full discharge"  # normal running, not a broken link
        question = page.locator(".qrow", has_text="What thread have the posts")
        if not question.count():
            question = page.locator(".foldq", has_text="What thread have the posts")
            question.locator("summary").first.click()
        question.locator('input[name="typed"]').fill("m8,5")
        question.get_by_role("button", name="Write it down").click()
        question.get_by_text("not taken").wait_for()
        assert question.locator('input[name="typed"]').input_value() == "m8,5"
        question.locator('input[name="typed"]').fill("M8")
        question.get_by_role("button", name="Write it down").click()
        question.get_by_text("Written down").wait_for()
        assert 'stud = "M8"' in path.read_text("utf-8")
        page.get_by_role("link", name="Show the list anew").click()
        page.get_by_text("Written down").wait_for(state="detached")
        whole(page)
        sheets = len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format="A4")))
        assert sheets <= 12  # one fail in full, questions and the rest a line or two each
        assert "What thread have the posts of the module?" not in page.locator("#findings").inner_text()
