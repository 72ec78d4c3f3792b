"""Small tables of our own in a page of cells: lists with a colon, headings of several lines, tables side by side."""

from bankwright.sheets.colons import hung, parts_here
from bankwright.sheets.flow import flowing
from bankwright.sheets.headings import piled
from bankwright.sheets.layout import sheet_of_pages
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.row import Cell


def cell(text, x0, top, *, bold=False, size=9.0):
    return Cell(text, x0, x0 + 0.5 * size * len(text), top, top + size, size, bold)


def page(*lines):
    return PagePlan(1, tuple(lines), (), ())


def words(text):
    return [{"text": part} for part in text.split()]


def test_a_label_ends_at_its_colon_and_a_sentence_does_not():
    assert parts_here(words("Max. charge current:"), words("60 A"))
    assert parts_here(words("Poids net :"), words("21 kg"))
    assert not parts_here(words("It is small. Note:"), words("60 A"))
    assert not parts_here(words("from 5 to:"), words("60 A"))


def test_a_value_that_goes_on_at_the_edge_of_its_label_is_joined():
    lines = [
        (cell("Charge voltage:", 40, 10, bold=True), cell("48 V to", 130, 10)),
        (cell("57 V", 40, 20),),
        (cell("Weight:", 40, 31, bold=True), cell("9 kg", 90, 31)),
        (cell("Made for dry rooms", 40, 42),),
    ]
    made = hung(lines)
    assert [[c.text for c in line] for line in made] == [
        ["Charge voltage:", "48 V to 57 V"],
        ["Weight:", "9 kg"],
        ["Made for dry rooms"],
    ]


def test_headings_of_three_lines_are_one_with_their_units():
    lines = [
        (cell("Cold", 150, 10, bold=True), cell("Total", 250, 10, bold=True)),
        (cell("Part", 40, 20, bold=True), cell("resistance", 140, 20, bold=True), cell("I²t, DC", 246, 20, bold=True)),
        (cell("number", 40, 30, bold=True), cell("mΩ", 155, 30, bold=True), cell("A²s", 255, 30, bold=True)),
        (cell("TT-60", 40, 44), cell("1.2", 155, 44), cell("2,400", 250, 44)),
        (cell("TT-80", 40, 56), cell("0.9", 155, 56), cell("4,100", 250, 56)),
    ]
    assert [c.text for c in piled(lines)[0]] == ["Part number", "Cold resistance mΩ", "Total I²t, DC A²s"]
    rows = sheet_of_pages([page(*lines)]).rows
    assert [(r.label, r.values, r.heads) for r in rows[2:4]] == [
        ("Cold resistance mΩ", ("1.2",), ("TT-60",)),
        ("Total I²t, DC A²s", ("2,400",), ("TT-60",)),
    ]


def test_tables_side_by_side_under_headings_of_their_own_are_read_one_after_the_other():
    head = (cell("Times", 40, 10, bold=True, size=11), cell("Derating", 300, 10, bold=True, size=11))
    body = [
        (
            cell(f"{n} A", 40, 20 + n / 10),
            cell("9 s", 100, 20 + n / 10),
            cell(f"{n} °C", 300, 20 + n / 10),
            cell("1 %", 380, 20),
        )
        for n in (100, 200, 300)
    ]
    parts = [line for part in flowing(page(head, *body)) for line in part.lines]
    assert [[c.text for c in line] for line in parts][:5] == [
        ["Times"],
        ["100 A", "9 s"],
        ["200 A", "9 s"],
        ["300 A", "9 s"],
        ["Derating"],
    ]


def test_lines_of_running_text_with_wide_gaps_are_one_paragraph():
    long = "The unit charges the bank with as much as fifty amperes when the mains"
    lines = [(cell(long, 40, 10),), (cell("voltage is present; it weighs 9 kg.", 40, 25),), (cell("Short", 40, 60),)]
    assert next(row.label for row in sheet_of_pages([page(*lines)]).rows).endswith(
        "mains voltage is present; it weighs 9 kg."
    )
