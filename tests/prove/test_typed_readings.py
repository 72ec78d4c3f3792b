"""Readings as typed: files and options, and everything that cannot be said together with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.forms.faults import QuestionError
from bankwright.prove.currents import Level
from bankwright.prove.entry import COLUMNS, Row, drops_of, rounds_of, rows_from_csv, temperatures_of
from bankwright.prove.typed import Typed, millivolt_subject_of, share_subject_of
from support.proved import barn, solved

pytestmark = pytest.mark.quick

GOOD = """at,load,age,round,clamp,bus,volts,millivolts,zero,temperature
M1,0 A,,,0.1 A,0.0 A,52.8 V,,,21 degC
M1,200 A,40 s,1,40.6 A,40.5 A,52.2 V,,,
main+,200 A,70 s,1,200.3 A,,,,,
L3+@M3+,200 A,90 s,,,,,38.7 mV,0.1 mV,
"""


def file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_file_holds_currents_volts_and_millivolts(tmp_path: Path, separator: str) -> None:
    rows = rows_from_csv(file(tmp_path, GOOD.replace(",", separator)))
    rounds = rounds_of(barn(), rows)
    assert [each.level.load for each in rounds] == [0.0, 200.0]
    assert [(r.at, r.by, r.value, r.age) for r in rounds[1].currents] == [
        ("M1", "clamp", 40.6, 40.0),
        ("M1", "bus", 40.5, 40.0),
        ("main+", "clamp", 200.3, 70.0),
    ]
    assert rounds[0].volts == {"M1": 52.8}
    (drop,) = drops_of(barn(), rows)
    assert (drop.at, drop.level, drop.age) == ("L3+@M3+", Level(200.0), 90.0)
    assert drop.value == pytest.approx(38.6e-3)
    assert temperatures_of(barn(), rows) == {"M1": 21.0}


BAD = [
    ("M9,200 A,40 s,1,40 A", "M9 is not a module or a link", "M9 clamp"),
    ("M1,200 A,40 s,1,40", "a unit is missing", "no unit"),
    ("M1,200 A,40 s,1,40 V", "", "another quantity"),
    ("M1,,40 s,1,40 A", "this row has no load", "no load"),
    ("M1,200 A,-40 s,1,40 A", "an age is not negative", "age"),
    ("M1,200 A,40 s,first,40 A", "found 'first'", "round"),
    ("M1,200 A,40 s,1,40000 A", "no bank here carries more", "a slipped digit"),
    ("M1,nan A,40 s,1,40 A", "", "not a number"),
]


@pytest.mark.parametrize(("row", "words", "why"), BAD)
def test_what_cannot_be_is_said_with_its_line(tmp_path: Path, row: str, words: str, why: str) -> None:
    rows = rows_from_csv(file(tmp_path, f"at,load,age,round,clamp\nM2,0 A,,1,0.1 A\n{row}\n"))
    with pytest.raises(QuestionError) as caught:
        rounds_of(barn(), rows)
    assert words in str(caught.value), why
    assert "readings.csv:3" in str(caught.value)


def test_all_faults_come_together(tmp_path: Path) -> None:
    lines = "".join(f"{row}\n" for row, _, _ in BAD)
    with pytest.raises(QuestionError) as caught:
        rounds_of(barn(), rows_from_csv(file(tmp_path, f"at,load,age,round,clamp\n{lines}")))
    assert len(caught.value.faults) >= len(BAD)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("at,load,amps\nM1,0 A,1 A\n", "found the columns at, load, amps"),
        ("load,clamp\n0 A,1 A\n", "found the columns load, clamp"),
        ("at,load,clamp\nM1,0 A,1 A,2 A\n", "more values than columns"),
        ("", "found the columns none"),
    ],
)
def test_a_file_of_another_shape(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(QuestionError, match=words):
        rows_from_csv(file(tmp_path, text))


def test_a_file_that_is_not_there_or_no_text(tmp_path: Path) -> None:
    with pytest.raises(QuestionError, match=r"none\.csv"):
        rows_from_csv(tmp_path / "none.csv")
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00at")
    with pytest.raises(QuestionError, match=r"odd\.csv"):
        rows_from_csv(tmp_path / "odd.csv")


def test_volts_are_read_at_modules_inverters_and_where_the_mains_meet_the_bank(tmp_path: Path) -> None:
    text = "at,load,volts\nM1,0 A,52.8 V\nI1,0 A,52.7 V\nbank,0 A,52.8 V\n"
    (found,) = rounds_of(barn(), rows_from_csv(file(tmp_path, text)))
    assert found.volts == {"M1": 52.8, "I1": 52.7, "bank": 52.8}


def row(at: str, **text: str) -> Row:
    return Row(at, {"load": "200 A", **text})


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([row("M1", clamp="40 A"), row("M1", clamp="41 A")], "two readings of M1"),
        ([row("main+", bus="200 A")], "the data bus tells the currents of modules"),
        ([row("main+", volts="52 V")], "main. is not a module, an inverter or"),
        ([row("M1", volts="5.2 V")], "16 LFP cells lie between"),
        ([row("M1", clamp="40 A", on="I7")], "I7 is not in this bank"),
        ([row("M1", clamp="40 A", off="M1 M2 M3 M4 M5")], "every module is off"),
    ],
)
def test_rows_that_contradict_the_bank(rows: list[Row], words: str) -> None:
    with pytest.raises(QuestionError, match=words):
        rounds_of(barn(), rows)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([row("L3+@M33", millivolts="1 mV")], "is not a joint, link or device"),
        ([row("L3+", millivolts="14.5 V")], "write mV"),
        ([row("M1", millivolts="14.5 mV")], "M1 is not a joint, link or device"),
        ([Row("L3+", {"load": "0 A", "millivolts": "14 mV"})], "millivolts are read under load"),
        ([row("L3+", millivolts="14 mV"), row("L3+", millivolts="15 mV")], "two readings of L3+"),
    ],
)
def test_millivolts_that_contradict_the_bank(rows: list[Row], words: str) -> None:
    with pytest.raises(QuestionError) as caught:
        drops_of(barn(), rows)
    assert words in str(caught.value)


def test_options_speak_of_one_load() -> None:
    typed = Typed(("M1=0.1A",), ("M1=40.6A",), load="200 A", age="40 s", on="I1", temperature=("21 degC", "M3=17 degC"))
    subject = share_subject_of(barn(), solved("bars"), typed)
    assert subject.rounds[1].level == Level(200.0, ("I1",))
    assert subject.cells_degc == {"M1": 21.0, "M2": 21.0, "M3": 17.0, "M4": 21.0, "M5": 21.0}
    assert subject.clamp.zero == 0.5
    assert share_subject_of(barn(), solved("bars"), Typed(zeroed=True, zero=("M1=0A",))).clamp.zero == 0.2


def test_options_for_millivolts() -> None:
    typed = Typed(drop=("L3+@M3+=1.6mV",), drop_zero=("L3+@M3+=0.1mV",), load="80 A", off="M1 M2 M4 M5", step="0.01 mV")
    subject = millivolt_subject_of(barn(), solved("bars"), typed)
    assert subject.reads[0].value == pytest.approx(1.5e-3)
    assert subject.reads[0].level == Level(80.0, (), frozenset({"M1", "M2", "M4", "M5"}))
    assert subject.meter.step == 1e-5


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (Typed(current=("40.6A",), load="200 A"), "Write M1=40.6A"),
        (Typed(current=("M1=40.6A",)), "this row has no load"),
        (Typed(zero=("M1=0A",), room="warm"), "--room"),
        (Typed(zero=("M1=0A",), meter="tong"), "no instrument"),
    ],
)
def test_options_that_say_nothing(typed: Typed, words: str) -> None:
    with pytest.raises(QuestionError) as caught:
        share_subject_of(barn(), solved("bars"), typed)
    assert words in str(caught.value)


def test_the_columns_are_these() -> None:
    assert len(COLUMNS) == len(set(COLUMNS)) == 12
