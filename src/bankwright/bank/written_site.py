"""Site, earthing and instruments as written.

Gives: SiteW, EarthingW, InstrumentW. Pydantic, strict.
Limits: which place words a storage rule knows is the handbook's matter.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written_parts import Metre
from bankwright.bank.written_types import Accuracy, Form, Names, Strict, Text, Texts, WireSize, YesNo, amount, limits

__all__ = ["EarthingW", "InstrumentW", "SiteW"]


class EarthingW(Strict):
    """Earthing of the DC side."""

    pole: Literal["none", "minus", "plus"] | None = Field(None, description="Pole that is earthed.")
    at: Names | None = Field(None, description="Earthing points: posts, such as `bar-1` or `I1-`.")
    detector: YesNo | None = Field(None, description="Whether a ground-fault detector watches a floating bank.")
    bond: WireSize | None = Field(None, description="Conductor that bonds the frame.")


class SiteW(Strict):
    """The room and what rules it."""

    place: Text | None = Field(None, description='Where it stands: "detached garage", "utility closet".')
    ambient: Annotated[tuple[float, float], limits("temperature_degc", "-5 degC to 40 degC")] | None = Field(
        None, description="Lowest and highest temperature of the room."
    )
    rack_rise: Annotated[float, amount("temperature_difference", positive=False)] | None = Field(
        None, description="Air inside the loaded rack above the room."
    )
    earthing: EarthingW = Field(EarthingW(), description="Earthing of the DC side.")
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
