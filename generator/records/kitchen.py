"""The kitchen: whose rules, whose probe, whose cup."""

from __future__ import annotations

import zoneinfo
from typing import Annotated, Literal

from pydantic import Field, PlainValidator

from generator.finding import Refused
from generator.measures.marks import Mark
from generator.records.fields import (
    Date,
    Degree,
    Id,
    IdList,
    Length,
    Words,
    reader,
)  # fmt: skip
from generator.records.record import Record


def _zones_of(city: str) -> list[str]:
    """The zones that bear a city's name: New York → America/New_York."""
    last = "/" + "_".join(city.split()).lower()
    return sorted(z for z in zoneinfo.available_timezones() if z.lower().endswith(last))[:3]


def _zone(text: str) -> str:
    try:
        zoneinfo.ZoneInfo(text.strip())
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            "time-zone-unknown",
            f"`{text}` is not a time zone's name.",
            "Write it as Area/City, as in Europe/London.",
            _zones_of(text),
        ) from None
    return text.strip()


class Code(Record):
    """The law in force: model code, edition, and who adopted it."""

    model: Id = Field(description="Which rule pack: a model code or a country's law.")
    edition: Words = Field(description="The edition adopted, as its year.")
    adopted_by: Words = Field(description="The ordinance or rule that adopts it here.")


class Authorisation(Record):
    """A variance or plan on file that allows what the code otherwise forbids."""

    for_: Literal["curing", "smoking", "acidifying", "reduced-oxygen"] = Field(
        alias="for", description="What it allows."
    )
    authority: Words = Field(description="Who gave it.")
    document: Words = Field(description="Its number or title.")
    from_: Date = Field(alias="from", description="First day.")
    until: Date = Field(description="Last day.")


class Kitchen(Record):
    """standards/kitchen.yaml: one kitchen, one manual."""

    name: Words = Field(description="The kitchen's name.")
    code: Code = Field(description="The law in force here.")
    operation: Literal["retail", "inspected-establishment"] = Field(
        "retail", description="A restaurant or shop is retail; a plant under inspection says so."
    )
    serves: Literal["general", "highly-susceptible"] = Field(
        description="Whom it feeds: a nursing home, hospital or preschool is highly-susceptible."
    )
    time_zone: Annotated[str, PlainValidator(reader(_zone))] = Field(description="Its time zone.")
    altitude: Length | None = Field(None, description="Height above the sea.")
    cup: Literal["us", "metric", "imperial", "australian"] = Field(
        description="Whose cups and spoons are meant."
    )
    allergens: Id | None = Field(
        None,
        description="Whose list of allergens is declared: us or eu. Not stated: the code's. Once it is "
        "changed, every ingredient's allergens are gone through again.",
    )
    decimal: Mark = Field(
        "point", description="The decimal mark the crew types and reads: point or comma."
    )
    temperature: Degree = Field(description="The scale the crew reads.")
    probe: Id = Field(description="The thermometer used for core temperatures.")
    stations: IdList = Field((), description="The stations in the order the manual lists them.")
    authorisations: tuple[Authorisation, ...] = Field(
        (), description="Variances and plans on file."
    )
