"""Banks whose modules speak ASCII frames or SunSpec: `address`, `survey`, `listen`, `pretend` as they are typed."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from bankwright.bank.read import BankFileError, read_bank
from bankwright.bus.of_bank import START, map_of, targets_of
from bankwright.bus.pretend.loopback import Loopback
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.sunspec import sunspec_line
from bankwright.cli.main import group
from bankwright.logbook.telemetry.store import open_telemetry
from support.message_maps import COUNTED

DEMO = Path(__file__).parents[2] / "demo"
BUS = {
    "ascii": 'protocol = "ascii frames"\nmap = "messages.toml"',
    "sunspec": 'protocol = "sunspec"\ndevice = 9\npositive = "charging"',
    "devices": 'protocol = "sunspec"\npositive = "discharging"',
}
STATE = {"voltage": 52.8, "current": -4.5, "soc": 0.6, "temperature_degc": 21.0}


def barn(folder: Path, kind: str) -> Path:
    text = (DEMO / "barn.toml").read_text("utf-8").replace('map = "barn-map.toml"', BUS[kind])
    (folder / "messages.toml").write_text(COUNTED, "utf-8")
    shutil.copy(DEMO / "barn-map.toml", folder)
    path = folder / "barn.toml"
    path.write_text(text.replace('every = "2 s"', 'every = "50 ms"'), "utf-8")
    return path


def run(*args: str) -> Result:
    return CliRunner().invoke(group, list(args))


@contextmanager
def served(path: Path) -> Iterator[list[str]]:
    bank = read_bank(path)
    assert bank.bus is not None
    places = [Place(each.name, each.unit) for each in targets_of(bank)]
    known = map_of(bank, path.parent) if bank.bus.protocol != "sunspec" else None
    told = {place.name: STATE for place in places}
    if known is None:
        line = sunspec_line(places, START, lambda _: told, device=bank.bus.device, positive=bank.bus.positive)
    else:
        line = pretend_line(places, known, START, lambda _: told)
    door, stop = Loopback(line), threading.Event()
    thread = threading.Thread(target=door.serve, args=(lambda: not stop.is_set(),))
    thread.start()
    try:
        yield ["--host", f"127.0.0.1:{door.port}"]
    finally:
        stop.set()
        thread.join(60)
        door.close()


@pytest.mark.parametrize("kind", BUS)
def test_listening_stores_the_same_whatever_is_spoken(tmp_path: Path, kind: str) -> None:
    path = barn(tmp_path, kind)
    with served(path) as where:
        made = run("listen", str(path), *where, "--polls", "2")
    assert made.exit_code == 0, made.output
    assert made.output.count("5 of 5 answered") == 2
    with open_telemetry(path, write=False) as telemetry:
        assert {"M1", "M5", "M3.c16", "M2.t1"} <= {signal.at for signal in telemetry.signals()}
        found = telemetry.read("current", ("M1", "M5"), 0.0, 1e11).value
        assert np.nanmin(found, axis=0) == pytest.approx([-4.5, -4.5])
        assert np.nanmax(found, axis=0) == pytest.approx([-4.5, -4.5])


def test_a_survey_names_the_modules_that_one_device_speaks_for(tmp_path: Path) -> None:
    path = barn(tmp_path, "sunspec")
    with served(path) as where:
        made = run("survey", str(path), *where, "--listen", "0.2", "--to", "1", "--watch", "0", "--this-speed")
    assert "5 of 5 modules can be heard" in made.output
    assert "5 times 804 and 5 times 805" in made.output
    assert made.exit_code == 0


def test_the_address_sheet_times_messages_and_says_what_sunspec_leaves_open(tmp_path: Path) -> None:
    made = run("address", str(barn(tmp_path, "ascii")))
    assert "Spoken: ASCII frames (YD/T 1363)" in made.output
    assert "42 (56 bytes at most)" in " ".join(made.output.split())
    assert "Shortest poll at 9600 8N1" in made.output
    made = run("address", str(barn(tmp_path, "devices")))
    assert "the devices tell their own registers" in " ".join(made.output.split())
    made = run("address", str(barn(tmp_path, "sunspec")))
    assert "The device at 9 speaks for all modules" in " ".join(made.output.split())


WRONG = [
    ("ascii", 'protocol = "ascii frames"', 'protocol = "ascii"', "ascii frames"),
    ("ascii", 'map = "messages.toml"', 'map = "messages.toml"\ndevice = 1', 'Write protocol = "sunspec"'),
    ("sunspec", "device = 9", "device = 300", "247"),
    ("sunspec", "device = 9", 'map = "messages.toml"', "their own registers"),
    ("sunspec", 'positive = "charging"', 'positive = "up"', "discharging"),
    ("ascii", 'wire = "serial"\nport = "/dev/ttyUSB0"\nbaud = 9600\nparity = "none"',
     'wire = "tcp"\nhost = "10.0.0.1"', "serial server has no usual port"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "old", "new", "words"), WRONG, ids=range(len(WRONG)))
def test_keys_that_do_not_belong_together_are_told(tmp_path: Path, kind: str, old: str, new: str, words: str) -> None:
    path = barn(tmp_path, kind)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")
    with pytest.raises(BankFileError, match=words):
        read_bank(path)


def test_an_address_of_0_is_one_in_ascii_frames_alone(tmp_path: Path) -> None:
    path = barn(tmp_path, "ascii")
    path.write_text(path.read_text("utf-8").replace('name = "M1"\n', 'name = "M1"\naddress = 0\n', 1), "utf-8")
    assert {each.name: each.unit for each in targets_of(read_bank(path))}["M1"] == 0
    path.write_text(path.read_text("utf-8").replace(BUS["ascii"], 'map = "barn-map.toml"'), "utf-8")
    with pytest.raises(BankFileError, match="one of 1 to 247"):
        read_bank(path)
