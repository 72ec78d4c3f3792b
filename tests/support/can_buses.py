"""Four CAN buses of invented modules: a DBC and a map each. All names, identifiers and scales are our own invention.

Gives: BY_ID, BY_STEP, BY_MUX, BY_NAME (dbc, map), made(), MODULES.
"""

from __future__ import annotations

from pathlib import Path

from bankwright.bus.can.read import read_can_map
from bankwright.bus.can.signals import CanMap

MODULES = {1: "M1", 2: "M2", 3: "M3"}

HEAD = 'VERSION ""\nNS_ :\nBS_:\nBU_: Rack\n\n'

# 29-bit identifiers, the module's number in the lowest 8 bits; cells by a multiplexer, four a frame
BY_ID = (
    HEAD
    + """BO_ 2566717440 PackLevel: 8 Rack
 SG_ PackVolt : 0|16@1+ (0.01,0) [30|60] "V" Rack
 SG_ PackAmp : 16|16@1- (0.1,0) [-300|300] "A" Rack
 SG_ Level : 32|8@1+ (0.5,0) [0|100] "%" Rack
 SG_ Warmth : 40|8@1+ (1,-40) [-40|125] "degC" Rack
 SG_ State : 48|4@1+ (1,0) [0|15] "" Rack

BO_ 2566717696 PackCells: 8 Rack
 SG_ Group M : 0|8@1+ (1,0) [0|3] "" Rack
 SG_ Cell1 m0 : 8|14@1+ (0.001,0) [0|5] "V" Rack
 SG_ Cell2 m0 : 22|14@1+ (0.001,0) [0|5] "V" Rack
 SG_ Cell3 m1 : 8|14@1+ (0.001,0) [0|5] "V" Rack
 SG_ Cell4 m1 : 22|14@1+ (0.001,0) [0|5] "V" Rack

VAL_ 2566717440 State 0 "off" 1 "resting" 2 "working" ;
BA_DEF_ BO_ "GenMsgCycleTime" INT 0 65535;
BA_DEF_DEF_ "GenMsgCycleTime" 0;
BA_ "GenMsgCycleTime" BO_ 2566717440 200;
""",
    """format = 1
title = "invented, number in the identifier"
dbc = "bus.dbc"

[module]
by = "id"
shift = 0
width = 8

[[signals]]
name = "voltage"
quantity = "voltage"
message = "PackLevel"
signal = "PackVolt"
not_available = [65535]

[[signals]]
name = "current"
quantity = "current"
message = "PackLevel"
signal = "PackAmp"
positive = "charging"

[[signals]]
name = "soc"
quantity = "soc"
message = "PackLevel"
signal = "Level"
not_available = [255]

[[signals]]
name = "temperature"
quantity = "temperature_degc"
message = "PackLevel"
signal = "Warmth"

[[signals]]
name = "state"
quantity = "text"
message = "PackLevel"
signal = "State"

[[signals]]
name = "cell"
quantity = "cell_voltage"
message = "PackCells"
signal = "Cell{n}"
repeat = 4
""",
)

# 11-bit identifiers counted on from one module to the next, high byte first; temperature in K, bits of alarms
BY_STEP = (
    HEAD
    + """BO_ 768 Strip: 7 Rack
 SG_ U : 7|16@0+ (10,0) [0|0] "mV" Rack
 SG_ I : 23|16@0- (0.05,0) [0|0] "A" Rack
 SG_ T : 39|12@0+ (0.1,0) [0|0] "K" Rack
 SG_ Bits : 55|8@0+ (1,0) [0|0] "" Rack

BO_ 1024 Gauge: 2 Rack
 SG_ Ah : 0|16@1+ (0.1,0) [0|0] "ampere hours" Rack
""",
    """format = 1
dbc = "bus.dbc"
stale = "4 s"

[module]
by = "id"
step = 16
most = 4

[[signals]]
name = "voltage"
quantity = "voltage"
message = "Strip"
signal = "U"
range = "40 V to 60 V"

[[signals]]
name = "current"
quantity = "current"
message = "Strip"
signal = "I"
positive = "discharging"

[[signals]]
name = "temperature"
quantity = "temperature_degc"
message = "Strip"
signal = "T"

[[signals]]
name = "alarms"
quantity = "flags"
message = "Strip"
signal = "Bits"
bits = { 0 = "cell too high", 7 = "too cold" }

[[signals]]
name = "capacity"
quantity = "capacity_ah"
message = "Gauge"
signal = "Ah"
unit = "Ah"
""",
)

# one message for all: a multiplexer is the module's number, counted from 0; one cell a frame, its number beside it
BY_MUX = (
    HEAD
    + """BO_ 416 Shared: 8 Rack
 SG_ Which M : 0|4@1+ (1,0) [0|15] "" Rack
 SG_ Spare m0 : 4|1@1+ (1,0) [0|1] "" Rack
 SG_ Spare1 m1 : 4|1@1+ (1,0) [0|1] "" Rack
 SG_ Spare2 m2 : 4|1@1+ (1,0) [0|1] "" Rack
 SG_ Volts : 8|16@1+ (0.001,0) [0|0] "V" Rack
 SG_ Amps : 24|32@1- (0.001,0) [0|0] "A" Rack

BO_ 417 OneCell: 4 Rack
 SG_ Which : 0|8@1+ (1,0) [0|0] "" Rack
 SG_ Number : 8|8@1+ (1,0) [0|0] "" Rack
 SG_ Level : 16|16@1+ (0.0001,0) [0|0] "V" Rack
""",
    """format = 1
dbc = "bus.dbc"

[module]
by = "signal"
signal = "Which"
offset = 1

[[signals]]
name = "voltage"
quantity = "voltage"
message = "Shared"
signal = "Volts"

[[signals]]
name = "current"
quantity = "current"
message = "Shared"
signal = "Amps"
positive = "charging"

[[signals]]
name = "cell"
quantity = "cell_voltage"
message = "OneCell"
signal = "Level"
number_in = "Number"
first = 0
repeat = 8
""",
)

# the number stands in the names: a message for each module, and one message that holds a value of all of them
BY_NAME = (
    HEAD
    + """BO_ 1281 Box01: 5 Rack
 SG_ BoxU : 0|16@1+ (0.01,0) [0|0] "V" Rack
 SG_ BoxI : 16|16@1- (0.01,0) [0|0] "A" Rack
 SG_ BoxT : 32|8@1- (1,0) [0|0] "°C" Rack

BO_ 1282 Box02: 5 Rack
 SG_ BoxU : 0|16@1+ (0.01,0) [0|0] "V" Rack
 SG_ BoxI : 16|16@1- (0.01,0) [0|0] "A" Rack
 SG_ BoxT : 32|8@1- (1,0) [0|0] "°C" Rack

BO_ 1283 Box03: 5 Rack
 SG_ BoxU : 0|16@1+ (0.01,0) [0|0] "V" Rack
 SG_ BoxI : 16|16@1- (0.01,0) [0|0] "A" Rack
 SG_ BoxT : 32|8@1- (1,0) [0|0] "°C" Rack

BO_ 1296 Levels: 3 Rack
 SG_ Level_1 : 0|8@1+ (1,0) [0|100] "%" Rack
 SG_ Level_2 : 8|8@1+ (1,0) [0|100] "%" Rack
 SG_ Level_3 : 16|8@1+ (1,0) [0|100] "%" Rack
""",
    """format = 1
dbc = "bus.dbc"

[module]
by = "name"
most = 8
names = { 1 = "M1", 2 = "M2", 3 = "M3" }

[[signals]]
name = "voltage"
quantity = "voltage"
message = "Box{module:02}"
signal = "BoxU"

[[signals]]
name = "current"
quantity = "current"
message = "Box{module:02}"
signal = "BoxI"
positive = "discharging"

[[signals]]
name = "temperature"
quantity = "temperature_degc"
message = "Box{module:02}"
signal = "BoxT"

[[signals]]
name = "soc"
quantity = "soc"
message = "Levels"
signal = "Level_{module}"
not_available = [255]
""",
)


def made(folder: Path, bus: tuple[str, str]) -> CanMap:
    """Write both files and read them."""
    (folder / "bus.dbc").write_text(bus[0], "cp1252")
    (folder / "map.toml").write_text(bus[1], "utf-8")
    return read_can_map(folder / "map.toml")
