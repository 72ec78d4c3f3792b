"""Frames of Modbus: checks against published vectors, every way a reply can be spoilt, and what others say."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankwright.bus.modbus.crc import crc, holds, with_crc
from bankwright.bus.modbus.others import frames_in, paired
from bankwright.bus.modbus.reply import Identity, Refusal, Registers
from bankwright.bus.modbus.request import Function, Request, rtu_frame, tcp_frame
from bankwright.bus.modbus.taken import PARITY, Chunk, take
from bankwright.bus.modbus.tcp import take_tcp

pytestmark = pytest.mark.quick

# MODBUS over Serial Line V1.02, 6.2.2, worked example; catalogue of CRC algorithms, CRC-16/MODBUS, check value; the
# requests and replies of MODBUS Application Protocol V1.1b3, 6.3 and 6.4, with unit 11 (hex), check computed twice.
VECTORS = {
    b"123456789": 0x4B37,
    bytes.fromhex("0207"): 0x1241,
    bytes.fromhex("1103006B0003"): 0x8776,
    bytes.fromhex("110306022B00000064"): 0xBAC8,
    bytes.fromhex("110400080001"): 0x98B2,
    bytes.fromhex("110402000A"): 0xF4F8,
    bytes.fromhex("01030000003C"): 0xDB45,
    bytes.fromhex("018302"): 0xF1C0,
    b"": 0xFFFF,
}
ASK = Request(1, Function.HOLDING, 0, 3)
ANSWER = with_crc(bytes.fromhex("010306022B00000064"))


def chunk(data: bytes, marks: bytes = b"") -> Chunk:
    return Chunk(data, marks or bytes(len(data)))


@pytest.mark.parametrize("said", VECTORS, ids=lambda said: said.hex() or "empty")
def test_the_check_agrees_with_published_vectors(said: bytes) -> None:
    assert crc(said) == VECTORS[said]
    assert with_crc(said)[-2:] == VECTORS[said].to_bytes(2, "little")


def test_a_frame_of_two_bytes_is_none_although_its_check_holds() -> None:
    assert crc(b"\xff\xff") == 0
    assert not holds(b"\xff\xff")


def test_requests_are_spelled_as_the_standard_prints_them() -> None:
    # V1.1b3, 6.3 (registers 108 to 110) and 6.4 (input register 9); 6.21 (basic identification)
    assert rtu_frame(Request(0x11, Function.HOLDING, 0x6B, 3)) == bytes.fromhex("1103006B00037687")
    assert rtu_frame(Request(0x11, Function.INPUT, 8, 1)) == bytes.fromhex("110400080001B298")
    assert rtu_frame(Request(0x11, Function.IDENTITY))[1:5] == bytes.fromhex("2B0E0100")
    assert tcp_frame(Request(0x11, Function.HOLDING, 0x6B, 3), 7) == bytes.fromhex("00070000000611 03006B0003")


def test_a_reply_is_read() -> None:
    assert take(ASK, chunk(ANSWER)).reply == Registers((555, 0, 100))  # V1.1b3, 6.3: 022B, 0000, 0064
    assert take(ASK, chunk(with_crc(b"\x01\x83\x02"))).reply == Refusal(2)


def test_the_echo_of_a_request_is_left_out_and_an_altered_one_is_told() -> None:
    # a reply to 01 04 00 00 00 2a 71 d5 glued behind its echo, as two-wire adapters give it
    ask = Request(1, Function.INPUT, 0, 42)
    own = rtu_frame(ask)
    assert own == bytes.fromhex("01040000002a71d5")
    reply = with_crc(b"\x01\x04\x54" + bytes(84))
    got = take(ask, chunk(own + reply))
    assert got.echo
    assert isinstance(got.reply, Registers)
    assert len(got.reply.values) == 42
    altered = bytes([own[0], own[1], own[2] ^ 8]) + own[3:]
    spoilt = take(ask, chunk(altered + reply), echo_expected=True)
    assert spoilt.echo_differs
    assert not spoilt.echo
    assert spoilt.reply == got.reply


@pytest.mark.parametrize("before", [b"\x00", b"\xff\x00", b"\x01\x03\x06", b"\x01\x01\x03"])
@pytest.mark.parametrize("after", [b"", b"\x00", b"\xff\xfe\xfd"])
def test_noise_before_and_after_does_not_hide_the_reply(before: bytes, after: bytes) -> None:
    got = take(ASK, chunk(before + ANSWER + after))
    assert got.reply == Registers((555, 0, 100))
    assert (got.noise_before, got.after) == (before, after)


def test_a_damaged_reply_then_a_good_one() -> None:
    bad = bytes([*ANSWER[:5], ANSWER[5] ^ 1, *ANSWER[6:]])
    assert take(ASK, chunk(bad)).broken
    assert take(ASK, chunk(bad + ANSWER)).reply == Registers((555, 0, 100))
    assert take(ASK, chunk(ANSWER[:7])).cut


def test_a_strangers_reply_is_no_reply_and_no_damage() -> None:
    other = with_crc(b"\x02" + ANSWER[1:-2])
    got = take(ASK, chunk(other))
    assert got.reply is None
    assert not got.broken
    assert [(f.unit, f.role) for f in got.strangers] == [(2, "reply")]
    assert take(ASK, chunk(other + ANSWER)).reply == Registers((555, 0, 100))


def test_two_replies_of_one_address_are_seen() -> None:
    got = take(ASK, chunk(ANSWER + ANSWER))
    assert [(f.unit, f.start) for f in got.strangers] == [(1, len(ANSWER))]


def test_a_character_with_a_wrong_parity_voids_the_frame() -> None:
    marks = bytes(len(ANSWER) - 1) + bytes((PARITY,))
    assert take(ASK, chunk(ANSWER, marks)).reply is None


def test_identification_is_read_and_its_lies_about_length_are_not() -> None:
    ask = Request(5, Function.IDENTITY)
    said = bytes.fromhex("2B0E0101000003") + b"\x00\x03abc\x01\x02pq\x02\x011"
    assert take(ask, chunk(with_crc(b"\x05" + said))).reply == Identity(((0, "abc"), (1, "pq"), (2, "1")))
    liar = said[:8] + b"\xf0" + said[9:]
    assert take(ask, chunk(with_crc(b"\x05" + liar))).reply is None


def test_a_listener_reads_requests_and_replies_in_pairs() -> None:
    # a device that expects only requests would find wrong checks in the longer reply of another one
    line = rtu_frame(ASK) + ANSWER + rtu_frame(Request(2, Function.INPUT, 0, 8)) + rtu_frame(ASK) + ANSWER
    pairs = paired(frames_in(line))
    assert [(a.unit, b.unit if b else None) for a, b in pairs] == [(1, 1), (2, None), (1, 1)]
    assert not any(frame.writes for frame in frames_in(line))
    assert frames_in(with_crc(bytes.fromhex("010600010003")))[0].writes


def test_tcp_replies_are_matched_by_their_number() -> None:
    said = bytes.fromhex("0306022B00000064")
    ours = (9).to_bytes(2, "big") + bytes(2) + (len(said) + 1).to_bytes(2, "big") + b"\x01" + said
    late = (8).to_bytes(2, "big") + ours[2:]
    got = take_tcp(ASK, 9, late + ours)
    assert got.reply == Registers((555, 0, 100))
    assert len(got.strangers) == 1
    assert take_tcp(ASK, 9, late).reply is None
    assert take_tcp(ASK, 9, ours[:-1]).cut
    assert take_tcp(ASK, 9, b"HTTP/1.1 400 Bad Request").broken


@given(st.binary(max_size=300), st.booleans())
@settings(max_examples=200, deadline=None)
def test_nothing_that_comes_breaks_the_reader(data: bytes, echo: bool) -> None:
    got = take(ASK, chunk(data), echo)
    assert got.reply is None or holds(data[got.start : got.end])
    assert 0 <= got.start <= got.end
    take_tcp(ASK, 1, data)
    for frame in frames_in(data):
        assert holds(data[frame.start : frame.end])


def damaged(rng: random.Random, frame: bytes) -> bytes:
    """A burst, single characters, a cut, or other bytes altogether."""
    way, data = rng.randrange(4), bytearray(frame)
    if way == 0:
        for _ in range(rng.randrange(1, 6)):
            data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    elif way == 1:
        at = rng.randrange(len(data))
        data[at : at + 8] = rng.randbytes(len(data[at : at + 8]))
    elif way == 2:
        del data[rng.randrange(len(data)) :]
    else:
        data[3:] = rng.randbytes(len(data) - 3)  # a right head, then anything: the most dangerous
    return bytes(data)


def accepted(count: int, seed: int) -> tuple[int, int]:
    """Damaged frames that were taken for the reply, and those of them with a right head and random rest."""
    rng = random.Random(seed)
    reply = with_crc(b"\x01\x03\x06" + bytes.fromhex("022B00000064"))
    taken = tried = 0
    for _ in range(count):
        said = damaged(rng, reply)
        if said == reply:
            continue
        tried += 1
        taken += take(ASK, chunk(said)).reply is not None
    return taken, tried


def test_damaged_frames_are_not_accepted_beyond_the_chance_of_the_check() -> None:
    taken, tried = accepted(20_000, seed=1)
    assert tried > 19_000
    assert taken <= 4  # a quarter has a random rest: 5 000 / 65 536 = 0.08 expected; more than 4 once in 10**8 runs


@pytest.mark.soak
def test_a_million_damaged_frames() -> None:
    """A million damaged replies: none is taken beyond the chance of the check."""
    taken, tried = accepted(1_000_000, seed=2)
    assert tried > 980_000
    assert taken <= 20  # 250 000 with a random rest / 65 536 = 3.8 expected; bursts of 16 bits and less never pass
