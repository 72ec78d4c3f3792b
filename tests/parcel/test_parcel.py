"""A bank as one file: opening it again loses nothing; a parcel from elsewhere is hostile until proved."""

import hashlib
import json
import shutil
import stat
import zipfile
from pathlib import Path

import pytest

from bankwright.bank.read import read_bank
from bankwright.job.parcel.belonging import belonging
from bankwright.job.parcel.pack import LIST, packed
from bankwright.job.parcel.unpack import ParcelRefused, taken_from
from bankwright.logbook.logbook import open_logbook
from support.ended import ended

pytestmark = pytest.mark.quick

ROOT = Path(__file__).parents[2]
BANK = b'title = "Shed"\nmodules = []\n'


@pytest.fixture
def barn(tmp_path):
    folder = tmp_path / "here"
    (folder / "photos").mkdir(parents=True)
    for name in ("barn.toml", "barn-map.toml"):
        shutil.copy(ROOT / "demo" / name, folder)
    (folder / "barn.shopping.toml").write_text("[prices]\n", "utf-8")
    (folder / "photos" / "aa.jpg").write_bytes(b"\xff\xd8\xff" + bytes(range(256)) * 30)
    (folder / "photos" / "of another bank.jpg").write_bytes(b"\xff\xd8\xff")
    (folder / "other.toml").write_text("", "utf-8")
    path = folder / "barn.toml"
    with open_logbook(path, read_bank(path)) as book:
        book.note("the first entry")
        book.photo(folder / "photos" / "aa.jpg")
    return path


def test_everything_that_belongs_and_nothing_else(barn):
    found = belonging(barn)
    assert [(piece.name, piece.what) for piece in found.pieces] == [
        ("barn.toml", "bank file"), ("barn-map.toml", "register map"), ("barn.shopping.toml", "shopping file"),
        ("barn.logbook", "logbook"), ("photos/aa.jpg", "photo"),
    ]  # fmt: skip
    assert found.left_out == ()


def test_the_map_of_a_bus_brings_what_it_names_and_no_password(barn):
    text = barn.read_text("utf-8").replace('wire = "serial"', 'wire = "can"').replace("barn-map.toml", "maps/can.toml")
    barn.write_text(text + '\n[bus.mqtt]\npassword_file = "word"\n', "utf-8")
    (barn.parent / "maps").mkdir()
    (barn.parent / "maps" / "can.toml").write_text('format = 1\ndbc = "rack.dbc"\n', "utf-8")
    (barn.parent / "maps" / "rack.dbc").write_text('VERSION ""\n', "utf-8")
    (barn.parent / "word").write_text("secret\n", "utf-8")
    found = belonging(barn)
    assert {("maps/can.toml", "map"), ("maps/rack.dbc", "DBC file")} <= {(p.name, p.what) for p in found.pieces}
    assert found.left_out == ("word: it holds a password or a key, and goes nowhere",)
    (barn.parent / "maps" / "can.toml").write_text('dbc = "../../rack.dbc"\n', "utf-8")
    assert any("it stands outside" in why for why in belonging(barn).left_out)


def test_opening_it_again_loses_nothing(barn, tmp_path):
    parcel = tmp_path / "barn.parcel.zip"
    packed(barn, parcel)
    taken = taken_from(parcel, tmp_path / "there")
    for name in ("barn.toml", "barn-map.toml", "barn.shopping.toml", "photos/aa.jpg"):
        assert (taken.parent / name).read_bytes() == (barn.parent / name).read_bytes()
    with open_logbook(barn, write=False) as old, open_logbook(taken, write=False) as new:
        assert list(new.entries()) == list(old.entries())
        assert len(list(new.entries())) == 2
    assert {path.name for path in tmp_path.iterdir()} == {"here", "there", "barn.parcel.zip"}


def test_what_lacks_or_stands_outside_is_named(barn):
    text = barn.read_text("utf-8").replace('map = "barn-map.toml"', 'map = "../elsewhere.toml"')
    barn.write_text('include = ["gone.toml"]\n' + text, "utf-8")
    (barn.parent.parent / "elsewhere.toml").write_text("", "utf-8")
    left = belonging(barn).left_out
    assert any("gone.toml: it is not there" in why for why in left)
    assert any("elsewhere.toml: it stands outside" in why for why in left)


def test_a_file_of_that_name_is_never_overwritten(barn, tmp_path, capsys):
    parcel = tmp_path / "mine.zip"
    parcel.write_bytes(b"mine")
    assert ended(["pack", str(barn), str(parcel)]) == 2
    assert parcel.read_bytes() == b"mine"
    folder = tmp_path / "there"
    folder.mkdir()
    packed(barn, tmp_path / "b.zip")
    with pytest.raises(ParcelRefused, match="exists"):
        taken_from(tmp_path / "b.zip", folder)
    assert list(folder.iterdir()) == []


def made(path, files, *, listed=None, bank="shed.toml", mode=0, edit=lambda told: told):
    """A parcel made by hand: names to contents; the list as it should be, or as given."""
    rows = [
        {"name": n, "what": "x", "size": len(c), "sha256": hashlib.sha256(c).hexdigest()}
        for n, c in (files if listed is None else listed)
    ]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            info = zipfile.ZipInfo(name)
            info.external_attr = mode << 16
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, content)
        told = {"format": "bankwright.parcel/1", "bank": bank, "files": rows, "left_out": []}
        archive.writestr(LIST, json.dumps(edit(told)))
    return path


def refused(path, tmp_path):
    before = sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*"))
    with pytest.raises(ParcelRefused) as said:
        taken_from(path, tmp_path / "there")  # looks into it first
    assert sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*")) == before, "something of it is left"
    return str(said.value)


OUT = (
    "../evil.toml", "/etc/evil.toml", "a/../../evil.toml", "C:evil.toml", "a\\..\\evil.toml", "./evil.toml",
    "a//b.toml", "con.toml", "NUL.toml", "evil.toml ", "a./b.toml", ".bashrc.toml", "a/b/c/d/e.toml",
    "x" * 200 + ".toml", "bell\a.toml",
)  # fmt: skip


@pytest.mark.parametrize("name", OUT)
def test_no_name_leaves_its_folder(tmp_path, name):
    path = made(tmp_path / "p.zip", [("shed.toml", BANK), (name, b"x")])
    assert "name in it" in refused(path, tmp_path)


def test_no_links_no_locks_no_strangers(tmp_path):
    link = made(tmp_path / "l.zip", [("shed.toml", BANK)], mode=stat.S_IFLNK | 0o777)
    assert "link" in refused(link, tmp_path)
    program = made(tmp_path / "e.zip", [("shed.toml", BANK), ("run.sh", b"#!")])
    assert "no bank has" in refused(program, tmp_path)
    twice = made(tmp_path / "t.zip", [("shed.toml", BANK), ("Shed.toml", BANK)])
    assert "twice" in refused(twice, tmp_path)
    both = made(tmp_path / "f.zip", [("shed.toml", BANK), ("shed.toml/x.toml", BANK)])
    assert "a file and a folder" in refused(both, tmp_path)


def test_sizes_and_counts_are_bounded(tmp_path, monkeypatch):
    swollen = made(tmp_path / "s.zip", [("shed.toml", BANK), ("big.toml", b"\0" * (30 << 20))])
    assert "swell" in refused(swollen, tmp_path)
    monkeypatch.setattr("bankwright.job.parcel.unpack.MOST_FILES", 3)
    many = made(tmp_path / "m.zip", [("shed.toml", BANK), *((f"k{n}.toml", b"") for n in range(5))])
    assert "at most 3" in refused(many, tmp_path)
    monkeypatch.setattr("bankwright.job.parcel.unpack.MOST_BYTES", 20)
    assert "GB" in refused(made(tmp_path / "g.zip", [("shed.toml", BANK)]), tmp_path)


def test_the_list_and_what_is_there_must_agree(tmp_path):
    one, other = [("shed.toml", BANK)], [("shed.toml", BANK), ("more.toml", b"1")]
    assert "differ" in refused(made(tmp_path / "a.zip", other, listed=one), tmp_path)
    assert "differ" in refused(made(tmp_path / "b.zip", one, listed=other), tmp_path)
    changed = [("shed.toml", BANK.replace(b"Shed", b"Shop"))]
    assert "changed or is damaged" in refused(made(tmp_path / "c.zip", changed, listed=one), tmp_path)
    assert "no bank file" in refused(made(tmp_path / "d.zip", one, bank="photos/x.toml"), tmp_path)
    assert "form" in refused(made(tmp_path / "e.zip", one, edit=lambda told: {**told, "format": "x"}), tmp_path)
    assert "row that is none" in refused(
        made(tmp_path / "f.zip", one, edit=lambda told: {**told, "files": [{"name": "shed.toml"}]}), tmp_path
    )


def test_no_parcel_at_all(tmp_path):
    (tmp_path / "x.zip").write_bytes(b"PK\x03\x04 cut")
    assert "no parcel" in refused(tmp_path / "x.zip", tmp_path)
    assert "cannot be read" in refused(tmp_path / "gone.zip", tmp_path)
    with zipfile.ZipFile(tmp_path / "y.zip", "w") as archive:
        archive.writestr("shed.toml", BANK)
    assert "no list" in refused(tmp_path / "y.zip", tmp_path)


@pytest.mark.parametrize("step", range(0, 1000, 37))
def test_a_damaged_parcel_is_refused_or_whole(tmp_path, step):
    path = made(tmp_path / "p.zip", [("shed.toml", BANK * 20), ("k.toml", bytes(range(200)))])
    content = bytearray(path.read_bytes())
    content[step % len(content)] ^= 0x55
    path.write_bytes(bytes(content))
    try:
        taken = taken_from(path, tmp_path / "there")
    except ParcelRefused:
        assert not (tmp_path / "there").exists()
    else:
        assert taken.read_bytes() == BANK * 20
    assert not list(tmp_path.glob(".parcel-*"))


def test_the_commands_show_before_they_take(barn, tmp_path, capsys):
    parcel = tmp_path / "barn.parcel.zip"
    assert ended(["pack", str(barn), str(parcel)]) == 0
    assert ended(["unpack", str(parcel), str(tmp_path / "there")]) == 0
    assert "Nothing was taken" in capsys.readouterr().out
    assert not (tmp_path / "there").exists()
    assert ended(["unpack", str(parcel), str(tmp_path / "there"), "--take"]) == 0
    printed = capsys.readouterr().out
    assert "barn.logbook" in printed
    assert (tmp_path / "there" / "barn.toml").exists()
