"""Quantile and corner of a case inside its tolerances: against 8,192 variants, and against corners drawn at random.

The divider of parallel branches is the outside measure of a corner (circuit laws).
"""

from dataclasses import replace

import numpy as np
import pytest

from bankwright.bank.model_kinds import Resistances
from bankwright.circuit.cases import LOWEST
from bankwright.circuit.scatter.scatter import scatter
from bankwright.circuit.scatter.spread import Spread, spread
from bankwright.circuit.steady import steady
from bankwright.forms.toleranced import Toleranced, exact
from support.banks.wired import on_a_common_bar
from support.plan_cases import K, edited

FIVE = on_a_common_bar(5, 280.0, Toleranced(0.014, 0.011, 0.017))
EXACT = Resistances(dc=exact(0.014))

WIDE = {f"{K}.resistance.dc": "14 mohm +- 40 %"}
AWAY = f"{LOWEST}, M1 open"


def spread_of(changes: dict, case: str) -> Spread:
    found = spread(steady(edited(changes)), case)
    assert found is not None
    return found


@pytest.mark.parametrize("name", ["L2+", "M3", "main+"])
def test_the_quantile_is_that_of_many_variants(name):
    many = scatter(steady(edited(WIDE)), [AWAY]).quantile(name, 0.99)
    assert spread_of(WIDE, AWAY).quantile(name) == pytest.approx(many, rel=0.01)


def test_no_corner_drawn_at_random_is_larger():
    found, place = spread_of(WIDE, AWAY), "L2+"
    corner, column = found.corner(place), found.network.edge_index[place]
    drawn = np.random.default_rng(7).integers(0, 2, (2000, len(found.causes))).astype(float)
    everywhere = np.abs(found._solved(drawn)[:, column])
    assert everywhere.max() <= corner * (1 + 1e-9)
    assert np.abs(found._found[:, column]).max() < corner


def test_the_corner_of_five_modules_on_a_common_bar():
    """14 mohm +- 3 mohm, 280 A: one at 11, four at 17 mohm: 280 x (17/4) / (11 + 17/4) = 78.03 A."""
    given = FIVE.replaced(modules=tuple(replace(module, slot=None) for module in FIVE.modules))
    found = spread(steady(given), LOWEST)
    assert found is not None
    assert found.corner("M3") == pytest.approx(280.0 * 4.25 / 15.25, rel=1e-3)
    assert 56.0 < found.quantile("M3") < found.corner("M3")


def test_nothing_is_spread_where_the_file_gives_no_tolerance():
    given = FIVE.replaced(modules=tuple(replace(m, kind=replace(m.kind, resistance=EXACT)) for m in FIVE.modules))
    assert spread(steady(given), LOWEST) is None
