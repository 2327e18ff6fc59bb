"""Equipment: what a scale can read, what a machine can take, what a vessel holds."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.records.fields import (
    DegreeList,
    Degrees,
    Difference,
    Id,
    Length,
    Mass,
    Volume,
    WholeNumber,
    Words,
)  # fmt: skip
from generator.records.record import Record


class Equipment(Record):
    """What all equipment says."""

    kind: Words = Field(description="What it is.")
    name: Words = Field(description="The name the crew reads.")
    at: Id | None = Field(None, description="The station where it stands; without one, the house.")
    note: Words = Field("", description="Anything the crew should know.")


class Scale(Equipment):
    """A scale: division, accuracy (±), capacity including tare, least load."""

    kind: Literal["scale"]
    division: Mass = Field(description="The smallest step it shows.")
    accuracy: Mass = Field(description="How far it may be off, plus or minus.")
    capacity: Mass = Field(description="The most it carries, container included.")
    least: Mass | None = Field(None, description="Below this it doesn't weigh.")
    tare: Mass | None = Field(None, description="The container that usually stands on it.")


class Thermometer(Equipment):
    """A probe: which scales it reads, how accurate it is."""

    kind: Literal["thermometer"]
    reads: DegreeList = Field(min_length=1, description="degC, degF or both.")
    accuracy: Difference = Field(description="How far it may be off, plus or minus.")


class Machine(Equipment):
    """A machine that takes the product in loads."""

    kind: Literal[
        "mixer", "grinder", "cutter", "blender", "stuffer", "slicer", "kettle", "pot", "bath", "oven",
        "fryer", "griddle", "hot-holding", "packer",
    ]  # fmt: skip
    most: Mass | None = Field(None, description="The most it takes at a time.")
    least: Mass | None = Field(None, description="The least it works with.")
    bowl: Volume | None = Field(None, description="The bowl's volume.")
    heat: Literal["still", "convection", "high-humidity"] | None = Field(
        None, description="For an oven: how it heats; the roast chart needs it."
    )


class Cold(Equipment):
    """A refrigerator, blast chiller or freezer."""

    kind: Literal["refrigerator", "blast-chiller", "freezer", "ice-bath"]
    air: Degrees = Field(description="The temperature it is kept at.")
    most: Mass | None = Field(None, description="The most it chills at a time.")
    least: Mass | None = Field(None, description="The least.")


class Inside(Record):
    """Inside measures of a vessel."""

    diameter: Length | None = None
    length: Length | None = None
    width: Length | None = None
    depth: Length | None = None


class Vessel(Equipment):
    """What the product is filled into."""

    kind: Literal["vessel"]
    shape: Literal["cylinder", "box", "casing"] = Field(description="Its shape.")
    inside: Inside = Field(description="Its inside measures.")
    headspace: Length | None = Field(None, description="What stays empty at the top.")
    holds: Mass | None = Field(None, description="The most that goes in.")
    pieces: WholeNumber | None = Field(None, description="How many there are in the house.")


KINDS: dict[str, type[Equipment]] = {
    word: model
    for model in (Scale, Thermometer, Machine, Cold, Vessel)
    for word in model.model_fields["kind"].annotation.__args__  # type: ignore[union-attr]
}
