"""The one next reading: the look that parts two explanations most, with what each would show.

Worked example (chain of four, opposite ends, 100 A, computed elsewhere with the same bank): +1 mohm in M1 or in its
plus link give the same currents; millivolts over L1+ read 3.2 or 27.2, limits 0.6: D 40; volts at M1's posts 50.839 or
50.863, limits 0.02 to 0.04: D about 1; a clamp anywhere: D 0. Bars: M3 against its plus link, 13.7 or 51.7 mV: D above
60.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.inverse.looks import Look, Observation, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.next_reading import Choice, hypotheses, next_reading
from bankwright.circuit.inverse.prior import prior_of
from bankwright.circuit.network import Array
from support.inverse_banks import Setting, meters, setting, shown


def half(look: Look, value: float) -> float:
    """A clamp of 2 % and some counts, volts to 0.03 V, a millivolt range of 0.5 % and 5 counts of 0.1 mV."""
    if look.kind == "current":
        return 0.02 * abs(value) + 0.25
    return 0.03 if look.kind == "voltage" else 0.5e-3 + 0.005 * abs(value)


def with_growth(made: Setting, *names: str, growth: float = 1e-3) -> dict[str, Array]:
    start = made.unknowns.start(made.network.resistances(), np.full(len(made.network.modules), 51.2))
    found = {}
    for name in names:
        found[name] = start.copy()
        found[name][made.unknowns.place[name]] += growth
    return found


def every_look(made: Setting) -> list[Look]:
    links = [edge.name for edge in made.network.edges if edge.name.startswith("L")]
    modules = made.network.module_names
    return (
        [current_look(name, "load") for name in modules]
        + [voltage_look(f"{name}+", f"{name}-", "load") for name in modules]
        + [drop_look("load", name) for name in links]
    )


def one(made: Setting, explained: dict[str, Array], look: Look) -> Choice:
    found = next_reading(made.unknowns, explained, [look], half)
    assert found is not None
    return found


def test_a_module_against_its_own_link_in_a_chain() -> None:
    made = setting("chain", (), meters(1e-4))
    explained = with_growth(made, "M1", "L1+@M1+b")
    best = next_reading(made.unknowns, explained, every_look(made), half)
    assert best is not None
    assert best.look == drop_look("load", "L1+")
    assert [1e3 * best.shown[name] for name in explained] == pytest.approx([3.2, 27.2], abs=0.3)
    assert best.apart == pytest.approx(40, abs=4)
    assert best.parts
    volts = one(made, explained, voltage_look("M1+", "M1-", "load"))
    assert [volts.shown[name] for name in explained] == pytest.approx([50.839, 50.863], abs=1e-3)
    assert not volts.parts
    for module in made.network.module_names:
        assert one(made, explained, current_look(module, "load")).apart < 1e-9


def test_a_module_against_its_plus_link_on_bars() -> None:
    made = setting("bars", (), meters(1e-4))
    explained = with_growth(made, "M3", "L3+@M3+")
    best = next_reading(made.unknowns, explained, every_look(made), half)
    assert best is not None
    assert best.look == drop_look("load", "L3+")
    # the file's warm cable in the example: 13.7 and 51.7; cold copper here is a tenth less
    assert [1e3 * best.shown[name] for name in explained] == pytest.approx([12.3, 50.3], abs=0.3)
    assert best.apart > 45


def test_with_a_meter_that_is_too_coarse_nothing_parts_and_it_is_said() -> None:
    made = setting("chain", (), meters(1e-4))
    explained = with_growth(made, "M1", "L1+@M1+b", growth=1e-4)
    found = next_reading(made.unknowns, explained, every_look(made), lambda look, _: 0.02)
    assert found is not None
    assert not found.parts


def test_three_explanations_take_the_look_that_parts_most_pairs() -> None:
    made = setting("chain", (), meters(1e-4))
    explained = with_growth(made, "M1", "L1+@M1+b", "L2+@M2+b")
    found = next_reading(made.unknowns, explained, every_look(made), half)
    assert found is not None
    assert found.look in (drop_look("load", "L1+"), drop_look("load", "L2+"))
    assert found.parts


def test_nothing_to_part_or_nothing_to_read() -> None:
    made = setting("chain", (), meters(1e-4))
    assert next_reading(made.unknowns, with_growth(made, "M1"), every_look(made), half) is None
    assert next_reading(made.unknowns, with_growth(made, "M1", "M2"), [], half) is None


def test_hypotheses_each_explain_what_was_read() -> None:
    # the currents of a chain with +3 mohm in L2+: released there, the fit shows them; released in M4 it does not
    made = setting("chain", (), meters(1e-4))
    R = made.network.resistances().copy()
    R[made.network.element_index["L2+@M2+b"]] += 3e-3
    values = shown(made, R, np.full(4, 51.2), {"zero": {}, "load": {"I1": 100.0}})
    read = [Observation(look, float(value), 0.05) for look, value in zip(made.looks, values, strict=True)]
    prior = prior_of(made.unknowns, np.full(4, 51.2))
    found = hypotheses(prior, read, ["L2+@M2+b", "M4"])
    right = found["L2+@M2+b"][made.unknowns.place["L2+@M2+b"]]
    assert right == pytest.approx(3.02e-3, rel=0.15)
    best = next_reading(made.unknowns, found, every_look(made), half)
    assert best is not None
    assert best.look == drop_look("load", "L2+")
