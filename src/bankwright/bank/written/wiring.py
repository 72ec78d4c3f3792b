"""Wiring as written: the pattern with its conductors, listed links, busbars.

Gives: WiringW, ConductorW, StrapW, LinkW, BarW. Pydantic, strict.
Limits: a pattern is shorthand; bank/unfold makes named links of it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bankwright.bank.written.parts import Ampere, Degrees, Metre, OhmBand0
from bankwright.bank.written.values import Count, Form, Strict, Stud, Studs, Text, WireSize, YesNo, amount

__all__ = ["BarW", "ConductorW", "LinkW", "StrapW", "WiringW"]

Posts = Annotated[str, Field(min_length=1), Form("post", '"M1+"')]


class StrapW(Strict):
    """A flat strap in the place of a cable, drilled at both ends."""

    width: Metre = Field(description="Width of the section.")
    thickness: Metre = Field(description="Thickness of one strap.")
    layers: Annotated[int, Field(ge=1, le=6), Form("whole number from 1 to 6", "2")] = Field(
        1, description="Straps of this section on each other as one."
    )
    material: Literal["copper", "tinned copper", "brass", "aluminium"] = Field("copper", description="Metal.")
    hole: Metre | None = Field(None, description="Diameter of the holes at its ends.")
    rating: Ampere | None = Field(None, description="Rated current.")
    rated_ambient: Degrees | None = Field(None, description="Ambient that the rating holds for.")


class ConductorW(Strict):
    """A cable: what is cut, how it lies, what is crimped on; or a flat strap."""

    cable: WireSize | None = Field(None, description="Size of the copper.")
    strands: Text | None = Field(None, description='Strand class: "fine", "class 5", "class 2".')
    insulation: Degrees | None = Field(None, description="Temperature rating of the insulation.")
    length: Metre | None = Field(None, description="Length of one cable, one way, between the lugs' holes.")
    parallel: Annotated[int, Field(ge=1, le=6), Form("whole number from 1 to 6", "2")] | None = Field(
        None, description="How many alike cables lie side by side as one set; main+ with 2 is main+ and main+.2."
    )
    lug: Text | None = Field(None, description="Lug at both ends: a kind of kinds.lug.")
    lug_from: Text | None = Field(None, description="Lug at the first end, where it differs.")
    lug_to: Text | None = Field(None, description="Lug at the second end, where it differs.")
    resistance: OhmBand0 | None = Field(
        None,
        description="Resistance of the whole cable, lug to lug, as measured at about 20 degC, joints and devices left "
        "out; it takes the place of what size and length would give.",
    )
    joint: OhmBand0 | None = Field(None, description="Resistance of one bolted joint.")
    method: Literal["free air", "raceway", "rack"] | None = Field(None, description="How it lies.")
    spacing: Metre | None = Field(None, description="Between the middles of the two poles.")
    bundled: Count | None = Field(None, description="Current-carrying conductors that lie together.")
    conduit: Metre | None = Field(None, description="Inside diameter of the conduit that it lies in.")
    outer_diameter: Metre | None = Field(None, description="Outer diameter.")
    bend_radius: Metre | None = Field(None, description="Least bend radius.")
    colour: Text | None = Field(None, description="Colour or marking.")
    strap: StrapW | None = Field(None, description="A flat strap in the place of a cable.")
    straight: YesNo | None = Field(
        None, description="The module's post is bolted straight on the bar: no cable, one joint."
    )


class WiringW(Strict):
    """Pattern, feed and conductors."""

    pattern: Literal["chain", "busbar", "listed"] = Field(
        description="chain: from module to module; busbar: every module to a bar a pole; listed: all under [[links]]."
    )
    feed: Literal["same end", "opposite ends", "opposite ends, plus first", "both ends"] | None = Field(
        None,
        description="Where the mains meet a chain or a bar: both at the first module; plus at the last, minus at the "
        "first; the other way round with plus first; or a main a pole at each.",
    )
    link: ConductorW = Field(ConductorW(), description="Links of the chain, or leads from modules to the bars.")
    main: ConductorW | None = Field(
        None,
        description="Cables from the bank to the inverter, or to where several meet; else leads start at the bank.",
    )
    branch: ConductorW = Field(
        ConductorW(), description="Cables from where the mains end to each inverter, charger and load."
    )


class LinkW(ConductorW):
    """A link, or what differs in one link of the pattern."""

    name: Text = Field(description="Its name; that of a link of the pattern changes only what is given here.")
    from_post: Posts | None = Field(None, alias="from", description="Post of the first end.")
    to_post: Posts | None = Field(None, alias="to", description="Post of the second end.")


class BarW(Strict):
    """A busbar."""

    name: Text = Field(description='Its name: "bar+".')
    pole: Literal["+", "-"] = Field(description="Its pole.")
    width: Metre | None = Field(None, description="Width of the section.")
    thickness: Metre | None = Field(None, description="Thickness of the section.")
    layers: Annotated[int, Field(ge=1, le=6), Form("whole number from 1 to 6", "2")] = Field(
        1, description="Bars of this section stacked on each other as one."
    )
    material: Literal["copper", "tinned copper", "brass", "aluminium"] = Field("copper", description="Metal.")
    hole: Metre | None = Field(None, description="Diameter of the holes.")
    rating: Ampere | None = Field(None, description="Rated current.")
    rated_ambient: Degrees | None = Field(None, description="Ambient that the rating holds for.")
    spacing: Metre | None = Field(None, description="Between neighbouring studs.")
    resistance: Annotated[float, amount("resistance", positive=False)] | None = Field(
        None, description="Resistance between neighbouring studs, where it is known."
    )
    lugs_per_stud: Count | None = Field(None, description="Lugs that one stud takes.")
    stud: Stud | None = Field(None, description="Stud or bolt.")
    torque: Annotated[float, amount("torque")] | None = Field(None, description="Torque of its data sheet.")
    temperature_rating: Degrees | None = Field(None, description="Temperature rating of its studs.")
    studs: Studs | None = Field(
        None,
        description="What sits on each stud, in order: modules, `main`, inverters; several in a list share one. A bar "
        "without modules is where the mains end and the leads start.",
    )
