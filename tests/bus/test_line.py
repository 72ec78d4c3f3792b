"""What a receiver hears of a line: against a table of symptoms, and the time on the line against the closed form."""

from __future__ import annotations

import pytest

from bankwright.bus.modbus.taken import FRAMING, PARITY
from bankwright.bus.poll import Policy, Poller
from bankwright.bus.timing import Framing, poll_limit, registers_within, scan_time, transaction
from bankwright.bus.uart import heard, joined, wave
from support.pretend_racks import LINE, NAMES, rack, register_map, targets

SAID = bytes.fromhex("01030000003C45DB")
# Bit-exact simulation by another program (16-fold oversampled start-bit search, sampling in the middle), request
# 01 03 00 00 00 3C 45 DB: characters, P parity wrong, F stop bit missing.
SYMPTOMS = {
    "none": (Framing(9600, "even"), Framing(9600, "even"), False, "01 03 00 00 00 3C 45 DB"),
    # 4.9 %: at 4.8 % one flag is another, so close to the edge of a sample are these bits
    "receiver 5 % slow": (Framing(9600), Framing(9140), False, "01.F 40.PF 00.PF 3C.PF D1.P DB.P"),
    "receiver at 2x": (Framing(9600), Framing(19200), False, "06.F 1E.F 00.F 00.F 00.F E0 60 06 9E 9E FE"),
    "receiver at half": (Framing(9600), Framing(4800), False, "14.PF 00 03"),
    "receiver at 1/12": (Framing(115200), Framing(9600), False, "E8.P"),
    "even sent, none set": (Framing(9600), Framing(9600, "none"), False, "01 03.F 00.F 00.F 00.F 3C.F 45 DB.F"),
    "none sent, even set": (Framing(9600, "none"), Framing(9600), False, "01.F 20.PF 00.PF 3C.PF 51 FB"),
    "two stop bits sent": (Framing(9600, "none", 2), Framing(9600, "none"), False, "01 03 00 00 00 3C 45 DB"),
    "pair swapped": (Framing(9600, "none"), Framing(9600, "none"), True, "7F 7E FF FF 87 75 49.F"),
}


def shown(sender: Framing, receiver: Framing, inverted: bool) -> str:
    got = heard(wave(SAID, sender, 0.0, receiver, inverted), receiver)
    marks = ["." * (mark > 0) + "P" * (mark & PARITY > 0) + "F" * (mark & FRAMING > 0) for mark in got.marks]
    return " ".join(f"{byte:02X}{mark}" for byte, mark in zip(got.data, marks, strict=True))


@pytest.mark.parametrize("name", SYMPTOMS)
def test_a_receiver_hears_what_the_table_says(name: str) -> None:
    sender, receiver, inverted, table = SYMPTOMS[name]
    assert shown(sender, receiver, inverted) == table


def test_odd_against_even_parity_leaves_the_bytes_and_marks_every_one() -> None:
    got = heard(wave(SAID, Framing(9600, "odd"), 0.0, Framing(9600)), Framing(9600))
    assert got.data == SAID
    assert set(got.marks) == {PARITY}


def test_nine_thousand_six_hundred_heard_at_twelve_times_is_many_zeros() -> None:
    receiver = Framing(115200)
    got = heard(wave(SAID, Framing(9600), 0.0, receiver), receiver)
    assert len(got.data) == 17
    assert set(got.data) == {0}


def test_two_senders_at_once_are_the_zeros_of_both() -> None:
    waves = [wave(bytes((value,)), LINE, 0.0, LINE) for value in (0b11001100, 0b10101010)]
    assert heard(joined(waves), LINE).data == bytes((0b10001000,))


# Silences and characters of MODBUS over Serial Line V1.02, 2.5.1 and 2.5.1.1; cycles of N modules with one block of 60
# registers, ms, worked out by hand from them: (8 + 5 + 120) characters of 11 bits and two silences each.
CYCLES = {
    9600: {4: 641.7, 8: 1283.3, 16: 2566.7},
    19200: {4: 320.8, 8: 641.7, 16: 1283.3},
    115200: {4: 64.8, 8: 129.6, 16: 259.2},
}


@pytest.mark.parametrize("baud", CYCLES)
def test_the_shortest_cycle_agrees_with_the_table(baud: int) -> None:
    for modules, cycle in CYCLES[baud].items():
        assert abs(poll_limit(Framing(baud), modules, [60]) * 1000 - cycle) <= 0.05
    three = {9600: 3300.0, 19200: 1650.0, 115200: 410.9}[baud]
    assert abs(poll_limit(Framing(baud), 16, [20, 20, 20]) * 1000 - three) <= 0.05


def test_characters_and_silences_agree_with_the_table() -> None:
    # the same document: character of 11 bits, 1.5 and 3.5 characters up to 19200, 750 and 1750 us above, in us
    for baud, row in {
        9600: (1145.83, 1718.8, 4010.4),
        19200: (572.92, 859.4, 2005.2),
        115200: (95.49, 750, 1750),
    }.items():
        framing = Framing(baud)
        for value, table in zip((framing.character, framing.t15, framing.t35), row, strict=True):
            assert abs(value * 1e6 - table) <= 0.05
    assert str(Framing(9600, "none")) == "9600 8N1"
    assert Framing(9600, "none").bits == 10


def test_registers_that_fit_a_period_fit_and_one_more_does_not() -> None:
    for baud, modules in ((9600, 4), (19200, 8), (115200, 16)):
        framing = Framing(baud)
        most = registers_within(framing, modules, 1.0)
        assert modules * transaction(framing, most) <= 1.0 < modules * transaction(framing, most + 1)


@pytest.mark.parametrize("baud", [9600, 19200, 115200])
def test_a_cycle_on_the_virtual_clock_is_the_limit_to_the_microsecond(baud: int) -> None:
    framing = Framing(baud)
    wire = rack(framing=framing)
    poller = Poller(wire, register_map(serial=False), targets())
    poller.cycle()
    for _ in range(3):
        begun = wire.now()
        cycle = poller.cycle()
        assert cycle.answered == len(NAMES)
        registers = [block.count for block in poller.fast]
        assert abs(wire.now() - begun - poll_limit(framing, len(NAMES), registers)) < 1e-6
    assert wire.line.counts.violations == 0


def test_a_master_that_keeps_no_silence_is_counted() -> None:
    wire = rack()
    frame = bytes.fromhex("010400000001") + b"\x31\xca"
    end = wire.line.request(frame, 1.0)
    wire.line.request(frame, end + LINE.t35 / 2)
    assert wire.line.counts.violations == 1


def test_a_dead_module_costs_little() -> None:
    # One that is asked in vain each time costs its time limit each time: of 16 addresses and 2 s each a scan of 2.7 s
    # becomes 6.4 s. Left alone longer and longer it costs less than a twentieth of the time.
    wire = rack("off:M3")
    poller = Poller(wire, register_map(), targets(), Policy())
    spent = sum(poller.cycle().took for _ in range(200))
    alive = 200 * poll_limit(LINE, 4, [block.count for block in poller.fast])
    assert spent < 1.05 * alive + 3.0
    assert all(each.outcome is None or each.module == "M3" for each in poller.cycle().heard if not each.values)


def test_what_silent_addresses_cost_agrees_with_a_masters_log() -> None:
    # A master's log: request at 21 258 ms, time-out at 23 270 ms: 2.01 s a silent address. 16 addresses, 9600 bit/s,
    # answers of 89 bytes (42 registers), 50 ms of reaction: 6.4 s with two silent, 4.0 s of them waiting, 2.7 s with
    # none, 28.5 s with two alive (worked out by hand from the log).
    framing = Framing(9600)
    reply = (8 + 5 + 2 * 42) * framing.character + framing.t35

    def scan(alive: int, silent: int) -> float:
        return scan_time(framing, alive, silent, [42], timeout=2.012 - reply, thinking=0.05)

    assert abs(scan(14, 2) - 6.4) <= 0.05
    assert abs(scan(16, 0) - 2.7) <= 0.05
    assert abs(scan(2, 14) - 28.5) <= 0.1
    assert abs(scan(14, 2) - scan(14, 0) - 4.0) <= 0.05
