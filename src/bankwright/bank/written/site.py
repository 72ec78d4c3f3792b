"""Site, earthing and instruments as written.

Gives: SiteW, EarthingW, BondsW, InstrumentW. Pydantic, strict.
Limits: which place words a storage rule knows is the handbook's matter.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.parts import Ampere0, Metre
from bankwright.bank.written.values import Accuracy, Form, Names, Strict, Text, Texts, WireSize, YesNo, amount, limits

__all__ = ["BondsW", "EarthingW", "InstrumentW", "SiteW"]


class EarthingW(Strict):
    """Earthing of the DC side."""

    pole: Literal["none", "minus", "plus"] | None = Field(None, description="Pole that is earthed.")
    at: Names | None = Field(None, description="Earthing points: posts, such as `bar-1` or `I1-`.")
    detector: YesNo | None = Field(None, description="Whether a ground-fault detector watches a floating bank.")
    bond: WireSize | None = Field(None, description="Conductor that bonds the frame.")
    bond_length: Metre | None = Field(
        None, description="Length of that conductor, frame to earthing point; not given, it counts as 0 ohm in a fault."
    )
    detector_resistance: Annotated[float, amount("resistance")] | None = Field(
        None, description="Resistance of the detector from each pole to the frame."
    )
    detector_alarm: Annotated[float, amount("resistance")] | None = Field(
        None, description="Resistance to the frame at which the detector gives alarm."
    )


class BondsW(Strict):
    """Where neutral and protective conductor are joined: one place in each state of the AC side."""

    utility: Text | None = Field(None, description='On the utility: "service panel", or an inverter by its name.')
    island: Text | None = Field(None, description='On the inverters alone: "I1", or "sub-panel".')
    generator: Text | None = Field(None, description='On the generator: "generator", or where else.')
    neutral: WireSize | None = Field(None, description="Neutral between the panel and the source.")
    protective: WireSize | None = Field(None, description="Protective conductor beside that neutral.")


class SiteW(Strict):
    """The room and what rules it."""

    place: Text | None = Field(None, description='Where it stands: "detached garage", "utility closet".')
    ambient: Annotated[tuple[float, float], limits("temperature_degc", "-5 degC to 40 degC")] | None = Field(
        None, description="Lowest and highest temperature of the room."
    )
    altitude: Annotated[float, amount("length", positive=False, most=10_000.0)] | None = Field(
        None, description="Height above sea level."
    )
    wet: YesNo | None = Field(None, description="Whether rain, spray or hosing reaches the place.")
    rack_rise: Annotated[float, amount("temperature_difference", positive=False)] | None = Field(
        None, description="Air inside the loaded rack above the room."
    )
    earthing: EarthingW = Field(EarthingW(), description="Earthing of the DC side.")
    bonds: BondsW = Field(BondsW(), description="Bonds of the AC side.")
    extension: Annotated[int, Field(ge=0, le=256), Form("whole number", "2")] = Field(
        0, description="Modules to come; fault currents are computed with them."
    )
    listing: Texts = Field([], description="Listings of the whole system.")
    spacing: Metre | None = Field(None, description="Between racks or units.")
    door: Metre | None = Field(None, description="To the nearest door or window.")
    dwelling: YesNo | None = Field(None, description="Whether it belongs to a dwelling.")
    other_energy: Annotated[float, amount("energy_kwh", positive=False)] | None = Field(
        None, description="Storage elsewhere in the house, nameplate."
    )
    floor_load: Annotated[float, amount("pressure")] | None = Field(None, description="Load that the floor may carry.")
    seismic: Annotated[float, amount("acceleration", positive=False)] | None = Field(
        None, description="Design acceleration S_DS of the site."
    )
    helpers: Annotated[int, Field(ge=0, le=20), Form("whole number", "1")] | None = Field(
        None, description="Helpers at hand when modules are lifted."
    )
    most_drop: Annotated[float, amount("share", most=0.2, sample="2 %")] | None = Field(
        None,
        description="Largest drop you accept from the modules to an inverter at full power; else 3 % is the limit.",
    )
    most_drop_charge: Annotated[float, amount("share", most=0.2, sample="1 %")] | None = Field(
        None, description="Largest drop you accept from a charger to the modules; else 1 % is the limit."
    )
    control_message: YesNo | None = Field(None, description="Whether chargers obey the control message of the modules.")
    emergency_number: Text | None = Field(None, description="Emergency number to print.")


class InstrumentW(Strict):
    """A meter with the accuracy of its data sheet on one range."""

    name: Text = Field(description="Its name.")
    quantity: Literal["voltage", "voltage_drop", "current", "resistance", "temperature", "torque"] = Field(
        description="What it measures."
    )
    accuracy: Accuracy | None = Field(None, description="Of the reading, plus digits.")
    resolution: Text | None = Field(None, description="One digit, as a quantity.")
    range: Text | None = Field(None, description='Range it is stated for: "0 V to 60 V".')
    zero: Ampere0 | None = Field(None, description="Of a clamp: how far its zero may lie off; else its digits.")
    place: Annotated[float, amount("share", positive=False, most=0.1, sample="1 %")] | None = Field(
        None, description="Of a clamp: error by place in the jaws; else 1 %."
    )
