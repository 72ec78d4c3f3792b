"""Photos: their place is taken out, all of them have a bound, no folder leads elsewhere, an id stands for one thing."""

import json
import struct
import zlib

import pytest

from bankwright.web import photos
from bankwright.web.photos import PhotoRefused, kind_of, without_place
from support.page import bank_file, client

SECRET = b"\x00\x00\x00\x30\x00\x00\x00\x01" + b"\x00\x00\x00\x0b\x00\x00\x00\x01" + b"\x00\x00\x16\x2e\x00\x00\x00\x64"


def tiff(up=6, order=">"):
    """Notes of a camera: which way is up, and a directory of places with one latitude."""
    head = (b"MM\x00\x2a" if order == ">" else b"II\x2a\x00") + struct.pack(order + "I", 8)
    rows = struct.pack(order + "H", 2)
    rows += struct.pack(order + "HHIHH", 0x0112, 3, 1, up, 0)
    rows += struct.pack(order + "HHII", 0x8825, 4, 1, 38)
    rows += struct.pack(order + "I", 0)
    place = struct.pack(order + "H", 1) + struct.pack(order + "HHII", 2, 5, 3, 56) + struct.pack(order + "I", 0)
    assert len(head + rows) == 38
    assert len(head + rows + place) == 56
    return head + rows + place + SECRET


def segment(marker, body):
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(body) + 2) + body


def jpeg():
    exif = segment(0xE1, b"Exif\x00\x00" + tiff())
    xmp = segment(0xE1, b"http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>52.1 N</x:xmpmeta>")
    table, frame = segment(0xDB, bytes(65)), segment(0xC0, b"\x08\x00\x01\x00\x01\x01\x01\x11\x00")
    coded = segment(0xDA, b"\x01\x01\x00\x00\x3f\x00") + b"\x12\xff\x00\x34\xff\xd0\x56"
    more = segment(0xFE, b"taken at home") + segment(0xDA, b"\x01\x01\x00\x00\x3f\x00") + b"\x78"
    first = b"\xff\xd8" + segment(0xE0, b"JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00") + exif + xmp + table + frame
    picture = first + coded + more + b"\xff\xd9"
    return picture, picture + b"\xff\xd8" + exif + b"\xff\xd9"  # a second picture behind it


def chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png():
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0))
    data, end = chunk(b"IDAT", zlib.compress(b"\x00\x7f")), chunk(b"IEND", b"")
    notes = chunk(b"eXIf", tiff()) + chunk(b"tEXt", b"Comment\x00home")
    return b"\x89PNG\r\n\x1a\n" + head + notes + data + end, b"\x89PNG\r\n\x1a\n" + head + data + end


def riff(*parts):
    body = b"WEBP" + b"".join(k + struct.pack("<I", len(b)) + b + b"\x00" * (len(b) & 1) for k, b in parts)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def heic():
    return (
        b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"
        + b"\x01" * 40
        + b"Exif\x00\x00"
        + tiff(order="<")
        + b"\x02" * 9
    )


def test_a_jpeg_keeps_its_picture_and_which_way_is_up_and_nothing_else():
    whole = jpeg()[1]
    clean = without_place(whole, "jpg")
    assert SECRET not in clean
    assert b"52.1" not in clean
    assert b"home" not in clean
    assert struct.pack(">HHIH", 0x0112, 3, 1, 6) in clean, "turned pictures stay turned"
    assert b"\x12\xff\x00\x34\xff\xd0\x56" in clean, "the coded picture is untouched"
    assert clean.count(b"\xff\xd9") == 1
    assert without_place(clean, "jpg") == clean, "what is clean stays as it is"


def test_png_webp_and_heic_lose_their_places():
    dirty, clean = png()
    assert without_place(dirty, "png") == clean
    dirty = riff(
        (b"VP8X", b"\x0c\x00\x00\x00" + bytes(6)), (b"VP8L", b"\x2f\x00\x00"), (b"EXIF", tiff()), (b"XMP ", b"x")
    )
    assert without_place(dirty, "webp") == riff((b"VP8X", bytes(10)), (b"VP8L", b"\x2f\x00\x00"))
    whole = heic()
    blanked = without_place(whole, "heic")
    assert len(blanked) == len(whole), "no address inside shifts"
    assert SECRET not in blanked
    assert blanked[:70] == whole[:70]


@pytest.mark.parametrize("kind", ["jpg", "png", "webp"])
def test_a_photo_cut_off_anywhere_is_refused_or_clean(kind):
    whole = {"jpg": jpeg()[0], "png": png()[0], "webp": riff((b"VP8L", b"\x2f\x00"), (b"EXIF", tiff()))}[kind]
    for at in range(16, len(whole), 3):
        try:
            clean = without_place(whole[:at], kind)
        except PhotoRefused:
            continue
        assert SECRET not in clean


def test_a_sound_file_is_no_photo():
    assert kind_of(b"RIFF\x24\x00\x00\x00WAVEfmt ") is None
    assert kind_of(b"RIFF\x24\x00\x00\x00WEBPVP8 ") == "webp"


@pytest.fixture
def web(tmp_path):
    with client(bank_file(tmp_path, "two")) as page:
        yield page


def sent(web, number, content=None, **more):
    files = {"photo": ("x.png", content or png()[0], "image/png")}
    answer = web.post("/api/photo", data={"id": f"{number:016x}", **more}, files=files)
    assert answer.status_code == 200
    return answer.json()


def test_photos_have_a_bound_in_all(web, monkeypatch):
    monkeypatch.setattr(photos, "MOST", 2 * len(png()[1]) + 5)
    assert sent(web, 1)["number"]
    assert sent(web, 2)["number"]
    refused = sent(web, 3)
    assert refused["number"] is None
    assert refused["faults"][0]["code"] == "not-kept"
    monkeypatch.setattr(photos, "MOST", 1 << 30)
    monkeypatch.setattr(photos, "SPARE", 1 << 60)
    assert "free" in sent(web, 4)["faults"][0]["found"]


def test_a_folder_that_is_a_link_is_not_followed(web, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "photos").symlink_to(tmp_path / "elsewhere")
    assert sent(web, 1)["faults"][0]["code"] == "not-kept"
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_photo_under_a_step_that_is_not_there_is_refused(web):
    assert sent(web, 1, step="build.nowhere")["faults"][0]["code"] == "unknown-step"
    note = {"kind": "note", "id": "a" * 16, "text": "x", "step": "build.nowhere"}
    found = web.post("/api/entries", json={"entries": [note]}).json()["results"][0]
    assert found["faults"][0]["code"] == "unknown-step"


def test_the_same_id_stands_for_one_thing(web):
    first = sent(web, 1)
    assert sent(web, 1)["again"] is True
    other = png()[0].replace(b"home", b"barn")
    assert sent(web, 1, content=riff((b"VP8L", b"\x2f\x00")))["faults"][0]["code"] == "id-taken"
    assert first["number"]
    assert other != png()[0]

    def note(text, **more):
        body = {"entries": [{"kind": "note", "id": "b" * 16, "text": text, **more}]}
        return web.post("/api/entries", content=json.dumps(body), headers={"content-type": "application/json"}).json()

    assert note("tight")["results"][0]["number"]
    assert note("tight")["results"][0]["again"] is True
    assert note("loose")["results"][0]["faults"][0]["code"] == "id-taken"
    assert note("tight", at="M1")["results"][0]["faults"][0]["code"] == "id-taken"
