"""What to set by hand at every inverter and charger, and what was set, against figures worked out by hand.

The arithmetic stands beside each figure: cells times a sheet's value, limit of a module times the modules that are left
(Kirchhoff: equal branches share a current alike).
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.job import Job, open_bank
from bankwright.job.settings import SettingsCard, keep_set, settings_of
from bankwright.logbook.logbook import open_logbook
from bankwright.prove.settings.setting import WHATS, Setting

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
MODULE, INVERTER = "kinds.module.slab-100", "kinds.inverter.box-5k"


def changed(**values: object) -> Job:
    job = open_bank(BARN)
    for key, value in values.items():
        job = job.changed(key.replace("module__", f"{MODULE}.").replace("inverter__", f"{INVERTER}."), value)
    return job


def row(card: SettingsCard, id_: str) -> Setting:
    return next(each for each in card.rows if each.id == id_)


def with_spread(**more: object) -> Job:
    limits = {"continuous": "100 A", "trip": "150 A for 3 s", "cell_trip": "2.5 V", "cell_spread": "60 mV"}
    return changed(module__discharge=limits, **more)


def test_every_device_has_every_row_and_nothing_is_written_to_a_device() -> None:
    card = settings_of(open_bank(BARN), None)
    for device in ("I1", "I2"):
        assert [each.what for each in card.rows if each.device == device] == sorted(
            (each.what for each in card.rows if each.device == device), key=[*WHATS[:7], "chemistry", *WHATS[7:]].index
        )
        assert {each.what for each in card.rows if each.device == device} == set(WHATS)
    assert "sets nothing" in card.notes[0].text()
    assert all(each.source.how_known for each in card.rows)
    assert all(each.set_to is not None or each.missing for each in card.rows)  # unknown names what would settle it


def test_charge_voltage_is_the_sheets_end_of_charge_without_any_drop() -> None:
    found = row(settings_of(open_bank(BARN), None), "I1 charge voltage")
    assert found.set_to is not None
    assert found.set_to.value == pytest.approx(16 * 3.65)
    assert found.window == pytest.approx((51.2, 16 * 3.75))
    assert found.margin == pytest.approx(16 * 3.75 / (16 * 3.65))


@pytest.mark.parametrize(("spread", "low"), [("60 mV", 40.9), ("0 V", 40.0), ("200 mV", 43.0)])
def test_the_low_stop_lies_above_trip_plus_spread(spread: str, low: float) -> None:
    limits = {"continuous": "100 A", "cell_trip": "2.5 V", "cell_spread": spread}
    found = row(settings_of(changed(module__discharge=limits), None), "I1 low stop")
    assert found.soft[0] == pytest.approx(low)  # 16 x 2.5 V, and fifteen cells one spread higher
    assert found.set_to is not None
    assert found.set_to.value == pytest.approx(48.0)  # 16 x 3.0 V, the low end under load, lies above it


def test_a_stop_above_the_usual_one_follows_the_trip() -> None:
    limits = {"continuous": "100 A", "cell_trip": "2.9 V +- 0.1 V", "cell_spread": "100 mV"}
    found = row(settings_of(changed(module__discharge=limits), None), "I1 low stop")
    assert found.set_to is not None
    assert found.set_to.value == pytest.approx(16 * 3.0 + 15 * 0.1, abs=0.1)  # the high end of the trip counts


def test_no_spread_given_is_unknown_and_says_what_to_read() -> None:
    card = settings_of(open_bank(BARN), None)
    for what in ("low stop", "restart"):
        found = row(card, f"I1 {what}")
        assert found.set_to is None
        assert [item.key for item in found.missing] == [f"{MODULE}.discharge.cell_spread"]
        assert "highest minus lowest cell" in found.missing[0].how
    assert card.verdicts["I1 low stop"] == "unknown"


def test_the_current_to_set_holds_with_one_module_away() -> None:
    exact = {"dc": "14 mohm", "after": "30 s", "ohmic": "6 mohm"}
    charge = {"continuous": "30 A", "cell_trip": "3.75 V", "cell_full": "3.65 V", "inhibits": True}
    card = settings_of(changed(module__resistance=exact, module__charge=charge), None)
    found = row(card, "I1 charge current")
    assert found.window[1] == pytest.approx(4 * 30.0 / 2, rel=0.005)  # four equal modules, two equal chargers
    assert found.set_to is not None
    assert found.set_to.value == 57.0  # 60 A / 1.05, down to a whole ampere
    assert found.beside is not None
    assert "75." in found.beside.text() or "74." in found.beside.text()  # five modules: 5 x 30 A / 2
    assert "one module away" in found.why.text() or "M" in found.why.text()


def test_the_spread_of_resistances_lowers_it() -> None:
    charge = {"continuous": "30 A", "cell_trip": "3.75 V", "cell_full": "3.65 V", "inhibits": True}
    found = row(settings_of(changed(module__charge=charge), None), "I1 charge current")
    r, wire = 14.0, 0.724  # mohm, a module and its two links with their joints: one at 11, three at 17
    worst = 1 / (r - 3 + wire) / (1 / (r - 3 + wire) + 3 / (r + 3 + wire))
    assert found.window[1] == pytest.approx(30.0 / worst / 2, rel=0.02)


def test_the_restart_lies_above_the_stop_by_more_than_the_rebound() -> None:
    card = settings_of(with_spread(), None)
    stop, restart = row(card, "I1 low stop"), row(card, "I1 restart")
    amps = 2 * 5000 / 0.93 / 46.0  # both inverters at their lowest voltage
    cells = amps / 4 * 0.017  # four modules left, each 17 mohm at its high end
    assert stop.set_to is not None
    assert restart.soft[0] is not None
    rebound = restart.soft[0] - stop.set_to.value
    assert cells < rebound < cells * 1.7  # and the drop of links, mains and leads beside it
    assert restart.set_to is not None
    assert restart.set_to.value > restart.soft[0]


def test_without_the_resistance_the_rebound_is_unknown() -> None:
    card = settings_of(with_spread(module__resistance={"ohmic": "6 mohm"}), None)
    assert f"{MODULE}.resistance.dc" in [item.key for item in row(card, "I1 restart").missing]


def test_a_message_that_goes_on_is_a_caution_and_a_silent_sheet_is_unknown(tmp_path: Path) -> None:
    wire = {"socket": "A", "cable": "straight", "pins": "4 to 4, 5 to 5", "terminator": "inside", "first": "M1"}
    job = changed(inverter__message={**wire, "lost": "goes on"})
    bank = tmp_path / "barn.toml"
    bank.write_text(job.document.text, "utf-8")
    with open_logbook(bank, job.bank) as book:
        keep_set(book, settings_of(job, book).rows, ["I1 without the message=goes on", "I2 without the message=stops"])
        card = settings_of(job, book)
    assert card.verdicts["I1 without the message"] == "caution"
    assert card.verdicts["I2 without the message"] == "pass"
    assert row(card, "I1 message").set_to is not None
    assert row(settings_of(open_bank(BARN), None), "I1 message").set_to is None


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]):  # type: ignore[no-untyped-def]
    bank = tmp_path / "barn.toml"
    bank.write_text(with_spread().document.text, "utf-8")

    def go(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main(["build", str(bank), *args])
        out = capsys.readouterr()
        return int(end.value.code or 0), out.out, out.err

    return go


@pytest.mark.parametrize(
    ("typed", "verdict", "code"),
    [
        ("I1 charge voltage=57.6 V", "pass", 0),
        ("I1 charge voltage=50.4 V", "fail", 1),  # for fifteen cells
        ("I1 charge voltage=61 V", "fail", 1),  # above the trip
        ("I1 charge voltage=53 V", "caution", 0),  # never full
        ("I1 low stop=40.5 V", "caution", 0),  # the modules open first
        ("I1 low stop=48 V", "pass", 0),
        ("I1 low stop=51.5 V", "fail", 1),
        ("I1 discharge current=200 A", "fail", 1),
        ("I1 discharge current=117 A", "pass", 0),
    ],
)
def test_what_was_set_is_judged_dated_and_kept(run, typed: str, verdict: str, code: int) -> None:  # type: ignore[no-untyped-def]
    ended, out, _ = run("--set", typed, "--who", "Kim", "--json")
    found = json.loads(out)
    id_ = typed.partition("=")[0]
    assert (found["verdicts"][id_], ended) == (verdict, code)
    assert found["entered"][id_]["who"] == "Kim"
    assert found["entered"][id_]["when"].startswith("20")
    again = json.loads(run("--show", "settings", "--json")[1])
    assert again["entered"] == found["entered"]


def test_a_slip_keeps_nothing_and_says_what_was_meant(run) -> None:  # type: ignore[no-untyped-def]
    ended, _, err = run("--set", "I1 low stop=48 V", "--set", "I1 low stpo=48 V", "--set", "I2 float=54 A")
    assert ended == 2
    assert "low stop" in err
    assert not json.loads(run("--show", "settings", "--json")[1])["entered"]
    for wrong in ("I1 low stop=", "I1 low stop", "I1 low stop=4800 V", "I1 low stop=-48 V", "I1 low stop=nan"):
        assert run("--set", wrong)[0] == 2, wrong


def test_what_was_set_as_stop_moves_the_restart(run) -> None:  # type: ignore[no-untyped-def]
    run("--set", "I1 low stop=49 V", "--set", "I1 restart=49.5 V")
    found = json.loads(run("--show", "settings", "--json")[1])
    restart = next(each for each in found["rows"] if each["id"] == "I1 restart")
    assert restart["soft"][0] > 49.0
    assert found["verdicts"]["I1 restart"] == "caution"


def test_terminal_and_page(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = run("--show", "settings", "--html", str(tmp_path / "card.html"))
    assert all(len(line) <= 80 for line in out.splitlines() if str(tmp_path) not in line)
    assert "I1 low stop: 48.0 V" in out
    page = (tmp_path / "card.html").read_text("utf-8")
    assert page.count("________") == 20  # a box a row
    assert "<script" not in page
