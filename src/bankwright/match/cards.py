"""The cards of Match: what each of its findings is called and rests on; why it is asked, where no check says so.

Gives: CARDS and each of them by name. Limits: figures and words of a finding are made where it is found; the checks of
joining and of charge say why in their own texts.
"""

from __future__ import annotations

from dataclasses import replace

from bankwright.forms.card import Card
from bankwright.forms.origin import Source
from bankwright.forms.trace import PRACTICE
from bankwright.match.sources import CIRCUIT, CURVES, RUN, SHEET

__all__ = [
    "ALIKE",
    "CARDS",
    "CELLS_KNOWN",
    "CELLS_REST",
    "COLD",
    "DISPLAY",
    "EQUAL",
    "EVENING",
    "EXCHANGED",
    "FIRST_LIMIT",
    "HIGHEST",
    "INTO",
    "LARGEST",
    "LEVEL",
    "LEVEL_STILL",
    "LINES",
    "LOWEST",
    "METER",
    "ODD",
    "OUT_OF",
    "PARTED",
    "PEAK",
    "POLARITY",
    "POWER",
    "READ",
    "READ_TOGETHER",
    "RESTED",
    "SAGGING",
    "STILL_MOVES",
    "TAKES_LESS",
    "TOLD",
    "WARMEST",
    "WINDOW",
]

CUT_OFF_SOURCE = Source("data sheets of large prismatic LFP cells", "", "discharge cut-off", "published range")
RELAXATION = Source("relaxation of an LFP cell, two exponentials (handbook: lfp/relaxation)", how_known="derived")
SHARING = Source("current divides by resistance after a step, by capacity in the end", how_known="derived")

POLARITY = Card(
    "M-STOP-1",
    "Polarity at the posts",
    "V > 0",
    PRACTICE,
    why="A module reads above zero between its plus and its minus post.\n\n"
    "Why: a reversed module joined to others is a short circuit of both.",
)
LOWEST = Card(
    "M-STOP-2",
    "Not below its lowest voltage",
    "V >= V_min",
    CUT_OFF_SOURCE,
    why="A module at rest lies above the sum of its cells' cut-offs.\n\n"
    "Why: cells that lay below it may have dissolved copper and can short inside when they are charged.",
)
SAGGING = Card(
    "M-STOP-3",
    "Holds its voltage at rest",
    "V_before - V_now <= max(0.1 V, two digits)",
    PRACTICE,
    why="Between two rested readings a module does not lose more than the meter can explain.\n\n"
    "Why: a cell that loses charge by itself, or a standing draw inside, is looked for before anything is joined.",
)
CELLS_KNOWN = Card(
    "M-STOP-4",
    "Cells of an empty module are known",
    "others' volts a cell - 0.1 V <= V / cells",
    PRACTICE,
    why="Of a nearly empty module every cell is read before anything else is done with it.\n\n"
    "Why: below 3.0 V a cell the cells part by hundreds of millivolts, and one may lie below its cut-off unseen.",
)
CELLS_REST = Card(
    "M-STOP-5",
    "No cell lies where none may rest",
    "V_min <= V_cell <= V_max",
    CUT_OFF_SOURCE,
    "code",
    why="Of the cells that the logbook holds none is reversed, below its cut-off, or above its end of charge "
    "at rest.\n\n"
    "Why: one such cell hides in the sum of sixteen, and joining or charging its module drives it further.",
)
HIGHEST = Card(
    "M-STOP-6",
    "Not above its highest voltage",
    "V <= V_max",
    CUT_OFF_SOURCE,
    "code",
    why="A module at rest lies no higher than the sum of its cells' end of charge.\n\n"
    "Why: what rests above it is overcharged, or was read under a charger; equal readings do not make it right.",
)
ODD = Card(
    "M-ODD-1",
    "As many cells as the others",
    "V / cells as the others'",
    PRACTICE,
    why="No reading would fit the others' with one cell less or more.\n\n"
    "Why: with another count of cells it must never be joined.",
)
READ = Card(
    "M-READ-1",
    "Every module was read",
    "a reading of each module",
    PRACTICE,
    why="Every module of the bank has a reading of its own.\n\nWhy: the one that was not read may be the one.",
)
READ_TOGETHER = Card(
    "M-READ-2",
    "All read on one occasion",
    "age of each reading <= half a day",
    PRACTICE,
    why="No reading is older than half a day.\n\n"
    "Why: a module that was charged or used since then reads otherwise now.",
)
STILL_MOVES = Card(
    "M-READ-4",
    "Nothing drifts away between reading and closing",
    "largest current with V +- what the rest has left of the last current, against the limit",
    RELAXATION,
    why="What a module still relaxes until it is closed does not bring a current beyond a limit.\n\n"
    "Why: minutes after a charge or discharge a module moves by tenths of a volt in half an hour.",
)
EXCHANGED = Card(
    "M-READ-5",
    "Each reading belongs to its module",
    "no two readings that fit better exchanged",
    PRACTICE,
    "statement",
    why="No two readings would agree with what is known of the modules only if they were exchanged.\n\n"
    "Why: a reading under the wrong name sends the hand to the wrong breaker.",
)
TOLD = Card("M-READ-3", "The charge of every module can be told", "a reading of each module", PRACTICE)
RESTED = Card("M-REST-1", "Rested long enough for its voltage to speak", "rest >= 3 h", RELAXATION, "code", "caution")
METER = Card("M-METER-1", "The meter's accuracy is known", "accuracy is given", PRACTICE, "physical", "caution")
DISPLAY = Card(
    "M-BMS-1",
    "The module's own state of charge agrees with its voltage",
    "z_low <= z <= z_high",
    CURVES,
    "code",
    "caution",
)
FIRST_CURRENT = "I = K V, largest over the band of meter and resistance"
INTO = Card("M-JOIN-1", "Current into a module at the moment of joining", FIRST_CURRENT, CIRCUIT)
OUT_OF = Card("M-JOIN-2", "Current out of a module at the moment of joining", FIRST_CURRENT, CIRCUIT)
LEVEL = Card("M-JOIN-3", "No trip while the modules level", "|I(delay)| < I_trip, low end", RUN)
LEVEL_STILL = replace(LEVEL, test="statement")
COLD = Card("M-JOIN-4", "No module is charged below its lowest temperature", "T >= T_min", SHEET, "code")
WINDOW = Card("M-JOIN-5", "The maker's joining window", "V_high - V_low <= window of the maker", SHEET, "code")
ALIKE = Card(
    "M-JOIN-6",
    "Modules of one chemistry and one count of cells",
    "same cells in series, same chemistry",
    CIRCUIT,
)
LINES = Card("M-JOIN-7", "Breakers, fuses and links carry the joining current", "|I| < I_max", CIRCUIT)
LARGEST = Card(
    "M-MOST-1",
    "Largest difference this bank takes",
    "dV_max = min over modules of I_limit / |dI/dV|",
    CIRCUIT,
)
EQUAL = Card(
    "M-CHARGE-1",
    "Equally charged",
    "max(z_high) - min(z_low) <= 5 points (common practice, no source)",
    CURVES,
)
EVENING = Card(
    "M-EVEN-1", "How long the bank would take to even out", "time until all lie within 5 points", RUN, "statement"
)
PEAK = Card(
    "M-OLD-1",
    "Worst module current of a whole cycle",
    "max |I_k| <= I_max",
    RUN,
    why="Over a whole discharge and charge no module passes its continuous limit.\n\n"
    "Why: in the first minute resistance decides who gives, in the end capacity does: the worst may lie hours on.",
)
POWER = Card(
    "M-OLD-2",
    "What the bank may be asked for",
    "P allowed >= P asked",
    RUN,
    why="At the power that is asked no module passes its limit over the whole discharge.\n\n"
    "Why: an old module lowers what the whole bank may give, not only its own part.",
)
FIRST_LIMIT = Card(
    "M-OLD-3",
    "Where a limit is hit first",
    "first limit of a full discharge",
    CIRCUIT,
    "statement",
    why="Says which module ends a full discharge, and what the others still hold then.\n\n"
    "Why: what is left in them is not there to be used.",
)
WARMEST = Card(
    "M-OLD-4",
    "Warmest module of a discharge without cooling",
    "T <= T_max",
    RUN,
    why="Without any cooling no module passes its highest temperature by the end of a discharge.\n\n"
    "Why: the one with the highest resistance warms most, and gives most in the end.",
)
TAKES_LESS = Card(
    "M-TAKE-1",
    "One module takes less than the others",
    "I_k / middle of the others >= 0.8",
    SHARING,
    why="While charging no module takes clearly less than the middle of the others.\n\n"
    "Why: it is fuller, or its resistance is higher, or it is smaller; the currents of a discharge tell which.",
)
PARTED = Card(
    "M-TAKE-2",
    "Offset and resistance of each module, from several load levels",
    "I_k = a_k + s_k I; s_k: share by resistance, a_k R_k: difference of open-circuit voltage",
    SHARING,
    why="The current of each module over the current of the bank is a straight line: its slope is the share by "
    "resistance, what is left at no current is a difference of open-circuit voltage.\n\n"
    "Why: at a small load a difference of charge looks like a bad joint; at a large one it is gone.",
)

CARDS = (
    *(POLARITY, LOWEST, SAGGING, CELLS_KNOWN, CELLS_REST, HIGHEST, ODD, READ, READ_TOGETHER, STILL_MOVES, EXCHANGED),
    *(TOLD, RESTED, METER, DISPLAY, INTO, OUT_OF),
    *(LEVEL, COLD, WINDOW, ALIKE, LINES, LARGEST, EQUAL, EVENING, PEAK, POWER, FIRST_LIMIT, WARMEST, TAKES_LESS),
    PARTED,
)
