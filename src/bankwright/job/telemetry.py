"""The door of the faces: what the faces need of telemetry.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.logbook.hold import held
from bankwright.logbook.telemetry.export import write_csv, write_parquet
from bankwright.logbook.telemetry.salvage.rescue import Rescued
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry

__all__ = ["Rescued", "Telemetry", "held", "open_telemetry", "write_csv", "write_parquet"]
