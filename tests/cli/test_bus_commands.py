"""`address`, `survey`, `listen` and `pretend` as they are typed, the pretend rack behind a port of its own."""

from __future__ import annotations

import json
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bankwright.bank.read import read_bank
from bankwright.bus.of_bank import START, framing_of, map_of, targets_of
from bankwright.bus.pretend.loopback import Loopback
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.terminal import Terminal
from bankwright.bus.pretend.troubles import trouble
from bankwright.cli.main import group
from bankwright.watch.practice import practice
from support.schemas import wrong

DEMO = Path(__file__).parents[2] / "demo"


@pytest.fixture
def barn(tmp_path: Path) -> Path:
    shutil.copy(DEMO / "barn-map.toml", tmp_path)
    text = (DEMO / "barn.toml").read_text("utf-8").replace("baud = 9600", "baud = 115200")  # quicker
    (tmp_path / "barn.toml").write_text(text.replace('every = "2 s"', 'every = "200 ms"'), "utf-8")
    return tmp_path / "barn.toml"


def run(*args: str) -> Result:
    return CliRunner().invoke(group, list(args))


@contextmanager
def rack(barn: Path, *troubles: str, tcp: bool = False) -> Iterator[list[str]]:
    bank = read_bank(barn)
    places = [Place(each.name, each.unit) for each in targets_of(bank)]
    wrong = [trouble(text, tuple(place.name for place in places)) for text in troubles]
    register_map = map_of(bank, barn.parent, needed=True)
    assert register_map is not None
    line = pretend_line(places, register_map, framing_of(bank) or START, practice(bank), wrong)
    door = Loopback(line) if tcp else Terminal(line)
    stop = threading.Event()
    thread = threading.Thread(target=door.serve, args=(lambda: not stop.is_set(),))
    thread.start()
    try:
        yield ["--host", f"127.0.0.1:{door.port}"] if isinstance(door, Loopback) else ["--port", door.path]
    finally:
        stop.set()
        thread.join(60)
        door.close()


def test_the_address_sheet_of_the_demo() -> None:
    made = run("address", str(DEMO / "barn.toml"))
    assert made.exit_code == 0
    assert "M3: address 3; switches 1, 2 on; 3, 4 off." in made.output
    assert "computer - M5 - M4 - M3 - M2 - M1" in made.output
    assert "60 Ω" in made.output
    assert "Shortest poll at 9600 8N1: 354 ms." in made.output


def test_a_wish_that_no_line_can_keep_fails(barn: Path) -> None:
    barn.write_text(barn.read_text("utf-8").replace('every = "200 ms"', 'every = "10 ms"'), "utf-8")
    made = run("address", str(barn))
    assert made.exit_code == 1
    assert "is not possible" in made.output


@pytest.mark.slow
def test_a_survey_over_a_port_finds_all_or_says_why_not(barn: Path) -> None:
    with rack(barn) as where:
        made = run("survey", str(barn), *where, "--listen", "0.3", "--to", "6", "--watch", "0.3")
    assert made.exit_code == 0, made.output
    assert "5 of 5 modules can be heard at 115200 8N1" in made.output
    assert "next test" not in made.output
    with rack(barn, "unplug:M2") as where:
        made = run("survey", str(barn), *where, "--listen", "0.3", "--to", "6", "--watch", "0", "--this-speed")
    assert made.exit_code == 1
    assert "The line ends at M3" in made.output
    assert "next test" in made.output


@pytest.mark.slow
def test_a_survey_and_an_address_sheet_as_json_keep_to_their_schemas(barn: Path) -> None:
    with rack(barn) as where:
        made = run("survey", str(barn), *where, "--listen", "0.3", "--to", "6", "--watch", "0.3", "--json")
    assert made.exit_code == 0, made.output
    document = json.loads(made.stdout)
    assert wrong("survey-1", document) == []
    assert [one["module"] for one in document["heard"]] == ["M1", "M2", "M3", "M4", "M5"]
    assert any(one["code"] == "BUS-ALL" for one in document["told"])
    made = run("address", str(barn), "--json")
    document = json.loads(made.stdout)
    assert wrong("address-1", document) == []
    assert document["addresses"][2]["switches"] == [True, True, False, False]
    assert document["poll"]["fits"] is True


def test_listening_keeps_what_it_hears_in_the_logbook(barn: Path) -> None:
    with rack(barn) as where:
        made = run("listen", str(barn), *where, "--polls", "3")
    assert made.exit_code == 0, made.output
    assert made.output.count("5 of 5 answered") == 3
    from bankwright.logbook.telemetry.store import open_telemetry

    with open_telemetry(barn, write=False) as telemetry:
        assert {"M1", "M5", "M3.c16"} <= {signal.at for signal in telemetry.signals()}


def test_listening_over_tcp_and_without_a_logbook(barn: Path) -> None:
    with rack(barn, tcp=True) as where:
        made = run("listen", str(barn), *where, "--polls", "2", "--no-log")
    assert made.output.count("5 of 5 answered") == 2
    assert sorted(path.name for path in barn.parent.iterdir()) == ["barn-map.toml", "barn.toml"]


def test_a_port_that_is_not_there_is_a_wrong_question(barn: Path) -> None:
    made = run("survey", str(barn), "--port", str(barn.parent / "none"))
    assert made.exit_code == 2
    assert "cannot be opened: no such file or directory" in " ".join(made.output.split())  # said once, in words


def test_a_host_that_is_never_reached_ends_as_a_wrong_question(barn: Path) -> None:
    made = run("listen", str(barn), "--host", "nobody.invalid", "--polls", "1", "--no-log")  # RFC 6761: never a name
    assert made.exit_code == 2
    assert "nobody.invalid:502 cannot be reached" in made.output
    assert "never reached" in made.output
    assert "Errno" not in made.output


def test_a_minute_is_played_at_once_and_troubles_show_in_it(barn: Path) -> None:
    begun = time.monotonic()
    made = run("pretend", str(barn), "--minute")
    assert time.monotonic() - begun < 40  # of the sixty seconds that it plays
    assert made.exit_code == 0
    assert made.output.count("5 of 5 answered") == 10
    assert "0 before the silence was over" in made.output
    wrong = run("pretend", str(barn), "--minute", "--trouble", "doubled:M4=M3")
    assert "More than one module answers at address 3" in wrong.output


def test_pretend_says_what_it_can_and_what_it_cannot(barn: Path) -> None:
    assert "doubled=module" in run("pretend", str(barn), "--troubles").output
    made = run("pretend", str(barn), "--trouble", "burn:M1")
    assert made.exit_code == 2
    assert "known are" in made.output
    served = run("pretend", str(barn), "--seconds", "0.2")
    assert served.exit_code == 0
    assert "bankwright survey FILE --port /dev/" in served.output


def test_a_fault_in_the_map_stops_with_its_line(barn: Path) -> None:
    mapped = barn.parent / "barn-map.toml"
    mapped.write_text(mapped.read_text("utf-8").replace('positive = "charging"', ""), "utf-8")
    made = run("address", str(barn))
    assert made.exit_code != 0
    assert "the sign is not said" in str(made.exception)
