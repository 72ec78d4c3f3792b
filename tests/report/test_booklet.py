"""The booklet: every step, box and part is in it, no word of the bank breaks out, it prints on few sheets."""

import re

import pytest

from bankwright.job import open_bank
from bankwright.report.booklet import booklet
from support.page import bank_file


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return open_bank(bank_file(tmp_path_factory.mktemp("booklet"), "two"))


@pytest.mark.quick
def test_every_step_with_its_boxes_and_every_part_is_in_it(job):
    text = booklet(job)
    boxes = sum(max(len(step.ticks), 1) + len(step.readings) for step in job.sheet.steps)
    assert text.count('class="box"') == boxes + len(job.parts.lines)
    for number, step in enumerate(job.sheet.steps, 1):
        assert f"{number}. {step.title}".replace(">", "&gt;") in text, step.id


def test_a_caution_stands_whole_once_and_by_its_first_sentence_after_that(job):
    text = booklet(job)
    counted = {}
    for step in job.sheet.steps:
        for words in {caution.words.text(job.units) for caution in step.cautions}:
            counted[words] = counted.get(words, 0) + 1
    often = [words for words, count in counted.items() if count > 2 and ". " in words]
    assert often
    for words in often:
        assert text.count(f">{words}<") == 1, words
        assert text.count(f">{words.split('. ')[0]}.<") >= 1, words


def test_fire_names_switch_and_voltage_and_the_foot_names_bank_and_sheet(job):
    text = booklet(job)
    assert "In a fault or fire" in text
    assert "51.2 V" in text
    assert 'counter(page) " of " counter(pages)' in text
    assert "<script" not in text


@pytest.mark.parametrize("title", ['"; } body { display: none', "</style><script>alert(1)</script>", "a\\\nb"])
def test_a_title_cannot_end_the_style_or_the_page(tmp_path, title):
    path = bank_file(tmp_path, "two")
    job = open_bank(path).changed("title", title)
    text = booklet(job)
    style = text.split("<style>")[1].split("</style>")[0]
    assert "counter(pages)" in style  # the style was not ended early
    assert "<script" not in text
    said = re.search(r'@bottom-left \{ content: "([^"]*)"; font: 8pt sans-serif \}\n', style)
    assert said, "the string of the foot ends where it shall"
    assert not set(said[1]) & set('"{}<>;')


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.xdist_group("browser")
def test_it_prints_on_four_to_eight_sheets_of_either_size(job, tmp_path):
    import os
    import shutil

    from playwright.sync_api import sync_playwright

    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        pytest.skip("no browser on this machine")
    path = tmp_path / "booklet.html"
    path.write_text(booklet(job), encoding="utf-8")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=found, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page()
        page.goto(path.as_uri())
        for size in ("Letter", "A4"):
            sheets = len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format=size)))
            assert 4 <= sheets <= 8, (size, sheets)
        browser.close()
