"""The page of this bank: a copy of the file, all of it as one, another one opened, units."""

import io
import re
import shutil
from pathlib import Path

import pytest

from bankwright.job.parcel.unpack import looked_into
from bankwright.web.app import make_app
from bankwright.web.door import Door
from bankwright.web.serve import _Turning
from support.page import Page, client, digest_of

ROOT = Path(__file__).parents[2]


@pytest.fixture
def barn(tmp_path):
    for name in ("barn.toml", "barn-map.toml"):
        shutil.copy(ROOT / "demo" / name, tmp_path)
    return tmp_path / "barn.toml"


def test_a_copy_and_one_file_with_everything(barn, tmp_path):
    with client(barn) as web:
        page = web.get("/this").text
        assert "barn-map.toml" in page
        assert web.get("/this/file").content == barn.read_bytes()
        parcel = tmp_path / "got.zip"
        parcel.write_bytes(web.get("/this/parcel").content)
    assert [piece.name for piece in looked_into(parcel).pieces] == ["barn.toml", "barn-map.toml"]


def test_a_parcel_is_shown_and_then_taken_into_a_new_folder(barn):
    with client(barn) as web:
        parcel = web.get("/this/parcel").content
        page = web.post("/this/open", files={"parcel": ("x.zip", io.BytesIO(parcel))}).text
        token = re.search(r'name="token" value="([0-9a-f]+)"', page)[1]
        assert "Shown, not taken yet" in page
        assert not (barn.parent / "from ann").exists()
        page = web.post("/this/take", data={"token": token, "folder": "../out"}).text
        assert "A folder is named with" in page
        page = web.post("/this/take", data={"token": token, "folder": "from ann"}).text
        assert "bankwright open from ann/barn.toml" in page  # not turned to: this client is no machine of the page
    assert (barn.parent / "from ann" / "barn.toml").read_bytes() == barn.read_bytes()


def test_what_is_no_parcel_is_refused_with_its_reason(barn):
    with client(barn) as web:
        page = web.post("/this/open", files={"parcel": ("x.zip", io.BytesIO(b"no zip"))}).text
        assert "Not opened" in page
        assert "is no parcel" in page
        assert web.post("/this/turn", data={"name": "barn-map.toml"}).status_code == 404


def test_another_bank_takes_its_place_on_the_machine_of_the_page(barn):
    other = barn.with_name("shed.toml")
    other.write_text(barn.read_text("utf-8").replace('title = "', 'title = "Other '), "utf-8")
    app = _Turning(lambda path, turn: make_app(path, Door(open_to_all=True), ("127.0.0.1:8347",), turn=turn))
    app.turn(barn)
    with Page(barn) as web:
        web.app = app
        assert "Open shed.toml" in web.get("/this").text
        web.post("/this/turn", data={"name": "shed.toml"})
        assert "Open barn.toml" in web.get("/this").text
        parcel = web.get("/this/parcel").content
        page = web.post("/this/open", files={"parcel": ("x.zip", io.BytesIO(parcel))}).text
        token = re.search(r'name="token" value="([0-9a-f]+)"', page)[1]
        web.post("/this/take", data={"token": token, "folder": "taken"})
        assert web.get("/this/file").content == other.read_bytes()
        assert "No other bank file" in web.get("/this").text


def test_units_are_one_tap(barn):
    with client(barn) as web:
        web.post("/this/units", data={"to": "us", "digest": digest_of(web)})
        assert re.search(r'^units = "us"', barn.read_text("utf-8"), re.MULTILINE)
        assert web.post("/this/units", data={"to": "parsec", "digest": digest_of(web)}).status_code == 422
