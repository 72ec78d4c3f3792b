"""Build, Buy and Match on the page: ticks and readings stored once, by several devices, and what follows from them."""

import re
import threading
from urllib.parse import quote

import pytest

from bankwright.logbook.logbook import open_logbook
from support.page import bank_file, client, desk_of

PNG = bytes.fromhex("89504e470d0a1a0a0000000d49484452") + bytes(64)


@pytest.fixture
def path(tmp_path):
    return bank_file(tmp_path)


@pytest.fixture
def web(path):
    with client(path) as made:
        yield made


def first_step(web):
    return desk_of(web).look().job.sheet.steps[0]


def send(web, *entries):
    answer = web.post("/api/entries", json={"entries": list(entries)})
    assert answer.status_code == 200, answer.text
    return answer.json()["results"]


def tick(id_, step, box, done=True, age=0.0):
    return {"id": id_, "kind": "tick", "step": step.id, "box": box, "done": done, "age": age}


@pytest.mark.slow
def test_build_goes_on_where_the_work_stands(web):
    step = first_step(web)
    assert web.get("/build").url.path == f"/build/step/{step.id}"
    send(web, *(tick(f"{n:016x}", step, box.id) for n, box in enumerate(step.ticks)))
    second = desk_of(web).look().job.sheet.steps[1]
    assert web.get("/build").url.path == f"/build/step/{second.id}"
    assert "step 2 of" in web.get("/plan").text


def test_an_entry_sent_twice_is_stored_once(web, path):
    entry = tick("a" * 16, first_step(web), first_step(web).ticks[0].id)
    first, second = send(web, entry)[0], send(web, entry)[0]
    assert (first["again"], second["again"]) == (False, True)
    assert first["number"] == second["number"]
    with open_logbook(path, write=False) as book:
        assert len(list(book.entries(kind="tick"))) == 1


@pytest.mark.slow
def test_two_devices_at_once_lose_nothing(path):
    with client(path) as one, client(path) as two:
        step = first_step(one)
        box = step.ticks[0].id
        together = [
            threading.Thread(target=send, args=(web, *(tick(f"{base + n:016x}", step, box) for n in range(8))))
            for web, base in ((one, 1000), (two, 2000))
        ]
        for thread in together:
            thread.start()
        for thread in together:
            thread.join()
        assert re.search(r'type="checkbox"[^>]* checked', two.get("/build/step/" + quote(step.id)).text)
    with open_logbook(path, write=False) as book:
        assert len(list(book.entries(kind="tick"))) == 16


@pytest.mark.slow
def test_an_entry_that_waited_carries_the_time_it_was_made(web, path):
    send(web, tick("b" * 16, first_step(web), first_step(web).ticks[0].id, age=3600.0))
    with open_logbook(path, write=False) as book:
        entry = book.entry_by_id("b" * 16)
        assert entry.when.wall[:13] != entry.stored.wall[:13]


@pytest.mark.slow
def test_a_refused_entry_says_why_and_the_others_stand(web):
    step = first_step(web)
    good, bad = send(web, tick("c" * 16, step, step.ticks[0].id), tick("d" * 16, step, "no such box"))
    assert good["number"] is not None
    assert bad["number"] is None
    assert bad["faults"][0]["code"] == "unknown-box"


def reading_step(web):
    return next(s for s in desk_of(web).look().job.sheet.steps if s.readings and s.readings[0].quantity == "voltage")


@pytest.mark.slow
def test_each_reading_of_a_place_is_held_against_its_own_limits(web):
    """A pole is read twice, volts to the frame and resistance: each has limits of its own."""
    step = next(s for s in desk_of(web).look().job.sheet.steps if s.id == "build.poles")
    at = step.readings[0].at
    given = {w.quantity: w for w in step.readings if w.at == at}
    assert set(given) == {"frame_voltage", "resistance"}
    values = {"frame_voltage": ("0.2 V", "48 V"), "resistance": ("5 Mohm", "900 ohm")}
    for number, (quantity, texts) in enumerate(values.items()):
        sent = [
            {
                "id": f"{number:015x}{n}",
                "kind": "reading",
                "step": step.id,
                "at": at,
                "quantity": quantity,
                "text": text,
            }
            for n, text in enumerate(texts)
        ]
        within, outside = send(web, *sent)
        assert within["faults"] == outside["faults"] == []
        assert within["warning"] == ""
        assert "outside what this step expects" in outside["warning"]


def test_without_script_each_reading_of_a_place_is_kept_as_its_own_quantity(web, path):
    step = next(s for s in desk_of(web).look().job.sheet.steps if s.id == "build.poles")
    at = step.readings[0].at
    form = {f"read frame_voltage {at}": "0.2", f"read resistance {at}": "5 Mohm"}
    assert web.post(f"/build/step/{step.id}", data=form).status_code == 200
    with open_logbook(path, write=False) as book:
        assert {(e.quantity, e.value) for e in book.entries(kind="reading")} == {
            ("frame_voltage", 0.2),
            ("resistance", 5e6),
        }


def test_a_reading_is_kept_as_typed_and_one_outside_is_stored_with_a_warning(web, path):
    step = reading_step(web)
    at = step.readings[0].at
    base = {"kind": "reading", "step": step.id, "at": at}
    good, low, words = send(
        web,
        base | {"id": "1" * 16, "text": "52.6 V"},
        base | {"id": "2" * 16, "text": "33 V"},
        base | {"id": "3" * 16, "text": "plenty"},
    )
    assert (good["number"] is not None, good["warning"]) == (True, "")
    assert "lies outside" in low["warning"]
    assert words["number"] is None
    with open_logbook(path, write=False) as book:
        assert book.entry_by_id("1" * 16).as_typed == "52.6 V"
    assert "Read: <b>33 V</b>" in web.get("/build/step/" + quote(step.id)).text


@pytest.mark.slow
def test_cautions_stand_before_the_acts_on_every_step(web):
    for step in desk_of(web).look().job.sheet.steps[::6]:
        page = web.get("/build/step/" + quote(step.id, safe="")).text
        if step.cautions:
            assert page.index("Before your hand goes in") < page.index('<ol class="acts">'), step.id


@pytest.mark.slow
def test_ticks_work_without_script(web):
    step = first_step(web)
    body = {"box": [box.id for box in step.ticks]}
    page = web.post("/build/step/" + quote(step.id), data=body).text
    assert len(re.findall(r'type="checkbox"[^>]* checked', page)) == len(step.ticks)


def test_a_photo_is_kept_under_a_name_of_our_own(web, path):
    hostile = "../../../etc/passwd\x00.png"
    body = {"id": "e" * 16, "step": first_step(web).id}
    answer = web.post("/api/photo", data=body, files={"photo": (hostile, PNG, "image/png")})
    assert answer.json()["number"] is not None
    kept = [p.relative_to(path.parent).as_posix() for p in path.parent.rglob("*") if p.is_file()]
    assert "photos/" + "e" * 16 + ".png" in kept
    assert all(p.startswith(("photos/", "five.")) for p in kept)


def test_what_is_no_photo_is_refused(web, path):
    answer = web.post("/api/photo", data={"id": "f" * 16}, files={"photo": ("x.png", b"<script>", "image/png")})
    assert answer.json()["faults"][0]["code"] == "no-photo"
    assert not (path.parent / "photos").exists()


@pytest.mark.slow
def test_what_is_bought_is_ticked_off_and_opens_again_when_the_list_grows(web):
    desk = desk_of(web)
    line = next(x for x in desk.shop.listing(desk.look().job).lines if x.order > 0 and x.unit == "piece")
    total = web.get("/plan").text
    web.post("/buy/got", data={"item": line.item, "done": "yes"})
    left = re.search(r"(\d+) of (\d+) parts to get", web.get("/plan").text)
    assert int(left[1]) == int(left[2]) - 1
    assert total != web.get("/plan").text
    web.post("/buy/have", data={"item": line.item, "have": "1"})
    again = re.search(r"(\d+) of (\d+) parts to get", web.get("/plan").text)
    assert int(again[1]) == int(again[2])


@pytest.mark.slow
def test_a_reel_makes_a_cut_plan_that_is_drawn(web, path):
    item = desk_of(web).shop.listing(desk_of(web).look().job).cuttings[0].item
    assert "Cut plan, to scale" not in web.get("/buy").text
    page = web.post("/buy/reel", data={"item": item, "length": "30 m", "price": "90"}).text
    assert "Cut plan, to scale" in page
    assert "[[reel]]" in (path.parent / "five.shopping.toml").read_text()
    bad = web.post("/buy/reel", data={"item": item, "length": "thirty"})
    assert bad.status_code == 422
    assert "Not written" in bad.text


@pytest.mark.slow
def test_a_shopping_file_with_faults_is_told_on_buy_and_stops_no_other_page(web, path):
    (path.parent / "five.shopping.toml").write_text('spares = "many"\n[have]\nnothing = 3\n')
    answer = web.get("/buy")
    assert answer.status_code == 422
    assert "many" in answer.text
    for other in ("/plan", "/build/all", "/match", "/at/M1", "/fire"):
        assert web.get(other).status_code == 200, other
    assert web.post("/buy/have", data={"item": "x", "have": "1"}).status_code == 422


def test_the_list_as_csv_holds_every_line(web):
    rows = web.get("/buy/parts.csv").text.strip().splitlines()
    while not rows[0].startswith("order,"):
        rows.pop(0)  # what Plan fails stands on top
    assert len(rows) == 1 + len(desk_of(web).shop.listing(desk_of(web).look().job).lines)


def volts(web, *values, **more):
    names = [m.name for m in desk_of(web).look().job.bank.modules]
    body = {f"voltage {n}": v for n, v in zip(names, values, strict=False)}
    return web.post("/match", data=body | {"meter": "0.5 % + 2 digits", "rested all": "12 h"} | more)


@pytest.mark.slow
def test_match_gives_two_verdicts_each_with_its_own_margin(web):
    page = volts(web, "53.11", "53.10", "53.12", "53.10", "53.11").text
    assert page.split('<div class="verdicts">')[1].split('<div class="two')[0].count('<section class="') == 2
    assert page.index("May they be joined?") < page.index("Are they equally charged?")
    assert "Gentlest order of closing" in page
    assert "Settling currents" in page
    assert "5 of 5 modules read" in page


@pytest.mark.slow
def test_readings_that_cannot_be_are_marked_and_nothing_is_stored(web, path):
    answer = volts(web, "53.11", "3.3", "53.12", "53.10", "53.11")
    assert answer.status_code == 422
    assert 'class="bad"' in answer.text
    assert 'value="53.11"' in answer.text
    assert not path.with_suffix(".logbook").exists()
