"""One page: what to do in a fault or fire. Always reachable, printed and hung by the door.

Gives: Emergency, emergency(). The number is what the user typed into the bank file; nothing is guessed.
Limits: general emergency practice, from memory; the fire service,
the local code and the makers' sheets have the last word.
Sources: general emergency practice; gas and re-ignition are the hazards named by IEC 62485-5 and NFPA 855 (from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.forms.origin import Source
from bankwright.forms.wording import amount_text

__all__ = ["Emergency", "emergency"]

_SOURCE = Source("general emergency practice; hazards named by IEC 62485-5 and NFPA 855", how_known="from memory")
_PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Smoke, hiss, sharp solvent smell, swelling, rapid heating",
        (
            "Leave. Shut the door behind you. Do not go back to switch off.",
            "Call {number}. Say: lithium iron phosphate storage, {energy}, {place}.",
            "Vented gas burns and is toxic (hydrogen, carbon monoxide, hydrogen fluoride): no flame, nobody goes "
            "in without "
            "breathing apparatus.",
            "Burning cells re-ignite hours or days later. Small extinguishers do not stop them; water cools; the "
            "fire "
            "service decides.",
        ),
    ),
    (
        "Somebody touches a live part and cannot let go",
        (
            "Switch off at {switch} and at the module, or push the person away with something insulating.",
            "Call {number}. Begin resuscitation if there is no breathing.",
            "Every shock and every arc burn goes to a doctor.",
        ),
    ),
    (
        "Sparks, a hot joint, a tripped breaker, a fault signal",
        (
            "Loads off, inverter off, then {switch} open; then the breaker of every module that has one.",
            "Every module remains a source: posts stay live at about {voltage}, joined ones feed a fault together. "
            "Touch nothing bare.",
            "Do not close again before the cause is found.",
        ),
    ),
    (
        "Electrolyte on skin or in the eyes",
        (
            "Water for 15 minutes or more, then medical care at once.",
            "Hydrogen fluoride is an emergency even when it hardly hurts.",
        ),
    ),
    (
        "A module falls or slips",
        (
            "Let it go; lower what can be lowered. Do not save the module.",
            "It is not used again before its maker has judged it; it does not stay indoors.",
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class Emergency:
    """The page: a heading and its sentences, in order of urgency."""

    title: str
    number: str | None
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    closing: str
    source: Source


def emergency(bank: Bank) -> Emergency:
    """The page for this bank."""
    number = bank.site.emergency_number
    energies = [module.kind.energy_or_nominal for module in bank.modules]
    total = sum(e for e in energies if e is not None)
    energy = f"about {total:.0f} kWh" if total and None not in energies else f"{len(bank.modules)} modules"
    switches = [d for d in bank.devices if d.kind.type == "disconnect"]
    switch = " and ".join(f"{d.name} ({d.reach})" if d.reach else d.name for d in switches) or "the main switch"
    place = bank.site.place or "where it stands"
    voltage = max((module.kind.nominal_voltage for module in bank.modules), default=0.0)
    words = {
        "number": number or "the emergency number (write it here: ________)",
        "energy": energy,
        "switch": switch,
        "place": place,
        "voltage": amount_text(voltage, "voltage", bank.units),
    }
    parts = tuple((head, tuple(line.format(**words) for line in lines)) for head, lines in _PARTS)
    closing = (
        "Local code, permit, a licensed electrician, the equipment's listing and the makers' sheets override this page."
    )
    return Emergency("In a fault or fire", number, parts, closing, _SOURCE)
