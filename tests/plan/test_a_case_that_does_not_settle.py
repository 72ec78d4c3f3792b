"""A case that gives no currents leaves what rests on it unknown, and crashes nothing."""

from bankwright.bank.read import faults_in
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.steady import Steady
from bankwright.plan.context import plan_of
from bankwright.plan.results import findings_of
from support.plan_cases import edited, sound

BLOCKED = "full discharge at lowest voltage, M1 discharge blocked"


def test_what_rests_on_it_is_unknown_and_says_why(monkeypatch):
    own = Steady.edge_current

    def no_end(self, case, *, partly=False):
        if case == BLOCKED:
            raise CircuitError(f"{case}: the one-way modules do not settle")
        return own(self, case, partly=partly)

    monkeypatch.setattr(Steady, "edge_current", no_end)
    found = findings_of(plan_of(edited({})), ("P-SHARE-2",))
    assert not [each.crashed for each in found if each.crashed]
    unknown = [each for each in found if any("do not settle" in one.lacks for one in each.missing)]
    assert unknown
    assert {each.verdict for each in unknown} <= {"unknown", "fail"}


def test_a_cable_of_a_million_kilometres_is_a_slip(tmp_path):
    text = sound().text.replace('length = "1.5 m"', 'length = "1e9 m"')
    (fault,) = faults_in(text, tmp_path / "bank.toml")
    assert (fault.path, fault.code) == ("wiring.main.length", "out-of-range")
