"""Four layouts of topics of invented devices, a map each. All names are our own invention.

Gives: PLAIN, ONE_JSON, LIST, BY_KEY (maps), made(), TEXTS.
"""

from __future__ import annotations

from pathlib import Path

from bankwright.bus.mqtt.read import read_mqtt_map
from bankwright.bus.mqtt.signals import MqttMap

TEXTS = {"1": "M1", "2": "M2", "3": "M3", "M1": "M1", "M2": "M2", "M3": "M3"}

# a topic for each value, the module's number and the cell's in it, the payload a plain number
PLAIN = """format = 1
title = "plain numbers"
stale = "30 s"

[[signals]]
name = "voltage"
quantity = "voltage"
topic = "shed/rack/pack{module:02}/volts"
unit = "V"
range = "40 V to 60 V"
not_available = [-1, "n/a"]

[[signals]]
name = "current"
quantity = "current"
topic = "shed/rack/pack{module:02}/amps"
unit = "mA"
positive = "charging"

[[signals]]
name = "cell"
quantity = "cell_voltage"
topic = "shed/rack/pack{module:02}/cell/{n}"
unit = "mV"
repeat = 4
"""

# one JSON a module with its own time, nested, the module by name
ONE_JSON = """format = 1
modules = { left = "M1", middle = "M2", right = "M3" }

[[signals]]
name = "voltage"
quantity = "voltage"
topic = "house/+/{module}/state"
value = "$.pack.volts"
time = "$.at"
unit = "V"

[[signals]]
name = "current"
quantity = "current"
topic = "house/+/{module}/state"
value = "$.pack.amps"
time = "$.at"
unit = "A"
positive = "discharging"

[[signals]]
name = "cell"
quantity = "cell_voltage"
topic = "house/+/{module}/state"
value = "$.cells[{n}].level"
time = "$.at"
unit = "mV"
repeat = 4
first = 0

[[signals]]
name = "soc"
quantity = "soc"
topic = "house/+/{module}/state"
value = '$["state of charge"]'
unit = "%"
"""

# one message for all, a list with an entry a module that says its number
LIST = """format = 1

[[signals]]
name = "voltage"
quantity = "voltage"
topic = "bank"
each = "packs"
module_at = "id"
value = "u"
unit = "V"
scale = 0.01

[[signals]]
name = "temperature"
quantity = "temperature_degc"
topic = "bank"
each = "packs"
module_at = "id"
value = "t[{n}]"
first = 0
repeat = 2
unit = "degC"

[[signals]]
name = "alarms"
quantity = "flags"
topic = "bank"
each = "packs"
module_at = "id"
value = "bits"
bits = { 0 = "cell too high", 3 = "too cold" }

[[signals]]
name = "serial"
quantity = "serial"
topic = "bank"
each = "packs"
module_at = "id"
value = "plate"
"""

# one message for all, a key for each module; and a topic of one module alone
BY_KEY = """format = 1

[[signals]]
name = "voltage"
quantity = "voltage"
topic = "/gate/all"
value = "rack.pack_{module}.v"
unit = "V"
offset = 0.5

[[signals]]
name = "current"
quantity = "current"
topic = "/gate/all"
value = "rack.pack_{module}.i"
unit = "A"
positive = "charging"

[[signals]]
name = "capacity"
quantity = "capacity_ah"
topic = "/gate/first"
module = "M1"
unit = "Ah"
"""


def made(folder: Path, text: str) -> MqttMap:
    """Write a map and read it."""
    (folder / "topics.toml").write_text(text, "utf-8")
    return read_mqtt_map(folder / "topics.toml")
