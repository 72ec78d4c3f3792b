"""The list counts what the bank needs, and says what disagrees."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
from types import SimpleNamespace

import pytest

from bankwright.buy.pages import parts_csv, parts_page
from bankwright.buy.parts import parts
from bankwright.buy.stock import Shopping, read_shopping
from bankwright.forms.as_json import dumps
from bankwright.forms.carried import NOTHING
from bankwright.forms.faults import QuestionError
from bankwright.job.documents import parts_document
from support.banks.rack import busbar, chain

pytestmark = pytest.mark.quick

LUG = "lug/lug-M8/4/0 AWG"
RED = "cable/4/0 AWG fine strands/red"


def test_need_is_apart_from_spares() -> None:
    line = parts(chain(4)).line(LUG)
    assert (line.need, line.spares, line.have, line.order) == (22, 2, 0, 24)
    assert "L1+ at M1+" in line.uses
    assert line.origins


def test_what_is_there_is_taken_off() -> None:
    line = parts(chain(4), Shopping(have={LUG: 20})).line(LUG)
    assert line.order == 4
    assert parts(chain(4), Shopping(have={LUG: 99})).line(LUG).order == 0


def test_a_fuse_has_one_spare_of_its_type_even_without_spares() -> None:
    line = parts(busbar(4), Shopping(spares=0.0)).line("fuse/fuse-300")
    assert (line.need, line.spares) == (4, 1)
    assert parts(busbar(4), Shopping(spares=0.0)).line(LUG).spares == 0


def test_colours_apart() -> None:
    listing = parts(chain(3))
    red, black = listing.line(RED), listing.line(RED.replace("red", "black"))
    assert all("-" not in use.split(",")[0] for use in red.uses)
    assert red.pieces
    assert not set(red.pieces) & set(black.pieces)


def test_cut_lengths_by_hand() -> None:
    # Red: 3 links of 320 mm, main+ in parts of 200, 400, 900 mm; 5 mm trimmed at both ends of each of 6 parts.
    line = parts(chain(4)).line(RED)
    assert line.need == pytest.approx(3 * 0.32 + 1.5 + 6 * 0.01)
    assert parts(chain(4), Shopping(routing=0.1)).line(RED).need == pytest.approx(1.1 * (3 * 0.32 + 1.5) + 0.06)


def test_kit_with_too_few_is_a_fail_and_with_too_many_a_caution() -> None:
    text = '[[kit]]\nname = "rack bag"\nnumber = 4\nholds = { "cage nut/M6" = 3, "rack screw/M6" = 5 }\n'
    found = {f.verdict: f for f in parts(chain(4), read_shopping(text)).findings if f.code == "B-KIT"}
    assert sorted(found) == ["caution", "fail"]
    fail = found["fail"]
    assert fail.text is not None
    assert "bags hold 12 of Cage nut M6 for 9.5 mm square holes; the bank needs 16" in fail.text.text()
    right = '[[kit]]\nname = "rack bag"\nnumber = 4\nholds = { "cage nut/M6" = 4 }\n'
    assert not [f for f in parts(chain(4), read_shopping(right)).findings if f.code == "B-KIT"]


def test_reels_make_a_plan_with_its_bound() -> None:
    reels = [f'[[reel]]\nitem = "{RED}"\nlength = "{n} m"\nprice = {price}\n' for n, price in ((2, 20), (5, 45))]
    text = 'currency = "EUR"\n' + "".join(reels)
    listing = parts(chain(4), read_shopping(text))
    cutting = next(c for c in listing.cuttings if c.item == RED)
    assert cutting.plan is not None
    assert cutting.plan.proven
    assert cutting.plan.cost == pytest.approx(40)
    assert listing.line(RED).cost == pytest.approx(40)
    assert listing.line(RED).order == pytest.approx(4.0)


def test_groups_stay_equal_and_unequal_ones_are_named() -> None:
    bank = chain(4)
    links = tuple(dataclasses.replace(link, length=0.30) if link.name == "L2+" else link for link in bank.links)
    listing = parts(bank.replaced(links=links))
    cutting = next(c for c in listing.cuttings if c.item == RED)
    lengths = {w.name.split("/")[1]: w.length for w in cutting.wanted if w.name.startswith("cable/L")}
    assert len(set(lengths.values())) == 1
    finding = next(f for f in listing.findings if f.code == "B-EQUAL")
    assert finding.verdict == "caution"


def test_stock_that_does_not_hold_the_pieces_is_a_fail() -> None:
    text = f'kerf = "3 mm"\n[[reel]]\nitem = "{RED}"\nlength = "2 m"\ncount = 1\n'
    finding = next(f for f in parts(chain(4), read_shopping(text)).findings if f.code == "B-CUT")
    assert finding.verdict == "fail"
    assert finding.limits[1] == pytest.approx(2.0)
    assert finding.figure is not None
    assert finding.figure.value == pytest.approx(2.52 + 5 * 0.003)


def test_a_lug_that_does_not_fit_is_found_before_it_is_bought() -> None:
    bank = chain(2)
    small = dataclasses.replace(bank.joints[0].lug or bank.links[0].lug_a, hole=0.0064)  # type: ignore[type-var]
    joints = (dataclasses.replace(bank.joints[0], lug=small), *bank.joints[1:])
    found = [f for f in parts(bank.replaced(joints=joints)).findings if f.code == "B-LUG-STUD"]
    assert [(f.verdict, f.at) for f in found] == [("fail", (bank.joints[0].name,))]


def test_a_cable_shorter_than_its_way_is_a_caution() -> None:
    bank = chain(2)
    links = tuple(dataclasses.replace(link, length=0.12) if link.name == "L1+" else link for link in bank.links)
    found = [f for f in parts(bank.replaced(links=links)).findings if f.code == "B-REACH"]
    assert [(f.verdict, f.at) for f in found] == [("caution", ("L1+",))]
    assert not [f for f in parts(bank).findings if f.code == "B-REACH"]


def test_csv_holds_every_line_and_no_formula() -> None:
    listing = parts(busbar(3))
    rows = list(csv.reader(io.StringIO(parts_csv(listing))))
    assert len(rows) == len(listing.lines) + 1
    assert all(not cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)


def test_json_is_plain_and_carries_the_digest() -> None:
    bank = chain(3)
    body = json.loads(dumps(parts_document(SimpleNamespace(bank=bank, carried=NOTHING), parts(bank))))
    assert body["format"] == "bankwright.parts/2"
    assert body["bank_digest"] == bank.digest
    assert {line["item"] for line in body["lines"]} >= {LUG, RED}


def test_page_escapes_names() -> None:
    bank = chain(2).replaced(title="<script>alert(1)</script>")
    text = parts_page(bank, parts(bank))
    assert "<script>" not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("kerf = 2", "unit-missing"),
        ('kerf = "1,5 mm"', "decimal-comma"),
        ("kerff = 1", "unknown-key"),
        ("[have]\na = -1", "wrong-type"),
        ("[[kit]]\nholds = {}", "key-missing"),
        ("x = = 1", "toml-syntax"),
    ],
)
def test_faults_of_a_shopping_file_are_named(text: str, code: str) -> None:
    with pytest.raises(QuestionError) as caught:
        read_shopping(text, "shelf.toml")
    assert code in [fault.code for fault in caught.value.faults]
    assert "shelf.toml" in str(caught.value)


def test_an_item_that_the_list_does_not_know_is_named_with_the_nearest() -> None:
    with pytest.raises(QuestionError, match="lug/lug-M8/4/0 AWG"):
        parts(chain(2), Shopping(have={"lug/lug-M8": 4}))
