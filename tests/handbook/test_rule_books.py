"""Rule books as data: every table they name exists, and the books answer the worked examples."""

import math
from itertools import product

import pytest

from bankwright.forms.origin import HOW_KNOWN
from bankwright.handbook.ampacity import (
    NoColumn,
    ambient_factor,
    base_ampacity,
    bond_section,
    grouping_factor,
    ratings_around,
    termination_ampacity,
    termination_rating,
)
from bankwright.handbook.books import NoSuchBook, book, known_books
from bankwright.handbook.sources import all_sources
from bankwright.handbook.storage import NoSuchRules, known_storage_rules, storage_rules
from bankwright.handbook.tables import OutsideTable, load, look_up
from bankwright.handbook.wires import labels
from support.outside_tables import outside_table

pytestmark = pytest.mark.quick

NEC, IEC = book("nec-2023"), book("iec-60364")


@pytest.mark.parametrize("name", known_books())
def test_every_table_and_column_that_a_book_names_exists(name):
    rules = book(name)
    for column in (*rules.ampacity, *rules.ambient, *rules.termination):
        assert column.column in load(column.table).columns
        assert column.rating in (60, 70, 75, 90)
    assert rules.grouping.column in load(rules.grouping.table).columns
    for table in (rules.ratings.table, rules.ratings.fuses, rules.bond.table, rules.shock_table):
        assert load(table).rows
    for row in rules.shock_rows:
        assert load(rules.shock_table).row(row)


@pytest.mark.parametrize("name", known_books())
def test_every_clause_and_label_of_a_book_says_how_it_is_known(name):
    rules = book(name)
    for source in rules.clause.values():
        assert source.how_known.startswith(HOW_KNOWN)
    for label in rules.labels.values():
        assert label.clause in rules.clause
        assert label.text
    assert rules.defers_to


def test_both_books_answer_for_the_same_purposes():
    both = set(NEC.clause) & set(IEC.clause)
    assert {"ampacity", "continuous", "device_conductor", "interrupting", "withstand", "unearthed", "bond"} <= both


def test_an_unknown_book_names_the_known_ones():
    with pytest.raises(NoSuchBook, match="iec-60364, nec-2023"):
        book("nec-1923")


def test_ambient_and_termination_of_4_awg():
    # NEC 310.16 (copy), 310.15(B)(1) (read), 110.14(C) (read): 95 x 0.91 = 86.45, capped at 85 A.
    base = base_ampacity(NEC, "4 AWG", 90, "rack").value
    assert base * ambient_factor(NEC, 90, 40).value == pytest.approx(86.45)
    assert termination_ampacity(NEC, "4 AWG", 75).value == 85


def test_six_conductors_together():
    # 2/0, 90 degC, 45 degC air, six together: 195 x 0.87 x 0.8 = 135.72 A.
    base = base_ampacity(NEC, "2/0 AWG", 90, "raceway").value
    assert base * ambient_factor(NEC, 90, 45).value * grouping_factor(NEC, 6).value == pytest.approx(135.72)
    assert grouping_factor(NEC, 3).value == 1.0
    assert grouping_factor(NEC, 4).value == 0.8


def test_single_core_pair_in_free_air_in_the_iec_book():
    # IEC 60364-5-52 tables B.52.12 and B.52.14 (copy): 35 mm2 XLPE, method F, 200 x 0.91 = 182 A.
    cited = base_ampacity(IEC, "35 mm2", 90, "free air")
    assert cited.value * ambient_factor(IEC, 90, 40).value == pytest.approx(182.0)
    assert cited.at["column"] == "xlpe_f"


def test_where_free_air_has_no_value_the_wall_value_stands():
    assert base_ampacity(IEC, "16 mm2", 90, "free air").value == 107
    assert base_ampacity(IEC, "35 mm2", 90, "rack").value == 171


@pytest.mark.parametrize(("rules", "system", "ratings"), [(NEC, "awg", (60, 75, 90, 105)), (IEC, "mm2", (70, 90, 105))])
def test_every_size_that_a_bank_file_may_name_has_an_ampacity_however_it_lies(rules, system, ratings):
    for size, method, rating in product(labels(system), ("free air", "rack", "raceway"), ratings):
        assert base_ampacity(rules, size, rating, method).value > 0, (size, method, rating)


@pytest.mark.parametrize(
    ("table", "columns", "by", "within"),
    [
        (
            "iec-60364-5-52/two-loaded",
            "pvc_c xlpe_c pvc_e xlpe_e",
            ("6 mm2", "16 mm2", "1.5 mm2", "2.5 mm2", "4 mm2"),
            1.0,
        ),
        ("iec-60364-5-52/conduit", "pvc_b1 xlpe_b1", ("6 mm2", "16 mm2", "1.5 mm2", "2.5 mm2", "4 mm2"), 1.0),
        ("iec-60364-5-52/two-loaded", "pvc_c xlpe_c pvc_e xlpe_e pvc_f xlpe_f", ("120 mm2", "240 mm2", "300 mm2"), 2.0),
        ("nec-2023/310.16", "a60 a75 a90", ("400 kcmil", "500 kcmil", "600 kcmil", "750 kcmil"), 12.0),
        ("nec-2023/310.17", "a60 a75 a90", ("400 kcmil", "500 kcmil", "600 kcmil", "750 kcmil"), 12.0),
    ],
)
def test_rows_from_memory_lie_on_the_curve_of_the_rows_that_were_read(table, columns, by, within):
    # I = A S^m, the form of IEC 60364-5-52 annex D [from memory]: A and m from the first two sizes;
    # the book prints whole amperes, 310.16 and 310.17 steps of 5 A
    first, second, *rest = by
    for column in columns.split():
        at = {size: look_up(table, size, column).value for size in by}
        number = {size: float(size.split()[0]) for size in by}
        m = math.log(at[second] / at[first]) / math.log(number[second] / number[first])
        for size in rest:
            assert at[size] == pytest.approx(at[first] * (number[size] / number[first]) ** m, abs=within), (
                column,
                size,
            )


def test_insulation_above_the_best_column_uses_that_column():
    # 105 degC insulation has no column in 310.16: the 90 degC column is used.
    assert base_ampacity(NEC, "4/0 AWG", 105, "rack").value == 260
    assert base_ampacity(NEC, "4/0 AWG", 80, "rack").value == 230
    assert base_ampacity(NEC, "4/0 AWG", 90, "free air").value == 405
    assert base_ampacity(IEC, "50 mm2", 80, "rack").value == 168
    assert base_ampacity(IEC, "50 mm2", 60, "rack").value == 175


def test_no_column_is_an_error_never_a_guess():
    with pytest.raises(NoColumn, match="50 degC"):
        base_ampacity(NEC, "4/0 AWG", 50, "rack")
    with pytest.raises(NoColumn, match="buried"):
        base_ampacity(NEC, "4/0 AWG", 90, "buried")
    with pytest.raises(OutsideTable):
        base_ampacity(IEC, "1.5 mm2", 60, "rack")


@pytest.mark.parametrize(
    ("rules", "rating", "last"),
    [(NEC, 60, 55), (NEC, 75, 70), (NEC, 90, 85), (IEC, 60, 55), (IEC, 70, 60), (IEC, 90, 80)],
)
def test_in_air_past_the_end_of_its_column_a_conductor_carries_nothing(rules, rating, last):
    # 310.15(B)(1) and B.52.14 print a dash there
    assert ambient_factor(rules, rating, last).value > 0.2
    assert ambient_factor(rules, rating, last + 0.1).value == 0


def test_a_size_of_the_other_system_counts_as_one_with_no_less_resistance():
    cited = base_ampacity(NEC, "70 mm2", 90, "rack", "class 5")
    assert cited.at["counted_as"] == "1/0 AWG"
    assert cited.value == 170
    assert base_ampacity(IEC, "4/0 AWG", 90, "rack").at["counted_as"] == "95 mm2"


def test_terminals_that_are_not_marked():
    # NEC 110.14(C)(1) (read): 60 degC to 100 A, 75 degC above.
    assert termination_rating(NEC, 100).value == 60
    assert termination_rating(NEC, 110).value == 75
    assert termination_rating(IEC, 100) is None


def test_standard_ratings():
    # NEC 240.6(A) (read): 169.84 A takes 175 A, 125 A takes 125 A; 240.4(B): 115 A lies between 110 and 125 A.
    assert ratings_around(NEC, 169.84) == (150, 175)
    assert ratings_around(NEC, 125.0) == (125, 125)
    assert ratings_around(NEC, 115.0) == (110, 125)
    assert ratings_around(NEC, 10.0) == (None, 15)
    assert NEC.ratings.next_size_up_to == 800
    assert IEC.ratings.next_size_up_to is None
    assert ratings_around(NEC, 600.5) == (600, 700)
    assert ratings_around(NEC, 600.5, fuse=True) == (600, 601)  # fuses have 601 A too (240.6(A), read)
    assert ratings_around(IEC, 170.0, fuse=True)[1] == 200


def test_bond_of_the_frame():
    # NEC Table 250.122: 300 A takes 4 AWG (read). IEC 60364-5-54 table 54.2, from memory: half above 35 mm2.
    cited = bond_section(NEC, 300, "4/0 AWG")
    assert cited.at["size"] == "4 AWG"
    assert cited.value == pytest.approx(21.15e-6, rel=1e-3)
    assert bond_section(IEC, 250, "70 mm2").value == pytest.approx(35e-6)
    assert bond_section(IEC, 250, "25 mm2").value == pytest.approx(16e-6)
    assert bond_section(IEC, 250, "10 mm2").value == pytest.approx(10e-6)


def test_constants_of_the_second_condition():
    # IEC 60364-4-43, 433.1: I2 <= 1.45 Iz; gG from 16 A 1.6 In, below 1.9 In; breakers 1.45 In, IEC 60947-2 1.3 In.
    assert IEC.overload is not None
    assert (IEC.overload.conductor, IEC.overload.fuse_from_16, IEC.overload.fuse_below_16) == (1.45, 1.6, 1.9)
    assert NEC.overload is None
    # IEC 60898-1:2015 (read): a breaker of any curve opens at 1.45 In within its conventional time.
    assert {row["trips"] for row in outside_table("iec-60898/bands").rows} == {IEC.overload.breaker}


@pytest.mark.parametrize("size", labels("awg"))
def test_more_metal_carries_more(size):
    order = labels("awg")
    place = order.index(size)
    if place and size not in ("600 kcmil", "750 kcmil"):
        for method in ("rack", "free air"):
            assert base_ampacity(NEC, size, 75, method).value > base_ampacity(NEC, order[place - 1], 75, method).value


def test_free_air_column_equals_the_boat_table_at_75_degc():
    # 33 CFR 183.425 table 5 (public law, read in full), another publication: values of NEC 310.17 from 6 AWG to 4/0.
    boat = outside_table("cfr-33-183/table-5")
    for size in ("6 AWG", "4 AWG", "3 AWG", "2 AWG", "1 AWG", "1/0 AWG", "2/0 AWG", "3/0 AWG", "4/0 AWG"):
        assert base_ampacity(NEC, size, 75, "free air").value == boat.row(size)["a75"]


def test_boat_cable_in_a_hot_space():
    # 33 CFR 183.425 note 1: 330 A x 0.85 = 280.5; ABYC E-11 prints 280 (read).
    boat = outside_table("cfr-33-183/table-5")
    hot = boat.row("2/0 AWG")["a105"] * boat.conditions["engine_space_50_degc_factor_105"]
    assert hot == pytest.approx(280.5)
    assert outside_table("abyc-e11/single-105").row("2/0 AWG")["inside"] == pytest.approx(hot, abs=1)


@pytest.mark.parametrize("name", known_storage_rules())
def test_storage_rules_are_whole(name):
    rules = storage_rules(name)
    assert rules.id == name
    assert rules.place("Detached  garage").allowed
    assert not rules.place("bedroom").allowed
    assert rules.place("houseboat") is None
    assert len(set(rules.place_words())) == len(rules.place_words())


def test_energy_limits_of_2021_in_whole_modules():
    # IRC 2021 R328.5 (read as California 2019 R327.5): 20, 40, 80 kWh are 3, 7, 15 modules of 5.12 kWh.
    rules = storage_rules("irc-2021")
    limits = (rules.unit.value, rules.place("utility closet").sum.value, rules.place("attached garage").sum.value)
    assert limits == (20, 40, 80)
    assert [int(limit / 5.12) for limit in limits] == [3, 7, 15]
    assert rules.spacing.value == pytest.approx(3 * 0.3048, abs=0.0005)
    assert rules.exemption is not None


def test_2018_has_no_energy_limits():
    rules = storage_rules("irc-2018")
    assert rules.unit is None
    assert rules.place("garage").sum is None


def test_unknown_storage_rules_name_the_known_ones():
    with pytest.raises(NoSuchRules, match="irc-2021"):
        storage_rules("irc-1921")


def test_the_list_of_sources_covers_tables_books_and_editions():
    entries = all_sources()
    used = {entry.used_for for entry in entries}
    assert "nec-2023/310.16" in used
    assert "iec-60364: withstand" in used
    assert "irc-2021: unit" in used
    assert all(entry.source.document for entry in entries)


def test_what_lies_below_the_least_column_is_scaled_by_the_heat_law() -> None:
    # 95 mm2 in a raceway, 70 degC: 207 A; at 60 degC sqrt(30 / 40) of it. 2/0 AWG at 60 degC: 145 A; at 40 sqrt(1 / 3).
    column = base_ampacity(book("iec-60364"), "95 mm2", 70, "raceway").value
    found = base_ampacity(book("iec-60364"), "95 mm2", 60, "raceway")
    assert found.value == pytest.approx(column * (30 / 40) ** 0.5)
    assert (found.at["rating_degc"], found.at["scaled_from_degc"]) == (60, 70)
    assert termination_ampacity(book("nec-2023"), "2/0 AWG", 40).value == pytest.approx(145 * (10 / 30) ** 0.5)
    assert termination_ampacity(book("nec-2023"), "2/0 AWG", 25).value == 0.0
    with pytest.raises(NoColumn):
        base_ampacity(book("iec-60364"), "95 mm2", 59.9, "raceway")
