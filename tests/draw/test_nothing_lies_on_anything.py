"""No letters on letters, no cable on letters, no plus on minus, no balloon on letters, nothing outside the sheet."""

import pytest

from bankwright.draw.wiring import wiring
from support.banks.drawn import Plan, drawn_bank, invented_currents
from support.collisions import collisions
from support.drawn_findings import findings_everywhere

PLANS = {
    **{f"chain of {n}, {feed}": Plan(n, feed=feed, inverters=2) for n in (1, 2, 5, 8, 16, 20)
       for feed in ("same end", "opposite ends", "both ends")},
    **{f"busbar of {n}, {feed}": Plan(n, pattern="busbar", feed=feed, pairs=1, inverters=2)
       for n in (1, 2, 5, 8, 16, 20) for feed in ("same end", "opposite ends")},
    "one post a pole": Plan(6, pairs=1, feed="opposite ends"),
    "devices in inverter leads": Plan(5, inverters=3, on_branches=("fuse", "breaker")),
    "devices in module leads": Plan(8, pattern="busbar", pairs=1, on_leads=("fuse",), inverters=2),
    "two devices in module leads": Plan(5, pattern="busbar", pairs=1, on_leads=("fuse", "disconnect")),
    "devices in module leads of 16": Plan(16, pattern="busbar", pairs=1, on_leads=("breaker",), feed="opposite ends"),
    "devices in the links": Plan(5, on_leads=("fuse",)),
    "inverters, charger and load, own mains": Plan(5, inverters=2, chargers=1, loads=1, meet=False, on_mains=("fuse",)),
    "inverters, charger and load, meeting": Plan(
        5, inverters=2, chargers=1, loads=1, feed="both ends", on_branches=("fuse",)),
    "four devices in the main": Plan(4, on_mains=("fuse", "disconnect", "breaker", "shunt")),
    "two racks of four": Plan(8, racks=(4, 4), feed="opposite ends"),
    "three racks": Plan(9, racks=(3, 3, 3), feed="both ends", inverters=2),
    "two racks on a bar": Plan(8, racks=(4, 4), pattern="busbar", pairs=1, inverters=2),
    "listed": Plan(5, pattern="listed", extra=tuple(
        (f"{name}{pole}", f"M{a}{pole}", f"M{b}{pole}b") for pole in "+-"
        for name, a, b in (("A", 1, 2), ("B", 2, 4), ("C", 1, 3), ("D", 3, 5)))),
    "nothing but modules": Plan(3, inverters=0, on_mains=()),
}  # fmt: skip


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("name", PLANS)
def test_drawings_are_clean(name: str, size: str) -> None:
    bank = drawn_bank(PLANS[name])
    amps = invented_currents(bank)
    for solution, findings in ((amps, ()), (amps, findings_everywhere(bank)), (None, ())):
        found = collisions(wiring(bank, solution, findings, size, case="full discharge").text, size)  # type: ignore[arg-type]
        assert found.clean, found


def test_the_count_sees_a_cable_that_crosses_everything() -> None:
    drawn = wiring(drawn_bank(Plan(5)), None, (), "desk").text
    first = drawn.index('class="wire pos"')
    start = drawn.rindex(' d="', 0, first)
    broken = drawn[:start] + ' d="M50 380L560 380"' + drawn[drawn.index('"', start + 4) + 1 :]
    assert collisions(broken, "desk").plus_minus


def test_the_count_sees_letters_on_letters() -> None:
    drawn = wiring(drawn_bank(Plan(2)), None, (), "desk").text
    doubled = drawn.replace("</svg>", '<text x="200.0" y="16.0" class="d">over</text>' * 2 + "</svg>")
    assert collisions(doubled, "desk").text_text
