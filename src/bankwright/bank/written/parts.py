"""Parts that several kinds share, as written: single amounts, terminals, and what a device's sheet says.

Gives: Terminals, DeviceParts, and types of amounts (Ampere, Volt, OhmBand ...).
Limits: types of values are made in bank/written/values.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bankwright.bank.written.values import Count, Strict, Stud, Text, Texts, YesNo, amount, band, curve, paired
from bankwright.forms.toleranced import Toleranced

__all__ = [
    "Ampere",
    "Ampere0",
    "Degrees",
    "DeviceParts",
    "Kilogram",
    "Metre",
    "OhmBand",
    "OhmBand0",
    "Points",
    "Seconds",
]
__all__ += ["Terminals", "TripPoint", "Volt", "VoltBand", "Watt"]

Ampere = Annotated[float, amount("current")]
Ampere0 = Annotated[float, amount("current", positive=False)]
Volt = Annotated[float, amount("voltage")]
VoltBand = Annotated[Toleranced, band("cell_voltage")]
Watt = Annotated[float, amount("power")]
Degrees = Annotated[float, amount("temperature_degc", positive=False)]
Seconds = Annotated[float, amount("time")]
Metre = Annotated[float, amount("length", most=10_000.0)]  # longer is a slip of the hand
Kilogram = Annotated[float, amount("mass")]
OhmBand = Annotated[Toleranced, band("resistance")]
OhmBand0 = Annotated[Toleranced, band("resistance", positive=False)]
TripPoint = Annotated[tuple[Toleranced, float | None], paired("for", "current", "time", "150 A for 3 s")]
Points = tuple[tuple[float, float], ...]
Times = Annotated[Points, curve("current", "time", ("500 A", "100 s"), rising=False)]
Derating = Annotated[Points, curve("temperature_degc", "share", ("40 degC", "95 %"), rising=None)]
DropPoint = Annotated[tuple[Toleranced, float | None], paired("at", "voltage_drop", "current", "75 mV at 300 A")]
LetThrough = Annotated[float, amount("let_through")]


class Terminals(Strict):
    """Stud or terminal."""

    stud: Stud | None = Field(None, description="Stud or bolt of the terminal.")
    lugs: Count | None = Field(None, description="Lugs that one terminal takes.")
    torque: Annotated[float, amount("torque")] | None = Field(None, description="Torque of the data sheet.")
    rating: Degrees | None = Field(None, description="Temperature rating of the terminal.")


class DeviceParts(Strict):
    """What a device's sheet says, whether it stands alone or in a module."""

    rating: Ampere | None = Field(None, description="Rated current.")
    volts: Volt | None = Field(None, description="Rated voltage on DC, for the poles stated.")
    interrupts: Ampere | None = Field(None, description="Interrupting rating on DC, at that voltage.")
    poles: Count | None = Field(None, description="Poles in series that voltage and interrupting rating hold for.")
    polarised: YesNo | None = Field(None, description="Whether it may carry and break current in one direction only.")
    device_class: Text | None = Field(
        None, alias="class", description='Class or standard: "class T", "gG", "IEC 60947-2".'
    )
    curve: Times = Field((), description="Total clearing time over current.")
    melting: Times = Field((), description="Melting or shortest tripping time over current.")
    melting_i2t: LetThrough | None = Field(None, description="Melting I2t.")
    let_through: LetThrough | None = Field(None, description="Total clearing I2t at the interrupting rating.")
    least_breaking: Ampere0 | None = Field(None, description="Least current that it breaks.")
    derating: Derating = Field((), description="Share of the rating that it carries, over the air temperature.")
    full_rated: YesNo | None = Field(None, description="Marked for 100 % continuous load.")
    breaks_load: YesNo | None = Field(None, description="Whether it may be opened under load.")
    terminals: Terminals | None = Field(None, description="Its terminals.")
    resistance: OhmBand0 | None = Field(None, description="Resistance.")
    drop: DropPoint | None = Field(None, description="Voltage drop at a current; stands in for the resistance.")
    instant: Annotated[Toleranced, band("current")] | None = Field(None, description="Magnetic trip of a breaker.")
    listing: Texts = Field([], description="Listings and standards.")
    time_constant: Seconds | None = Field(
        None, description="Largest L/R of a circuit that its DC interrupting rating holds for."
    )
    withstands: Ampere | None = Field(
        None, description="Short-circuit current that a switch withstands and may be closed onto, behind its fuse."
    )
    current_limiting: YesNo | None = Field(None, description="Marked current-limiting.")
    altitude: Metre | None = Field(None, description="Height above sea level up to which its ratings hold.")
    enclosure: Text | None = Field(None, description='Enclosure it has or sits in: "IP65", "type 3R".')
    ac_rating_only: YesNo | None = Field(None, description="The sheet gives AC ratings alone.")
    mass: Kilogram | None = Field(None, description="Mass.")
