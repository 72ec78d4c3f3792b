"""A look-up has no default table, extrapolates nothing and answers with its source."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.forms.origin import HOW_KNOWN, Source
from bankwright.handbook.tables import NoSuchTable, OutsideTable, known_ids, load, look_up, source_of
from bankwright.handbook.units import TEXT, UnknownUnit, factor_of

INCH = 0.0254


def test_a_value_comes_with_its_table_conditions_and_source():
    cited = look_up("nec-2023/310.16", "2/0 AWG", "a75")
    assert cited.value == 175.0
    assert isinstance(cited.origin, Source)
    assert (cited.origin.document, cited.origin.place) == ("NEC (NFPA 70)", "Table 310.16")
    assert cited.at["ambient_degc"] == 30
    assert cited.at["size"] == "2/0 AWG"


def test_printed_units_become_si():
    # 1 ft is 0.3048 m exactly: Table 8 prints 0.0608 ohm per 1000 ft for 4/0 AWG.
    assert look_up("nec-2023/ch9-t8", "4/0 AWG", "ohm_per_kft").value == pytest.approx(0.0608 / 304.8)
    assert look_up("iec-60228/copper", "35 mm2", "class5").value == pytest.approx(0.554e-3)
    assert look_up("iec-60364-4-43/k", "xlpe 90", "k").value == pytest.approx(143e6)


def test_torque_units():
    # NIST SP 811: 1 lbf in is 0.112985 N m; 180 lbf in are 20.34 N m.
    assert 180 * factor_of("", "", "lbf in") == pytest.approx(20.34, abs=0.005)


def test_next_larger_takes_the_row_at_or_above():
    # NEC 240.4(B), 115 A: the next standard rating is 125 A (read).
    assert look_up("nec-2023/240.6-a", 115, "rating", "next_larger").value == 125
    assert look_up("nec-2023/240.6-a", 125, "rating", "next_larger").value == 125
    assert look_up("nec-2023/310.15-b-1", 41.0, "f90", "next_larger").value == 0.87


def test_between_goes_straight_where_the_table_allows_it():
    at_20 = look_up("lfp/resistance-temperature", 20.0, "factor", "between")
    assert at_20.value == pytest.approx((1.259 + 1.0) / 2)
    with pytest.raises(OutsideTable, match="no values between its rows"):
        look_up("nec-2023/310.15-b-1", 42.0, "f90", "between")


def test_beyond_the_ends_there_is_no_answer():
    with pytest.raises(OutsideTable, match=r"1000 kcmil.*holds 14 AWG to 750 kcmil"):
        look_up("nec-2023/310.16", "1000 kcmil", "a75")
    with pytest.raises(OutsideTable):
        look_up("nec-2023/240.6-a", 7000, "rating", "next_larger")
    with pytest.raises(OutsideTable, match="leaves it empty"):
        look_up("nec-2023/310.15-b-1", 60, "f60", "next_larger")
    with pytest.raises(OutsideTable):
        look_up("lfp/resistance-temperature", -40.0, "factor", "between")
    with pytest.raises(OutsideTable, match="labels"):
        look_up("nec-2023/310.16", 100, "a60", "next_larger")


def test_there_is_no_default_table_and_no_default_column():
    with pytest.raises(NoSuchTable, match="nec-1923"):
        look_up("nec-1923/310.16", "2/0 AWG", "a75")
    with pytest.raises(KeyError, match="no column"):
        look_up("nec-2023/310.16", "2/0 AWG", "a105")


def test_a_row_may_carry_its_own_source():
    table = load("nec-2023/250.122")
    assert source_of(table, table.row(300)).how_known == "read"
    assert source_of(table, table.row(200)).how_known == "from memory"


def test_a_range_comes_with_its_ends():
    cited = look_up("published/ranges", "cell ohmic", "cell")
    # 20.5 mohm Ah a cell: 16 cells of 100 Ah are 3.3 mohm.
    assert cited.low == pytest.approx(20.5e-3)
    assert 16 * cited.low / 100 == pytest.approx(3.3e-3, abs=0.05e-3)
    assert cited.low < cited.value < cited.high


@pytest.mark.parametrize("name", known_ids())
def test_every_table_is_whole(name):
    table = load(name)
    assert table.id == name
    assert table.source.document
    assert table.source.place
    assert table.rows
    assert table.key in table.columns
    keys = table.row_keys()
    assert len(set(keys)) == len(keys), "two rows of one name"
    for row in table.rows:
        assert any(word in source_of(table, row).how_known for word in HOW_KNOWN)
        for column, unit in table.columns.items():
            printed = row.get(column)
            if printed is None:
                continue
            if unit in TEXT:
                assert isinstance(printed, (str, bool, int, float))
            else:
                assert isinstance(printed, (int, float))
                low, high = row.get(f"{column}_low", printed), row.get(f"{column}_high", printed)
                assert low <= printed <= high
        known = set(table.columns) | {"document", "edition", "place", "how_known", "note", "seen", "computed"}
        known |= {f"{column}_{end}" for column in table.columns for end in ("low", "high")}
        assert set(row) <= known, f"{name}: columns that the head does not name"


def test_a_unit_outside_the_closed_list_is_refused():
    with pytest.raises(UnknownUnit, match="furlong"):
        factor_of("x/y", "length", "furlong")


@given(st.floats(10, 85))
def test_a_warmer_room_never_gives_a_larger_factor(air):
    def factor(degc):
        return look_up("nec-2023/310.15-b-1", degc, "f90", "next_larger").value

    assert factor(air) >= factor(min(air + 1, 85))


def test_reading_one_table_reads_no_other_and_is_quick():
    # In a process of its own, so that nothing is kept from before.
    code = (
        "import time, sys\n"
        "from bankwright.handbook import tables\n"
        "tables.known_ids()\n"
        "begun = time.process_time(); tables.load('nec-2023/310.16'); spent = time.process_time() - begun\n"
        "assert tables.load.cache_info().currsize == 1\n"
        "heavy = {'numpy', 'pydantic', 'scipy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        "print(spent)\n"
    )
    best = min(float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)
               for _ in range(3))  # fmt: skip
    assert best < 0.02  # 0.7 ms of processor on a quiet machine


def test_a_table_is_read_once():
    load("nec-2023/310.16")
    reads = load.cache_info().misses
    assert load("nec-2023/310.16") is load("nec-2023/310.16")
    assert load.cache_info().misses == reads


def test_rows_cannot_be_changed():
    with pytest.raises(TypeError):
        load("nec-2023/310.16").rows[0]["a75"] = 1000
