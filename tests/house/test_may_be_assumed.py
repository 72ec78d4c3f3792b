"""The closed list of checks that may pass on a published range. Whoever adds one writes it here too, with a reason that
is none of: keeps from fire, shock, burning conductors, overcharge, charging in the cold, bursting devices, crushing."""

from pathlib import Path

import bankwright
from bankwright.forms.codes import places
from bankwright.forms.finding import MAY_BE_ASSUMED

SHARING = {"P-SHARE-1", "P-SHARE-2", "P-SHARE-3", "P-SHARE-4"}  # a module over its own limit trips by itself
VOLTAGE = {"P-DROP-1", "P-DROP-2"}  # comfort and losses; the inverter stops by itself
TRIPS = {"P-TRIP-1"}  # an order of tripping that annoys
STARTING = {"P-START-1", "P-START-2"}  # it starts or it does not
MEASURING = {"P-SHUNT-1"}  # accuracy
COUNTING = {"P-NUMBER-1"}  # modules enough for the power
EVENING = {"M-EVEN-1"}  # how long it takes
NEVER = (
    *("P-CABLE", "P-DEVICE", "P-FAULT", "P-CLEAR", "P-REACH", "P-BAR", "P-JOINT", "P-POST", "P-VOLTS", "P-EARTH"),
    *("P-CHARGE", "P-SWITCH", "P-PLACE", "P-ARC", "P-PRECHARGE", "B-", "BLD-", "V-", "M-JOIN", "M-STOP", "M-CHARGE"),
    *("M-MOST", "M-READ", "M-REST", "M-METER", "M-BMS"),
)


def test_the_list_is_this_one() -> None:
    assert MAY_BE_ASSUMED == SHARING | VOLTAGE | TRIPS | STARTING | MEASURING | COUNTING | EVENING


def test_every_code_of_the_list_is_a_check() -> None:
    assert set(places()) >= MAY_BE_ASSUMED


def test_nothing_that_keeps_from_harm_is_on_it() -> None:
    assert not [code for code in MAY_BE_ASSUMED if code.startswith(NEVER)]
    assert not [prefix for prefix in NEVER if not any(code.startswith(prefix) for code in places())]


def test_the_list_stands_in_one_place_and_one_function_reads_it() -> None:
    sources = Path(bankwright.__file__).parent.rglob("*.py")
    assert [path.name for path in sources if "MAY_BE_ASSUMED" in path.read_text("utf-8")] == ["finding.py"]
