"""The job as a person does it, in a real browser: from an empty folder to a built and matched bank."""

import re

import pytest

from bankwright.bank.read import read_bank
from bankwright.logbook.logbook import open_logbook
from support.browser import Fetched, queue_is_empty, until, whole
from support.page import bank_file, served

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]


def field(page, key):
    return page.locator(f'.field:has(input[name="path"][value="{key}"]) [name="value"]')


def talk(page, answers):
    """Answer the questions of the conversation as they come."""
    for number, answer in enumerate(answers, 1):
        page.get_by_text(f"Question {number} of").wait_for()
        page.get_by_role("button", name="Next question").last.wait_for()  # what it is answered in stands before it
        if page.locator("#typed").count():
            page.locator("#typed").fill(answer)
            page.keyboard.press("Enter")
        else:
            page.locator(f'input[name="typed"][value="{answer}"]').check()
            page.get_by_role("button", name="Next question").last.click()


def said(page, key):
    return page.locator(f'.field:has(input[name="path"][value="{key}"]) .says')


def test_from_an_empty_folder_to_a_bank_that_plans_and_an_edit(opened, tmp_path):
    path = tmp_path / "shed.toml"
    with served(path) as (base, _):
        page = opened()
        page.goto(base)
        page.get_by_role("link", name="Describe a bank").click()
        talk(page, ("2", "metric", "100", "16", "100", "50", "1", "5", "48", "busbar"))
        page.get_by_role("link", name="Change Modules").wait_for()
        page.goto(f"{base}/start?key=title")
        page.locator("#typed").fill("Shed")
        page.keyboard.press("Enter")
        page.wait_for_url(base + "/start")
        page.get_by_role("button", name="Write shed.toml").click()
        page.wait_for_url("**/plan")
        whole(page)
        assert "Shed" in page.locator("h1").inner_text()
        assert page.locator(".finding").count() > 3
        page.get_by_role("link", name="Edit the bank").click()
        page.get_by_role("link", name="How the modules are joined").click()
        length = field(page, "wiring.main.length")
        length.fill("3 parsec")
        said(page, "wiring.main.length").get_by_text("parsec").wait_for()
        until(page, lambda: "bad" in length.get_attribute("class"))
        assert length.input_value() == "3 parsec"
        length.fill("12 m")
        page.locator("#draft .draft").wait_for()
        length.press("Tab")
        page.get_by_role("button", name="Undo (1)").wait_for()
        assert 'length = "12 m"' in path.read_text()
        page.get_by_role("button", name="Undo (1)").click()
        page.get_by_role("button", name="Redo (1)").wait_for()
        assert 'length = "12 m"' not in path.read_text()


def test_an_edit_made_in_another_program_shows_by_itself(opened, tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (base, _):
        page = opened()
        page.goto(base + "/plan")
        path.write_text(path.read_text().replace(f'"{read_bank(path).title}"', '"Renamed elsewhere"', 1))
        page.get_by_role("heading", name="Renamed elsewhere").wait_for()
        page.get_by_role("link", name="Show both, line by line").click()
        assert "Renamed elsewhere" in page.locator(".src .line", has_text="is now").first.inner_text()


def test_touching_the_drawing_shows_what_each_stage_knows(opened, tmp_path):
    with served(bank_file(tmp_path)) as (base, _):
        page = opened()
        page.goto(base + "/plan")
        whole(page)  # with the findings the drawing is drawn anew
        page.locator('.wide [data-place="M2"]').first.click()
        page.wait_for_url("**/at/M2")
        page.get_by_role("heading", name="M2: what each stage knows").wait_for()
        page.goto(base + "/plan")
        whole(page)
        page.locator(".wide a.balloon").first.click()
        page.wait_for_url(re.compile(r"#f\d+$"))


BREAKER = 'breaker = { rating = "125 A", interrupts = "10 kA", volts = "80 V" }'


def torqued(path):
    """The sample with every torque given, so that every joint may be ticked, and modules that can be switched off."""
    screw = 'stud = "M8", lugs = 1, torque = "10 N m"'
    text = path.read_text()
    text = text.replace('height = "3 U"', f'height = "3 U"\nposts = {{ pairs = 2, {screw} }}\n{BREAKER}')
    text = text.replace('resistance = "0.3 mohm"', f'resistance = "0.3 mohm"\nterminals = {{ {screw} }}')
    text = text.replace('cut_out = "44 V"', f'cut_out = "44 V"\nterminals = {{ {screw} }}')
    path.write_text(text)
    return path


def tick_all(page):
    for box in page.locator(".work .tick input").all():
        box.check()
    for part in [p for p in page.locator(".reading").all() if p.get_attribute("data-read") is None]:
        value = {"voltage": "53.1 V", "resistance": "0.05 ohm", "frame_voltage": "0.2 V"}.get(
            part.get_attribute("data-quantity"), "10 N m"
        )
        if part.get_attribute("data-quantity") == "resistance" and "or more" in part.inner_text():
            value = "5 Mohm"
        part.locator("input").fill(value)
        part.get_by_role("button").click()


def kept_result(path, kind):
    with open_logbook(path, write=False) as book:
        return book.latest_result(kind)


def test_the_whole_sheet_on_a_phone_then_match(opened, tmp_path):
    path = torqued(bank_file(tmp_path, "two"))
    with served(path) as (base, _):
        page = opened(390, 844, has_touch=True)
        page.goto(base + "/build")
        count = int(re.search(r"Step 1 of (\d+)", page.locator(".stepno").inner_text())[1])
        page.locator("[data-next]", has_text="not ticked yet").wait_for()
        for number in range(1, count + 1):
            page.locator(".stepno", has_text=f"Step {number} of").wait_for()
            tick_all(page)
            page.locator("[data-next]", has_text="Next step").click()
        page.wait_for_url("**/build/all")
        queue_is_empty(page)
        page.reload()
        assert page.locator(".stepslist li:not(.done)").all_inner_texts() == []
        page.get_by_role("heading", name="Every step is done").wait_for()
        page.get_by_role("link", name="On to Match").click()
        names = [m.name for m in read_bank(path).modules]
        for name in names:
            assert page.get_by_label(f"{name}, volts").input_value() == "53.1"
        page.get_by_label("Meter: its name, or its accuracy").fill("0.5 % + 2 digits")
        page.get_by_label("Rested, where not said above, h").fill("12 h")
        page.get_by_role("button", name="Judge these readings").click()
        until(page, lambda: kept_result(path, "match record") is not None)  # both headings stood there before, too
        page.get_by_role("heading", name="May they be joined?").wait_for()
        page.get_by_role("heading", name="Are they equally charged?").wait_for()


def test_entries_wait_through_a_lost_link_and_are_stored_once(opened, tmp_path):
    path = bank_file(tmp_path)
    with served(path) as (base, _):
        page = opened(390, 844, quiet=False)
        other, fetched = opened(390, 844), Fetched(page)
        page.goto(base + "/build")
        other.goto(base + "/build")
        fetched.steps_ahead()
        page.context.set_offline(True)
        first = page.locator(".stepno").inner_text()
        tick_all(page)
        page.locator("#waiting", has_text="wait").wait_for()
        assert "Go on working" in page.locator("#waiting").inner_text()
        page.locator("[data-next]", has_text="Next step").click()
        until(page, lambda: page.locator(".stepno").inner_text() != first)
        tick_all(page)
        page.context.set_offline(False)
        queue_is_empty(page)
        page.locator("#waiting").wait_for(state="hidden")
        until(other, lambda: all(box.is_checked() for box in other.locator(".work .tick input").all()))
        with open_logbook(path, write=False) as book:
            ticks = [(e.step, e.body["tick"]) for e in book.entries(kind="tick")]
        assert len(ticks) == len(set(ticks))


def test_a_voltage_written_down_is_no_resistance_at_the_same_place(opened, tmp_path):
    with served(torqued(bank_file(tmp_path, "two"))) as (base, _):
        page = opened(390, 844)
        page.goto(base + "/build/step/build.poles")
        volts = page.locator('.reading[data-quantity="frame_voltage"]').first
        ohms = page.locator('.reading[data-quantity="resistance"]').first
        assert volts.get_attribute("data-at") == ohms.get_attribute("data-at")
        volts.locator("input").fill("0.2")
        volts.get_by_role("button", name="Write it down").click()
        volts.get_by_text("Read: 0.2 V").wait_for()
        queue_is_empty(page)
        assert (volts.get_attribute("data-read"), ohms.get_attribute("data-read")) == ("yes", None)
        ohms.locator("input").fill("5 Mohm")
        ohms.get_by_role("button", name="Write it down").click()
        ohms.get_by_text("Read: 5 Mohm").wait_for()
        queue_is_empty(page)
        assert ohms.get_attribute("data-outside") is None
        assert ohms.get_attribute("data-read") == "yes"


def test_a_step_that_could_not_be_opened_is_opened_when_the_link_is_back(opened, tmp_path):
    with served(torqued(bank_file(tmp_path, "two"))) as (base, _):
        page = opened(390, 844, quiet=False)
        page.route("**/build/step/build.people", lambda route: route.abort())
        page.goto(base + "/build")
        tick_all(page)
        queue_is_empty(page)
        page.locator("[data-next]", has_text="Next step").click()
        page.locator("#waiting", has_text="The step you asked for").wait_for()
        assert "Step 1 of" in page.locator(".stepno").inner_text()
        page.unroute("**/build/step/build.people")
        page.locator(".stepno", has_text="Step 2 of").wait_for()
        page.locator("#waiting").wait_for(state="hidden")


def test_what_the_server_refuses_is_said_and_the_box_is_empty_again(opened, tmp_path):
    path = bank_file(tmp_path, "two")
    with served(path) as (base, _):
        page = opened()
        page.goto(base + "/build/all")
        page.locator(".stepslist a", has_text="Bolt L1+").click()
        box = page.locator('.tick input[value="torque/L1+@M1+"]')
        box.click()
        page.locator("#waiting", has_text="torque").wait_for()
        assert not box.is_checked()
        page.get_by_role("button", name="Understood").click()
        page.locator("#waiting").wait_for(state="hidden")


def test_the_paper_stays_as_chosen(opened, tmp_path):
    with served(bank_file(tmp_path, "two")) as (base, _):
        page = opened()
        page.goto(base + "/plan")
        page.get_by_role("button", name="Paper: light").click()
        page.goto(base + "/buy")
        assert page.get_by_role("button", name="Paper: dark").is_visible()
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") != "rgb(230, 234, 229)"
