"""Rules of joining that need no network: temperature, the maker's window, equal counts of cells.

Gives: RULES (M-JOIN-4, M-JOIN-5, M-JOIN-6), part of the checks of verdict 1.
Limits: what was read and what the data sheet says; nothing is computed over time.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bankwright.bank.asks import asking
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import FileKey, Source
from bankwright.forms.wording import Figure, say
from bankwright.match import cards
from bankwright.match.entry import same_meter
from bankwright.match.subject import Subject, digits_decide

__all__ = ["RULES"]


WARM = "Warm {module} first: let it stand in a warm room until its middle has the room's temperature (a day)."
ASK_MAKER = "Ask the maker of {module} below which temperature of its cells it must not be charged."
PUBLISHED_LOWEST = 0.0  # degC; a module that is colder needs the figure of its own sheet
PUBLISHED = Source("specifications of LFP cells and packs", "", "no charging below 0 degC", "published range")


def _gives(subject: Subject) -> np.ndarray:
    """Modules that surely give, at every closing they take part in, whatever the meter's digits hide."""
    count = len(subject.readings)
    gives = np.full(count, fill_value=True)
    for n in range(2, count + 1):
        joined = subject.inrush.joined(n)
        least, middle, most = subject.inrush.currents(joined)
        surely = (middle > 0.5) & (least > 0.5) & (middle > 0.02 * float(np.abs(most).max()))
        gives &= surely | ~np.isin(np.arange(count), list(joined))
    return gives


@check("M-JOIN-4", "No module is charged below its lowest temperature")
def cold(subject: Subject) -> Iterator[Finding]:
    """A module that its neighbours will charge is warm enough to be charged.

    Why: joined, a cold module is charged at once by warmer ones; below its limit lithium plates on the graphite.
    Source: data sheet, lowest charging temperature; mechanism Petzl and Danzer, J. Power Sources 254 (2014) 80 [read].
    """
    gives = _gives(subject)
    for k, module in enumerate(subject.bank.modules):
        lowest, degc = module.kind.charge.lowest_degc, subject.degc[module.name]
        if gives[k]:
            continue
        missing: list[Missing] = []
        assumed = lowest is None and degc is not None and degc[0] >= PUBLISHED_LOWEST
        if assumed:
            lowest = PUBLISHED_LOWEST
        elif lowest is None:
            how = "The data sheet names the lowest temperature of charging."
            missing.append(asking(f"{module.kind.path}.charge.lowest", how))
        if degc is None:
            how = f"Hold a thermometer to {module.name}, or read the temperature on its display."
            missing.append(asking(f"readings.{module.name}.temperature", how))
        figure = None if degc is None else Figure(sum(degc) / 2, "temperature_degc", *degc)
        origin = PUBLISHED if assumed else FileKey(f"{module.kind.path}.charge.lowest")
        figure_of = None if lowest is None else Figure(lowest, "temperature_degc")
        name = f"lowest for charging {module.name}"
        inputs = () if figure_of is None else (Input("T_min", name, figure_of, origin, assumed),)
        yield cards.COLD.found(
            module.name,
            figure,
            (lowest, None),
            say("{module} will be charged by its neighbours as soon as it is joined", module=module.name),
            say(ASK_MAKER if assumed else WARM, module=module.name),
            inputs=inputs,
            missing=tuple(missing),
        )


@check("M-JOIN-5", "The maker's joining window")
def window(subject: Subject) -> Iterator[Finding]:
    """The modules lie within the difference that their maker allows for joining.

    Why: the maker knows what the switches inside the module stand.
    Source: data sheet, joining window.
    """
    volts = [reading.voltage for reading in subject.readings]
    if same_meter(subject.readings):
        half = max(r.digit + (r.gain or 0.0) * (max(volts) - min(volts)) / 2 for r in subject.readings)
    else:
        half = max(r.half for r in subject.readings)
    spread = max(volts) - min(volts)
    figure = Figure(spread, "voltage_drop", max(spread - 2 * half, 0.0), spread + 2 * half)
    kinds = {module.kind.path: module.kind for module in subject.bank.modules}
    known = [kind.join_within for kind in kinds.values() if kind.join_within is not None]
    by_volts = sorted(subject.readings, key=lambda r: r.voltage)
    lowest, highest = by_volts[0].module, by_volts[-1].module
    missing = [
        asking(f"{kind.path}.parallel.join_within", "The manual of the module names it.")
        for kind in kinds.values()
        if kind.join_within is None
    ]
    yield cards.WINDOW.found(
        (lowest, highest),
        figure,
        (None, min(known) if known else None),
        say("{low} and {high} lie {spread} apart", low=lowest, high=highest, spread=figure),
        say(
            digits_decide(figure, min(known) if known else None)
            + "Bring {low} and {high} nearer, each alone, before they are joined.",
            low=lowest,
            high=highest,
        ),
        inputs=subject.volts(),
        missing=() if known else tuple(missing),
        ends_at="fail" if known else "caution",
    )


@check("M-JOIN-6", "Modules of one chemistry and one count of cells")
def alike(subject: Subject) -> Iterator[Finding]:
    """All modules have the same chemistry and the same number of cells in series.

    Why: unlike counts never come to rest at one voltage; one would charge the other without end.
    Source: circuit laws.
    """
    first = subject.bank.modules[0]
    for module in subject.bank.modules:
        same = (module.kind.cells, module.kind.chemistry) == (first.kind.cells, first.kind.chemistry)
        if not same:
            yield cards.ALIKE.found(
                (first.name, module.name),
                None,
                (None, None),
                say(
                    "{one}: {a}; {two}: {b}",
                    one=first.name,
                    two=module.name,
                    a=f"{first.kind.cells} cells {first.kind.chemistry}",
                    b=f"{module.kind.cells} cells {module.kind.chemistry}",
                ),
                say("Never join {one} and {two}.", one=first.name, two=module.name),
                forced="fail",
            )


RULES = (cold, window, alike)
