"""Sources and practice figures that the findings of the load tests quote.

Gives: constants only. Each figure says how it is known.
"""

from __future__ import annotations

from bankwright.forms.origin import Source

__all__ = [
    "AT_ZERO",
    "CIRCUIT",
    "HEAT_LIMIT",
    "INVERSE",
    "KIRCHHOFF",
    "LIKE",
    "NEW_JOINT",
    "PRACTICE",
    "SHEET",
    "THIRDS",
]

CIRCUIT = Source("the bank's own network at this load, age of the step and temperature", how_known="derived")
KIRCHHOFF = Source("Kirchhoff's current law at a busbar", how_known="stated law")
INVERSE = Source("weighted least squares over the bank's network (docs/method.md)", how_known="derived")
SHEET = Source("data sheet of the module, as written in the bank file", how_known="read")
PRACTICE = Source("common practice", how_known="common practice, no source")
LIKE = Source("ANSI/NETA ATS", "2009", "7.3.2, 150 percent of the lowest reading", how_known="read")
NEW_JOINT = Source("IEEE 450 and 484 practice: mean + 10 % or 5 micro-ohm", how_known="from memory")
THIRDS = Source("meter's counts against the figure that is due", how_known="common practice, no source")

AT_ZERO = 2.0  # A an hour after joining; common practice, no source
HEAT_LIMIT = 2.0  # W in one joint at full current; common practice, no source
