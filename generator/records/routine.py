"""A process spec that stands alone: work that no formula asks for, done by a station."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, get_args

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.measures.strengths import Strength, read_strength
from generator.records.fields import (
    Date,
    Degrees,
    Duration,
    Id,
    IdList,
    Told,
    ToldList,
    WholeNumber,
    reader,
)
from generator.records.figures import SolutionPh
from generator.records.named import Approver, Paper
from generator.records.record import Record

CheckKind = Literal[
    "sanitiser",
    "hot-water",
    "dish-machine",
    "receiving",
    "cold",
    "hot",
    "ice-point",
    "boiling-point",
    "power-cut",
]
Agent = Literal["chlorine", "iodine", "quat", "other"]
MachineKind = Literal[
    "stationary-single", "stationary-dual", "conveyor-single", "conveyor-multi", "chemical"
]
Received = Literal["cold", "hot", "eggs"]

OF: dict[CheckKind, tuple[str, ...]] = {
    "sanitiser": get_args(Agent),
    "dish-machine": get_args(MachineKind),
    "receiving": get_args(Received),
}
"""What ``of`` may be, by the kind of check."""
KEYS: dict[CheckKind | None, frozenset[str]] = {
    None: frozenset(),
    "sanitiser": frozenset({"of", "strength", "at", "ph", "label"}),
    "hot-water": frozenset({"at", "label", "with"}),
    "dish-machine": frozenset({"of", "at", "label", "with"}),
    "receiving": frozenset({"of"}),
    "cold": frozenset({"at", "in"}),
    "hot": frozenset({"at", "with"}),
    "ice-point": frozenset({"with"}),
    "boiling-point": frozenset({"with"}),
    "power-cut": frozenset(),
}
"""What a check of a kind may say beside ``how``, ``every``, ``if_missed`` and ``note``."""

StrengthField = Annotated[
    Strength,
    PlainValidator(reader(read_strength)),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A strength in ppm, or a range. One figure is the least.",
            "examples": ["50 to 100 ppm", "200 ppm"],
            "pattern": "([Pp][Pp][Mm]|[Mm][Gg]/[Ll])",
        }
    ),
]


class MakersLabel(Record):
    """What the maker of a sanitiser or a machine says on its label or data plate."""

    document: Paper = Field(
        min_length=1,
        description="Which label: the product, its registration number, or the machine's plate.",
        examples=["Label of Sluice Quat, EPA Reg. No. 0000-00"],
    )
    strength: StrengthField | None = Field(None, description="How strong it is used.")
    at: Degrees | None = Field(
        None, description="The least temperature it is used at.", examples=["24 °C"]
    )
    ph: SolutionPh | None = Field(None, description="The highest pH it works at.", examples=["5"])
    hardness: StrengthField | None = Field(
        None,
        description="The hardest water it may be used in.",
        examples=["600 ppm"],
    )
    contact: Duration | None = Field(
        None, description="How long it must stay on.", examples=["60 s"]
    )


class Check(Record):
    """One thing done: a task in words, or a check with a limit."""

    short: ClassVar[str] = "how"
    check: CheckKind | None = Field(
        None,
        description="What is checked; its limit comes from the code, or from the maker's `label`. "
        "Left out: a task that is ticked.",
    )
    of: Literal[Agent, MachineKind, Received] | None = Field(
        None,
        description="Which sanitiser, which kind of dish machine, or which food comes in. A "
        "machine or a food that isn't named is held to the strictest.",
        examples=["chlorine", "stationary-single"],
    )
    strength: StrengthField | None = Field(
        None,
        description="How strong you make the sanitiser. Chlorine must say it. For iodine, the "
        "code's range; for others, the label's.",
    )
    at: Degrees | None = Field(
        None,
        description="The least temperature you want, or the most for food kept cold. The code's "
        "limit applies if it is stricter.",
        examples=["26 °C"],
    )
    ph: SolutionPh | None = Field(
        None,
        description="The highest pH of your chlorine or iodine solution. Left out: the table's "
        "strictest column.",
        examples=["8"],
    )
    with_: Id | None = Field(
        None,
        alias="with",
        description="The machine, or the thermometer that is checked. Left out for a thermometer: "
        "the kitchen's probe.",
        examples=["pocket-probe"],
    )
    in_: Id | None = Field(
        None, alias="in", description="The refrigerator that is read.", examples=["walk-in"]
    )
    label: MakersLabel | None = Field(
        None, description="What the maker says. The stricter of it and the code applies."
    )
    every: Duration | None = Field(
        None, description="At least how often it is done.", examples=["4 h"]
    )
    how: ToldList = Field(
        (),
        description="What to do, one sentence on each line. You may write only this.",
        examples=["Dip the strip. Read it after 10 seconds."],
    )
    if_missed: Told = Field(
        "",
        description="What to do if the limit is missed, in place of the general words.",
        examples=["Empty the bucket. Mix it fresh."],
    )
    note: Told = Field("", description="A remark for the crew.", examples=["Gloves."])


class Routine(Record):
    """A process spec without a formula, for work that no formula has: opening, sanitiser, dish
    machine, probes, a power cut. It has `checks` and no `steps`."""

    name: Told = Field(description="The name the crew reads.", examples=["Sanitiser strength"])
    station: IdList = Field(
        min_length=1,
        description="The station that does it, or several. Each gets its sheet and log.",
        examples=["hearth", "[hearth, larder]"],
    )
    about: Told = Field(
        "", description="When it is done, and why.", examples=["Before the first food is out."]
    )
    checks: tuple[Check, ...] = Field(
        min_length=1, description="What is done and read, in order, a list."
    )
    revision: WholeNumber | None = Field(
        None, description="Add 1 with every change that matters. Its sheet prints it."
    )
    effective: Date | None = Field(None, description="The day this revision starts.")
    approved: Approver = Field(
        "",
        description="Who approved it. Left out: its sheet says draft.",
        examples=["head chef"],
    )
    review_by: Date | None = Field(
        None,
        description="The day it is reviewed. Left out: the kitchen's `review_every` after "
        "`effective`.",
    )
    note: Told = Field("", description="A remark.", examples=["Gloves."])
