"""A coefficient of heat that was worked out of a logged run here: it narrows predictions."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.records.fields import Date, Difference, Id, Words, reader
from generator.records.record import Record

UNIT = "W/(m2 K)"
_SPAN = re.compile(
    r"(\d{1,5}(?:[.,]\d{1,2})?)\s*(?:to|–|-)\s*(\d{1,5}(?:[.,]\d{1,2})?)\s*W/\(m(?:2|²) K\)"
)


@dataclass(frozen=True)
class Coefficient:
    """A heat transfer coefficient within bounds, W/(m² K)."""

    low: float
    high: float


def read_coefficient(text: str) -> Coefficient:
    """``13 to 16 W/(m2 K)``. Raises Refused, also where the bounds are out of order or 0."""
    match = _SPAN.fullmatch(" ".join(text.split()))
    if match is None:
        raise Refused(
            "coefficient-unreadable",
            f"`{clipped(text)}` is not a coefficient with its bounds.",
            "Write both bounds and the unit, as `predict --fit --keep` does.",
            [f"13 to 16 {UNIT}"],
        )
    low, high = (float(figure.replace(",", ".")) for figure in match.groups())
    if not 0 < low <= high:
        raise Refused(
            "coefficient-unreadable",
            f"`{clipped(text)}`: the smaller figure comes first, and it is above 0.",
            "",
            [f"13 to 16 {UNIT}"],
        )
    return Coefficient(low, high)


class Fitted(Record):
    """What a logged run says of how fast heat goes between this and a vessel of food."""

    vessel: Id | None = Field(
        None,
        description="The vessel it was logged in. Left out: food without a vessel.",
        examples=["shallow-pan"],
    )
    h: Annotated[
        Coefficient,
        PlainValidator(reader(read_coefficient)),
        WithJsonSchema(
            {
                "type": "string",
                "form": "A coefficient of heat, from … to ….",
                "examples": [f"13 to 16 {UNIT}"],
            }
        ),
    ] = Field(description="The coefficient that fits the log, from … to …. Predictions use it.")
    log: Words = Field(description="The file of the log.", examples=["chill-1127.csv"])
    date: Date = Field(description="The day of the log.", examples=["2026-11-27"])
    residual: Difference = Field(
        description="How far the log is off the fitted course, as a mean.", examples=["0.6 °C"]
    )
