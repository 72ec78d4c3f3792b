"""How to find out what the file does not give: one row a key, with the sentence that can be sent or the reading to
take.

Gives: asking(), wanted(), needs(). Keys are matched by their shape: `kinds.module.*.resistance.ohmic`.
Limits: keys that stand nowhere in the table get a plain sentence; who is asked follows from where the key stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeVar

from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing

__all__ = ["asking", "needs", "wanted"]

Ask = Literal["maker", "measure", "decide"]
T = TypeVar("T")

_MODULE: Mapping[str, str] = {
    "resistance.dc": "What is the resistance of the {name}, post to post at 25 °C, 30 s into a step, with tolerance?",
    "resistance.surge": "What is the resistance of the {name}, post to post at 25 °C, 5 to 10 s into a load step?",
    "resistance.ohmic": "What is the ohmic (1 kHz AC) resistance of the {name}, post to post at 25 °C?",
    "resistance": "What is the tolerance of the resistance of the {name} between one module and the next?",
    "capacity": "What is the rated capacity of the {name} in ampere-hours?",
    "energy": "What is the nameplate energy of the {name} in kWh?",
    "discharge.continuous": "What current may the {name} be discharged with continuously?",
    "discharge.trip": "At what discharge current does the {name} trip, with what tolerance, and after how long?",
    "discharge.cell_trip": "At what cell voltage does the {name} stop discharging?",
    "discharge.lowest": "What is the lowest cell temperature for discharging the {name}?",
    "discharge.highest": "What is the highest cell temperature for discharging the {name}?",
    "charge.continuous": "What current may the {name} be charged with continuously, over cell temperature?",
    "charge.trip": "At what charge current does the {name} trip, with what tolerance, and after how long?",
    "charge.cell_trip": "At what cell voltage does the {name} trip on over-voltage, and with what tolerance?",
    "charge.lowest": "What is the lowest cell temperature for charging the {name}?",
    "charge.highest": "What is the highest cell temperature for charging the {name}?",
    "charge.inhibits": "Does the {name} itself stop charging when its cells are too cold, or is it heated?",
    "trips.charge": "After a charge trip, does the {name} still discharge, or is it open in both directions?",
    "trips.discharge": "After a discharge trip, does the {name} still take charge, or is it open in both directions?",
    "trips.recloses": "After an over-current trip, does the {name} close again by itself, and when?",
    "trips.restart": "How does the {name} restart after it has switched itself off?",
    "breaker": "Does the {name} hold a breaker or fuse, and what are its DC rating, voltage and interrupting rating?",
    "breaker.interrupts": "What DC current can the breaker inside the {name} interrupt, and at what voltage?",
    "breaker.volts": "What is the DC voltage rating of the breaker inside the {name}, with how many poles in series?",
    "breaker.poles": "For how many poles in series does the voltage rating of the breaker inside the {name} hold?",
    "breaker.polarised": "Is the breaker inside the {name} polarised, or does it break current in both directions?",
    "breaker.rating": "What is the rated current of the breaker inside the {name}?",
    "breaker.backed_by": "Which fuse in series is proved to back up the breaker inside the {name}?",
    "posts.through": "What current may pass from one post of a pole of the {name} to the other (from link to link)?",
    "posts.lugs": "How many lugs may be put on one post of the {name}?",
    "posts.stud": "What thread have the posts of the {name}?",
    "posts.rating": "What is the temperature rating of the posts of the {name}?",
    "parallel.most": "How many modules {name} may be connected in parallel?",
    "address.switches": "How many address switches has the {name}, and how many addresses can they set?",
}  # fmt: skip
_DEVICE: Mapping[str, str] = {
    "rating": "What is the rated current of the {name}?",
    "volts": "What is the DC voltage rating of the {name}, and with how many poles in series?",
    "interrupts": "What DC current can the {name} interrupt, at what voltage, and in which direction?",
    "poles": "For how many poles in series do the DC voltage and interrupting rating of the {name} hold?",
    "polarised": "Is the {name} polarised, or does it break current in both directions?",
    "class": "What class or standard is the {name} (class T, gG, IEC 60947-2 ...)?",
    "curve": "What is the total clearing time of the {name} over current, on DC?",
    "melting": "What is the melting time (or shortest tripping time) of the {name} over current, or its melting I2t?",
    "let_through": "What total clearing I2t does the {name} let through at its interrupting rating, on DC?",
    "least_breaking": "What is the least current that the {name} breaks?",
    "derating": "What current does the {name} carry in warmer air (derating over temperature)?",
    "terminals.rating": "What is the temperature rating of the terminals of the {name}?",
    "terminals.stud": "What thread have the terminals of the {name}?",
    "breaks_load": "May the {name} be opened under load, and up to what DC current, in both directions?",
    "resistance": "What is the resistance (or the voltage drop at rated current) of the {name}?",
}  # fmt: skip
_INVERTER: Mapping[str, str] = {
    "power": "What is the continuous power of the {name}?",
    "efficiency": "What is the efficiency of the {name} at rated power?",
    "surge_power": "What surge power does the {name} give, and for how long?",
    "surge_time": "For how long does the {name} give its surge power?",
    "lowest_voltage": "What is the lowest battery voltage at which the {name} still gives rated power?",
    "cut_out": "At what battery voltage does the {name} switch off?",
    "highest_input": "What is the highest battery voltage that the {name} stands?",
    "phases": "Is the output of the {name} single-phase, split-phase or three-phase?",
    "isolated": "Is the battery side of the {name} galvanically isolated from its AC side?",
    "capacitance": "What is the input capacitance of the {name} on the battery side?",
    "standby_current": "What current does the {name} draw from the battery before it has started?",
    "earthable": "Which battery pole, if any, may be earthed with the {name}?",
    "charger.current": "What is the largest current that the {name} charges the battery with?",
    "charger.voltage": "Over what range can the charging voltage of the {name} be set, and what is its ceiling?",
    "charger.without_message": "What current does the {name} charge with when the battery's control message is lost?",
    "charger.highest_input": "What is the highest battery voltage that the charging side of the {name} stands?",
    "terminals.rating": "What is the temperature rating of the battery terminals of the {name}?",
    "terminals.stud": "What thread have the battery terminals of the {name}?",
    "precharge": "Has the {name} a pre-charge path; if so, with what resistor, pulse energy, power and waiting time?",
    "precharge.resistor": "What is the pre-charge resistor of the {name}?",
    "precharge.pulse_energy": "What pulse energy does the pre-charge resistor of the {name} take?",
    "precharge.power": "What is the continuous power of the pre-charge resistor of the {name}?",
    "precharge.wait": "How long does the {name} pre-charge before it closes?",
    "precharge.hold": "For how long may the pre-charge of the {name} be held on?",
    "start_delay": "How long after battery voltage does the {name} take load?",
}  # fmt: skip
_CHARGER: Mapping[str, str] = {
    "one_way": "Can current flow through the {name} towards the bank alone, or both ways?",
    "current": "What is the largest current of the {name}?",
    "voltage": "Over what range can the charging voltage of the {name} be set, and what is its ceiling?",
    "without_message": "What current does the {name} give when the battery's control message is lost?",
    "highest_input": "What is the highest battery voltage that the {name} stands?",
}
_LUG: Mapping[str, str] = {
    "hole": "What is the hole of the lug {name}?",
    "cables": "For which cable sizes is the lug {name} listed?",
    "strands": "For which strand classes is the lug {name} listed?",
    "rating": "What is the temperature rating of the lug {name}?",
}
_KINDS = {"module": _MODULE, "device": _DEVICE, "inverter": _INVERTER, "charger": _CHARGER, "lug": _LUG}
_HERE: Mapping[str, tuple[Ask, str]] = {
    "rules": ("decide", 'Name the rule book that rules where you build: rules = "nec-2023" or "iec-60364".'),
    "storage_rules": ("decide", "Ask the building department which edition rules storage, and name it: storage_rules."),
    "site.place": ("decide", "Say where the bank stands: site.place."),
    "site.ambient": ("measure", "Lowest and highest temperature of the room over the year: thermometer with memory."),
    "site.rack_rise": ("measure", "Air inside the loaded rack against the room, after an hour of full load."),
    "site.dwelling": ("decide", "Say whether the bank belongs to a dwelling: site.dwelling."),
    "site.spacing": ("measure", "Distance between racks, and from the rack to the next storage unit."),
    "site.listing": ("maker", "Is the complete system (modules, inverter, protection) listed, and to what?"),
    "site.control_message": ("decide", "Say whether the chargers obey the modules' control message."),
    "site.earthing.pole": ("decide", "Say which pole is earthed: none, minus or plus. See the inverter's manual."),
    "site.earthing.at": ("decide", "Name every point at which the pole is earthed: site.earthing.at."),
    "site.earthing.detector": ("decide", "Say whether a ground-fault detector watches the floating bank."),
    "site.earthing.bond": ("decide", "Give the size of the conductor that bonds the frames: site.earthing.bond."),
    "joint": ("measure", "Resistance of the joints: millivolts across each joint at a known current."),
    "length": ("measure", "Length of the cable, along its way, from lug to lug."),
    "cable": ("decide", "Give the size of the cable; it is printed on the jacket."),
    "insulation": ("measure", "Temperature rating of the insulation: read the print on the jacket."),
    "strands": ("measure", "Strand class of the cable: read the jacket, or look at the cut end."),
    "method": ("decide", "Say how the cable lies: in free air, in a raceway, or in the rack."),
    "lug": ("decide", "Name the lug on the cable, and give its kind."),
    "width": ("measure", "Width of the bar: caliper."),
    "thickness": ("measure", "Thickness of the bar: caliper."),
    "spacing": ("measure", "Distance between neighbouring studs of the bar."),
    "hole": ("measure", "Diameter of the bar's holes: caliper."),
    "lugs_per_stud": ("maker", "How many lugs may be put on one stud of the busbar?"),
    "stud": ("measure", "Thread of the stud: caliper over the thread, and its pitch."),
    "temperature_rating": ("maker", "What is the temperature rating of the studs of the busbar?"),
    "at": ("measure", "Where the device sits: its distance along the cable from the bank's end."),
    "reach": ("decide", "Say where the hand finds the device: reach."),
    "labels": ("decide", "Give the labels on the device: labels."),
    "poles_used": ("decide", "Say how many poles of the device lie in series in this conductor: poles_used."),
    "reversed": ("measure", "Which way round the device sits: its line or + mark towards the bank or away from it."),
    "remote_off": ("decide", "Say whether the emergency off also stops the inverter: remote_off."),
    "phase": ("decide", "Name the phase each inverter feeds."),
    "chargers": ("decide", "Describe what charges the bank: [[chargers]], or the charging side of the inverter."),
    "highest_input": ("maker", "What is the highest voltage that the load stands?"),
    "power": ("maker", "What power does the load draw?"),
}  # fmt: skip


def asking(key: str, how: str = "") -> Missing:
    """What is missing under a key: who is asked, and in which words."""
    parts = key.split(".")
    if parts[0] == "kinds" and len(parts) > 3 and parts[1] in _KINDS:
        rest, name = ".".join(parts[3:]), parts[2]
        row = _KINDS[parts[1]].get(rest)
        question = (
            f"For the {name}: what is its {rest.replace('.', ' ').replace('_', ' ')}?"
            if row is None
            else row.format(name=name)
        )
        return Missing(key, how or "Ask the maker, or read the data sheet.", "maker", question)
    row_here = _HERE.get(key) or _HERE.get(parts[-1])
    if row_here is None:
        return Missing(key, how or f"Give {key} in the file.", "decide", how or f"Give {key} in the file.")
    ask, words = row_here
    return Missing(key, how or words, ask, words)


def wanted(value: T | None, key: str) -> T:
    """The value, or NeedsValue that asks for its key."""
    if value is None:
        raise NeedsValue(asking(key))
    return value


def needs(*keys: str) -> NeedsValue:
    """The error that asks for keys."""
    return NeedsValue(*(asking(key) for key in keys))
