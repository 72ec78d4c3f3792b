"""Plan in a browser without a screen: answer, findings with their reasons, drawing, places, cases."""

import re
from urllib.parse import quote

import pytest

from support.page import bank_file, client, desk_of


@pytest.fixture(scope="module")
def web(tmp_path_factory):
    with client(bank_file(tmp_path_factory.mktemp("plan"))) as made:
        yield made


@pytest.mark.slow
def test_the_first_page_answers_first_and_draws_the_bank(web):
    findings = desk_of(web).look().job.findings
    answer = web.get("/")
    assert answer.status_code == 200
    fails = sum(f.verdict == "fail" for f in findings)
    assert f"{fails} fail" in answer.text
    assert 'class="bw bank desk"' in answer.text
    assert 'class="bw bank phone"' in answer.text


def test_every_finding_has_its_number_place_source_and_what_to_do(web):
    page = web.get("/plan/findings").text
    for finding in desk_of(web).look().job.findings:
        assert finding.place in page
    numbers = [int(n) for n in re.findall(r'<li class="finding [a-z]+" id="f(\d+)"', page)]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))  # each once, in its fold
    assert page.count("<h4>Source</h4>") == len(numbers)
    assert page.count("<h4>What to do</h4>") == len(numbers)


def test_balloons_of_the_drawing_lead_to_findings_that_are_there(web):
    page = web.get("/plan").text
    for target in re.findall(r'<a href="#(f\d+)"', page):
        assert f'id="{target}"' in page


@pytest.mark.slow
def test_every_place_that_can_be_touched_has_a_page(web):
    page = web.get("/plan").text
    names = set(re.findall(r'data-place="([^"]+)"', page))
    assert {"M1", "main+"} <= names
    first_letters = {name[:2]: name for name in sorted(names)}  # one of each sort
    for name in first_letters.values():
        answer = web.get("/at/" + quote(name, safe=""))
        assert answer.status_code == 200, name
        for stage in ("Plan", "Buy", "Build", "Readings"):
            assert f"<h3>{stage}</h3>" in answer.text


def test_a_case_is_chosen_by_name_and_its_neighbours_are_links(web):
    names = desk_of(web).look().job.steady.names
    page = web.get("/plan", params={"case": names[1]}).text
    assert f"({2} of {len(names)})" in page
    earlier, later = re.findall(r'<a class="btn" href="(/plan\?case=[^"]+)"', page)
    assert web.get(earlier.replace("&amp;", "&")).text.count(f"(1 of {len(names)})") == 1
    assert web.get(later.replace("&amp;", "&")).text.count(f"(3 of {len(names)})") == 1


def test_fault_and_fire_is_in_every_page(web):
    for path in ("/plan", "/plan/bank", "/buy", "/build/all", "/match", "/at/M1", "/nowhere"):
        text = web.get(path).text
        assert 'href="#fire"' in text, path
        assert text.count('id="fire"') == 1, path
        assert "Somebody touches a live part" in text, path  # in the page itself: a tap asks for nothing
    assert "Somebody touches a live part" in web.get("/fire").text


def test_no_page_carries_inline_style_or_script(web):
    for path in ("/plan", "/plan/bank?key=wiring", "/buy", "/build", "/build/all", "/match", "/fire"):
        page = web.get(path).text
        assert " style=" not in page, path
        assert not re.search(r"<script(?![^>]* src=)", page), path
        assert not re.search(r"\son[a-z]+=", page), path
        assert "https://" not in page, path


def test_a_page_that_is_not_there_says_so_in_the_same_frame(web):
    answer = web.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
    assert web.get("/at/M99").status_code == 404
    assert web.get("/build/step/build.nothing").status_code == 404


def test_a_static_file_outside_the_list_does_not_exist(web):
    for name in ("../app.py", "..%2fapp.py", "%2e%2e/%2e%2e/job.py", "vendor/../../app.py", "nothing.css"):
        assert web.get(f"/static/{name}").status_code == 404, name
    assert web.get("/static/sheet.css").headers["content-type"].startswith("text/css")


def test_an_instrument_that_a_finding_names_leads_to_its_line_of_the_file(web):
    meters = desk_of(web).look().job.bank.instruments
    assert meters
    answer = web.get("/at/" + quote(meters[0].name, safe=""), follow_redirects=False)
    assert answer.status_code == 303
    assert "instruments" in answer.headers["location"]
    assert web.get("/at/" + quote(meters[0].name, safe="")).status_code == 200
