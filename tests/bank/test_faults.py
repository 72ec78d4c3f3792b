"""Every fault of a bank file is told at its place, with what was found and what would be right."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from bankwright.bank.read import BankFileError, bank_from_text, faults_in
from bankwright.forms.faults import Fault
from support.banks import BANKS, document

pytestmark = pytest.mark.quick

TWO, FIVE = document("two").text, document("five").text
HERE = BANKS / "text.toml"


def faults(text: str, old: str = "", new: str = "") -> tuple[Fault, ...]:
    assert old in text, old
    return faults_in(text.replace(old, new) if old else text, HERE)


def only(text: str, old: str, new: str) -> Fault:
    found = faults(text, old, new)
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


ROWS = tomllib.loads((Path(__file__).parent / "single_faults.toml").read_text("utf-8"))["rows"]
SINGLE = [(TWO if row[0] == "two" else FIVE, *row[1:]) for row in ROWS]


@pytest.mark.parametrize(
    ("text", "old", "new", "code", "path", "words"), SINGLE, ids=[f"{r[3]}-{r[4]}" for r in SINGLE]
)
def test_a_fault_is_told_at_its_place(text: str, old: str, new: str, code: str, path: str, words: str) -> None:
    matching = [fault for fault in faults(text, old, new) if fault.path == path]
    assert len(matching) == 1, faults(text, old, new)
    fault = matching[0]
    assert fault.code == code
    assert words in str(fault)
    assert fault.place is not None
    assert fault.place.file == "text.toml"


SECOND = {"not-a-name-modules[1].name", "not-a-name-bars[1].name"}  # a bad name also leads nowhere


def test_a_single_mistake_gives_a_single_fault() -> None:
    for text, old, new, code, path, _ in SINGLE:
        if f"{code}-{path}" not in SECOND:
            only(text, old, new)


def test_all_faults_come_at_once_in_the_order_of_the_file() -> None:
    text = TWO.replace("slot = 2", "slot = 1").replace("320 mm", "320").replace('"100 Ah"', '"100"')
    with pytest.raises(BankFileError) as caught:
        bank_from_text(text, HERE)
    assert [fault.path for fault in caught.value.faults] == [
        "kinds.module.M100.capacity",
        "modules[1].slot",
        "wiring.link.length",
    ]
    assert [fault.place.line for fault in caught.value.faults if fault.place] == [14, 47, 52]
    assert str(caught.value).endswith("3 faults in text.toml. Nothing was computed.")


def test_line_and_column_point_at_the_key() -> None:
    fault = only(TWO, 'length = "320 mm"', 'length = "320"')
    assert fault.place is not None
    line = TWO.split("\n")[fault.place.line - 1]
    assert line[fault.place.column - 1 :].startswith("length")


def test_the_other_place_of_a_contradiction_is_named() -> None:
    fault = only(TWO, "slot = 2", "slot = 1")
    assert fault.also is not None
    assert TWO.split("\n")[fault.also.line - 1] == "slot = 1"


def test_no_reference_to_a_faulty_entry_is_blamed() -> None:
    found = faults(TWO.replace('"100 Ah"', '"100"').replace('rating = "300 A"', "rating = 300"))
    assert [fault.path for fault in found] == ["kinds.module.M100.capacity", "kinds.device.fuse-300.rating"]


def test_numbers_of_blocks_are_those_of_the_file_after_one_was_lifted_out() -> None:
    text = FIVE.replace('name = "M2"\nkind = "M100"\nslot = 2', 'name = "M2"\nkind = "M100"\nslot = "two"').replace(
        "slot = 5", "slot = 4"
    )
    found = faults(text)
    assert [fault.path for fault in found] == ["modules[1].slot", "modules[4].slot"]
    assert text.split("\n")[found[1].place.line - 1 if found[1].place else 0] == "slot = 4"


def test_double_addresses_are_told() -> None:
    text = TWO.replace("slot = 1", "slot = 1\naddress = 3").replace("slot = 2", "slot = 2\naddress = 3")
    (fault,) = faults(text)
    assert fault.code == "double-address"
    assert "M1 already has it" in fault.found


def test_modules_of_unlike_cell_counts_are_a_fault() -> None:
    text = TWO.replace("[kinds.device.fuse-300]", "[kinds.module.odd]\ncells = 15\n\n[kinds.device.fuse-300]")
    text = text.replace('name = "M2"\nkind = "M100"', 'name = "M2"\nkind = "odd"')
    (fault,) = faults(text)
    assert fault.code == "unlike-cells"
    assert "M2 has 15 cells in series; M1 has 16" in fault.found


def test_a_higher_slot_below_a_lower_one_is_told() -> None:
    text = (
        FIVE.replace("unit = 1\n", "unit = 99\n")
        .replace("unit = 4\n", "unit = 1\n")
        .replace("unit = 99\n", "unit = 4\n")
    )
    (fault,) = faults(text)
    assert "Slot 1 is the lowest" in str(fault)


LISTED = TWO.replace('pattern = "chain"\nfeed = "opposite ends"', 'pattern = "listed"').split("[[devices]]")[0]


def links(*rows: tuple[str, str, str]) -> str:
    return LISTED + "".join(f'[[links]]\nname = "{n}"\nfrom = "{a}"\nto = "{b}"\n' for n, a, b in rows)


@pytest.mark.parametrize(
    ("row", "code", "words"),
    [
        (("X", "M1+", "M1-"), "bridged", "X bridges M1: from M1+ to M1- is a short circuit"),
        (("X", "M1+", "M2-"), "poles-mixed", "two poles"),
        (("X", "M1+", "M1+"), "link-to-itself", "ends where it starts"),
        (("X", "M9+", "M1+"), "unknown-post", "there is no such post"),
        (("X", "M1+b", "M2+"), "unknown-post", "Its posts are M1+, M1-"),
    ],
)
def test_a_listed_link_that_cannot_be_is_told(row: tuple[str, str, str], code: str, words: str) -> None:
    (fault,) = faults(links(("L1+", "M1+", "M2+"), row))
    assert fault.code == code
    assert words in str(fault)


def test_a_listed_link_needs_both_ends() -> None:
    (fault,) = faults(LISTED + '[[links]]\nname = "L1+"\nfrom = "M1+"\n')
    assert 'the key "to" is missing' in fault.found


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([("L1+", "M1+", "M2+")], "M2- is joined to nothing of the bank (M1- ...)"),
        ([("L1+", "M1+", "M2+"), ("L1-", "M1-", "M2-"), ("x+", "J+", "J2+")], "J+, J2+ are joined to nothing"),
    ],
)
def test_a_part_that_nothing_joins_is_told(rows: list[tuple[str, str, str]], words: str) -> None:
    (fault,) = faults(links(*rows))
    assert fault.code == "not-joined"
    assert words in str(fault)


def test_an_inverter_without_a_stud_is_told() -> None:
    studs = "".join(f'[[bars]]\nname = "bar{p}"\npole = "{p}"\nstuds = ["M1", "M2"]\n' for p in "+-")
    text = TWO.replace('pattern = "chain"\nfeed = "opposite ends"', 'pattern = "busbar"') + studs
    text = "\n".join(line for line in text.split("\n") if not line.startswith("main = ")).split("[[devices]]")
    found = faults(text[0] + "[[inverters]]" + text[1].split("[[inverters]]")[1])
    assert [fault.path for fault in found] == ["inverters[0]", "inverters[0]"]
    assert {fault.code for fault in found} == {"not-joined"}


def test_feed_beside_listed_studs_contradicts() -> None:
    text = FIVE.replace(
        '[[bars]]\nname = "bar+"', '[[bars]]\nstuds = ["M1", "M2", "M3", "M4", "M5", "main"]\nname = "bar+"'
    )
    (fault,) = faults(text)
    assert fault.code == "feed-contradicts"


@pytest.mark.parametrize(
    ("studs", "words"),
    [
        ('["M1", "M2", "M3", "M4", "main"]', "M5 has no stud"),
        ('["M1", "M2", "M3", "M4", "M5", "M5", "main"]', '"M5" is on 2 studs'),
        ('["M1", "M2", "M3", "M4", "M5", "M6", "main"]', 'found "M6" on a stud'),
        ('["M1", "M2", "M3", "M4", "M5"]', "the main has no stud"),
        ('["M1", 2]', "Write what sits on each stud"),
    ],
)
def test_studs_hold_what_the_bank_has(studs: str, words: str) -> None:
    text = FIVE.replace('feed = "opposite ends"\n', "").replace(
        '[[bars]]\nname = "bar+"', f'[[bars]]\nstuds = {studs}\nname = "bar+"'
    )
    found = faults(text)
    assert any(words in str(fault) for fault in found), "\n".join(map(str, found))


def test_a_missing_fuse_is_no_fault() -> None:
    assert faults(TWO.split("[[devices]]")[0] + "[[inverters]]" + TWO.split("[[inverters]]")[1]) == ()
