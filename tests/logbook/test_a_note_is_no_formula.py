"""What somebody writes into the logbook does not become a formula in a spreadsheet; the figures stay as they are."""

import csv
import io

import pytest

from bankwright.logbook.export import as_json, write_csv
from bankwright.logbook.logbook import open_logbook


@pytest.mark.parametrize("head", ["=", "+", "-", "@", "\t"])
def test_free_text_is_marked_as_text_in_csv_and_kept_exactly_in_json(tmp_path, head):
    text = f'{head}HYPERLINK("http://192.0.2.1")'
    with open_logbook(tmp_path / "orchard.toml", None) as book:
        book.note(text, who=text)
        book.note("plain - words", who="A")
        entries = list(book.entries())
    out = io.StringIO()
    assert write_csv(entries, out) == 2
    first, second = csv.DictReader(io.StringIO(out.getvalue()))
    assert (first["note"], first["who"]) == (f"'{text}", f"'{text}")
    assert (second["note"], second["who"]) == ("plain - words", "A")
    assert as_json(entries)["entries"][0]["note"] == text
