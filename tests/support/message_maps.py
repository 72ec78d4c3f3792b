"""Message maps for the tests: six layouts, all invented, none of a maker."""

from __future__ import annotations

HEAD = 'format = 1\ntitle = "invented"\nversion = "20"\n'


def fields(*rows: str) -> str:
    return "fields = [\n" + "".join(f"  {{ {row} }},\n" for row in rows) + "]\n"


# 1: counts before lists, kelvin with 2731, what the others have in one message
COUNTED = HEAD + '[[messages]]\ncommand = "42"\nask = "address"\n' + fields(
    "skip = 2",
    'name = "cell", quantity = "cell_voltage", unit = "mV", count = "before", most = 16',
    'name = "sensor", quantity = "temperature_degc", unit = "degC", scale = 0.1, zero = 2731, '
    'count = "before", most = 6',
    'name = "current", quantity = "current", type = "signed", scale = 0.01, unit = "A", positive = "charging"',
    'name = "voltage", quantity = "voltage", unit = "mV"',
    'name = "left", quantity = "capacity_ah", bytes = 3, unit = "mAh"',
    'name = "soc", quantity = "soc", bytes = 1, unit = "%"',
) + '[[messages]]\ncommand = "51"\nevery = "once"\n' + fields(
    'name = "serial", quantity = "serial", type = "text", bytes = 16'
)  # fmt: skip

# 2: fixed places, low byte first, a sign bit, the total asked with FF
FIXED = (
    'format = 1\nversion = "21"\ngroup = "4A"\nbyte_order = "low first"\n[[messages]]\ncommand = "42"\nask = "FF"\n'
    + fields(
        'name = "soc", quantity = "soc", at = 8, scale = 0.1, unit = "%"',
        'name = "voltage", quantity = "voltage", at = 0, scale = 0.01, unit = "V"',
        'name = "current", quantity = "current", at = 2, bytes = 4, type = "sign bit", unit = "mA", '
        'positive = "discharging"',
        'name = "warmth", quantity = "temperature_degc", at = 6, type = "signed", scale = 0.1, unit = "degC"',
        'name = "cell", quantity = "cell_voltage", at = 12, count = 15, scale = 0.1, unit = "mV"',
    )
)

# 3: floats (command 41), the voltage in another message than the current
FLOATS = HEAD + '[[messages]]\ncommand = "41"\nask = "01"\n' + fields(
    'name = "voltage", quantity = "voltage", type = "float", byte_order = "low first", unit = "V"',
    'name = "cells", quantity = "count", bytes = 1',
    'name = "cell", quantity = "cell_voltage", count = "cells", most = 16, type = "float", unit = "V"',
) + '[[messages]]\ncommand = "41"\nask = "02"\n' + fields(
    'name = "current", quantity = "current", type = "float", unit = "A", positive = "discharging"',
    'name = "soc", quantity = "soc", type = "float", unit = "1"',
)  # fmt: skip

# 4: records: each cell with its voltage, its temperature and a state
RECORDS = HEAD + '[[messages]]\ncommand = "42"\nask = "address 00"\n' + fields(
    'name = "current", quantity = "current", zero = 30000, scale = 0.1, unit = "A", positive = "charging"',
    'name = "voltage", quantity = "voltage", scale = 0.1, unit = "V"',
    'name = "cell", count = "before", count_bytes = 2, most = 16, each = [ '
    '{ name = "voltage", quantity = "cell_voltage", unit = "mV" }, '
    '{ name = "warmth", quantity = "temperature_degc", bytes = 1, zero = 40, unit = "degC" }, '
    '{ name = "state", quantity = "flags", bytes = 1, words = { 1 = "low", 2 = "high" } } ]',
    'name = "turns", quantity = "count"',
)  # fmt: skip

# 5: fields inside bytes, the same bytes twice, no-value marks, a narrow range
BITS = HEAD + '[[messages]]\ncommand = "43"\n' + fields(
    'name = "voltage", quantity = "voltage", bytes = 3, shift = 4, width = 16, scale = 0.01, unit = "V"',
    'name = "soc", quantity = "soc", at = "same", bytes = 3, shift = 0, width = 4, scale = 10, unit = "%"',
    'name = "current", quantity = "current", type = "signed", scale = 0.1, unit = "A", positive = "discharging", '
    'not_available = [32768], range = "-150 A to 150 A"',
    'name = "state", quantity = "flags", bytes = 1, bits = { 0 = "charging is off", 7 = "fuse open" }',
    'name = "warmth", quantity = "temperature_degc", bytes = 1, not_available = [255], zero = 50, '
    'unit = "degC", count = 3',
)  # fmt: skip

# 6: lists in records: groups of cells, each with its own count
GROUPS = HEAD + '[[messages]]\ncommand = "42"\nask = "address"\n' + fields(
    'name = "voltage", quantity = "voltage", unit = "mV", bytes = 4',
    'name = "current", quantity = "current", type = "signed", bytes = 4, unit = "mA", positive = "charging"',
    'name = "group", count = "before", most = 2, each = [ { name = "many", quantity = "count", bytes = 1 }, '
    '{ name = "cell", quantity = "cell_voltage", unit = "mV", count = "many", most = 8 }, { skip = 1 } ]',
)  # fmt: skip

LAYOUTS = {"counted": COUNTED, "fixed": FIXED, "floats": FLOATS, "records": RECORDS, "bits": BITS, "groups": GROUPS}
