"""What cannot be read is refused in a clear word, and whatever is pasted, nothing falls over."""

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bankwright.job.sheets import NotReadable, proposed_of
from bankwright.sheets.read import proposals_of_text
from support.ended import ended

GIVEN = Path(__file__).parent / "given"


def written(folder, name, content):
    path = folder / name
    path.write_bytes(content)
    return path


def test_a_picture_is_called_a_picture(tmp_path):
    path = tmp_path / "scan.pdf"
    Image.new("RGB", (1240, 1754), "white").save(path)
    with pytest.raises(NotReadable, match="only a picture"):
        proposed_of(path)
    Image.new("RGB", (40, 40)).save(tmp_path / "photo.png")
    with pytest.raises(NotReadable, match="only a picture"):
        proposed_of(tmp_path / "photo.png")


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("empty.txt", b"", "empty"), ("cut.pdf", b"%PDF-1.7\n1 0 obj", "no PDF that can be read"),
        ("shed.toml", b'title = "Shed"', "no maker's sheet"),
        ("zip.bin", b"PK\x03\x04\0\0\0\0", "neither"), ("shopping.txt", b"milk\nbread\ntwo onions\n", "Nothing of a"),
    ],
)  # fmt: skip
def test_other_files(tmp_path, name, content, word):
    with pytest.raises(NotReadable, match=word):
        proposed_of(written(tmp_path, name, content))


def test_a_file_that_is_not_there_ends_with_two(capsys):
    assert ended(["datasheet", "nowhere.pdf"]) == 2
    assert "nowhere.pdf" in capsys.readouterr().err


def test_json_says_why_it_was_refused(tmp_path, capsys):
    assert ended(["datasheet", str(written(tmp_path, "x.txt", b"nothing")), "--json"]) == 2
    assert "Nothing of a" in json.loads(capsys.readouterr().out)["refused"]


LINES = [line for path in GIVEN.glob("*.txt") for line in path.read_text("utf-8").splitlines()]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.one_of(st.sampled_from(LINES), st.text(max_size=60)), max_size=40))
def test_any_text_is_read_or_refused(lines):
    try:
        proposals_of_text("\n".join(lines))
    except NotReadable as refusal:
        said = str(refusal)
        assert said


@pytest.mark.parametrize(
    "top",
    [
        "Kerbside K7, home car charger\nMax. charging current 32 A\nMass 3 kg\nAltitude 2000 m",
        "Hofstrom 11, Wandladestation\nLadestrom 16 A\nMasse 4 kg\nAufstellhöhe bis 2000 m",
        "Trottoir 22, borne de recharge\nCourant de charge 32 A\nMasse 6 kg\nAltitude 2000 m",
        "Acera 7, cargador\nNorma IEC 61851-1\nCorriente de carga máxima 32 A\nAltitud hasta 2000 m",
    ],
)
def test_a_charge_point_of_a_car_is_no_kind(top):
    with pytest.raises(NotReadable, match=r"charge point for a car.*no kind of the bank file"):
        proposals_of_text(top)
    assert proposals_of_text(top, "charger").kind == "charger"


@pytest.mark.parametrize(
    "top",
    [
        "Volet 40, régulateur de charge solaire\nTension maximale à la batterie 66 V\nCourant de charge nominal 40 A",
        "Fensterbank 40, Solarladeregler\nMax. Batteriespannung 66 V\nMaximaler Ladestrom 40 A\nMasse 3 kg",
        "Sill 40, charge controller\nMax. battery voltage 66 V\nMax. charge current 40 A\nWeight 3 kg",
    ],
)
def test_what_charges_from_the_sun_is_a_charger(top):
    found = proposals_of_text(top)
    assert found.kind == "charger"
    assert shown_of(found, "current") == "40 A"


def shown_of(found, key):
    return found.models[""][key].value


def test_a_refusal_keeps_to_the_width_and_ends_once(tmp_path, capsys):
    for content in (b"nothing", b"Cable 4/0 AWG, 2/0 AWG, 1/0 AWG\nresistance mOhm/m"):
        assert ended(["datasheet", str(written(tmp_path, "x.txt", content))]) == 2
        said = capsys.readouterr().err
        assert max(map(len, said.splitlines()[1:])) <= 80  # the first line may hold a long path
        assert said.strip()[-2:] not in ("?.", "..")
