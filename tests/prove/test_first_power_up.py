"""A first power-up typed step by step: right readings go through, planted faults stop it or are told.

Figures due stand beside worked examples that were computed elsewhere: 53.2 V, 30 ohm, 24 mF, 40 mA.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.forms.faults import QuestionError
from bankwright.job import Job, open_bank
from bankwright.job.powering import ProveSheet, StepNow, keep_readings, keep_ticks, powering, way_back
from bankwright.logbook.logbook import Logbook, open_logbook

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
ORDER = ["M1", "M2", "M3", "M4", "M5"]
EMF = 53.2
BUS_OFF = {"M1": 53.2, "M2": 53.2, "M3": 53.2, "M4": 53.2, "M5": 53.2}


class Bench:
    """A bank with its logbook, and a hand that reads what each step asks for."""

    def __init__(self, path: Path, emf: dict[str, float] = BUS_OFF) -> None:
        path.write_text(BARN.read_text("utf-8"), "utf-8")
        self.job: Job = open_bank(path)
        self.book: Logbook = open_logbook(path, self.job.bank)
        self.emf = emf
        self.book.hand_over("match record", {"may_join": "pass", "order": ORDER})
        self.book.tick("build.earth", "earthed")

    def sheet(self) -> ProveSheet:
        return powering(self.job, self.book)

    def step(self, name: str) -> StepNow:
        return next(now for now in self.sheet().steps if now.step.id == name)

    def read(self, name: str, *texts: str) -> None:
        keep_readings(self.book, self.job.bank, self.step(name), texts)

    def go(self, *names: str, instead: dict[str, str] | None = None) -> None:
        """Read what is right for these steps, and tick every box."""
        for name in names:
            now = self.step(name)
            for n in range(len(now.readings)):
                due = now.readings[n].due
                text = (instead or {}).get(f"{due.at} {due.quantity}") or self.right(name, due.at, due.quantity)
                if text and not due.optional:
                    typed = f"{due.at}{' to frame' if due.quantity == 'frame_voltage' else ''}={text}"
                    keep_readings(self.book, self.job.bank, now, (typed,))
                    now = self.step(name)  # what was read moves what is due after it
            keep_ticks(self.book, self.job.bank, now, ("all",))

    def right(self, name: str, at: str, quantity: str) -> str:
        """What a sound bank shows."""
        if name in ("A5", "A6"):
            return "0.02 ohm" if at in {link.name for link in self.job.bank.links} else "200 Mohm"
        if name == "B1":
            return f"{self.emf.get(at, self.emf['M1'])} V"
        if name == "B3":
            return f"{EMF} V" if quantity == "voltage" else "0.57 V" if at.startswith("bar+") else "-1.28 V"
        if name == "B4" and at == "S1":
            return f"{EMF} V"
        if name == "B6":
            return "0.1 A"
        return {"time": "3.0 s" if name == "C1" else "20 s", "voltage_drop": "1.20 V" if name == "C1" else "0.0 V",
                "current": "0.2 A"}.get(quantity, "0.1 V") if name != "C2" else "1.20 V"  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path):  # type: ignore[no-untyped-def]
    made = Bench(tmp_path / "barn.toml")
    yield made
    made.book.close()


ALL = ("A1", "A2", "A3", "A4", "A5", "A6", "A7", "B1", "B2", "B3", "B4", "B5", "B6", "C1", "C2", "C4")


def test_a_sound_bank_goes_through_and_resumes_where_it_stopped(bench: Bench) -> None:
    for name in ALL[:8]:
        assert bench.sheet().here.step.id == name  # type: ignore[union-attr]
        bench.go(name)
        assert bench.step(name).state == "done", bench.step(name)
    bench.book.close()
    bench.book = open_logbook(bench.job.path, bench.job.bank)  # another day, another hand
    for name in ALL[8:]:
        bench.go(name)
        assert bench.step(name).state == "done", bench.step(name)
    assert not [f for f in bench.sheet().findings if f.verdict == "fail"]


def test_figures_due_of_the_pre_charge(bench: Bench) -> None:
    bench.go(*ALL[:13])
    filled, left = (each.due for each in bench.step("C1").readings)
    assert filled.expected is not None
    assert filled.expected.value == pytest.approx(3.01, abs=0.01)
    assert filled.expected.low == pytest.approx(2.25 - 0.5, abs=0.01)  # R -5 %, C -20 %, and a hand on a watch
    assert filled.expected.high == pytest.approx(3.86 + 0.5, abs=0.01)
    assert left.expected is not None
    assert left.expected.value == pytest.approx(1.20)
    assert (left.expected.low, left.expected.high) == pytest.approx((1.13, 1.27))  # 5 % and a count of 10 mV
    stop = bench.step("C4").readings[0].due
    assert stop.expected is not None
    assert stop.expected.value == pytest.approx(25.9, abs=0.1)
    assert stop.expected.low is not None
    assert stop.expected.low < 6.55  # a draw of 5 W empties them in that time


def test_a_reversed_lead_stops_and_locks_what_waits_for_it(bench: Bench) -> None:
    bench.go(*ALL[:7])
    bench.read("B1", "M3=-53.2 V")
    here = bench.sheet().here
    assert here is not None
    assert (here.step.id, here.state) == ("B1", "stopped")
    finding = next(f for f in here.findings if f.verdict == "fail")
    assert "leads or link swapped" in finding.do.text()
    assert {now.step.id for now in bench.sheet().steps if now.state == "locked"} >= {"B2", "B3", "B4", "B6", "C1", "C2"}
    with pytest.raises(QuestionError, match="cannot be opened"):
        bench.read("B2", "M2=0.01 V")
    with pytest.raises(QuestionError, match="cannot be opened"):
        keep_ticks(bench.book, bench.job.bank, bench.step("C2"), ("all",))
    assert way_back(here)[0].startswith("Every module off")
    bench.read("B1", "M3=53.2 V")  # mended, read again
    assert bench.step("B1").state == "begun"
    assert bench.step("B2").state == "open"


def test_a_link_that_is_not_on_settles_nothing(bench: Bench) -> None:
    bench.go(*ALL[:7])
    bench.go("B1", instead={"bar+3 voltage": "0.0 V"})
    assert bench.step("B1").state == "begun"  # a closure: unknown, nothing is accused, what waits goes on waiting
    assert "B1" in bench.step("B2").waits
    finding = next(f for f in bench.step("B1").findings if f.verdict == "unknown")
    assert "the link is not on" in finding.missing[0].how


def test_one_module_low_shows_in_volts_at_closing_and_at_zero_load(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "low.toml", {**BUS_OFF, "M3": 53.1})
    with bench.book:
        bench.go(*ALL[:8])
        bench.read("B2", "M2=0.0 V", "M3=0.1 V")
        due = next(e.due for e in bench.step("B2").readings if e.due.at == "M3" and e.due.quantity == "current")
        assert due.expected is not None
        assert due.expected.value == pytest.approx(0.1 / (0.006724 * 1.5), rel=0.02)  # own branch and half of one
        bench.read("B2", "M3=9.9 A")
        assert next(f for f in bench.step("B2").findings if f.code == "V-JOIN-2").verdict == "pass"
        bench.read("B2", "M3=25 A")
        assert next(f for f in bench.step("B2").findings if f.code == "V-JOIN-2").verdict == "caution"
        bench.go("B2", "B3", "B4")
        bench.read("B6", "M1=1.36 A", "M2=1.36 A", "M3=-5.43 A", "M4=1.36 A", "M5=1.36 A")
        found = [f for f in bench.step("B6").findings if f.verdict == "caution"]
        assert [f.at for f in found] == [("M3",)]  # its charge, no joint
        assert "charge differs" in found[0].do.text()
        bench.read("B6", "M3=1.4 A")
        assert "unknown" in [f.verdict for f in bench.step("B6").findings if f.code == "V-REST-2"]  # the clamp's zero


@pytest.mark.parametrize(
    ("plus", "minus", "meter", "verdict"),
    [
        ("0.571 V", "-1.284 V", None, "pass"),
        ("4.793 V", "-47.928 V", None, "pass"),  # 91 kohm
        ("0.027 V", "-53.147 V", None, "unknown"),  # below 16 kohm is all that 10 Mohm tell: take 47 kohm
        ("0.0240 V", "-48.041 V", "46.78 kohm", "fail"),  # 4.94 to 5.06 kohm, below 5.12
        ("0.010 V", "-20.0 V", "46.78 kohm", "pass"),
        ("0.1 V", "-52.5 V", "46.78 kohm", "fail"),
        ("-5 V", "3 V", None, "unknown"),  # signs that cannot be
    ],
)
def test_the_bank_against_its_frame(bench: Bench, plus: str, minus: str, meter: str | None, verdict: str) -> None:
    bench.go(*ALL[:9])
    texts = [f"bar+1 to frame={plus}", f"bar-1 to frame={minus}", "bar+1=53.2 V"]
    bench.read("B3", *texts, *(() if meter is None else (f"bar+1={meter}",)))
    found = [f for f in bench.step("B3").findings if f.code == "V-FRAME-1"]
    assert [f.verdict for f in found] == [verdict]
    assert (bench.step("B3").state == "stopped") is (verdict == "fail")


def test_an_earthed_pole_tells_nothing_of_leaks_until_its_conductor_is_lifted(bench: Bench) -> None:
    bench.go(*ALL[:9])
    bench.read("B3", "bar+1 to frame=53.2 V", "bar-1 to frame=0.00 V", "bar+1=53.2 V")
    assert [f.verdict for f in bench.step("B3").findings] == ["unknown"]
    assert "earth bar" in bench.step("B3").findings[0].missing[0].how
    bench.book.tick("build.earth", "earthed", done=False)  # nothing is earthed yet: then minus lies at the frame
    assert "47 kohm" in bench.step("B3").findings[0].missing[0].how  # 10 Mohm alone cannot tell how much
    bench.read("B3", "bar+1=46.8 kohm")
    assert bench.step("B3").state == "stopped"


def test_an_inverter_that_was_left_on_stops_before_the_main_closes(bench: Bench) -> None:
    bench.go(*ALL[:13])
    bench.go("C1", instead={"S1 voltage_drop": "12.0 V", "S1 time": "10 s"})
    assert {f.verdict for f in bench.step("C1").findings} == {"caution"}
    bench.read("C2", "S1=12.0 V")
    assert bench.step("C2").state == "stopped"
    assert bench.step("C4").state == "locked"
    assert "an inverter is on" in bench.step("C2").findings[0].do.text()


@pytest.mark.parametrize(
    ("place", "read", "verdict"),
    [
        ("for good", "52 V", "pass"),
        ("for good", "0 V", "caution"),
        ("button", "52 V", "fail"),
        ("inside", "52 V", "fail"),
        ("button", "0.2 V", "pass"),
        (None, "52 V", "caution"),
    ],
)
def test_volts_behind_the_open_main_follow_from_where_the_resistor_sits(
    bench: Bench, place: str | None, read: str, verdict: str
) -> None:
    kind = {"resistor": "30 ohm", "power": "125 W", "wait": "8 s"}
    bench.job = bench.job.changed("kinds.inverter.box-5k.precharge", {**kind, "place": place} if place else kind)
    bench.go(*ALL[:10])
    bench.read("B4", f"I1={read}")
    assert [f.verdict for f in bench.step("B4").findings] == [verdict]
    assert (bench.step("B4").state == "stopped") is (verdict == "fail")


def test_neither_match_nor_the_earthing_is_passed_by(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "b.toml")
    with bench.book:
        bench.go(*ALL[:8])
        bench.book.hand_over("match record", {"may_join": "fail", "order": ORDER})
        assert bench.step("B2").state == "locked"
        bench.book.hand_over("match record", {"may_join": "caution", "order": ORDER})
        bench.book.tick("build.earth", "earthed", done=False)
        bench.go("B2", "B3", "B4", "B5", "B6")
        assert bench.step("C1").locked_by == ("The minus pole is not earthed yet: the main switch stays open.",)


def test_a_change_of_wiring_opens_the_ticks_and_nothing_else_does(bench: Bench) -> None:
    bench.go("A1", "A2", "A3")
    other = bench.job.changed("title", "Shed")
    assert powering(other, bench.book).steps[0].state == "done"
    longer = bench.job.changed("wiring.main.length", "2 m")
    assert [now.state for now in powering(longer, bench.book).steps[:3]] == ["open", "begun", "open"]


def test_command_page_and_slips(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bank, page = tmp_path / "barn.toml", tmp_path / "sheet.html"
    bank.write_text(BARN.read_text("utf-8"), "utf-8")

    def run(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main(["prove", str(bank), *args])
        out = capsys.readouterr()
        return int(end.value.code or 0), out.out, out.err

    code, out, _ = run("--step", "A2", "--read", "I1=48 V", "--who", "Kim", "--html", str(page))
    assert code == 1
    assert "STOP. Back to dead" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert "not measured" in page.read_text("utf-8")
    found = json.loads(run("--json")[1])
    assert (found["here"], found["steps"][1]["state"]) == ("A2", "stopped")
    at, box = ["--step", "A2", "--read"], ["--tick", "all"]
    slips = (["--step", "Z9"], [*at, "I9=1 V"], [*at, "I1=1 A"], [*at, "I1"], ["--step", "A2", "--tick", "nothing"])
    for slip in (*slips, ["--step", "A3", *box], [*at, "I1=900 V"], [*at, "M1 to frame=1 V"]):
        assert run(*slip)[0] == 2, slip
    said = " ".join(run(*at, "I9=1 V")[2].split())
    assert 'A2 reads nothing at "I9"' in said  # and what it does read stands there, as it is typed
    assert "I2+ to frame" in said
    assert 'Write "I1=VALUE"' in " ".join(run(*at, "I1")[2].split())
    first = " ".join(run("--step", "A1")[1].split())
    assert "Waits for Build's hand-over (bankwright build FILE --hand-over)." in first
