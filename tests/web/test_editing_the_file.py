"""The bank in forms: the file is the truth, faults mark their field, nothing of anybody is overwritten."""

import re

import pytest

from support.page import bank_file, client, desk_of, digest_of

HX = {"hx-request": "true"}


@pytest.fixture
def path(tmp_path):
    return bank_file(tmp_path, "two")


@pytest.fixture
def web(path):
    with client(path) as made:
        yield made


def edit(web, key, value, digest=None):
    body = {"path": key, "value": value, "digest": digest or digest_of(web)}
    return web.post("/plan/value", data=body, headers=HX)


@pytest.mark.slow
def test_a_value_is_written_where_it_stands_and_comments_stay(web, path):
    before = path.read_text()
    assert edit(web, "title", "Shed").status_code == 200
    after = path.read_text()
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1] == changed[0][0].replace(changed[0][0].split('"')[1], "Shed")


def test_the_answer_brings_the_parts_that_follow_the_edit(web):
    body = edit(web, "title", "Shed").text
    for part in ("block", "route", "answer", "drawing", "pen"):
        assert re.search(rf'id="{part}"[^>]* hx-swap-oob="true"', body), part
    assert "Shed" in body


def test_a_value_that_cannot_stand_is_said_and_not_written(web, path):
    before = path.read_bytes()
    body = edit(web, "wiring.link.length", "3 parsec").text
    assert "cannot stand" in body
    assert "parsec" in body
    assert path.read_bytes() == before


@pytest.mark.slow
def test_a_value_that_breaks_another_place_says_which(web, path):
    before = path.read_bytes()
    body = edit(web, "modules[1].name", "M1").text
    assert "not possible" in body or "cannot stand" in body
    assert path.read_bytes() == before


def test_while_typing_nothing_is_written_and_what_would_change_is_told(web, path):
    before = path.read_bytes()
    answer = web.post("/plan/try", data={"path": "wiring.main.length", "value": "30 m"}, headers=HX)
    assert "With what is typed here" in answer.text
    assert "→" in answer.text
    assert path.read_bytes() == before


@pytest.mark.slow
def test_undo_and_redo_walk_through_the_texts(web, path):
    texts = [path.read_text()]
    for title in ("One", "Two"):
        edit(web, "title", title)
        texts.append(path.read_text())
    assert len(set(texts)) == 3
    for wanted, way in ((1, "undo"), (0, "undo"), (1, "redo"), (2, "redo")):
        web.post(f"/plan/{way}", data={"digest": digest_of(web)})
        assert path.read_text() == texts[wanted]


@pytest.mark.slow
def test_an_edit_made_outside_is_noticed_and_not_overwritten(web, path):
    seen = digest_of(web)
    path.write_text(path.read_text() + "# a line of somebody else\n")
    outside = path.read_bytes()
    answer = edit(web, "title", "Mine", digest=seen)
    assert answer.status_code == 409
    assert path.read_bytes() == outside
    page = web.get("/plan").text
    assert "was saved by another program" in page
    assert "a line of somebody else" in web.get("/plan/outside").text


@pytest.mark.slow
def test_two_writers_of_one_text_the_second_is_told(path):
    with client(path) as one, client(path) as two:
        seen = digest_of(one)
        assert digest_of(two) == seen
        assert edit(one, "title", "One", digest=seen).status_code == 200
        assert edit(two, "title", "Two", digest=seen).status_code == 409
    assert '"One"' in path.read_text()
    assert '"Two"' not in path.read_text()


@pytest.mark.slow
def test_a_field_left_empty_takes_the_key_out_and_its_check_becomes_unknown(web, path):
    edit(web, "wiring.main.insulation", "75 degC")
    assert desk_of(web).look().document.value("wiring.main.insulation") == "75 degC"
    body = edit(web, "wiring.main.insulation", "").text
    assert desk_of(web).look().document.has("wiring.main.insulation") is False
    assert "Undo (2)" in body


def test_faults_of_the_file_stand_at_their_field_and_the_last_good_findings_stay(web, path):
    good = web.get("/plan").text
    count = good.count('class="finding ')
    text = path.read_text()
    path.write_text(re.sub(r'(length = ")[^"]+(")', r"\g<1>three feet\2", text, count=1))
    page = web.get("/plan").text
    assert "cannot stand" in page
    assert "The findings below are from" in page
    assert page.count('class="finding ') == count
    fault = desk_of(web).look().faults[0]
    section = web.get("/plan/bank", params={"key": fault.path}).text
    assert 'class="bad"' in section
    assert fault.hint.split(".")[0] in section.replace("&#34;", '"')


@pytest.mark.slow
def test_a_module_more_and_a_module_less(web, path):
    count = len(desk_of(web).look().job.bank.modules)
    last = f"modules[{count - 1}]"
    answer = web.post("/plan/another", data={"path": last, "digest": digest_of(web)}, follow_redirects=False)
    assert answer.status_code in (303, 422)
    if answer.status_code == 303:
        assert len(desk_of(web).look().job.bank.modules) == count + 1
        web.post("/plan/without", data={"path": f"modules[{count}]", "digest": digest_of(web)})
    assert len(desk_of(web).look().job.bank.modules) == count


@pytest.mark.slow
def test_every_section_of_the_file_opens(web):
    page = web.get("/plan/bank").text
    links = set(re.findall(r'href="(/plan/bank\?key=[^"#]+)', page))
    assert len(links) > 6
    for link in links:
        assert web.get(link).status_code == 200, link


def test_text_in_a_file_never_becomes_markup(web, path):
    edit(web, "title", "<script>alert(1)</script>\"'&")
    page = web.get("/plan").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_the_example_in_a_field_could_stand_there(tmp_path):
    with client(bank_file(tmp_path, "two")) as web:
        text = web.get("/plan/bank?key=site.door").text
        assert 'placeholder="for example 1.5 m"' in text, "the door is no cable of 320 mm"
