"""Layouts of our own as cells of a page or pasted text: cards, boxes, bullets, rows in one cell, wrapped labels."""

from bankwright.sheets.bullets import without_bullets
from bankwright.sheets.cards import carded
from bankwright.sheets.centred import centred
from bankwright.sheets.grid import boxed
from bankwright.sheets.layout import sheet_of_pages
from bankwright.sheets.lone import parted_rows
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.pasted import sheet_of_text
from bankwright.sheets.pasted_wraps import unwrapped
from bankwright.sheets.split import split_row
from bankwright.sheets.stacked_cells import stacked_cells
from sheets.test_lists_and_headings import cell, page


def texts(lines):
    return [[c.text for c in line] for line in lines]


def cards(*rows, over):
    """Lines of labels in small letters with bold values under or over them."""
    lines = []
    for n, row in enumerate(rows):
        top = 40.0 + 40 * n
        labels = tuple(cell(label, 40 + 150 * k, top + 14 * (1 - over), size=7.0) for k, (label, _) in enumerate(row))
        values = tuple(
            cell(value, 40 + 150 * k, top + 9 * over, bold=True, size=11.0) for k, (_, value) in enumerate(row)
        )
        lines += [labels, values] if over else [values, labels]
    return lines


def test_a_card_is_a_row_whichever_half_is_the_label():
    rows = (
        (("Rated capacity", "100 Ah"), ("Stored energy", "5.1 kWh")),
        (("Net mass", "44 kg"), ("Cells in series", "16")),
    )
    flat = [list(pair) for row in rows for pair in row]
    for over in (True, False):
        assert texts(carded(cards(*rows, over=over))) == flat


def test_headings_of_a_table_are_no_cards():
    lines = [
        tuple(cell(t, 40 + 90 * k, 10, bold=True) for k, t in enumerate(("Type", "A", "V", "kA"))),
        tuple(cell(t, 40 + 90 * k, 21) for k, t in enumerate(("T-1", "10 A", "80 V", "5 kA"))),
    ]
    assert carded(lines) == lines


def test_what_stands_in_one_ruled_box_is_one_cell():
    lines = [
        (cell("Charge current,", 42, 12),),
        (cell("60 A", 142, 17),),
        (cell("continuous", 42, 23),),
        (cell("Mass", 42, 42), cell("44 kg", 142, 42)),
    ]
    across = [(y, 40.0, 240.0) for y in (10.0, 40.0, 54.0)]
    upright = [(x, 10.0, 54.0) for x in (40.0, 140.0, 240.0)]
    assert texts(boxed(lines, across, upright)) == [["Charge current, continuous", "60 A"], ["Mass", "44 kg"]]


def test_cells_that_stand_beside_each_other_by_their_middles_are_a_row():
    lines = [
        (cell("Highest current that", 40, 10),),
        (cell("60 A", 160, 15),),
        (cell("may flow for ever", 40, 20),),
        (cell("Mass", 40, 36), cell("44 kg", 160, 36)),
    ]
    assert texts(centred(lines)) == [["Highest current that may flow for ever", "60 A"], ["Mass", "44 kg"]]


def test_bullets_begin_lines_and_ranges_do_not():
    def words(text):
        places = []
        for n, part in enumerate(text.split()):
            places.append({"text": part, "x0": 30.0 * n, "x1": 30.0 * n + 20, "size": 9.0})
        return places

    assert [w["text"] for w in without_bullets(words("• Mass 44 kg"))] == ["Mass", "44", "kg"]
    assert [w["text"] for w in without_bullets(words("Range 40 – 60 V"))] == ["Range", "40", "–", "60", "V"]


def test_rows_in_one_cell_are_parted_and_not_joined_to_prose():
    told = ("Rated capacity 100 Ah", "Cells in series 16", "Net mass 44 kg", "Enclosure IP20", "Arrangement 16S1P")
    rows = sheet_of_pages([page(*parted_rows([(cell(t, 40, 20 + 10 * n),) for n, t in enumerate(told)]))]).rows
    assert [(row.label, row.values) for row in rows] == [
        ("Rated capacity", ("100 Ah",)),
        ("Cells in series", ("16",)),
        ("Net mass", ("44 kg",)),
        ("Enclosure", ("IP20",)),
        ("Arrangement", ("16S1P",)),
    ]
    prose = [(cell(t, 40, 20 + 10 * n),) for n, t in enumerate(("It is made for", "currents up to 5 A", "and rooms"))]
    assert parted_rows(prose) == prose


def test_a_heading_over_both_columns_heads_both():
    lines = [(cell("Zorp 5", 40, 4, bold=True, size=14.0),), (cell("Charge", 40, 20, bold=True, size=10.0),)]
    for n, (left, right) in enumerate((("Current", "Peak"), ("Voltage", "Step"), ("Power", "Lead"), ("Part", "Sum"))):
        top = 34 + 14 * n
        lines.append((cell(left, 40, top), cell("6 A", 120, top), cell(right, 300, top), cell("8 A", 380, top)))
    sections = {row.label: row.section for row in sheet_of_pages([PagePlan(1, tuple(lines), (), ())]).rows}
    assert sections["Peak"] == sections["Current"] == "Charge"


def test_names_of_models_one_a_line_head_the_values_below():
    lines = list(enumerate(("Fuses", "TQ-10", "TQ-20", "Rated current", "A", "10", "20", "Voltage", "80 V"), 1))
    rows = list(stacked_cells(lines))
    assert [(row.label, row.values, row.heads) for row in rows[1:]] == [
        ("", ("TQ-10", "TQ-20"), ()),
        ("Rated current", ("10 A", "20 A"), ("TQ-10", "TQ-20")),
        ("Voltage", ("80 V",), ("",)),
    ]


def test_a_label_wrapped_around_its_value_is_one_row():
    lines = list(enumerate(("Cut-off voltage per", "2.80 V", "cell", "Overload 9 kW", "for motors", "300 A 40 s"), 1))
    assert [text for _, text in unwrapped(lines)] == [
        "Cut-off voltage per cell: 2.80 V",
        "Overload for motors: 9 kW",
        "300 A 40 s",
    ]


def test_values_that_are_counts_or_words_end_their_row():
    from bankwright.sheets.measures import Marks

    assert split_row("Paralleling max. 15 packs", Marks()) == ("Paralleling max.", "15 packs")
    assert split_row("Cell type LFP", Marks()) == ("Cell type", "LFP")
    rows = sheet_of_text("Module\nCell type LFP\nRated capacity 100 Ah\n").rows
    assert rows[2].section == ""
