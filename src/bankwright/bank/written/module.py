"""A kind of module as written under [kinds.module.NAME].

Gives: ModuleW and its tables. Pydantic, strict; quantities parsed to SI. A missing value is None, never 0.
Limits: rules that join fields are in bank/rules/kinds.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.parts import (
    Ampere,
    Degrees,
    DeviceParts,
    Kilogram,
    Metre,
    OhmBand,
    OhmBand0,
    Points,
    Seconds,
    Terminals,
    TripPoint,
    Volt,
    VoltBand,
    Watt,
)
from bankwright.bank.written.values import Count, Form, Strict, Text, Texts, YesNo, amount, curve, reclosing

__all__ = ["ModuleW"]


class ResistanceW(Strict):
    """Resistance post to post, at 25 degC."""

    dc: OhmBand | None = Field(None, description="The value seconds into a step; it rules sharing.")
    after: Seconds = Field(30.0, description="Time into the step that `dc` holds for.")
    surge: OhmBand | None = Field(None, description="The value at the time of a surge.")
    surge_after: Seconds | None = Field(
        None, description="Time into the step that `surge` holds for; a longer surge meets `dc`."
    )
    ohmic: OhmBand | None = Field(None, description="At 1 kHz, or in the first millisecond; it rules fault currents.")
    short_circuit: Annotated[float, amount("current", sample="3 kA")] | None = Field(
        None,
        description="Short-circuit current that the maker states; with `open_circuit` it gives `ohmic` where that is "
        "not given.",
    )
    open_circuit: Annotated[float, amount("voltage", sample="53.6 V")] | None = Field(
        None, description="Open-circuit voltage that `short_circuit` holds at."
    )
    cells: OhmBand0 | None = Field(None, description="The part of `dc` that is in the cells; the rest is metal.")


class DischargeW(Strict):
    """Discharge side of the data sheet."""

    continuous: Ampere | None = Field(None, description="Continuous current.")
    trip: TripPoint | None = Field(None, description="Over-current trip with its delay.")
    lowest: Degrees | None = Field(None, description="Lowest cell temperature.")
    highest: Degrees | None = Field(None, description="Highest cell temperature.")
    cell_trip: VoltBand | None = Field(None, description="Cell under-voltage trip.")
    cell_empty: Annotated[float, amount("cell_voltage")] | None = Field(
        None,
        description="End of discharge of a cell; what is silent on its own lowest voltage works down to it.",
    )
    cell_spread: Annotated[float, amount("cell_spread", positive=False)] | None = Field(
        None, description="Cell spread near empty, highest minus lowest, at rest; the low stop lies above it."
    )


class ChargeW(Strict):
    """Charge side of the data sheet."""

    continuous: Ampere | None = Field(None, description="Continuous current.")
    by_temperature: Annotated[Points, curve("temperature_degc", "current", ("0 degC", "10 A"), rising=None)] = Field(
        (), description="Continuous current from each cell temperature upward."
    )
    trip: TripPoint | None = Field(None, description="Over-current trip with its delay.")
    lowest: Degrees | None = Field(None, description="Lowest cell temperature.")
    highest: Degrees | None = Field(None, description="Highest cell temperature.")
    cell_trip: VoltBand | None = Field(None, description="Cell over-voltage trip.")
    cell_full: Annotated[float, amount("cell_voltage")] | None = Field(None, description="End of charge of a cell.")
    highest_voltage: Volt | None = Field(None, description="Highest voltage the sheet allows at the posts.")
    inhibits: YesNo | None = Field(None, description="Whether it stops charging by itself when too cold.")
    heated: YesNo | None = Field(None, description="Whether it heats its cells.")


class TripsW(Strict):
    """What a trip leaves open, and how the module comes back."""

    charge: Literal["still discharges", "opens"] | None = Field(None, description="After a charge trip.")
    discharge: Literal["still charges", "opens"] | None = Field(None, description="After a discharge trip.")
    restart: Literal["by hand", "by itself", "by charger"] | None = Field(
        None, description="How it restarts from black."
    )
    recloses: Annotated[tuple[str, float | None], reclosing()] | None = Field(
        None, description="Whether and when it closes again by itself."
    )


class BreakerW(DeviceParts):
    """Breaker or fuse inside the module."""

    backed_by: Text | None = Field(None, description="A fuse of kinds.device that is proved to back it up.")
    sits_in: Literal["plus", "minus", "both"] | None = Field(None, description="The pole or poles that it opens.")


class PostsW(Terminals):
    """Posts of the module."""

    pairs: Annotated[int, Field(ge=1, le=2), Form("1 or 2", "2")] = Field(
        1, description="Posts a pole; with 2, links come in on one and leave by the other."
    )
    inner: OhmBand0 | None = Field(None, description="Resistance of the bar between the two posts of one pole.")
    through: Ampere | None = Field(
        None, description="Current that may enter one post of a pole and leave by the other."
    )


class ParallelW(Strict):
    """What the sheet says of modules in parallel."""

    most: Count | None = Field(None, description="Most modules in parallel.")
    join_within: Annotated[float, amount("voltage_drop")] | None = Field(
        None, description="Voltage within which modules may be joined."
    )


class AddressW(Strict):
    """Address switches on the data bus."""

    switches: Count | None = Field(None, description="Number of switches.")
    first: Annotated[int, Field(ge=0, le=255), Form("whole number", "1")] | None = Field(
        None, description="First address in use."
    )
    most: Annotated[int, Field(ge=1, le=255), Form("whole number", "15")] | None = Field(
        None, description="Last address in use."
    )
    order: Literal["first is lowest", "first is highest"] | None = Field(
        None, description="Which switch counts least: switch 1 is the lowest, or the highest."
    )
    base: Annotated[int, Field(ge=0, le=247), Form("whole number", "0")] | None = Field(
        None, description="Added to what the switches say."
    )
    on_is: Literal["one", "zero"] | None = Field(None, description="What a switch that is on counts as.")
    reserved: Annotated[int, Field(ge=0, le=247), Form("whole number", "0")] | None = Field(
        None, description="Address that the manual keeps for a group leader; no other module has it."
    )
    wakes: YesNo | None = Field(None, description="Whether the switches are read only when the module wakes.")


class ModuleW(Strict):
    """Module."""

    chemistry: Literal["LFP"] = Field("LFP", description="Chemistry of the cells.")
    cells: Annotated[int, Field(ge=1, le=32), Form("whole number", "16")] = Field(description="Cells in series.")
    capacity: Annotated[float, amount("capacity_ah")] | None = Field(None, description="Capacity of the data sheet.")
    energy: Annotated[float, amount("energy_kwh")] | None = Field(None, description="Nameplate energy.")
    listing: Texts = Field([], description="Listings of the module.")
    resistance: ResistanceW = Field(ResistanceW(), description="Resistances.")
    discharge: DischargeW = Field(DischargeW(), description="Discharge limits.")
    charge: ChargeW = Field(ChargeW(), description="Charge limits.")
    trips: TripsW = Field(TripsW(), description="Behaviour at a trip.")
    breaker: BreakerW | None = Field(None, description="Its own breaker or fuse.")
    posts: PostsW = Field(PostsW(), description="Posts.")
    parallel: ParallelW = Field(ParallelW(), description="Modules in parallel.")
    altitude: Metre | None = Field(None, description="Height above sea level up to which its ratings hold.")
    enclosure: Text | None = Field(None, description='Enclosure it has or sits in: "IP65", "type 3R".')
    mass: Kilogram | None = Field(None, description="Mass.")
    height: Metre | None = Field(None, description="Height, also in rack units.")
    width: Metre | None = Field(None, description="Width of the body, without ears.")
    depth: Metre | None = Field(None, description="Depth.")
    address: AddressW = Field(AddressW(), description="Address switches.")
    ocv: Annotated[Points, curve("soc", "cell_voltage", ("50 %", "3.29 V"), rising=True)] = Field(
        (), description="Cell voltage at rest over state of charge."
    )
    standby_power: Watt | None = Field(None, description="Own consumption, with nothing else on the bus.")
    heat_capacity: Annotated[float, amount("heat_capacity")] | None = Field(None, description="Heat capacity.")
    cell_spread: Annotated[float, amount("cell_spread", positive=False)] | None = Field(
        None, description="Cell spread at rest that the sheet allows."
    )
