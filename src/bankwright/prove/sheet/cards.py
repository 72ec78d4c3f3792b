"""The cards of first power-up: title, formula and reason of every code of the sheet.

Gives: SHEET_CARDS. A limit fails, an expectation cautions, a closure makes unknown.
Limits: sources stand with each reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from bankwright.forms.card import Card
from bankwright.prove.sheet.due import SEQUENCE, Kind

__all__ = ["SHEET_CARDS"]


def _card(code: str, title: str, formula: str, kind: Kind, why: str) -> Card:
    ends = "fail" if kind == "limit" else "caution"
    text = f"{why}\n\nNot seen here: what another reading of the step shows.\nSource: with each reading."
    return Card(code, title, formula, SEQUENCE, "code", ends, text)  # type: ignore[arg-type]


_ROWS: tuple[tuple[str, str, str, Kind, str, str], ...] = (  # code, title, formula, kind, what, why
    ("V-DEAD-1", "No voltage where there must be none", "|U| <= 1 V", "limit",
     "Dead means read as dead at three pairs.", "a post is live from its neighbour's bar."),
    ("V-WAY-1", "Every run leads where it should", "R <= 0.1 ohm", "limit",
     "Each run reads as a wire, end to end.", "two-lead ohms prove order, not quality."),
    ("V-WAY-2", "The poles are apart", "R >= 100 kohm", "limit",
     "No run leads from pole to pole.", "a crossed link is a short the moment a module closes."),
    ("V-INSULATION-1", "Insulation of the conductors alone", "R >= 0.5 or 1 Mohm", "limit",
     "The record of the tester is above the row of its circuit.", "a nicked sheath is found here."),
    ("V-FRAME-1", "Insulation of the bank against the frame", "Rm (U - S) / S >= 100 ohm/V", "limit",
     "Both poles read to the frame give the leak in ohms.", "the second fault is the short."),
    ("V-ALONE-1", "A module alone has the right voltage and sign", "cells x 2.5 <= U <= cells x 3.65", "limit",
     "Volts and sign at its posts.", "a reversed module meets all others at once."),
    ("V-ALONE-2", "The far end of its link shows the same", "within 3 counts", "closure",
     "Posts and far end agree.", "zero there is a link that is not on."),
    ("V-SIGN-1", "Right sign up to the open switches", "U > 0", "limit",
     "Plus is plus at the main's line side.", "colours prove nothing."),
    ("V-JOIN-1", "Volts over an open breaker before it closes", "|dE| <= what the sheet allows", "limit",
     "Read just before closing.", "it is the difference that drives the closing current."),
    ("V-JOIN-2", "Closing current", "dE / (R + l + (R + l) / (k - 1))", "expectation",
     "The current at the closing is the one computed.", "nothing, or too much, has its reasons."),
    ("V-REST-1", "Currents at zero load", "|i| <= 2 A", "expectation",
     "Nothing circulates for long.", "these are taken off every reading under load."),
    ("V-REST-2", "Currents at zero load come to nothing", "sum of i = 0", "closure",
     "What leaves one module enters another.", "else the clamp's zero is read."),
    ("V-PRECHARGE-1", "Pre-charge in the time computed", "-R C ln((dV - R I) / (E - R I))", "expectation",
     "Time until 2 V are left over the switch.", "it proves C, R, polarity at once."),
    ("V-PRECHARGE-2", "Little enough is left over the switch", "dV < 2 V", "limit",
     "What is left just before closing.", "12 V onto 24 mF go through milliohms."),
    ("V-PRECHARGE-3", "What is left is the idle current", "dV = R I", "expectation",
     "End voltage over the resistor.", "the resistor is the only meter for milliamperes here."),
    ("V-STOP-1", "The capacitors fall behind the open main", "C (U - 10 V) / I", "expectation",
     "Time until 10 V.", "below 10 V is dead; what does not fall is held by sun or AC."),
    ("V-SAG-1", "The bank sags as computed", "U_rest - I R(30 s)", "expectation",
     "Volts under load against those at rest.", "one module not joined shows here."),
    ("V-SAG-2", "The step back is as large as the step", "U = U_rest, within 5 % of the step", "expectation",
     "Load off, as long as it was on.", "it proves that the sag was the load's."),
    ("V-SUM-2", "Branches and main add up", "sum i_k = i_main", "closure",
     "Kirchhoff's current law at the bar.", "outside, no figure built on them counts."),
    ("V-BRANCH-1", "A module's current is within its limit, and as computed", "i_k <= continuous", "limit",
     "Each branch under load.", "the limit stops; the share only asks."),
    ("V-PATH-1", "Drop from bank to inverter", "sum R i", "expectation",
     "Millivolts along the runs, not two readings of 50 V.", "a tired fuse holder shows here."),
    ("V-CHARGE-1", "The bank rises as computed while it charges", "U_rest + I R(30 s)", "expectation",
     "Volts while charging.", "the same resistance both ways."),
    ("V-STOP-2", "A stop takes every current away", "i_k = 0", "limit",
     "Currents after the stop.", "an output that is dark may still draw."),
    ("V-WARM-1", "A terminal stays below its rating at full load", "room + rise (I_full / I)^2 <= rating", "limit",
     "Rise after an hour, scaled to full load and the hottest day.", "contact resistance becomes heat."),
    ("V-WARM-2", "A terminal is as warm as its like", "rise - coolest <= 3 K", "expectation",
     "Like joints under like load.", "the odd one is found before it is hot."),
    ("V-AC-1", "Voltage of a leg", "U(L-N) inside its limits", "limit",
     "Each leg against the neutral in each state.", "an appliance meets this voltage, not the one on the label."),
    ("V-AC-2", "Neutral and earth are at one voltage", "U(N-PE) <= 0.5 V without load", "limit",
     "The neutral against the protective conductor.", "half of the leg's voltage there is a missing bond."),
    ("V-AC-3", "Leg to earth is leg to neutral", "U(L-PE) = U(L-N) within U(N-PE)", "closure",
     "Three readings of one triangle.", "nothing from leg to earth is a protective conductor that is not there."),
    ("V-AC-4", "Frequency", "f near its nominal", "expectation",
     "Frequency in each state.", "a generator that hunts shows here first."),
    ("V-AC-5", "Two legs stand as far apart as they should", "|U1 - U2|", "limit",
     "Leg to leg.", "two units set to one phase give nothing where 240 V are expected."),
    ("V-BOND-1", "One bond: nothing flows on the protective conductor", "I(PE) <= 0.1 A", "limit",
     "Clamp round the protective conductor, heater on.", "a second bond makes it a neutral."),
    ("V-BOND-2", "Neutral to earth where the bond is, and where it is not", "U(N-PE) under load", "expectation",
     "At the panel next to nothing, at the far socket the neutral's drop.", "next to nothing far away: a bond there."),
    ("V-RESIDUAL-1", "A residual-current device trips in time", "t <= limit of its current", "limit",
     "The slowest of all, by a tester.", "its own button proves no bond and no protective conductor."),
    ("V-TRANSFER-1", "Nothing on the utility's side of an open transfer", "U <= 1 V", "limit",
     "Each leg and the neutral against earth.", "somebody works on that line."),
    ("V-SHUNT-1", "The shunt shows what the clamp shows", "mV / R = I", "closure",
     "Two meters of one current.", "every count of charge rests on this shunt."),
    ("V-FRAME-2", "Beside the detector nothing leaks", "1 / (1/R - 2/Rd)", "expectation",
     "What both poles leak, the detector taken off.", "a detector hides a leak of its own size."),
    ("V-SUN-1", "Open volts of a string", "n (Voc (1 + b (T - 25)) + cells m kT/q ln(G/1000))", "limit",
     "Volts count the solar modules, current sees the sun.", "one missing, one reversed, one third bypassed."),
    ("V-SUN-2", "A string reads as its like", "U within 1.5 %, I within 5 %", "expectation",
     "Strings of one array under one sun.", "one third of a solar module is 4 % of eight."),
    ("V-SUN-3", "Current of a string", "I (G/1000) (1 + a (T - 25))", "expectation",
     "Short or operating current.", "dirt, shade, orientation."),
    ("V-SUN-4", "Insulation of a string", "R >= 0.5 or 1 Mohm", "limit",
     "String off inverter and surge devices.", "a nicked cable under a roof is found here."),
    ("V-SURVEY-1", "The data line answers as planned", "every address once, the right module", "limit",
     "What the survey of the data bus told.", "a module that nobody hears has no message."),
)  # fmt: skip
SHEET_CARDS: Mapping[str, Card] = MappingProxyType(
    {row[0]: _card(*row[:4], f"{row[4]}\n\nWhy: {row[5]}") for row in _ROWS}
)
