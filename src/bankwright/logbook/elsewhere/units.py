"""Units as headings and cells of foreign files write them: `[mV]`, `_degC`, `(x0.1 A)`, `℃`.

Gives: Written, written_unit(), UNITS. A scale before the unit (`0.1A`) is one count of the column.
Limits: what is no unit of the table here is no unit; which quantity it belongs to is headings.py.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["UNITS", "Written", "written_unit"]

# symbol -> (quantity by itself, factor to the unit inside, offset)
UNITS: dict[str, tuple[str, float, float]] = {
    "V": ("voltage", 1.0, 0.0), "mV": ("voltage", 1e-3, 0.0), "kV": ("voltage", 1e3, 0.0), "uV": ("voltage", 1e-6, 0.0),
    "A": ("current", 1.0, 0.0), "mA": ("current", 1e-3, 0.0),
    "W": ("power", 1.0, 0.0), "kW": ("power", 1e3, 0.0),
    "Wh": ("energy_kwh", 1e-3, 0.0), "kWh": ("energy_kwh", 1.0, 0.0),
    "Ah": ("capacity_ah", 1.0, 0.0), "mAh": ("capacity_ah", 1e-3, 0.0),
    "degC": ("temperature_degc", 1.0, 0.0), "degF": ("temperature_degc", 5 / 9, -160 / 9),
    "K": ("temperature_degc", 1.0, -273.15),
    "%": ("soc", 1e-2, 0.0), "1": ("soc", 1.0, 0.0),
    "mohm": ("resistance", 1e-3, 0.0), "ohm": ("resistance", 1.0, 0.0), "uohm": ("resistance", 1e-6, 0.0),
    "s": ("time", 1.0, 0.0), "ms": ("time", 1e-3, 0.0), "us": ("time", 1e-6, 0.0), "min": ("time", 60.0, 0.0),
    "h": ("time", 3600.0, 0.0), "d": ("time", 86400.0, 0.0),
}  # fmt: skip
_SPELT = {
    "volt": "V", "volts": "V", "vdc": "V", "v dc": "V", "millivolt": "mV", "millivolts": "mV", "伏": "V",
    "amp": "A", "amps": "A", "ampere": "A", "adc": "A", "milliamp": "mA", "milliampere": "mA", "安": "A",
    "watt": "W", "watts": "W", "°c": "degC", "ºc": "degC", "℃": "degC", "deg c": "degC", "degc": "degC", "c": "degC",
    "celsius": "degC", "grad c": "degC", "gradc": "degC", "grad": "degC", "°f": "degF", "ºf": "degF", "℉": "degF",
    "deg f": "degF", "degf": "degF", "f": "degF", "fahrenheit": "degF", "kelvin": "K", "k": "K",
    "percent": "%", "prozent": "%", "pct": "%", "pourcent": "%", "％": "%",
    "mω": "mohm", "mohms": "mohm", "milliohm": "mohm", "ω": "ohm", "ohms": "ohm", "µω": "uohm", "μω": "uohm",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "sekunden": "s", "msec": "ms", "millis": "ms",
    "milliseconds": "ms", "µs": "us", "μs": "us", "minutes": "min", "mins": "min", "hours": "h", "hrs": "h",
    "days": "d",
}  # fmt: skip
_BY_SMALL = {symbol.lower(): symbol for symbol in UNITS} | _SPELT
_SCALED = re.compile(r"(?:[x×*]\s*)?(\d*[.,]?\d+)\s*[x×*]?\s*(\D.*)|(\D+?)\s*[x×*/]\s*(\d+(?:[.,]\d+)?)")


@dataclass(frozen=True, slots=True)
class Written:
    """A unit as it is written: `symbol` of UNITS, and how much of it one count is."""

    symbol: str
    count: float = 1.0

    @property
    def factor(self) -> float:
        """Unit inside per count."""
        return UNITS[self.symbol][1] * self.count

    @property
    def offset(self) -> float:
        """What is added after it, in the unit inside."""
        return UNITS[self.symbol][2]

    @property
    def quantity(self) -> str:
        """What it measures by itself."""
        return UNITS[self.symbol][0]

    def __str__(self) -> str:
        """`0.1 A`, `mV`."""
        return self.symbol if self.count == 1 else f"{self.count:g} {self.symbol}"


def written_unit(text: str) -> Written | None:
    """Read a unit; None when it is none. `MV` and `MA` are read as mV and mA: no pack has a megavolt."""
    plain = text.strip().strip(".").strip()
    symbol = plain if plain in UNITS and plain != "1" else _BY_SMALL.get(plain.lower())
    if symbol is not None and plain:
        return Written(symbol)
    scaled = _SCALED.fullmatch(plain)
    if scaled is None:
        return None
    number, unit, unit_first, by = scaled.groups()
    symbol = _BY_SMALL.get((unit or unit_first or "").strip().lower())
    if symbol is None or symbol == "1":
        return None
    if number is not None:
        return Written(symbol, float(number.replace(",", ".")))
    amount = float(by.replace(",", "."))
    return Written(symbol, 1 / amount if amount > 1 else amount)  # "V*100": the column holds hundredths
