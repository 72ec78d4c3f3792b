"""Rows that were received come back as they were: values, gaps, quality, order; nonsense is refused whole."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.forms.readings import Columns
from bankwright.logbook.check_repair import check
from bankwright.logbook.errors import EntryRefused, LogbookReadOnly
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.block import Rows, packed_block, rows_of, said_of
from bankwright.logbook.telemetry.frames import Frame, Signal
from bankwright.logbook.telemetry.happenings import State
from bankwright.logbook.telemetry.hot import ABSENT
from bankwright.logbook.telemetry.packing import MISSING, MOST
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.logbook.telemetry.streams import packed, unpacked, unpacked_all
from support.logbank import StepClock
from support.telemetry_rows import ALL, START, columns, poll


@pytest.mark.slow
@pytest.mark.parametrize("is_sealed", [False, True])
def test_what_was_received_comes_back_as_it_was(tmp_path: Path, is_sealed: bool) -> None:
    clock, given_ = StepClock(), []
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        for _ in range(700):
            clock.passes(10)
            given_.append(poll(clock.monotonic))
            store.append(*given_[-1])
        if is_sealed:
            clock.passes(10_000)
            sealed = store.seal()
            assert sealed.rows == 1400
        volts = store.read("voltage", ("M1", "M2"), *ALL)
        cells = store.read("cell_voltage", ("M2.c4",), *ALL)
    assert np.array_equal(volts.value, np.concatenate([each[0].value for each in given_]))
    assert np.array_equal(cells.value[:, 0], np.concatenate([each[2].value[:, 7] for each in given_]))
    assert volts.time.tolist() == [START + each[0].time[0] - 100 for each in given_]
    assert not volts.quality.any()
    assert not volts.value.flags.writeable


@pytest.mark.parametrize("is_sealed", [False, True])
def test_gaps_stay_gaps_and_quality_is_kept(tmp_path: Path, is_sealed: bool) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        times = [10.0, 20.0, 30.0]
        value = [[3.3, np.nan], [np.nan, np.nan], [3.301, np.nan]]
        store.append(columns("cell_voltage", ("M1.c1", "M1.c2"), times, value, [[0, 3], [7, 3], [0, 3]]))
        store.append(columns("current", ("M1",), [20.0], [[-5.25]]))
        clock.passes(9000)
        if is_sealed:
            assert store.seal().blocks == 2
        cells = store.read("cell_voltage", ("M1.c1", "M1.c2", "M1.c3"), *ALL)
        sums = store.rollup("cell_voltage", ("M1.c1", "M1.c2"), *ALL)
    assert np.array_equal(cells.value[:, :2], value, equal_nan=True)
    assert cells.quality.tolist() == [[0, 3, ABSENT], [7, 3, ABSENT], [0, 3, ABSENT]]
    assert sums.count.tolist() == [[2, 0]]
    assert sums.mean.value[0, 0] == pytest.approx(3.3005)
    assert np.isnan(sums.low.value[0, 1])


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (columns("voltage", ("M1",), [10.0], [[np.inf]]), "cannot be kept"),
        (columns("voltage", ("M1",), [10.0], [[1e9]]), "cannot be kept"),
        (columns("voltage", ("M1",), [np.nan], [[52.0]]), "a time is no number"),
        (columns("voltage", ("M1",), [500.0], [[52.0]]), "ahead of the machine's clock"),
        (columns("voltage", ("M1",), [-3.0], [[52.0]]), "before the machine was started"),
        (columns("volts", ("M1",), [10.0], [[52.0]]), "no quantity"),
        (columns("voltage", ("M1", "M1"), [10.0], [[52.0, 52.1]]), "twice"),
        (columns("voltage", ("",), [10.0], [[52.0]]), "without a name"),
        (columns("voltage", ("M1",), [10.0], [[52.0]], [[254]]), "quality"),
        (columns("voltage", ("M1",), [10.0], [[52.0]], [[0.5]]), "quality"),
        (columns("voltage", ("M1",), [10.0], [[52.0]], [[np.nan]]), "quality"),
        (Columns("voltage", ("M1", "M2"), np.array([10.0]), np.array([[52.0]]), np.zeros((1, 1))), "do not fit"),
    ],
)
def test_what_cannot_be_stored_is_refused_and_nothing_of_it_is_there(
    tmp_path: Path, wrong: Columns, words: str
) -> None:
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        store.append(columns("current", ("M1",), [5.0], [[1.0]]))
        with pytest.raises(EntryRefused, match=words):
            store.append(columns("current", ("M1",), [10.0], [[2.0]]), wrong)
        assert store.read("current", ("M1",), *ALL).value.tolist() == [[1.0]]


def test_a_finer_step_of_the_source_is_kept_beside_the_usual_one(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        store.append(columns("current", ("M1",), [5.0], [[1.234]]))
        store.append(columns("current", ("M1",), [6.0], [[1.2345]]), step=1e-4)
        assert store.read("current", ("M1",), *ALL).value[:, 0].tolist() == [1.23, 1.2345]


def test_things_read_at_different_moments_share_a_row_only_on_a_grid(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        for second in (10, 11, 12):
            store.append(columns("voltage", ("M1",), [second + 0.1], [[52.0 + second]]),
                         columns("voltage", ("M2",), [second + 0.3], [[53.0 + second]]))  # fmt: skip
        apart = store.read("voltage", ("M1", "M2"), *ALL)
        together = store.read("voltage", ("M1", "M2"), *ALL, grid=1.0)
        middle = store.read("voltage", ("M1", "M2"), START + 11 - 100, START + 12 - 100)
    assert apart.value.shape == (6, 2)
    assert (np.isnan(apart.value) == (apart.quality == ABSENT)).all()
    assert together.value.tolist() == [[62.0, 63.0], [63.0, 64.0], [64.0, 65.0]]
    assert np.round(together.time - START + 100, 3).tolist() == [10.1, 11.1, 12.1]
    assert middle.value.shape == (2, 2)


def test_two_rows_of_the_same_moment_are_both_kept(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        store.append(columns("voltage", ("M1",), [10.0, 10.0], [[52.0], [52.5]]))
        store.append(columns("voltage", ("M1",), [10.0], [[52.7]]))
        assert store.read("voltage", ("M1",), *ALL).value[:, 0].tolist() == [52.0, 52.5, 52.7]


def test_reading_only_stores_nothing_and_says_so(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "orchard.toml", write=False) as store:
        assert store.read("voltage", ("M1",), *ALL).value.shape == (0, 1)
        assert store.rollup("voltage", ("M1",), *ALL).count.shape == (0, 1)
        assert store.signals() == ()
        for act in (lambda: store.append(*poll(5.0)), store.seal, store.sync, lambda: store.event("x")):
            with pytest.raises(LogbookReadOnly):
                act()
    assert list(tmp_path.iterdir()) == []


def test_entries_and_telemetry_share_one_file(tmp_path: Path) -> None:
    clock = StepClock()
    bank_file = tmp_path / "orchard.toml"
    with open_telemetry(bank_file, clock=clock) as store, open_logbook(bank_file, clock=clock) as book:
        store.append(*poll(50.0))
        book.note("while the listener runs")
        store.append(*poll(51.0))
        assert store.read("voltage", ("M1",), *ALL).value.shape == (2, 1)
        assert [entry.note for entry in book.entries()] == ["while the listener runs"]


def test_states_are_replaced_and_events_are_kept(tmp_path: Path) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        store.put_state("joints", 1, b"old")
        store.put_state("joints", 2, b"new")
        store.event("bus-fault", at="M2", times=3)
        clock.passes(5)
        store.event("map-changed", digest="ab12")
    with open_telemetry(tmp_path / "orchard.toml", write=False) as store:
        state = store.state("joints")
        assert state is not None
        assert (state.version, state.blob) == (2, b"new")
        assert store.state("nothing") is None
        assert store.states() == ("joints",)
        assert [(e.code, e.at, dict(e.detail), e.time) for e in store.events()] == [
            ("bus-fault", "M2", {"times": 3}, START),
            ("map-changed", "", {"digest": "ab12"}, START + 5),
        ]
        assert [e.number for e in store.events(at="M2")] == [1]


@given(st.lists(st.integers(-(2**62), 2**62 - 1), max_size=50))
def test_any_column_of_whole_numbers_is_packed_and_unpacked(numbers: list[int]) -> None:
    column = np.array(numbers, np.int64)
    if len(column) and int(column.max()) - int(column.min()) >= 2**61:
        column //= 8
    assert np.array_equal(unpacked(packed(column), len(column)), column)


@given(st.data())
def test_any_rows_are_packed_into_a_block_and_back(data: st.DataObject) -> None:
    count, width = data.draw(st.integers(1, 30)), data.draw(st.integers(1, 4))
    steps = st.sampled_from([MISSING, 0, 3300, -1, MOST, -MOST])

    def table(values: st.SearchStrategy[int], kind: type) -> np.ndarray:
        size = count * width
        return np.array(data.draw(st.lists(values, min_size=size, max_size=size)), kind).reshape(count, width)

    mono = np.cumsum(data.draw(st.lists(st.integers(-3, 10**6), min_size=count, max_size=count)))
    numbers = np.arange(count)
    rows = Rows(numbers, mono, mono + 1_700_000_000_000, np.full(count, -1, np.int8), table(steps, np.int32),
                table(st.sampled_from([0, 0, 7, 253]), np.uint8))  # fmt: skip
    frame = Frame(3, "M1", tuple(Signal("voltage", f"M1.{k}", 1e-3) for k in range(width)))
    block = packed_block(frame, rows, 5, "boot-a", 42)
    back = rows_of(block, width)
    assert all(np.array_equal(getattr(back, name), getattr(rows, name)) for name in Rows.__dataclass_fields__)
    said = said_of(block)
    assert (said.frame, said.boot_no, said.boot, said.shift_ms) == (frame, 5, "boot-a", 42)


def test_readings_of_a_file_keep_their_order_and_stand_beside_those_of_the_bus(tmp_path: Path) -> None:
    clock = StepClock()
    times = [START + second for second in (3000, 3600, 4200, 4200, 4100, 9000)]  # twice, and back: as in the file
    volts = [[52.0], [52.1], [52.2], [52.3], [52.4], [52.5]]
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        store.append(*poll(50.0))
        sealed = store.append_dated(
            columns("voltage", ("M1",), times, volts), source="old.csv", state=State("i", 1, b"6")
        )
        assert (sealed.blocks, sealed.rows) == (3, 6)
        got = store.read("voltage", ("M1",), START + 1000, 4e9)
        frames = [rows.steps[:, 0].tolist() for _, boot, _, rows in store.raw(*ALL) if boot == "file:old.csv"]
        hours = store.rollup("voltage", ("M1",), START + 1000, 4e9)
        with pytest.raises(EntryRefused, match="no time at which"):
            store.append_dated(columns("voltage", ("M1",), [-5.0], [[52.0]]), source="x", state=State("i", 1, b"7"))
        state = store.state("i")
    assert state is not None
    assert state.blob == b"6"
    assert got.time.tolist() == sorted(times)
    assert got.value[:, 0].tolist() == [52.0, 52.1, 52.4, 52.2, 52.3, 52.5]
    assert frames == [[52000], [52100, 52200, 52300, 52400], [52500]]
    assert hours.count[:, 0].tolist() == [1, 4, 1]
    report = check(tmp_path / "orchard.logbook")
    assert report.is_whole, report.damage
    assert report.rows == 8


def test_a_question_or_an_event_that_makes_no_sense_is_refused(tmp_path: Path) -> None:
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        store.append(*poll(50.0))
        for grid in (0.0, -1.0, np.nan):
            with pytest.raises(EntryRefused, match="no stretch"):
                store.read("voltage", ("M1",), *ALL, grid=grid)
        with pytest.raises(EntryRefused, match="no stretch"):
            store.rollup("voltage", ("M1",), np.nan, 1.0)
        for detail in (np.nan, {1, 2}):
            with pytest.raises(EntryRefused, match="nothing was stored"):
                store.event("bus-fault", detail=detail)
        assert store.events() == ()
        assert store.read("voltage", ("M1",), ALL[1], ALL[0]).value.shape == (0, 1)
        assert store.read("voltage", ("nothing",), *ALL).value.shape == (0, 1)
        assert store.read("voltage", (), *ALL).value.shape == (0, 0)


def test_names_and_wide_tables_come_back_whatever_they_are(tmp_path: Path) -> None:
    names = ("=cmd()", "M 1, \u00e9\u2126", 'a"b', "M1.c1.x", "\x00", *(f"M2.c{k}" for k in range(1, 300)))
    with open_telemetry(tmp_path / "orchard.toml", clock=StepClock()) as store:
        values = [[k / 1000 for k in range(len(names))]]
        store.append(columns("cell_voltage", names, [50.0], values))
        assert store.read("cell_voltage", names, *ALL).value.tolist() == values
        assert {signal.at for signal in store.signals()} == set(names)
    assert check(tmp_path / "orchard.logbook").is_whole


def test_columns_that_were_packed_alike_or_not_are_unpacked_together() -> None:
    draw = np.random.default_rng(5)
    columns_ = [draw.integers(-low, low, count).cumsum() for low in (1, 9, 500, 10**6) for count in (0, 1, 2, 60, 60)]
    found = unpacked_all([packed(each) for each in columns_], [len(each) for each in columns_])
    assert all(np.array_equal(one, each) for one, each in zip(found, columns_, strict=True))
    with pytest.raises(ValueError, match="length"):
        unpacked_all([packed(columns_[-1])] * 2, [60, 61])


@pytest.mark.parametrize("is_sealed", [False, True])
def test_several_quantities_and_stretches_at_once_are_what_each_is_alone(tmp_path: Path, is_sealed: bool) -> None:
    clock = StepClock()
    with open_telemetry(tmp_path / "orchard.toml", clock=clock) as store:
        for _ in range(60):
            clock.passes(211)
            store.append(*poll(clock.monotonic))
        if is_sealed:
            clock.passes(10_000)
            store.seal()
        signals = [("voltage", "M2"), ("cell_voltage", "M1.c3"), ("current", "M1"), ("current", "M9")]
        spans = [(START + 5000, START + 5700.5), (START + 900, START + 1900), (START + 1800, START + 2100)]
        both = store.rollups(signals, spans, every="minute")
        alone = [store.rollup(quantity, (at,), *ALL, every="minute") for quantity, at in signals]
        reads = store.reads(("current", "voltage"), ("M1",), START, START + 5000)
        one = [store.read(quantity, ("M1",), START, START + 5000) for quantity in ("current", "voltage")]
    wanted = sorted({t for t in alone[0].mean.time if any(a - 60 < t < b for a, b in spans)})
    assert both.mean.time.tolist() == wanted
    for k, each in enumerate(alone):
        for name in ("low", "mean", "high"):
            here = dict(zip(getattr(each, name).time, getattr(each, name).value[:, 0], strict=True))
            told = [here.get(t, np.nan) for t in wanted]
            assert np.array_equal(getattr(both, name).value[:, k], told, equal_nan=True)
    for many, single in zip(reads, one, strict=True):
        assert np.array_equal(many.time, single.time)
        assert np.array_equal(many.value, single.value)
