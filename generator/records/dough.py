"""What a formula says of its dough."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from generator.records.fields import Degrees, Difference, Volume
from generator.records.record import Record


class DoughFacts(Record):
    """How warm a dough is wanted, what the mixer adds, and the room it has in its vessel."""

    short: ClassVar[str] = "temperature"
    temperature: Degrees | None = Field(
        None,
        description="How warm the dough is wanted when it leaves the mixer. You may write only "
        "this after the colon.",
        examples=["25 °C", "76 °F"],
    )
    friction: Difference | None = Field(
        None,
        description="The friction of the mixer with this dough, in degrees: three times the "
        "temperature of a dough you measured (four times with a preferment), less flour, room, "
        "preferment and water. Left out: the mixer's own, else it is asked for.",
        examples=["12 °C", "24 °F"],
    )
    tin_room: Volume | None = Field(
        None,
        description="How much of its vessel, by the inside measures, each gram of dough has. The "
        "page then gives the dough's weight for the vessel; a `fill_weight` far from it is asked "
        "about.",
        examples=["3.6 ml"],
    )
