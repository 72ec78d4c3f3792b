"""The cards of Build: what each of its findings is called, rests on and is good for.

Gives: CARDS and each of them by name. A code with two titles has two cards. Limits: figures and words of a finding are
made where it is found (build/steps, build/rack, build/joints).
"""

from __future__ import annotations

from bankwright.bank.pieces.fits import barrel_card, room_card, stud_card
from bankwright.forms.card import Card
from bankwright.forms.origin import Source

__all__ = [
    "ADDRESS",
    "ANCHOR",
    "BOND",
    "CARDS",
    "CASTER",
    "EARTH_ONE",
    "EARTH_SETTLED",
    "FLOOR",
    "FRAME",
    "HEAVY",
    "JOINT",
    "JOINT_GROWN",
    "LABEL",
    "LIFT",
    "LOW",
    "LUG",
    "NUMBER",
    "OFF",
    "ONE_NUT",
    "ORDER_OF_WORK",
    "PULL",
    "PUSH",
    "ROOM",
    "STATICS",
    "STOP",
    "STUD",
    "SWITCH",
    "TILT",
    "TORQUE",
    "TORQUE_ODD",
    "WIDTH",
]

STATICS = Source("statics", place="rigid rack on a level floor", how_known="derived")
STABILITY = Source("IEC 62368-1", "2018 (ed. 3)", "8.6, static stability", "read, quoted on secondary pages")
HOLES = Source("EIA-310", "D (1992) and later", "universal hole pattern and square holes", "read on secondary pages")
LIFTING = Source(
    "NIOSH Publication 94-110, Applications Manual for the Revised NIOSH Lifting Equation",
    "rev. 9/2021",
    "1.4.3, p. 20",
    "read, in a public specification of the edition",
)
MAKERS_TORQUE = Source("NEC", "2017, 2020", "110.14(D): as marked or instructed by the maker", "read")
FIRST_FAULT = Source(
    "IEC 60364-4-41", place="a floating bank survives its first earth fault in silence", how_known="from memory"
)
ORDER_OF_WORK = Source(
    "order of work", place="principles from IEC 62485-5 and NFPA 70E 120, 320", how_known="common practice, no source"
)

FLOOR = Card(
    "BLD-FLOOR",
    "Load on the floor",
    "M g / A",
    STATICS,
    why="The loaded rack on its footprint presses less than the floor may carry.\n\n"
    "Why: the whole weight of the bank stands on the feet of one rack.\n"
    "Not seen here: a slab on ground (its thickness and soil rule), a framed floor's beams: an engineer's matter.",
)
FRAME = Card(
    "BLD-FRAME",
    "What the frame may carry",
    "sum of the modules",
    Source("sheet of the frame", how_known="read"),
    "code",
    why="All modules together weigh no more than the frame's sheet allows.\n\n"
    "Why: shelves and rails bend long before they break, and a sagging module hangs on its front screws.",
)
CASTER = Card(
    "BLD-CASTER",
    "Load on one wheel",
    "max(M / (n - 1), M S / n)",
    Source(
        "caster catalogues",
        "",
        "factor S of T = (E + Z) S / n, with the dynamic rating of EN 12527 to 12533 / ISO 22878 to 22884",
        "read on a caster technical page, common practice otherwise",
    ),
    "code",
    why="Each wheel carries its share of the loaded rack with one wheel in the air.\n\n"
    "Why: on a real floor a rack on four wheels stands on three.",
)
STOP = Card(
    "BLD-STOP",
    "Speed at which a stopped wheel tips the rack",
    "(r / h) sqrt(2 g (r - h)), r = hypot(b, h)",
    Source("EN 12527 to 12533, test speed 4 km/h", how_known="read on a caster technical page"),
    why="A wheel that stops at a threshold at walking speed does not tip the loaded rack.\n\n"
    "Why: a tall rack turns over the stopped wheel at a slow walk.",
)
WIDTH = Card(
    "BLD-WIDTH",
    "The module goes between the rails",
    "width of the body <= opening between the rails",
    HOLES,
    "code",
    why="The body of each module is no wider than the opening between the rails.\n\n"
    "Why: otherwise it is found out with the module in the hands.",
)
TILT = Card(
    "BLD-TILT",
    "Tilt at which the rack stands over its edge",
    "atan(b / h)",
    STABILITY,
    why="At every stage of loading the rack still stands when it is tilted by 10 degrees.\n\n"
    "Why: it is bumped, pulled at and leant on while it is half full.\n"
    "Not seen here: a soft or sloping floor; once the anchors hold they hold it.",
)
PUSH = Card(
    "BLD-PUSH",
    "Push that tips the rack",
    "M g b / h",
    STABILITY,
    why="At every stage of loading the rack stands a push at the height of a hand.\n\n"
    "Why: somebody will lean on it with a spanner in the hand.",
)
PULL = Card(
    "BLD-PULL",
    "One module pulled out",
    "m x / M",
    STATICS,
    why="With one module pulled out on its rails the centre of gravity stays behind the front feet.\n\n"
    "Why: it is pulled out first when something is wrong with it.",
)
HEAVY = Card(
    "BLD-HEAVY",
    "Heavy modules stand low",
    "upper mass <= lower mass",
    STATICS,
    "code",
    "caution",
    why="No module stands over a lighter one.\n\nWhy: the rack tips the sooner, and the heavy one is lifted higher.",
)
LOW = Card(
    "BLD-LOW",
    "The lowest places are used first",
    "empty height below = 0",
    STATICS,
    "code",
    "caution",
    why="No place below a module is empty.\n\nWhy: every rack unit upwards makes the lift and the rack worse.",
)
ANCHOR = Card(
    "BLD-ANCHOR",
    "Anchors hold in an earthquake",
    "(Omega Fp h - (0.9 - 0.2 S_DS) W b) / (d n/2)",
    Source("ASCE 7-16", "", "13.3.1, 13.4.2; load combination 2.3.6 and 12.4.2", "from memory, equations read"),
    why="Each anchor holds its tension and shear when the ground shakes as the address must expect.\n\n"
    "Why: a rack that walks tears its cables.\n"
    "Not seen here: the anchor in this concrete or wood; that is its own listing's, or an engineer's, matter.",
)
LIFT = Card(
    "BLD-LIFT",
    "Lifting a module by hand",
    "L / (n x team factor x RWL)",
    LIFTING,
    "code",
    "caution",
    why="The lifting index of each module, from the floor to its slot, with the people at hand, stays at 1.\n\n"
    "Why: backs and fingers are what is most often hurt in this work.\n"
    "Not seen here: kneeling, reaching into a frame, turning the body: read the index as a lower bound.",
)
BOND = Card(
    "BLD-BOND",
    "The frame is bonded to earth",
    "a size of bond is given",
    Source("NEC 250, IEC 60364-5-54", how_known="from memory"),
    "code",
    why="The file names the conductor that bonds the frame.\n\n"
    "Why: a frame without a bond takes the voltage of the first pole that touches it.",
)
EARTH_SETTLED = Card(
    "BLD-EARTH",
    "It is settled which pole is earthed",
    "none, minus or plus is given",
    FIRST_FAULT,
    "code",
    why="The file says which pole is earthed, or that none is.\n\n"
    "Why: readings to the frame mean different things in the three cases.",
)
EARTH_ONE = Card(
    "BLD-EARTH",
    "The earthed pole has one earthing point",
    "earthing points <= 1",
    FIRST_FAULT,
    "code",
    why="An earthed pole is earthed at one point.\n\n"
    "Why: with two, the frame and the earth conductors carry load current.",
)
ADDRESS = Card(
    "BLD-ADDRESS",
    "Every module has an address of its own",
    "one address a module",
    Source("address plan of the bank file", how_known="derived"),
    "code",
    why="No two modules share an address, and each address lies within the switches of its module.\n\n"
    "Why: two modules under one address are heard as one, and the second one's faults as nobody's.",
)
STUD, LUG, ROOM = stud_card("BLD-STUD"), barrel_card("BLD-LUG"), room_card("BLD-ROOM")
TORQUE = Card(
    "BLD-TORQUE",
    "The torque is the maker's",
    "a torque of the maker is given",
    MAKERS_TORQUE,
    "code",
    why="Every joint has the torque that the maker of its terminal names.\n\n"
    "Why: terminals of one thread differ by a factor of three; no table can stand in.",
)
TORQUE_ODD = Card(
    "BLD-TORQUE-ODD",
    "The torque is plausible",
    "T <= published for copper joints",
    Source("published fastener torques", "", "by thread; for plausibility only", "read"),
    "code",
    "caution",
    why="A torque in the file is not above that of copper joints of its thread.\n\n"
    "Why: a figure for steel joints strips a terminal.",
)
ONE_NUT = Card(
    "BLD-TORQUE-ODD",
    "One nut has one torque",
    "the two makers' torques agree",
    MAKERS_TORQUE,
    "code",
    why="What lies under one nut has one torque.\n\nWhy: two makers' figures cannot both be right for one nut.",
)
JOINT = Card(
    "BLD-JOINT",
    "A joint is like its neighbours",
    "R / lowest R of its like",
    Source("ANSI/NETA ATS", "", "1.5 times the lowest of its like", "read"),
    "code",
    "caution",
    why="No joint has more than one and a half times the resistance of the best of its like.\n\n"
    "Why: a bad joint heats where nobody looks, and shows as millivolts long before.",
)
JOINT_GROWN = Card(
    "BLD-JOINT-GROWN",
    "A joint is as it was",
    "R / first R",
    Source("IEEE 450 and 1188 practice", "", "20 % above its own first reading", "read on a trade summary"),
    "code",
    "caution",
    why="No joint has grown by more than a fifth over its own first reading in the logbook.\n\n"
    "Why: what grows is loosening or corroding, whatever its neighbours do.",
)
NUMBER = Card(
    "BLD-NUMBER",
    "The page by the door bears an emergency number",
    "an emergency number is given",
    Source("general emergency practice", how_known="from memory"),
    "code",
    why="The page on faults and fire bears the number to call.\n\nWhy: nobody looks it up in smoke.",
)
LABEL = Card(
    "BLD-LABEL",
    "Labels carry their figures",
    "every line of every label is known",
    Source("NEC", "2023", "706.15(C)", "read on a trade page"),
    "code",
    "caution",
    why="No line of a label is left open.\n\nWhy: who comes in an emergency reads the label and nothing else.",
)
SWITCH = Card(
    "BLD-SWITCH",
    "There is a main switch to keep open",
    "a disconnect is listed",
    ORDER_OF_WORK,
    "code",
    why="The file lists a switch that keeps the inverters away while the bank is wired.\n\n"
    "Why: without it the first module that is closed charges the inverters' capacitors through somebody's lug.",
)
OFF = Card(
    "BLD-OFF",
    "Every module can be switched off",
    "a breaker of the module is given",
    ORDER_OF_WORK,
    "code",
    why="Of every module the file names the breaker that opens it.\n\n"
    "Why: a module that cannot be switched off is joined by the cable that reaches it last, whatever Match says.",
)

CARDS = (
    *(FLOOR, FRAME, CASTER, STOP, WIDTH, TILT, PUSH, PULL, HEAVY, LOW, ANCHOR, LIFT, BOND, EARTH_SETTLED, EARTH_ONE),
    *(ADDRESS, STUD, LUG, ROOM, TORQUE, TORQUE_ODD, ONE_NUT, JOINT, JOINT_GROWN, NUMBER, LABEL, SWITCH, OFF),
)
