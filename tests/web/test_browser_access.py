"""Every page: nothing for the accessibility checker, nothing wider than the screen, all by keyboard, on paper too."""

from itertools import pairwise
from pathlib import Path

import pytest

from bankwright.bank.texts.starter import Start, first_document
from support.browser import until, whole
from support.page import bank_file, served

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]
AXE = (Path(__file__).parents[1] / "support" / "vendor" / "axe-4.14.1.min.js").read_text("utf-8")
PAGES = (
    "/plan", "/plan/bank?key=wiring.link.length", "/at/M1", "/buy", "/build/all", "/build", "/match", "/fire",
    "/nowhere", "/enter",
)  # fmt: skip
JUDGE = """async () => {
  const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
  const found = await axe.run(document, {runOnly: tags});
  const words = n => n.target.join(" ") + " " + n.failureSummary;
  const wrong = found.violations.map(v => v.id + ": " + v.nodes.slice(0, 3).map(words).join(" | "));
  return {passes: found.passes.length, wrong};
}"""


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    path = bank_file(tmp_path_factory.mktemp("access"))
    with served(path) as (address, _):
        import httpx

        names = [f"M{n}" for n in range(1, 6)]
        body = {f"voltage {n}": v for n, v in zip(names, ("52.61", "52.58", "53.10", "52.62", "52.55"), strict=True)}
        body |= {f"rested {n}": "6 h" for n in names if n != "M3"} | {"meter": "0.5 % + 2 digits"}
        for place, sent in (("/match", body), ("/plan/findings", None)):  # with it, all of Plan is computed
            method = "GET" if sent is None else "POST"
            httpx.request(method, address + place, data=sent, headers={"origin": address}, timeout=90, trust_env=False)
        yield address


@pytest.mark.share(2)
@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True)])
def test_the_checker_finds_no_violation(opened, base, width, dark):
    """The checker of access finds nothing on any page, wide and light, narrow and dark."""
    page = opened(width, 900, dark, quiet=False)
    found = {}
    for path in PAGES:
        page.goto(base + path)
        page.evaluate(AXE)
        judged = page.evaluate(JUDGE)
        assert judged["passes"] > 12, path  # the checker did look
        if judged["wrong"]:
            found[path] = judged["wrong"]
    assert not found, "\n".join(f"{path}: {line}" for path, lines in found.items() for line in lines)


@pytest.mark.share(2)
@pytest.mark.parametrize("width", [360, 390, 901, 1160])
def test_nothing_is_wider_than_the_screen(opened, base, width):
    """No page is wider than the screen, at four widths."""
    page = opened(width, 800, quiet=False)
    for path in PAGES:
        page.goto(base + path)
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, (path, wide)


def test_many_modules_and_a_long_name_stay_on_the_sheet(opened, tmp_path):
    name = "The bank behind the orchard house, second building, left of the door"
    path = tmp_path / "many.toml"
    first_document(Start(title=name, modules=24, pattern="chain", inverters=3), path).save()
    with served(path) as (base, _):
        for width in (360, 1280):
            page = opened(width, 800)
            page.goto(base + "/plan")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            head = page.locator(".block.top .name").bounding_box()
            button = page.locator("[data-paper]").bounding_box()
            assert head["x"] + head["width"] <= button["x"] + 1
            assert button["x"] + button["width"] <= width


def test_a_wide_desk_has_the_findings_in_two_columns(opened, base):
    for width, columns in ((1280, 1), (1920, 2)):
        page = opened(width, 1080)
        page.goto(base + "/plan")
        whole_list = page.locator("#findings > .list:has(> li + li)").first
        left = {round(row.bounding_box()["x"]) for row in whole_list.locator("> li").all()}
        assert len(left) == columns
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_targets_beside_the_rack_are_large_enough_for_gloves(opened, base):
    page = opened(390, 844)
    page.goto(base + "/build")
    assert all(box["height"] >= 72 for box in (t.bounding_box() for t in page.locator(".tick").all()))
    assert all(box["height"] >= 72 for box in (t.bounding_box() for t in page.locator(".go .btn").all()))
    boxes = [t.bounding_box() for t in page.locator(".tick").all()]
    assert all(b["y"] - (a["y"] + a["height"]) >= 12 - 0.5 for a, b in pairwise(boxes))


def test_the_figure_for_the_hand_is_read_at_arms_length(opened, base):
    page = opened(390, 844)
    page.goto(base + "/build/all")
    page.locator(".stepslist a", has_text="Bolt").first.click()
    size = page.locator(".hand").first.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    assert size >= 48


def test_everything_by_keyboard(opened, base):
    page = opened()
    page.goto(base + "/plan")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    seen = set()
    for _ in range(40):
        seen.add(page.evaluate("document.activeElement.id || document.activeElement.textContent.trim().slice(0, 30)"))
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert outline == "3px"
        page.keyboard.press("Tab")
    assert {"case", "place", "Why, and what to do"} <= seen
    page.goto(base + "/build")
    page.locator(".tick input").first.focus()
    page.keyboard.press("Space")
    until(page, page.locator(".tick input").first.is_checked)


def test_on_paper_the_folds_are_open_and_the_buttons_gone(opened, base):
    page = opened()
    page.goto(base + "/plan")
    whole(page)
    page.emulate_media(media="print")
    page.locator(".route").wait_for(state="hidden")
    page.locator(".why .formula").first.wait_for()
    assert not page.locator(".case").is_visible()
    assert page.locator(".drawing .wide").is_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"


@pytest.mark.parametrize("choose", [False, True])
def test_dark_paper_prints_black_on_white_and_letter_gets_no_phone(opened, base, choose):
    page = opened(816, 1056, not choose)
    page.goto(base + "/plan")
    whole(page)
    if choose:
        page.get_by_role("button", name="Paper: light").click()
    assert page.evaluate("getComputedStyle(document.body).color") != "rgb(0, 0, 0)"
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert page.evaluate("getComputedStyle(document.querySelector('.sheet')).backgroundColor") == "rgb(255, 255, 255)"
    drawn = "getComputedStyle(document.querySelector('.drawing .wide svg text')).fill"
    assert page.evaluate(drawn) in ("rgb(0, 0, 0)", "rgb(51, 51, 51)", "rgb(90, 90, 90)")
    assert page.locator(".drawing .wide").is_visible()
    assert not page.locator(".cardstrip").is_visible()
