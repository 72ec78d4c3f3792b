"""Parts E and F of first power-up: under load, load off again, and charging.

Gives: load_steps(), charge_step(), path_findings().
Figures due are the engine's at the current read round the mains, 30 s after the step; a sum of currents that does not
close makes them all unknown.
Limits: the load is shared alike by what draws; one round a step; no limit of the book on the drop (Plan has it).
Sources: network solved at this load; same step back within 5 %: common practice, no source; errors of the instruments:
prove/meters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.circuit.inverse.looks import current_look, drop_look, voltage_look
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.trace import PRACTICE
from bankwright.forms.wording import Figure, say
from bankwright.prove.meters import Clamp, Millivolts
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.drawn import Now, mains_of, now_of
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.places import poles
from bankwright.prove.sheet.shunt import shunt_rows
from bankwright.prove.sources import CIRCUIT

__all__ = ["charge_step", "load_steps", "path_findings"]

BACK = 0.05  # of the step, common practice, no source
COUNTS = 0.04  # V: two readings of two counts of 10 mV
REST = {"E2": "E1", "F1": "F0"}
HIGH = (
    "cold cells",
    "resistance of the kind above its sheet: the maker's word",
    "one module not joined: its current is nothing",
)
ONE_LOW = (
    "the module's resistance inside its tolerance",
    "colder than the others",
    "charge differs: its current at zero load",
    "the clamp's place",
    "a joint: the millivolts of all of them tell",
)
ONE_DEVICE = ("one device or joint of this run: its own contact", "cable smaller or longer than the file says")


def load_steps(facts: Facts) -> Iterator[StepOf]:
    """E1, E2 and the load off again."""
    plus = poles(facts.bank)[0]
    shares = "a record is in the logbook." if "share test" in facts.results else "no record yet."
    yield StepOf(
        "E1",
        "A tenth of the load for two minutes, then nothing",
        ("D3" if facts.bank.inverters else "C4",),
        "two people",
        ("Steady heaters, thermostats locked on. Stop: smell, smoke, a sound.",),
        ("Load off, two minutes; then the volts of the bank at rest, just before the load comes on.",),
        (Due("V-SAG-1", "voltage", plus, "the bank at rest, plus to minus", "limit", (None, None)),),
    )
    yield StepOf(
        "E2",
        "Load: currents, sag, drop to the inverters; shares",
        ("E1",),
        "two people",
        ("Stop: smell, smoke, a terminal above its rating, a cell below 3.0 V.", "One pole probed, the other covered."),
        (
            "30 s after the load came on: the mains, every module, volts of the bank, millivolts along each run.",
            f"bankwright prove shares FILE --load ...: {shares}",
        ),
        tuple(_loaded(facts)),
        (("record", "Share test kept in the logbook"),),
    )  # fmt: skip
    yield StepOf(
        "E2B",
        "Load off: the step back",
        ("E2",),
        "two people",
        (),
        ("30 s after the load went off: volts of the bank again.",),
        (_back(facts, plus),),
    )


def _loaded(facts: Facts) -> Iterator[Due]:
    now = now_of(facts, "E2")
    yield from _main_rows(facts.bank)
    for module in facts.bank.modules:
        yield _branch(facts, "E2", module, now)
    yield _volts(facts, "E2", now)
    for name in _runs(facts.bank):
        yield _drop(name, now)
    yield from shunt_rows(facts, now)
    for module in facts.bank.modules:
        words = "of its cells, by its display: kept with what was read"
        yield Due("V-BRANCH-1", "temperature_degc", module.name, words, "expectation", (None, None), optional=True)


def _main_rows(bank: Bank) -> Iterator[Due]:
    for name in mains_of(bank):
        yield Due("V-SUM-2", "current", name, "round the main, as a size", "closure", (None, None))


def _runs(bank: Bank) -> tuple[str, ...]:
    """Mains and the runs to the inverters: the way from the bank."""
    posts = {post for inverter in bank.inverters for post in inverter.posts}
    return tuple(link.name for link in bank.links if link.role == "main" or {link.a, link.b} & posts)


def _branch(facts: Facts, step: str, module: Module, now: Now) -> Due:
    """A module's current: its limit stops, the engine's figure with the zero reading is its band."""
    down, limits = step == "E2", module.kind.discharge if step == "E2" else module.kind.charge
    most, part = limits.continuous, "discharge" if down else "charge"
    window = (None, most) if down else (None if most is None else -most, None)
    missing: tuple[Missing, ...] = () if most is not None else (asking(f"{module.kind.path}.{part}.continuous"),)
    figure, value = now.figure(current_look(module.name, "now")), facts.read(step, "current", module.name)
    inside = value is None or most is None or (value if down else -value) <= most
    if figure is not None:
        zero = facts.read("B6", "current", module.name) or 0.0
        half = abs(figure.value) * now.loose + Clamp().zero
        figure = _wider(figure, half, zero)
    elif inside:  # past its limit is past it, whatever does not close
        missing += now.missing
    band = (None, None) if figure is None else (figure.low, figure.high)
    words = "out of the module" if down else "out of the module: below zero while it charges"
    then = "Millivolts of every joint and link."
    return Due(
        "V-BRANCH-1", "current", module.name, words, "limit", window, figure, ONE_LOW, then, missing, CIRCUIT, band=band
    )


def _wider(figure: Figure, half: float, shift: float = 0.0) -> Figure:
    """Tolerances and the meter's limits added; the zero of the meter put back."""
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    return Figure(figure.value + shift, figure.quantity, low + shift - half, high + shift + half)


def _volts(facts: Facts, step: str, now: Now) -> Due:
    """Volts of the bank under load: those at rest less the engine's sag; above them while it charges."""
    plus, minus = poles(facts.bank)
    rest, figure, missing = (
        facts.read(REST[step], "voltage", plus),
        now.figure(voltage_look(plus, minus, "now")),
        now.missing,
    )
    if rest is None:
        missing += (asking(f"readings.{plus}.voltage", f"Read the bank at rest first ({REST[step]})."),)
    code = "V-SAG-1" if step == "E2" else "V-CHARGE-1"
    words = "the bank under load, 30 s after the step" if step == "E2" else "the bank while it charges, after 30 s"
    then = "Sum of the currents; number of modules that carry."
    due: Figure | None = None
    if rest is not None and figure is not None and now.due is not None:
        (emf,) = {float(value) for value in now.due.solution.emf.ravel()[:1]}
        step_due = abs(emf - figure.value)
        due = _wider(figure, step_due * now.loose + COUNTS, rest - emf)
        if step_due / 2.0 < COUNTS:
            how = f"The step due is {step_due * 1e3:.0f} mV: a larger load, or a meter with 1 mV counts."
            due, missing = None, (*missing, asking(f"readings.{plus}.voltage", how))
    window = (None, None) if due is None else (due.low, due.high)
    return Due(code, "voltage", plus, words, "expectation", window, due, HIGH, then, missing, CIRCUIT)


def _drop(name: str, now: Now) -> Due:
    """Volts along one run, as a size."""
    figure, missing = now.figure(drop_look("now", name)), now.missing
    if figure is not None:
        size = sorted(abs(end) for end in (figure.low or 0.0, figure.high or 0.0))
        value = abs(figure.value)
        half = value * now.loose + Millivolts().half(value)
        figure = _wider(Figure(value, "voltage_drop", *size), half)
        if Millivolts().half(value) > value / 2.0:
            figure = None
            missing = (asking(f"readings.{name}.voltage_drop", "Not enough current or digits: a larger load."),)
    window = (None, None) if figure is None else (figure.low, figure.high)
    words = "along the run with its devices, end to end, as a size"
    then = f"Millivolts over each device and joint of {name}."
    return Due(
        "V-PATH-1", "voltage_drop", name, words, "expectation", window, figure, ONE_DEVICE, then, missing, CIRCUIT
    )


def path_findings(facts: Facts, dues: Sequence[Due]) -> tuple[Finding, ...]:
    """From the bank to each inverter: the sum of what was read along its way; none before all of it is read."""
    due = {each.at: each.expected for each in dues if each.code == "V-PATH-1"}
    found = []
    for inverter in facts.bank.inverters:
        way = [k.name for k in facts.bank.links if k.role == "main" or {k.a, k.b} & set(inverter.posts)]
        read = [value for name in way if (value := facts.read("E2", "voltage_drop", name)) is not None]
        parts = [part for name in way if (part := due.get(name)) is not None]
        if way and len(read) == len(parts) == len(way):
            found.append(_way(inverter.name, sum(abs(value) for value in read), parts))
    return tuple(found)


def _way(name: str, total: float, parts: Sequence[Figure]) -> Finding:
    band = (sum(part.low or 0.0 for part in parts), sum(part.high or 0.0 for part in parts))
    figure = Figure(total, "voltage_drop")
    text = say("From the bank to {at} {total} are lost", at=name, total=figure)
    do = say("The run with the largest part over its figure: its devices and joints, one by one.")
    card = SHEET_CARDS["V-PATH-1"]
    return card.found(name, figure, (None, None), text, do, source=CIRCUIT, caution_limits=band, case="the whole way")


def _back(facts: Facts, plus: str) -> Due:
    """After as long off as it was on, the step back is as large as the step."""
    rest, loaded = facts.read("E1", "voltage", plus), facts.read("E2", "voltage", plus)
    figure: Figure | None = None
    missing: tuple[Missing, ...] = ()
    if rest is None or loaded is None:
        missing = (asking(f"readings.{plus}.voltage", "Read the bank at rest and under load first (E1, E2)."),)
    else:
        half = BACK * abs(rest - loaded) + COUNTS
        figure = Figure(rest, "voltage", rest - half, rest + half)
    window = (None, None) if figure is None else (figure.low, figure.high)
    means = ("the load was not steady, or something draws still", "read at another age of the step")
    words, then = "the bank, 30 s after the load went off", "Currents at zero load."
    return Due("V-SAG-2", "voltage", plus, words, "expectation", window, figure, means, then, missing, PRACTICE)


def charge_step(facts: Facts) -> Iterator[StepOf]:
    """F0 and F1, where the file has a charger."""
    if not facts.bank.chargers:
        return
    now = now_of(facts, "F1")
    plus = poles(facts.bank)[0]
    yield StepOf(
        "F0",
        "At rest before the charge",
        ("E2B", "E4"),
        "two people",
        (),
        ("Loads and chargers off for two minutes; volts of the bank, just before the charger comes on.",),
        (Due("V-SAG-1", "voltage", plus, "the bank at rest, plus to minus", "limit", (None, None)),),
    )
    rows = [*_main_rows(facts.bank)]
    rows += [_branch(facts, "F1", module, now) for module in facts.bank.modules]
    rows.append(_volts(facts, "F1", now))
    yield StepOf(
        "F1",
        "Charger at 10, 50 and 100 % of the plan",
        ("F0",),
        "two people",
        ("Cells above their lowest charge temperature; the bank below 95 %.",),
        (
            "30 s after each step: the mains, every module, volts of the bank.",
            "Resistance from charge and from discharge agree within 5 % (practice).",
        ),
        tuple(rows),
        (("ceiling", "The ceiling of the charge voltage was not passed"),),
    )
