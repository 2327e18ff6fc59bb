"""A station: a place where a part of the work is done."""

from __future__ import annotations

from pydantic import Field

from generator.records.fields import Words
from generator.records.record import Record


class Station(Record):
    """standards/stations/<id>.yaml"""

    name: Words = Field(description="The name the crew reads.", examples=["Hearth"])
    about: Words = Field(
        "",
        description="What is done there, in a sentence.",
        examples=["Braises, pots and everything kept hot."],
    )
