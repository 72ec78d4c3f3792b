"""Build and Match with gloves on a phone: work above the fold, large targets, number keypad, one tap to repair."""

import pytest

from bankwright.logbook.logbook import open_logbook
from support.browser import queue_is_empty
from support.page import bank_file, served

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]
TARGETS = """() => Array.from(document.querySelectorAll(
  "main .btn, main .tick, main summary, main input[type=text], main select, main textarea, main .readings th a," +
  ".firebtn, .cardstrip summary"))
  .filter(e => e.checkVisibility() && !e.closest(".vh") && !e.closest(".tick:not(label)"))
  .map(e => { const r = e.getBoundingClientRect();
    return {what: e.className + " " + (e.name || e.textContent.trim().slice(0, 30)),
      x: r.left, y: r.top + scrollY, w: r.width, h: r.height,
      fixed: Boolean(e.closest(".go, .cardstrip"))}; }).filter(r => r.w > 0)"""
FOLD = 844 - 98  # the foot of a step stands below


def near(one, other):
    """Gap between two targets, across or down, whichever is more."""
    across = max(other["x"] - one["x"] - one["w"], one["x"] - other["x"] - other["w"])
    down = max(other["y"] - one["y"] - one["h"], one["y"] - other["y"] - other["h"])
    return max(across, down)


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    path = bank_file(tmp_path_factory.mktemp("gloves"), "two")
    with served(path) as (address, _):
        import httpx

        done = {"done": "yes"}
        httpx.post(address + "/carried/known", data=done, headers={"origin": address}, timeout=60, trust_env=False)
        yield address, path


def test_targets_of_build_and_match_are_72_px_with_12_px_between(opened, base):
    page = opened(390, 844, has_touch=True)
    for place in ("/build", "/build/step/build.read.M1", "/match"):
        page.goto(base[0] + place)
        found = page.evaluate(TARGETS)
        assert len(found) > 4, place
        small = [t["what"] for t in found if t["h"] < (56 if t["fixed"] else 72)]
        assert not small, (place, small)
        loose = [t for t in found if not t["fixed"]]
        close = [(a["what"], b["what"]) for n, a in enumerate(loose) for b in loose[n + 1 :] if 0 <= near(a, b) < 12]
        assert not close, (place, close)


def test_ticks_and_the_reading_lie_above_the_fold(opened, base):
    page = opened(390, 844, has_touch=True)
    page.goto(base[0] + "/build/all")
    for place in [a.get_attribute("href") for a in page.locator(".stepslist a").all()]:
        page.goto(base[0] + place)
        assert page.locator(".work .tick").first.bounding_box()["y"] + 72 <= FOLD, place
        if page.locator(".work .reading").count() == 1:
            field = page.locator(".work .reading input").bounding_box()
            assert field["y"] + field["height"] <= FOLD, place
        caution = page.locator(".work details.caution-box .first")
        for line in caution.all():
            assert line.bounding_box()["height"] <= 60, place  # two lines; the rest behind "more"


def test_a_bare_number_is_in_the_unit_shown_and_a_comma_is_one_tap(opened, base):
    page = opened(390, 844, has_touch=True)
    page.goto(base[0] + "/build/step/build.read.M1")
    part = page.locator(".work .reading").first
    field = part.locator("input")
    assert field.get_attribute("inputmode") == "decimal"
    assert part.locator(".unit").inner_text() == "V"
    field.fill("52,61")
    part.get_by_role("button", name="Write it down").tap()
    assert part.locator(".says").inner_text() == ""  # nothing is taken silently
    part.get_by_role("button", name="52.61 V?").tap()
    part.locator(".says", has_text="52.61 V").wait_for()
    page.goto(base[0] + "/build/step/build.read.M2")
    part = page.locator(".work .reading").first
    part.locator("input").fill("52.58")
    part.get_by_role("button", name="Write it down").tap()
    part.locator(".says", has_text="52.58 V").wait_for()
    queue_is_empty(page)
    with open_logbook(base[1], write=False) as book:
        kept = book.latest_readings("voltage")
    assert (kept["M1"].as_typed, kept["M2"].as_typed) == ("52.61 V", "52.58 V")


def test_names_are_whole_on_a_narrow_phone(opened, base):
    page = opened(360, 740, has_touch=True)
    page.goto(base[0] + "/match")
    for name in page.locator(".readings tbody th").all():
        cut = name.evaluate("e => e.scrollWidth > e.clientWidth + 1")
        assert not cut, name.inner_text()
    assert "M…" not in page.locator("main").inner_text()
