"""How to find out what the file does not give: one row a key, with the sentence to send or the reading to take.

Gives: asking(), wanted(), needs(). Keys are matched by their shape: `kinds.module.*.resistance.ohmic`.
Limits: keys that stand nowhere in the table get a plain sentence; who is asked follows from where the key stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
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
    "ocv": "What is the rest voltage of a cell of the {name} over its state of charge?",
    "resistance": "What is the tolerance of the resistance of the {name} between one module and the next?",
    "capacity": "What is the rated capacity of the {name} in ampere-hours?",
    "energy": "What is the nameplate energy of the {name} in kWh?",
    "discharge.continuous": "What current may the {name} be discharged with continuously?",
    "discharge.trip": "At what discharge current does the {name} trip, with what tolerance, and after how long?",
    "discharge.cell_trip": "At what cell voltage does the {name} stop discharging?",
    "charge.cell_full": "To which cell voltage is the {name} charged?",
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
    "breaker.sits_in": "Which pole does the breaker inside the {name} open: plus, minus or both?",
    "breaker.class": "To which standard is the breaker inside the {name} built (IEC 60947-2, UL 489, UL 1077 ...)?",
    "breaker.curve": "What is the total clearing time of the breaker inside the {name} over current, on DC?",
    "breaker.let_through": "What I2t does the breaker inside the {name} let through at its interrupting rating, on DC?",
    "breaker.backed_by": "Which fuse in series is proved to back up the breaker inside the {name}?",
    "posts.through": "What current may pass from one post of a pole of the {name} to the other (from link to link)?",
    "posts.lugs": "How many lugs may be put on one post of the {name}?",
    "posts.stud": "What thread have the posts of the {name}?",
    "posts.rating": "What is the temperature rating of the posts of the {name}?",
    "parallel.most": "How many modules {name} may be connected in parallel?",
    "parallel.join_within": "Within which difference of voltage may modules {name} be joined in parallel?",
    "posts.torque": "What torque, in N m, do the posts of the {name} take, and on which stud or screw?",
    "altitude": "Up to which height above the sea may the {name} be used?",
    "enclosure": "Which enclosure (IP code, type) has the {name}?",
    "breaker.altitude": "Up to which height above the sea do the ratings of the breaker inside the {name} hold?",
    "address": "Do the {name} and the reader end the data line inside, or is a terminator needed at each end?",
    "address.first": "From which number do the addresses of the {name} count, and how many switches set them?",
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
    "terminals.torque": "What torque, in N m, do the terminals of the {name} take, and on which stud or screw?",
    "terminals.lugs": "How many lugs may sit on one terminal of the {name}?",
    "breaks_load": "May the {name} be opened under load, and up to what DC current, in both directions?",
    "resistance": "What is the resistance (or the voltage drop at rated current) of the {name}?",
    "current_limiting": "Is the {name} marked current-limiting?",
    "altitude": "Up to which height above the sea do the ratings of the {name} hold?",
    "enclosure": "Which enclosure (IP code, type) has the {name}?",
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
    "terminals.torque": "What torque, in N m, do the battery terminals of the {name} take, and on which screw?",
    "terminals.lugs": "How many lugs may sit on one battery terminal of the {name}?",
    "precharge": "Has the {name} a pre-charge path; if so, with what resistor, pulse energy, power and waiting time?",
    "precharge.resistor": "What is the pre-charge resistor of the {name}?",
    "precharge.pulse_energy": "What pulse energy does the pre-charge resistor of the {name} take?",
    "precharge.power": "What is the continuous power of the pre-charge resistor of the {name}?",
    "precharge.wait": "How long does the {name} pre-charge before it closes?",
    "precharge.place": "Does the pre-charge of the {name} bridge the main switch for good, on a button, or inside it?",
    "precharge.hold": "For how long may the pre-charge of the {name} be held on?",
    "altitude": "Up to which height above the sea may the {name} be used?",
    "enclosure": "Which enclosure (IP code, type) has the {name}?",
    "start_delay": "How long after battery voltage does the {name} take load?",
    "message.socket": "Which socket of the {name} takes the battery's control message?",
    "message.cable": "Which cable carries the battery's control message to the {name}?",
    "message.pins": "Which pins carry the control message of the {name}, at its socket and at the battery's?",
    "message.terminator": "Where is the message line of the {name} ended, and by what?",
    "message.first": "Which battery module does the {name} ask first, and which of its sockets takes the cable?",
    "message.lost": "What does the {name} do when the battery's control message is lost: stop, keep its own limits?",
}  # fmt: skip
_CHARGER: Mapping[str, str] = {
    "one_way": "Can current flow through the {name} towards the bank alone, or both ways?",
    "current": "What is the largest current of the {name}?",
    "voltage": "Over what range can the charging voltage of the {name} be set, and what is its ceiling?",
    "without_message": "What current does the {name} give when the battery's control message is lost?",
    "highest_input": "What is the highest battery voltage that the {name} stands?",
    "altitude": "Up to which height above the sea may the {name} be used?",
    "enclosure": "Which enclosure (IP code, type) has the {name}?",
    "terminals.stud": "What thread have the battery terminals of the {name}?",
    "terminals.torque": "What torque, in N m, do the battery terminals of the {name} take, and on which screw?",
    "terminals.lugs": "How many lugs may sit on one battery terminal of the {name}?",
    "message.socket": "Which socket of the {name} takes the battery's control message?",
    "message.cable": "Which cable carries the battery's control message to the {name}?",
    "message.pins": "Which pins carry the control message of the {name}, at its socket and at the battery's?",
    "message.terminator": "Where is the message line of the {name} ended, and by what?",
    "message.first": "Which battery module does the {name} ask first, and which of its sockets takes the cable?",
    "message.lost": "What does the {name} do when the battery's control message is lost: stop, keep its own limits?",
}
_LUG: Mapping[str, str] = {
    "hole": "What is the hole of the lug {name}?",
    "cables": "For which cable sizes is the lug {name} listed?",
    "strands": "For which strand classes is the lug {name} listed?",
    "rating": "What is the temperature rating of the lug {name}?",
}
_RACK: Mapping[str, str] = {
    "module_load": "What may the modules in the {name} weigh in all?",
    "wheel_load": "What is the dynamic rating of a caster of the {name}?",
    "anchor_tension": "What tension does the listing of the anchors of the {name} allow?",
}
_SOLAR: Mapping[str, str] = {
    "open_voltage": "What is the open-circuit voltage of the solar module {name} at 25 °C?",
    "short_current": "What is the short-circuit current of the solar module {name}?",
    "voltage_drift": "How does the open-circuit voltage of the solar module {name} change by kelvin?",
    "current_drift": "How does the short-circuit current of the solar module {name} change by kelvin?",
    "cells": "How many cells of the solar module {name} are in series?",
}
_KINDS = {
    "module": _MODULE, "device": _DEVICE, "inverter": _INVERTER, "charger": _CHARGER, "lug": _LUG, "rack": _RACK,
    "solar": _SOLAR,
}  # fmt: skip
_MEASURED: Mapping[str, str] = {  # of a kind, by the hand that has one before it
    "module.discharge.cell_spread": "Near empty, an hour without load: highest minus lowest cell of a module, on its "
    "display.",
    "module.mass": "Weigh a module, or read its sheet.",
    "module.width": "Measure the body of the module, without its ears.",
    "rack.mass": "Weigh the empty frame, or read its sheet.",
    "rack.height": "Measure the frame.",
    "rack.foot_width": "Measure between the outer feet.",
    "rack.foot_depth": "Measure between the outer feet, front to back.",
    "rack.footprint": "Measure the area that carries the rack.",
    "rack.anchors": "Count the anchor holes of the frame.",
}
_READINGS: Mapping[str, str] = {
    "voltage": "Open every breaker and the main switch, switch on one module alone, read its posts.",
    "rested": "Say how long it has had no current, or let it rest three hours and read it again.",
    "temperature": "Hold a thermometer to {name}, or read its display.",
    "current": "Read the current of {name} and of the others a minute into a discharge.",
    "cells": "The display or the maker's programme shows each cell; without it a meter at the cells, by somebody who "
    "knows.",
}
_HERE: Mapping[str, tuple[Ask, str]] = {
    "rules": ("decide", 'Name the rule book that rules where you build: rules = "nec-2023" or "iec-60364".'),
    "storage_rules": ("decide", "Ask the building department which edition rules storage, and name it: storage_rules."),
    "site.place": ("decide", "Say where the bank stands: site.place."),
    "site.ambient": ("measure", "Lowest and highest temperature of the room over the year: thermometer with memory."),
    "site.rack_rise": ("measure", "Air inside the loaded rack against the room, after an hour of full load."),
    "site.dwelling": ("decide", "Say whether the bank belongs to a dwelling: site.dwelling."),
    "site.wet": ("decide", "Say whether rain, spray or hosing reaches the place: site.wet."),
    "site.spacing": ("measure", "Distance between racks, and from the rack to the next storage unit."),
    "site.listing": ("maker", "Is the complete system (modules, inverter, protection) listed, and to what?"),
    "site.control_message": ("decide", "Say whether the chargers obey the modules' control message."),
    "site.earthing.pole": ("decide", "Say which pole is earthed: none, minus or plus. See the inverter's manual."),
    "site.earthing.at": ("decide", "Name every point at which the pole is earthed: site.earthing.at."),
    "site.earthing.detector": ("decide", "Say whether a ground-fault detector watches the floating bank."),
    "site.earthing.detector_alarm": ("maker", "At what resistance to the frame does the detector give alarm?"),
    "site.bonds.utility": ("decide", "Say where neutral and earth are joined on the utility: site.bonds.utility."),
    "site.bonds.island": ("decide", "Say where neutral and earth are joined in island: site.bonds.island."),
    "site.bonds.generator": ("decide", "Say where neutral and earth are joined on a generator: site.bonds.generator."),
    "site.bonds.neutral": ("measure", "Size of the neutral between panel and source: read its jacket."),
    "site.bonds.protective": ("measure", "Size of the protective conductor beside it: read its jacket."),
    "site.earthing.bond": ("decide", "Give the size of the conductor that bonds the frames: site.earthing.bond."),
    "bus.isolated": ("maker", "Has the adapter of the data line a stated isolation voltage, and which?"),
    "bus.fed_from": ("decide", "Say what feeds the listening computer: mains, bank or own battery."),
    "site.seismic": ("decide", "Look up S_DS of the address; the building department has it."),
    "site.emergency_number": ("decide", "Write the number of the fire service into the file."),
    "bars": ("decide", "Say what joins the cables there: list a bar under [[bars]], with its stud and torque."),
    "devices": ("decide", "List the main switch: a disconnect on the mains."),
    "bank file": ("decide", "What Plan needs for it stands with its unknown findings."),
    "torque": ("maker", "What torque do the studs of the bar take?"),
    "rest": ("measure", "Say how long it has had no current; three hours or more is what charge needs."),
    "last direction": ("decide", "Say whether it was last charged or last discharged."),
    "joints": ("measure", "Read the drop over each of its joints under the same current."),
    "cells": ("measure", "Read the label of the module, or count the cell voltages its own display shows."),
    "meter": ("measure", "Name the meter of the bank file, or write the accuracy of its data sheet."),
    "charge of each module": ("measure", "Charge each module to full, one by one, and join them at the top."),
    "joint": ("measure", "Resistance of the joints: millivolts across each joint at a known current."),
    "length": ("measure", "Length of the cable, along its way, from lug to lug."),
    "cable": ("decide", "Give the size of the cable; it is printed on the jacket."),
    "insulation": ("measure", "Temperature rating of the insulation: read the print on the jacket."),
    "strands": ("measure", "Strand class of the cable: read the jacket, or look at the cut end."),
    "bundled": ("measure", "Current-carrying conductors that lie together: count them."),
    "method": ("decide", "Say how the cable lies: in free air, in a raceway, or in the rack."),
    "conduit": ("measure", "Inside diameter of the conduit: caliper, or the maker's table for its size."),
    "outer_diameter": ("measure", "Outer diameter of the cable: caliper, or the jacket's print."),
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


def asking(key: str, how: str = "", question: str = "", lacks: str = "") -> Missing:
    """What is missing under a key: who is asked, and in which words.

    `how` and `question` (the one that can be sent) are given where the case at hand has its own; `lacks` says what is
    lacking where the key itself is given.
    """
    found = replace(_asking(key, how), lacks=lacks)
    return replace(found, question=question) if question else found


def _asking(key: str, how: str) -> Missing:
    parts = key.split(".")
    if parts[0] == "kinds" and len(parts) > 3 and parts[1] in _KINDS:
        return _of_a_kind(key, parts[1], parts[2], ".".join(parts[3:]), how)
    if parts[0] == "readings" and len(parts) > 2:
        name = ".".join(parts[1:-1])
        words = how or _READINGS.get(parts[-1], "Read {name} again.").format(name=name)
        return Missing(key, words, "measure", words)
    row = _HERE.get(key) or _HERE.get(parts[-1]) or _HERE.get(key.partition(" of ")[0])
    if row is None:
        return Missing(key, how or f"Give {key} in the file.", "decide", how or f"Give {key} in the file.")
    ask, words = row
    return Missing(key, how or words, ask, words)


def _of_a_kind(key: str, kind: str, name: str, rest: str, how: str) -> Missing:
    measured = _MEASURED.get(f"{kind}.{rest}")
    if measured is not None:
        return Missing(key, how or measured, "measure", f"{name}: {measured}")
    row = _KINDS[kind].get(rest, "For the {name}: what is its {rest}?")
    question = row.format(name=name, rest=rest.replace(".", " ").replace("_", " "))
    return Missing(key, how or "Ask the maker, or read the data sheet.", "maker", question)


def wanted(value: T | None, key: str) -> T:
    """The value, or NeedsValue that asks for its key."""
    if value is None:
        raise NeedsValue(asking(key))
    return value


def needs(*keys: str) -> NeedsValue:
    """The error that asks for keys."""
    return NeedsValue(*(asking(key) for key in keys))
