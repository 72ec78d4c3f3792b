"""Sources that the findings of Match quote, and the practice figures they compare with.

Gives: constants only. Each figure says how it is known.
"""

from __future__ import annotations

from bankwright.forms.origin import Source

__all__ = [
    "CIRCUIT",
    "CURVES",
    "EQUAL_WITHIN",
    "LOADED_BEFORE",
    "REST_FOR_CHARGE",
    "RULE_OF_THUMB",
    "RUN",
    "SHEET",
]

CIRCUIT = Source("Ohm's and Kirchhoff's laws on the bank's own network", how_known="stated law")
RUN = Source("run of the bank over time: voltage curve, ohmic resistance, two relaxation branches", how_known="derived")
SHEET = Source("data sheet of the module, as written in the bank file", how_known="read")
CURVES = Source("envelope of published voltage curves of LFP cells (handbook: lfp/ocv-*)", how_known="published range")

EQUAL_WITHIN = 0.05  # points of charge that still count as equal; common practice, no source
LOADED_BEFORE = 1800.0  # s of rest under which a reading is still a loaded one [derived: two-branch relaxation]
REST_FOR_CHARGE = 3 * 3600.0  # s of rest before anything is said of charge [derived: 3 slow time constants and more]
RULE_OF_THUMB = (0.1, 0.5)  # V on a 48 V-class module, "a few tenths of a volt"; common practice, no source
