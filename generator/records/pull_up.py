"""What was measured of a refrigerator or a blast chiller when a warm load came in."""

from __future__ import annotations

from pydantic import Field

from generator.records.fields import Degrees, Duration, Mass
from generator.records.record import Record


class PullUp(Record):
    """How far a load lifted the air, and when the air was back."""

    load: Mass = Field(description="The weight of the food that came in.", examples=["10 kg"])
    at: Degrees = Field(description="How warm the food came in.", examples=["60 °C"])
    lifted_to: Degrees = Field(
        description="The warmest the air got, read in the air, not in the food.",
        examples=["8 °C"],
    )
    back: Duration = Field(
        description="How long after the load came in the air was back at `air`.",
        examples=["2 h"],
    )
