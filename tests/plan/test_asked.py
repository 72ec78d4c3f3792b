"""Plan turned round: questions in the order of what they settle, their boxes, progress, and letters to makers."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.read import faults_in
from bankwright.bank.talk.of_key import box_of, hear_box, home_of, opens_as, put
from bankwright.bank.texts.starter import Start, starter
from bankwright.job import Job
from bankwright.plan.lists.asked import TEN, asked, settled, tape
from bankwright.plan.lists.letters import answers_in, letters

GARAGE = Start(
    title="Garage", mass="45 kg", power="6.5 kW", lowest_voltage="44 V", pattern="chain", units="us", rules="nec-2023"
)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    path = tmp_path_factory.mktemp("asked") / "garage.toml"
    path.write_text(starter(GARAGE), "utf-8")
    return Job(path)


def test_those_that_settle_most_come_first_and_each_is_numbered_once(job: Job) -> None:
    open_ = asked(job.findings, job.document, job.units)
    assert [q.number for q in open_] == list(range(1, len(open_) + 1))
    assert [q.settles for q in open_] == sorted((q.settles for q in open_), reverse=True)
    assert len(open_) > TEN
    assert all(q.box is not None for q in open_[:TEN])
    assert all(q.waiting for q in open_)
    assert all("." not in q.text.split()[0] and "kinds." not in q.text for q in open_[:TEN])  # no keys


def test_an_answer_settles_what_waited_for_it_and_the_tape_moves(job: Job) -> None:
    open_ = asked(job.findings, job.document, job.units)
    question = next(q for q in open_ if q.keys == ("kinds.module.module.mass",) or q.keys[0].endswith("posts.stud"))
    assert question.box is not None
    after = Job(job.path, put(job.document, question.box, "M8").text)
    became = settled(question, after.findings)
    assert sum(became.values()) == question.settles
    before, now = tape(job.findings, open_), tape(after.findings, asked(after.findings, after.document, after.units))
    assert question.keys not in {q.keys for q in asked(after.findings, after.document)}
    assert now.known >= before.known
    assert before.after_ten == before.known + TEN


BOXES = (
    ("kinds.module.module.breaker.interrupts", "40", 'interrupts = "40 kA"'),
    ("kinds.module.module.posts.stud", "m8", '"M8"'),
    ("kinds.module.module.posts.lugs", "2", "lugs = 2"),
    ("kinds.module.module.discharge.trip", "150", '"150 A"'),
    ("kinds.module.module.resistance.ohmic", "6", '"6 mohm"'),
    ("kinds.device.main-switch.breaks_load", "y", "breaks_load = true"),
    ("kinds.inverter.inverter.phases", "2", "phases = 2"),
    ("site.earthing.pole", "no", 'pole = "none"'),
    ("wiring.link.insulation", "90", '"90 degC"'),
    ("kinds.lug.lug.hole", "8.4", '"8.4 mm"'),
    ("wiring.main.lug", "l", 'lug = "lug"'),
    ("site.ambient", "5 degC to 35 degC", '"5 degC to 35 degC"'),
)


@pytest.mark.parametrize(("key", "typed", "stands"), BOXES)
def test_what_is_typed_into_a_box_stands_in_the_file_as_it_should(job: Job, key: str, typed: str, stands: str) -> None:
    box = box_of(key, job.document, "us")
    assert box is not None, key
    heard = hear_box(box, typed)
    assert heard.how == "taken", heard
    text = put(job.document, box, heard.text).text
    assert stands in text
    assert faults_in(text, job.path) == ()


@pytest.mark.parametrize(
    ("key", "typed"),
    [("kinds.module.module.breaker.interrupts", "forty"), ("kinds.inverter.inverter.phases", "two"),
     ("kinds.module.module.posts.stud", "M7"), ("site.earthing.pole", "x"), ("site.ambient", "warm")],
)  # fmt: skip
def test_what_cannot_stand_is_not_taken(job: Job, key: str, typed: str) -> None:
    box = box_of(key, job.document)
    assert box is not None
    assert hear_box(box, typed).how != "taken"


def test_curves_whole_tables_and_nonsense_have_no_box(job: Job) -> None:
    for key in ("kinds.device.main-fuse.curve", "kinds.module.module.posts", "kinds.module.module.nothing", "[", "x.y"):
        assert box_of(key, job.document) is None, key
    assert opens_as("kinds.module.module.breaker") == "kinds.module.module.breaker.interrupts"
    assert opens_as("kinds.module.module.mass") == "kinds.module.module.mass"


def test_a_kind_in_a_file_of_its_own_is_answered_there(tmp_path: Path) -> None:
    (tmp_path / "kinds.toml").write_text('[kinds.module.M100]\ncells = 16\ncapacity = "100 Ah"\n', "utf-8")
    main = tmp_path / "bank.toml"
    main.write_text('format = 1\ninclude = ["kinds.toml"]\n', "utf-8")
    document = Document.read(main)
    box = box_of("kinds.module.M100.mass", document)
    assert box is not None
    assert home_of(document, box.key).path.name == "kinds.toml"
    assert 'mass = "45 kg"' in put(document, box, "45 kg").text


def test_a_letter_holds_the_questions_of_one_product_and_its_answers_come_back_by_the_same_words(job: Job) -> None:
    open_ = asked(job.findings, job.document, job.units)
    made = letters(open_, "Garage")
    module = next(text for text in made if "data of the module" in text)
    of_it = [q for q in open_ if q.who == "maker" and q.kind == "module module"]
    for question in of_it:
        assert "".join(question.text.split()) in "".join(module.split()), question.text
    filled = "\n".join(f"> {line}" for line in module.splitlines())
    parts = filled.split("Answer:")
    filled = "Answer: M8".join((parts[0], "Answer:".join(parts[1:])))
    found = list(answers_in(filled, open_))
    assert [(q.keys, answer) for q, answer in found] == [(of_it[0].keys, "M8")]
    assert list(answers_in("nothing of ours\nAnswer: 5", open_)) == []
