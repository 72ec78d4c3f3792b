"""Pretend days of a bank: they obey the circuit's laws, and the joint that grows in them is found by the product."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.cli.main import main
from bankwright.watch.year.bank import lived, true_bank
from bankwright.watch.year.house import LOST, power_of_days
from bankwright.watch.year.year import Grows
from support.ended import ended

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
STEP = 60.0


def test_currents_and_voltages_obey_the_laws_of_circuits() -> None:
    """Kirchhoff: behind its wiring every module stands on one bus, and V times the sum of currents is the power."""
    draw = np.random.default_rng(5)
    truth = true_bank(read_bank(BARN), draw)
    power = power_of_days(2, STEP, 1.0, draw)
    loops = np.array([truth.loops({}), truth.loops({"L3+@M3+": 2e-3})])
    current, voltage = lived(truth, power, STEP, loops, np.array([12.0, 25.0]))
    bus = voltage - np.einsum("dmn,dkn->dkm", loops, current)
    assert np.ptp(bus, axis=2).max() < 1e-9
    given = current.sum(axis=2)[:, 1:] * bus[:, :-1, 0]
    assert given == pytest.approx(power[:, 1:], rel=1e-9, abs=1e-6), "at the voltage of the step before"
    share = (current * current.sum(axis=2)[:, :, None]).sum(axis=1)
    assert share[1, 2] / share[1].sum() < share[0, 2] / share[0].sum() - 0.004, "M3 gives less behind the grown joint"


def test_the_sun_gives_back_what_the_house_took_and_what_is_lost() -> None:
    power = power_of_days(6, STEP, 1.0, np.random.default_rng(2))
    net = power.sum(axis=1) * STEP / 3.6e6
    assert net == pytest.approx(-LOST * (power.sum(axis=1) * STEP / 3.6e6 - net + 10), abs=0.6)
    assert (power.max(axis=1) > 1000).all()
    assert (power.min(axis=1) < -300).all()


def test_growth_is_a_straight_line_from_the_middle_on() -> None:
    grows = Grows("L3+", 4e-4)
    assert [sum(grows.on(day, 100).values()) for day in (0, 50, 75, 100)] == pytest.approx([0, 0, 2e-4, 4e-4])


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--days", "20", "--grow", "L3+@M9+=1 mohm"), "is no joint, cable or device of this bank"),
        (("--days", "20", "--grow", "L3+@M3+=1 V"), "is a unit of voltage"),
        (("--days", "20", "--grow", "L3+@M3+=-1 mohm"), "is no growth of a joint"),
        (("--days", "20", "--grow", "M3=1 mohm"), "is no joint, cable or device of this bank"),
        (("--grow", "L3+@M3+=1 mohm"), "add --days"),
        (("--days", "3"), "10<=x<=3660"),
        (("--days", "20"), "is there already"),
    ],
)
def test_what_cannot_be_lived_is_refused_and_nothing_is_written(
    args: tuple[str, ...], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    if "already" in words:
        (tmp_path / "barn.logbook").write_bytes(b"mine")
    with pytest.raises(SystemExit) as end:
        main(["pretend", str(file), *args])
    assert end.value.code == 2
    assert words in " ".join(capsys.readouterr().err.split())
    assert [path.name for path in tmp_path.iterdir() if path.read_bytes() != b"mine"] == ["barn.toml"]


def test_a_joint_that_grows_in_them_is_found_by_what_watch_reads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    assert ended(["pretend", str(file), "--days", "40", "--grow", "L3+@M3+=0.5 mohm"]) == 0
    capsys.readouterr()
    assert ended(["watch", str(file), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    joints = next(section for section in told["sections"] if section["name"] == "joints")
    grown = {row["name"]: row["figure"] for row in joints["rows"]}
    assert 0.15e-3 < grown["M3 branch"]["low"] < 0.5e-3, "the mean of the last ten days of twenty in which it grew"
    others = {name: figure for name, figure in grown.items() if name != "M3 branch"}
    strays = [n for n, f in others.items() if not f["low"] - 20e-6 < 0.0 < f["high"] + 20e-6]
    assert not strays, "what M3 puts on the others is taken off: they have not moved"
    assert any(f["code"] == "W-JOINT-1" and f["verdict"] != "pass" for f in told["findings"])
