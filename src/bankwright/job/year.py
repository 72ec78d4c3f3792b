"""The door of the faces: pretend days in a logbook of its own.

Gives: live_year(), Grows, growth_of(), RAW, STEP.
Limits: pretend readings never go into a logbook that is there already.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.circuit.run.bank import bank_ports
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import nearest
from bankwright.logbook.connect import logbook_path
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.year.year import RAW, STEP, Grows, pretend_year

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.job import Job

__all__ = ["RAW", "STEP", "Grows", "growth_of", "live_year"]

EXAMPLE = 'Write "L1+@M1+=0.3 mohm"'
MOST = 0.1  # ohm


def growth_of(bank: Bank, text: str) -> Grows:
    """Read `L1+@M1+=0.3 mohm`; QuestionError where that names no joint of this bank or no growth."""
    name, _, value = text.partition("=")
    _, network, _ = bank_ports(bank)
    known = [] if network is None else [each.name for each in network.elements if each.kind != "module"]
    name = name.strip()
    if name not in known:
        near = nearest(name, known)
        raise _wrong(f"{name!r} is no joint, cable or device of this bank", f"Near: {near}" if near else EXAMPLE)
    try:
        ohms = parse(value.strip(), "resistance").nominal
    except QuantityFault as bad:
        raise _wrong(bad.found, bad.hint or EXAMPLE) from None
    if not 0 < ohms <= MOST:
        raise _wrong(f"{value.strip()} is no growth of a joint", EXAMPLE)
    return Grows(name, ohms)


def live_year(job: Job, days: int, grows: Grows | None = None) -> Iterator[int]:
    """Live so many pretend days until now and keep them; gives the one that is done."""
    path = logbook_path(job.path)
    if path.exists():
        found = f"{path.name} is there already, and pretend readings do not go into it"
        raise QuestionError((Fault("--days", "logbook-there", found, "", "Copy the bank file, and take the copy"),))
    if bank_ports(job.bank)[1] is None:
        found = "no network can be made of this wiring, so that no current of a module can be computed"
        raise QuestionError((Fault("--days", "no-network", found, "", "Give its cables; bankwright plan says which"),))
    with open_telemetry(job.path) as telemetry:
        yield from pretend_year(job.bank, telemetry, time.time, grows, days=days)


def _wrong(found: str, right: str) -> QuestionError:
    return QuestionError((Fault("--grow", "wrong-value", found, "", right),), "the options")
