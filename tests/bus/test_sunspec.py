"""SunSpec: chains are walked within bounds, values agree with another library, modules get what the models tell."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.exchange import Exchange, Outcome, Patience, exchange
from bankwright.bus.map.decode import MISSING, NOT_AVAILABLE
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.poll import Policy, Target, columns
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.loopback import Loopback
from bankwright.bus.pretend.rack import Place
from bankwright.bus.pretend.sunspec import ModelSaid, SunspecModule, image_of, sunspec_line
from bankwright.bus.pretend.troubles import trouble
from bankwright.bus.pretend.virtual import VirtualTcp, VirtualWire
from bankwright.bus.sunspec.asks import SunAsk, spans_of
from bankwright.bus.sunspec.definitions import HEADER, KNOWN, model
from bankwright.bus.sunspec.discover import Device, discovered
from bankwright.bus.sunspec.points import read_model
from bankwright.bus.sunspec.signals import Positive, Whose
from bankwright.bus.sunspec.source import Speaker, SunListing, SunspecSource
from bankwright.bus.sunspec.walk import MARK, MOST_MODELS, Placed, walked
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.explain.every import explain
from bankwright.bus.survey.explain.told import Explanation
from bankwright.bus.survey.facts import Expected
from bankwright.bus.timing import Framing
from bankwright.bus.wire.socket_tcp import TcpWire
from bankwright.forms.readings import GOOD
from support.pretend_racks import LINE, NAMES, rack, targets, values

PLACES = [Place(name, number) for number, name in enumerate(NAMES, 1)]
ALL = Whose(by_number=dict(enumerate(NAMES, 1)))


def speakers(device: int | None) -> tuple[Speaker, ...]:
    if device is not None:
        return (Speaker(device, ALL),)
    return tuple(Speaker(place.unit, Whose(place.name)) for place in PLACES)


def line(*troubles: str, device: int | None = None, positive: str = "charging") -> Line:
    names = ("device",) if device is not None else NAMES
    wrong = [trouble(text, names) for text in troubles]
    return sunspec_line(PLACES, LINE, values, wrong, device=device, positive=positive)


def one_device(registers: Mapping[int, int]) -> Callable[[Request], Exchange]:
    """Ask a device that has exactly these registers."""

    class Bare(SunspecModule):
        def _image(self, now: float) -> Mapping[int, int]:
            return registers

    wire = VirtualWire(Line(Framing(115200, "none"), [Bare("D", 1, Framing(115200, "none"), lambda _: ())]))
    return lambda request: exchange(wire, request, Patience(0.01))


def device_of(models: list[ModelSaid], whose: Whose, positive: Positive = "discharging", base: int = 40000) -> Device:
    found = discovered(one_device(image_of(models, base)), 1, whose, positive)
    assert found is not None
    return found


# The definitions and values, against another reader of them.


def test_the_definitions_are_those_that_are_read() -> None:
    # lengths as printed in the definitions: SunSpec models, json/model_*.json
    sizes = {1: 66, 701: 153, 713: 7, 714: 18, 802: 62, 803: 26, 804: 46, 805: 42}
    for number, length in sizes.items():
        known = model(number)
        assert known is not None
        assert known.size == HEADER + length
    repeats = {number: found.size for number in KNOWN if (found := model(number).repeat) is not None}  # type: ignore[union-attr]
    assert repeats == {714: 25, 803: 32, 804: 16, 805: 4}
    assert model(64001) is None


@contextmanager
def served(door: Loopback) -> Iterator[None]:
    stop = threading.Event()
    thread = threading.Thread(target=door.serve, args=(lambda: not stop.is_set(),))
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(60)
        door.close()


def test_another_library_reads_the_same_out_of_the_pretend_device() -> None:
    """pysunspec2, the SunSpec Alliance's own reader, over TCP: every scaled point and every cell alike."""
    client = pytest.importorskip("sunspec2.modbus.client")
    logging.getLogger("sunspec2").setLevel(logging.ERROR)
    door = Loopback(line(device=7))
    with served(door):
        theirs = client.SunSpecModbusClientDeviceTCP(slave_id=7, ipaddr="127.0.0.1", ipport=door.port, timeout=60)
        theirs.scan()
        told = {
            number: [dict(m.get_dict(computed=True)) for m in theirs.models[number]] for number in (802, 803, 804, 805)
        }
        theirs.close()
        wire = TcpWire("127.0.0.1", door.port)
        ours = discovered(lambda request: exchange(wire, request, Patience(30.0)), 7, ALL, "charging")
        wire.close()
    assert ours is not None
    assert ours.notes == ()
    seen: dict[int, int] = {}
    compared = 0
    for placed, read in ours.read:
        if placed.number not in told:
            continue
        place = seen.setdefault(placed.number, 0)
        seen[placed.number] += 1
        compared += same(read, told[placed.number][place])
    assert compared > 400


def same(read, theirs: dict) -> int:  # type: ignore[no-untyped-def,type-arg]
    """Every number of the fixed part and of what repeats; how many were compared."""
    count = 0
    parts = [(None, theirs)]
    for value in theirs.values():
        if isinstance(value, list):
            parts += list(enumerate(value))
    for element, told in parts:
        points = read.model.points if element is None else read.model.repeat.points
        for point in points:
            if point.type in ("string", "pad", "sunssf") or point.name not in told:
                continue
            own, other = read.value(point.name, element), told[point.name]
            if other is None:
                assert own.quality == NOT_AVAILABLE, point.name
            else:
                assert own.value == pytest.approx(other), (read.model.number, point.name)
            count += 1
    return count


def test_scale_factors_and_marks_of_not_implemented() -> None:
    known = model(805)
    assert known is not None
    words = dict.fromkeys(range(known.size + 8), 0xFFFF)
    places = {point.name: point.at for point in known.points}

    def read(**raw: int):  # type: ignore[no-untyped-def]
        return read_model(known, known.size - 2 + 8, 0, words | {places[name]: value for name, value in raw.items()})

    assert read(V=5280, V_SF=0xFFFE).value("V").value == pytest.approx(52.80)
    assert read(V=53, V_SF=0).value("V").value == 53
    assert read(V=5, V_SF=1).value("V").value == 50
    assert read(V=5280, V_SF=0x8000).value("V").quality == NOT_AVAILABLE  # no scale factor: not usable
    assert read(V=5280, V_SF=11).value("V").quality == NOT_AVAILABLE  # outside -10 to 10
    assert read(V=0xFFFF, V_SF=0xFFFE).value("V").quality == NOT_AVAILABLE
    assert read(CellTmpMax=0x8000, Tmp_SF=0).value("CellTmpMax").quality == NOT_AVAILABLE
    assert read(CellTmpMax=0xFFFF, Tmp_SF=0).value("CellTmpMax").value == -1
    assert read_model(known, 10, 0, words).value("SN").quality == MISSING  # behind the length that the device says


# Walking.


def test_all_three_bases_are_found_and_unknown_models_skipped() -> None:
    said = [ModelSaid(1, {"Mn": "x"}), ModelSaid(713, {"SoC": 50})]
    for base in (40000, 0, 50000):
        registers = image_of(said, base)
        end = max(registers) - 1
        registers |= {end: 64123, end + 1: 3, end + 2: 1, end + 3: 2, end + 4: 3, end + 5: 0xFFFF, end + 6: 0}
        chain = walked(one_device(registers), 1)
        assert chain is not None
        assert chain.base == base
        assert [placed.number for placed in chain.models] == [1, 713, 64123]
        assert chain.notes == ()


def test_a_device_without_the_mark_is_none() -> None:
    assert walked(one_device({40000: 0x5375, 40001: 0x6E54}), 1) is None
    assert walked(one_device({}), 1) is None


def test_an_end_without_its_length_is_an_end() -> None:
    registers = image_of([ModelSaid(1, {})])
    del registers[max(registers)]
    chain = walked(one_device(registers), 1)
    assert chain is not None
    assert chain.notes == ()


HOSTILE = {
    "too long": ([805, 65000], "beyond the last register"),
    "no end": ([1, 0], "no end mark"),
    "not common": ([802, 2, 0, 0, 0xFFFF, 0], "first model is 802"),
    "nothing": ([], "cannot be read"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_chains_end_and_are_noted(name: str) -> None:
    words, note = HOSTILE[name]
    registers = {40000 + k: word for k, word in enumerate((*MARK, *words))}
    chain = walked(one_device(registers), 1)
    assert chain is not None
    assert any(note in each for each in chain.notes)


def test_a_chain_of_empty_models_ends_by_their_number() -> None:
    registers = {40002 + k: (7 if k % 2 == 0 else 0) for k in range(2 * MOST_MODELS + 40)}
    chain = walked(one_device({40000: MARK[0], 40001: MARK[1], **registers}), 1)
    assert chain is not None
    assert len(chain.models) == MOST_MODELS
    assert "no end mark" in chain.notes[0]


@given(st.lists(st.integers(0, 0xFFFF), max_size=300), st.sampled_from([0, 40000, 50000]))
@settings(max_examples=40, deadline=None)
def test_no_device_breaks_the_walk_or_the_reader(words: list[int], base: int) -> None:
    registers = {base + k: word for k, word in enumerate((*MARK, *words)) if base + k < 0x10000}
    device = discovered(one_device(registers), 1, ALL, "charging")
    assert device is not None
    assert all(signal.module in NAMES for signal in device.known.signals)


def test_long_models_are_read_in_whole_elements() -> None:
    for number, length in ((803, 26 + 32 * 9), (805, 42 + 4 * 30), (701, 153), (804, 46)):
        asks = list(spans_of(Placed(number, 100, length)))
        assert asks[0].first == 100
        assert sum(ask.count for ask in asks) == HEADER + length
        assert all(1 <= ask.count <= 125 for ask in asks)
        known = model(number)
        assert known is not None
        if known.repeat is not None:
            assert all((ask.first - 100 - known.size) % known.repeat.size == 0 for ask in asks[1:])


# What it brings to the modules.


def test_a_bank_of_one_device_and_a_device_a_module_tell_the_same() -> None:
    heard = []
    for device in (7, None):
        wire, listing = VirtualWire(line(device=device)), SunListing()
        source = SunspecSource(wire, speakers(device), listing, "charging")
        source.cycle()
        cycle = source.cycle()
        assert cycle.answered == len(NAMES)
        assert wire.line.counts.violations == 0
        tables = {(t.quantity, t.at[0].split(".")[0]): t.value[0] for t in columns([cycle], listing)}
        heard.append(tables)
        for k, name in enumerate(NAMES):
            assert tables["voltage", name][0] == pytest.approx(52.6 + k / 100, abs=0.006)
            assert tables["current", name][0] == pytest.approx(3.0 * k, abs=0.006)
            assert tables["soc", name][0] == pytest.approx(0.5 + k / 10, abs=0.0006)
            assert len(tables["cell_voltage", name]) == 16
        times = [each.time for each in cycle.heard]
        assert times == sorted(times)
        assert len(set(times)) == len(NAMES)  # of each module's own registers
    assert heard[0].keys() == heard[1].keys()


def test_current_and_voltage_come_out_of_one_model_where_there_is_one() -> None:
    source = SunspecSource(VirtualWire(line(device=7)), speakers(7), listing := SunListing(), "charging")
    source.cycle()
    for name in NAMES:
        homes = {s.model for s in listing.known[7] if s.module == name and s.name in ("current", "voltage")}
        assert len(homes) == 1
        assert next(iter(homes)).number == 804


def test_without_a_word_on_the_sign_no_current_is_kept() -> None:
    source = SunspecSource(VirtualWire(line(device=7)), speakers(7), listing := SunListing(), None)
    source.cycle()
    assert not listing.of("current")
    assert listing.of("voltage")


CELL = [{"CellV": 3.30 + k / 1000, "CellTmp": 20} for k in range(16)]


def brings(device: Device, module: str) -> dict[str, int]:
    """Quantity -> number of the model that tells it."""
    return {s.name: s.model.number for s in device.known.signals if s.module == module and s.number is None}


def test_strings_numbered_from_0_and_banks_without_804() -> None:
    two = [ModelSaid(805, {"StrIdx": k, "ModIdx": 0, "V": 53 + k, "SoC": 50}, CELL) for k in (0, 1)]
    bank = ModelSaid(803, {"NStr": 2}, [{"StrNMod": 1, "StrA": 5 + k} for k in range(2)])
    device = device_of([ModelSaid(1, {}), bank, *two], Whose(by_number={1: "A", 2: "B"}))
    assert brings(device, "B") == {"current": 803, "voltage": 805, "soc": 805}
    values = {(s.module, s.name): s for s in device.known.signals}
    assert values["B", "current"].element == 1


def test_modules_in_series_share_their_strings_current_and_have_their_own_volts() -> None:
    models = [ModelSaid(1, {}), ModelSaid(804, {"Idx": 1, "NMod": 2, "A": 7, "V": 106}, [{}, {}])]
    models += [ModelSaid(805, {"StrIdx": 1, "ModIdx": k, "V": 53}, CELL) for k in (1, 2)]
    device = device_of(models, Whose(by_number={1: "A", 2: "B"}))
    for name in "AB":
        assert brings(device, name) == {"current": 804, "voltage": 805}


def test_a_storage_port_of_model_714_and_713_stand_in_where_nothing_else_is() -> None:
    ports = [{"PrtTyp": 0, "DCA": 1, "DCV": 300}, {"PrtTyp": 1, "DCA": -8, "DCV": 52.5, "Tmp": 25}]
    said = [ModelSaid(1, {"SN": "ABC"}), ModelSaid(713, {"SoC": 44}), ModelSaid(714, {"NPrt": 2}, ports)]
    device = device_of(said, Whose("A"))
    assert brings(device, "A") == {"current": 714, "voltage": 714, "soc": 713, "serial": 1}
    assert next(s.element for s in device.known.signals if s.name == "current") == 1


def test_what_is_the_whole_banks_is_given_to_no_single_module() -> None:
    port = [{"PrtTyp": 1, "DCA": -80, "DCV": 52.5}]
    said = [
        ModelSaid(1, {"SN": "X"}),
        ModelSaid(802, {"A": 80, "V": 52.5, "SoC": 50}),
        ModelSaid(714, {"NPrt": 1}, port),
    ]
    assert device_of(said, ALL).known.signals == ()
    assert brings(device_of(said, Whose("A")), "A")["current"] == 714
    assert brings(device_of(said, Whose(by_number={1: "A"})), "A")["current"] == 714
    ports = [{"PrtTyp": 1, "DCA": -8 - k, "DCV": 52.5} for k in range(2)]
    two = device_of([ModelSaid(1, {}), ModelSaid(714, {"NPrt": 2}, ports)], Whose(by_number={1: "A", 2: "B"}))
    assert brings(two, "B") == {"current": 714, "voltage": 714}


def test_one_damaged_answer_of_a_device_does_not_silence_its_modules() -> None:
    source = SunspecSource(VirtualWire(line("damage=25 %", device=7)), speakers(7), SunListing(), "charging")
    outcomes = [[each.outcome for each in source.cycle().heard] for _ in range(12)]
    mixed = [found for found in outcomes if Outcome.ANSWER in found and len(set(found)) > 1]
    assert mixed  # some modules of it were heard in a poll in which others were not
    assert sum(found.count(Outcome.ANSWER) for found in outcomes) > 12 * len(NAMES) / 2


def test_what_could_not_be_read_at_the_first_meeting_is_looked_for_again() -> None:
    wire, listing = VirtualWire(line("damage=60 %", device=7)), SunListing()
    source = SunspecSource(wire, speakers(7), listing, "charging", policy=Policy(Patience(0.05)))
    for _ in range(40):
        source.cycle()
        if listing.signals:
            break
    assert {signal.module for signal in listing.known[7]} < set(NAMES)
    wire.line.troubles = ()
    for _ in range(25):
        source.cycle()
    assert {signal.module for signal in listing.known[7]} == set(NAMES)


def test_a_count_beyond_the_length_is_bounded_and_noted() -> None:
    registers = image_of([ModelSaid(1, {}), ModelSaid(803, {"NStr": 3000}, [{"StrA": 1}])])
    device = discovered(one_device(registers), 1, ALL, "charging")
    assert device is not None
    assert any("counts 3000 and has room for 1" in note for note in device.notes)
    assert {s.module for s in device.known.signals} == {"M1"}


def test_an_old_common_model_that_is_one_shorter_is_no_trouble() -> None:
    registers = image_of([ModelSaid(1, {"Mn": "x"})])
    moved = {place if place < 40069 else place - 1: word for place, word in registers.items() if place != 40069}
    moved[40003] = 65
    chain = walked(one_device(moved), 1)
    assert chain is not None
    assert chain.notes == ()


def test_a_device_that_goes_and_comes_back_and_one_whose_models_moved() -> None:
    wire, listing = VirtualWire(line("reboot:M2=20 s@8", "damage=10 %")), SunListing()
    source = SunspecSource(wire, speakers(None), listing, "charging", policy=Policy(Patience(0.1)))
    answered = []
    for _ in range(30):
        cycle = source.cycle()
        answered.append(cycle.heard[1].outcome)
        source.sleep(1.0)
    assert Outcome.SILENCE in answered
    assert answered[-1] in (Outcome.ANSWER, Outcome.LATE)
    module = wire.line.modules[0]
    assert isinstance(module, SunspecModule)
    before = module.says
    module.says = lambda now: [before(now)[0], ModelSaid(713, {"SoC": 50}), *before(now)[1:]]
    later = [source.cycle().heard[0].values for _ in range(12)]
    assert later[0] == {}  # other registers stand there: nothing is made of them
    assert later[-1]["voltage"].quality == GOOD


def test_over_tcp_they_are_read_too() -> None:
    tcp = VirtualTcp(line(device=7).modules)
    source = SunspecSource(tcp, speakers(7), SunListing(), "charging")
    source.cycle()
    assert source.cycle().answered == len(NAMES)


def test_every_request_of_a_walk_and_of_polls_reads() -> None:
    wire = VirtualWire(line())
    source = SunspecSource(wire, speakers(None), SunListing(), "charging")
    for _ in range(3):
        source.cycle()
    assert wire.line.counts.characters == 8 * wire.line.counts.requests
    assert {frame[1] for frame in wire.line.counts.frames} == {3}
    assert not any(module.written for module in wire.line.modules)
    assert isinstance(SunAsk(0, 1).request(1), Request)
    assert SunAsk(0, 1).request(1).function is Function.HOLDING


# What a survey says.


def surveyed(made: Line, **expected: object) -> dict[str, Explanation]:
    told: dict[str, object] = {"isolated": True, "terminators": 2, "length": 3.0, **expected}
    wanted = Expected(told.pop("modules", targets()), **told)  # type: ignore[arg-type]
    return {each.code: each for each in explain(survey(VirtualWire(made), wanted, How(other_speeds=False)))}


def test_a_survey_tells_who_speaks_sunspec_and_what_it_brings() -> None:
    told = surveyed(line(), speakers=speakers(None), positive="charging")
    assert "models 1, 804 and 805" in told["BUS-SUNSPEC"].observed.text()
    assert "16 cells" in told["BUS-SUNSPEC"].observed.text()
    assert told["BUS-SUNSPEC"].at == NAMES
    assert not [code for code, each in told.items() if each.verdict == "fail"]


def test_a_device_for_all_is_told_with_its_modules() -> None:
    alone = (Target("device", 7),)
    told = surveyed(line(device=7), speakers=speakers(7), positive=None, modules=alone)
    assert "of 5 modules" in told["BUS-SUNSPEC"].observed.text()
    assert told["BUS-SIGN"].verdict == "unknown"
    more = (Speaker(7, Whose(by_number={**dict(enumerate(NAMES, 1)), 9: "M9"})),)
    told = surveyed(line(device=7), speakers=more, positive="charging", modules=alone)
    assert told["BUS-UNTOLD"].at == ("M9",)


def test_sunspec_where_the_file_says_nothing_and_none_where_it_says_so() -> None:
    told = surveyed(line())
    assert 'protocol = "sunspec"' in told["BUS-SUNSPEC"].test.text()  # type: ignore[union-attr]
    assert told["BUS-SUNSPEC"].verdict == "caution"
    told = surveyed(rack().line, speakers=speakers(None), positive="charging")
    assert "SunS stands at none" in told["BUS-PROTOCOL"].observed.text()
