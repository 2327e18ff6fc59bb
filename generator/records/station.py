"""A station: a place where a part of the work is done."""

from __future__ import annotations

from pydantic import Field

from generator.records.fields import Date, Told, WholeNumber
from generator.records.named import Approver
from generator.records.record import Record


class Station(Record):
    """standards/stations/<id>.yaml"""

    name: Told = Field(description="The name the crew reads.", examples=["Hearth"])
    about: Told = Field(
        "",
        description="What is done there, in a sentence.",
        examples=["Braises, pots and everything kept hot."],
    )
    revision: WholeNumber | None = Field(
        None,
        description="Add 1 with every change that matters. The sheets of its binder print it.",
    )
    effective: Date | None = Field(None, description="The day this revision starts.")
    approved: Approver = Field(
        "",
        description="Who approved the binder's own sheets: list, allergens, conversions, "
        "sign-off. Left out: those sheets say draft.",
        examples=["head chef"],
    )
    review_by: Date | None = Field(
        None,
        description="The day it is reviewed. Left out: the kitchen's `review_every` after "
        "`effective`.",
    )
