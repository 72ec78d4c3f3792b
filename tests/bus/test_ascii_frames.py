"""ASCII frames of YD/T 1363: checks, every way an answer can be spoilt, only reading, and the chance of the check."""

from __future__ import annotations

import math
import os
import random
import socket
import threading
import tty
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.ascii.check import chksum, length_of, length_text
from bankwright.bus.ascii.others import piece_at, text_frames_in
from bankwright.bus.ascii.reply import Information, TextRefusal
from bankwright.bus.ascii.request import Command, TextRequest, text_frame
from bankwright.bus.ascii.taken import take_text
from bankwright.bus.exchange import Patience, exchange
from bankwright.bus.modbus.others import paired
from bankwright.bus.modbus.request import NotReading
from bankwright.bus.modbus.taken import PARITY, Chunk
from bankwright.bus.spell import serial_frame, tcp_bytes
from bankwright.bus.timing import Framing
from bankwright.bus.wire.serial_port import SerialPort
from bankwright.bus.wire.socket_tcp import TcpWire

ASK = TextRequest(1, Command.ANALOG, b"\x01")
READING = {0x41, 0x42, 0x43, 0x44, 0x46, 0x47, 0x4D, 0x4F, 0x50, 0x51}
ANYTHING: st.SearchStrategy[Any] = st.one_of(
    st.integers(-300, 300), st.binary(max_size=12), st.text(max_size=4), st.floats(), st.booleans(), st.none()
)


def chunk(data: bytes, marks: bytes = b"") -> Chunk:
    return Chunk(data, marks or bytes(len(data)))


def answer(info: bytes, unit: int = 1, code: int = 0) -> bytes:
    """An answer put together with another sum than the one that is tested: 65536 less the sum, as a loop."""
    nibbles, total = len(info), 0
    low = (nibbles >> 8) + (nibbles >> 4 & 15) + (nibbles & 15)
    said = b"20%02X46%02X" % (unit, code) + b"%X%03X" % ((~low + 1) & 15, nibbles) + info
    for character in said:
        total = (total + character) % 65536
    return b"~" + said + b"%04X" % ((65536 - total) % 65536) + b"\r"


REPLY = answer(b"0010" + b"0CE4" * 16 + b"FEBB")


def is_reading(frame: bytes) -> bool:
    piece = piece_at(frame, 0)
    return piece.state == "whole" and piece.end == len(frame) and piece.code in READING and piece.unit <= 254


def test_the_checks_agree_with_a_request_as_manuals_print_it() -> None:
    # A request for analog values of address 1 as papers on this frame print it: from memory, no text was read.
    assert text_frame(ASK) == b"~20014642E00201FD35\r"
    assert length_text(2) == b"E002"
    assert length_text(0) == b"0000"
    # by hand: 0x04B has the nibbles 0 + 4 + 11 = 15; turned 0, and one: 1
    assert length_text(0x4B) == b"104B"
    assert chksum(b"20014642E00201") == 0x10000 - sum(b"20014642E00201")


def test_a_length_reads_back_and_one_wrong_nibble_is_seen() -> None:
    for characters in range(0, 4096, 37):
        said = length_text(characters)
        assert length_of(said) == characters
        for place in range(4):
            other = b"%X" % ((int(said[place : place + 1], 16) + 5) % 16)
            assert length_of(said[:place] + other + said[place + 1 :]) is None


def test_an_answer_is_read_and_a_return_code_told_in_words() -> None:
    got = take_text(ASK, chunk(REPLY))
    assert got.reply == Information(REPLY[13:-5], 0x20)
    assert take_text(ASK, chunk(answer(b"", code=4))).reply == TextRefusal(4)
    assert "does not know this command" in TextRefusal(4).words
    assert "maker's own" in TextRefusal(0x91).words
    assert "not in the standard" in TextRefusal(0x33).words


def test_blanks_are_let_through_as_no_value() -> None:
    assert take_text(ASK, chunk(answer(b"00    0CE4"))).reply == Information(b"00    0CE4", 0x20)


@pytest.mark.parametrize("before", [b"\x00", b"\xff\r", b"~2001", b"~~", b"7E", text_frame(ASK)[:9]])
@pytest.mark.parametrize("after", [b"", b"\x00", b"\r\n", b"~20"])
def test_noise_before_and_after_does_not_hide_the_answer(before: bytes, after: bytes) -> None:
    got = take_text(ASK, chunk(before + REPLY + after))
    assert isinstance(got.reply, Information)
    assert got.after == after


def test_what_is_not_over_is_cut_and_what_is_wrong_is_broken() -> None:
    for end in range(1, len(REPLY)):
        got = take_text(ASK, chunk(REPLY[:end]))
        assert got.reply is None
        assert got.cut
    spoilt = REPLY[:20] + b"G" + REPLY[21:]
    assert take_text(ASK, chunk(spoilt)).broken
    assert take_text(ASK, chunk(spoilt + REPLY)).reply is not None
    assert take_text(ASK, chunk(REPLY[:-1] + b"0\r")).broken  # one character too many before its end
    assert take_text(ASK, chunk(REPLY.lower())).reply is None  # the standard has no small letters


def test_an_echo_is_left_out_and_an_altered_one_told() -> None:
    own = text_frame(ASK)
    got = take_text(ASK, chunk(own + REPLY))
    assert got.echo
    assert isinstance(got.reply, Information)
    altered = take_text(ASK, chunk(own[:6] + b"9" + own[7:] + REPLY), echo_expected=True)
    assert altered.echo_differs
    assert isinstance(altered.reply, Information)


def test_others_on_the_line_are_strangers() -> None:
    other = answer(b"00", unit=2)
    got = take_text(ASK, chunk(other + REPLY + answer(b"01")))
    assert isinstance(got.reply, Information)
    assert [(f.unit, f.role) for f in got.strangers] == [(2, "reply"), (1, "reply")]
    assert take_text(ASK, chunk(other)).reply is None
    line = text_frame(ASK) + REPLY + text_frame(TextRequest(3, Command.VERSION)) + text_frame(ASK) + REPLY
    pairs = paired(text_frames_in(line))
    assert [(a.unit, b.unit if b else None) for a, b in pairs] == [(1, 1), (3, None), (1, 1)]
    assert not any(frame.writes for frame in text_frames_in(line))
    order = text_frame(ASK)[1:-5].replace(b"42E", b"45E")
    assert text_frames_in(b"~" + order + b"%04X\r" % chksum(order))[0].writes


def test_a_character_with_a_wrong_parity_voids_the_frame() -> None:
    marks = bytes(len(REPLY) - 1) + bytes((PARITY,))
    assert take_text(ASK, chunk(REPLY, marks)).reply is None


@given(st.binary(max_size=200) | st.text("~0123456789ABCDEF \r", max_size=200).map(str.encode), st.booleans())
@settings(max_examples=100, deadline=None)
def test_nothing_that_comes_breaks_the_reader(data: bytes, echo: bool) -> None:
    got = take_text(ASK, chunk(data), echo)
    assert 0 <= got.start <= got.end <= len(data)
    for frame in text_frames_in(data):
        assert piece_at(data, frame.start).state == "whole"


# Only reading.


def test_the_commands_are_a_closed_list() -> None:
    assert {each.value for each in Command} == READING
    with pytest.raises(TypeError):
        Command("write", "45")  # type: ignore[call-arg]


@given(ANYTHING, st.one_of(st.sampled_from(Command), ANYTHING), ANYTHING, ANYTHING, ANYTHING)
@settings(max_examples=150, deadline=None)
def test_a_request_of_anything_is_reading_or_refused(unit: Any, command: Any, info: Any, version: Any, g: Any) -> None:
    try:
        request = TextRequest(unit, command, info, version, g)
    except NotReading:
        return
    assert is_reading(serial_frame(request))
    assert tcp_bytes(request, 1) == serial_frame(request)


@pytest.mark.parametrize("field", ["unit", "command", "info", "version", "group"])
@pytest.mark.parametrize("value", [255, 0x45, "45", b"x" * 9, -1, True, None])
def test_a_request_that_was_tampered_with_is_not_spelled(field: str, value: Any) -> None:
    request = TextRequest(1, Command.ANALOG)
    object.__setattr__(request, field, value)
    try:
        frame = serial_frame(request)
    except NotReading:
        return
    assert is_reading(frame)


def test_something_that_only_looks_like_a_request_is_not_spelled() -> None:
    class Sly(TextRequest):
        pass

    for each in (Sly(1, Command.ANALOG), b"~200146450000FDAD\r", "~"):
        with pytest.raises(NotReading):
            serial_frame(each)  # type: ignore[arg-type]


def test_every_character_on_a_port_and_on_a_connection_is_a_reading_request() -> None:
    master, slave = os.openpty()
    tty.setraw(master)
    heard, door = bytearray(), socket.socket()
    door.bind(("127.0.0.1", 0))
    door.listen(1)

    def listen() -> None:
        caller, _ = door.accept()
        with caller:
            while part := caller.recv(4096):
                heard.extend(part)

    thread = threading.Thread(target=listen)
    thread.start()
    port, wire = SerialPort(os.ttyname(slave), Framing(115200, "none")), TcpWire("127.0.0.1", door.getsockname()[1])
    said = b""
    for count, command in enumerate(Command):
        request = TextRequest(count, command, bytes((count,)) * (count % 4))
        exchange(port, request, Patience(0.002))
        exchange(wire, request, Patience(0.002))
        said += os.read(master, 4096)
    wire.close()
    port.close()
    thread.join(60)
    door.close()
    os.close(slave)
    os.close(master)
    assert bytes(heard) == said
    frames = [each + b"\r" for each in said.split(b"\r")[:-1]]
    assert len(frames) == len(Command)
    assert all(is_reading(each) for each in frames)


# The chance of the check.

WAYS = ("one bit", "two characters", "burst", "rest at random")
HEX = b"0123456789ABCDEF"


def damaged(rng: random.Random, frame: bytes, way: str) -> bytes:
    """A flipped bit; two other hexadecimal characters; eight random bytes; a right head, then random characters."""
    data = bytearray(frame)
    if way == "one bit":
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    elif way == "two characters":
        for at in rng.sample(range(13, len(data) - 5), 2):
            data[at] = rng.choice([c for c in HEX if c != data[at]])
    elif way == "burst":
        at = rng.randrange(len(data) - 8)
        data[at : at + 8] = rng.randbytes(8)
    else:
        data[13:-1] = bytes(rng.choice(HEX) for _ in range(len(data) - 14))
    return bytes(data)


def chance_of_two(info: bytes) -> float:
    """That two characters of the information, each changed into any other of the sixteen, leave their sum as it was."""
    sure, count = 0.0, len(info)
    steps = {old: Counter(new - old for new in HEX if new != old) for old in set(info)}
    for old, many in Counter(info).items():
        for second, others in Counter(info).items():
            pairs = many * (others - (old == second)) / (count * (count - 1))
            alike = sum(ways * steps[second][-step] for step, ways in steps[old].items())
            sure += pairs * alike / 15**2
    return sure


def chances() -> dict[str, float]:
    """What each way of damage must pass by, computed: a sum does not see changes that cancel each other."""
    return {
        "one bit": 0.0,  # a sum changes by no more than 128 and never by 0; in the check itself the sum stays
        "two characters": chance_of_two(REPLY[13:-5]),
        "burst": 2.0**-16,  # most bursts have characters that no frame has
        "rest at random": 2.0**-16,  # of the sum; the length is right here, so its nibble does not help
    }


def accepted(count: int, seed: int) -> dict[str, tuple[int, int]]:
    rng, found = random.Random(seed), {}
    for way in WAYS:
        taken = tried = 0
        for _ in range(count):
            said = damaged(rng, REPLY, way)
            if said != REPLY:
                tried += 1
                taken += take_text(ASK, chunk(said)).reply is not None
        found[way] = (taken, tried)
    return found


def most(chance: float, tried: int) -> float:
    """What chance lets pass, and five times its root."""
    mean = chance * tried
    return mean + 5 * math.sqrt(mean) + 1


def judged(found: dict[str, tuple[int, int]]) -> None:
    for way, (taken, tried) in found.items():
        assert taken <= most(chances()[way], tried), (way, taken, tried, chances()[way])
    assert found["one bit"][0] == 0


def test_damaged_frames_are_not_accepted_beyond_the_chance_of_the_check() -> None:
    judged(accepted(1_000, seed=3))
    assert 0.02 < chances()["two characters"] < 0.12  # the weakness of a sum, said in the docs


def test_a_random_frame_passes_length_nibble_and_sum_once_in_a_million() -> None:
    # counted over all lengths: one in 16 has a right check of its length; the sum lets one in 65536 through
    right = sum(length_of(b"%04X" % value) is not None for value in range(65536))
    assert right / 65536 == pytest.approx(1 / 16)
    assert right / 65536 / 65536 == pytest.approx(2.0**-20)


@pytest.mark.soak
def test_a_million_damaged_text_frames() -> None:
    """A million damaged answers in ASCII frames: none is taken beyond the chance of the check."""
    judged(accepted(250_000, seed=4))
