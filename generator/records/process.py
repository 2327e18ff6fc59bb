"""A process spec: the steps many formulas share."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from generator.files.source_text import Mapping
from generator.records.fields import (
    ID_PATTERN,
    Date,
    DegreeSpan,
    Duration,
    Id,
    IdList,
    Length,
    PictureFile,
    RelativeHumidity,
    TimeSpan,
    Told,
    ToldList,
    WholeNumber,
    YesNo,
    one_or_many,
    reader,
)
from generator.records.house_limit import HouseLimit
from generator.records.named import Approver, Paper
from generator.records.record import Record
from generator.records.shares import Gain, LeftShare, Loss, OfGreenWeight
from generator.records.target import Target as Target
from generator.records.target import TargetField as TargetField
from generator.records.target import read_target as read_target

Effect = Literal[
    "handles",
    "cuts",
    "comminutes",
    "tenderises",
    "injects",
    "soaks",
    "brines",
    "pools",
    "stuffs",
    "encloses",
    "joins",
    "fills",
    "divides",
    "heats",
    "cooks",
    "in-water",
    "boils",
    "bakes",
    "part-cooks",
    "cools",
    "holds-hot",
    "reheats",
    "freezes",
    "thaws",
    "slacks",
    "waits",
    "raises",
    "ferments",
    "dries",
    "ages",
    "sprouts",
    "displays",
    "carries",
    "stores",
    "packs-without-air",
    "packs",
    "labels",
    "slices",
    "holds-by-time",
    "takes-off",
    "drains",
    "acidifies",
    "smokes",
    "serves",
    "cleans",
]


NOTHING = "none"
"""What a verb of the kitchen's own does that changes nothing the law asks about."""


_VESSEL_SCHEMA = WithJsonSchema(
    {
        "type": "string",
        "form": "A vessel's id, or the words: as the formula says.",
        "pattern": f"^({ID_PATTERN.pattern}|[Aa]s the formula says)$",
        "examples": ["as the formula says", "shallow-pan"],
    }
)
_EFFECTS_SCHEMA = one_or_many(
    "One, a list, or none.",
    {"enum": [*get_args(Effect), NOTHING]},
    "cooks",
    "[stuffs, fills]",
    "none",
)


def _effects(value: Any) -> Any:
    """One effect as a list of one; the word none as an empty list."""
    if isinstance(value, str):
        return [] if value.strip() == NOTHING else [value]
    return value


class Left(Record):
    """What separates at a step and isn't the product: how much of it, and what becomes of it."""

    short: ClassVar[str] = "share"
    share: LeftShare | None = Field(
        None,
        description="How much of what came to the step stays behind. You may write only this after "
        "the colon. Left out where the meat takes up its share of a pickle: the rest of it.",
    )
    of: Id | None = Field(
        None,
        description="The part it is a share of, such as a cover brine. Left out: of all that came "
        "to the step.",
        examples=["brine"],
    )
    then: Literal["thrown-away", "kept", "used-again"] = Field(
        "thrown-away",
        description="What becomes of it. `used-again`: a later step takes it, by its name.",
    )


class Step(Record):
    """One step of a process."""

    do: Id = Field(
        description="The verb: one from the list of verbs, or your own with `does`.",
        examples=["mix", "chill"],
    )
    id: Id | None = Field(
        None,
        description="The step's id, needed if a verb comes twice. Left out: the verb.",
        examples=["second-rest"],
    )
    add: IdList = Field(
        (),
        description="The formula's parts that go in at this step. Every part goes in once.",
        examples=["meat", "[pot, seasoning]"],
    )
    work_on: IdList = Field(
        (),
        description="What this step works on alone: parts, or named outputs of earlier steps. What "
        "the step before gave waits meanwhile. Left out: what the step before gave.",
        examples=["garnish", "[bind, diced-bacon]"],
    )
    gives: Id | None = Field(
        None,
        description="The name of what this step gives, so that a later step can take it under "
        "`work_on` or `add`.",
        examples=["diced-bacon"],
    )
    leaves: dict[Id, Left] = Field(
        default_factory=dict,
        description="What drains, is pressed out or stays behind in a brine, fat or marinade, by a "
        "name of its own. It never counts as yield.",
        examples=["{brine: {share: 40 %, then: thrown-away}}"],
    )
    with_: Id | None = Field(
        None,
        alias="with",
        description="The machine, a piece of equipment.",
        examples=["braising-pan"],
    )
    in_: Id | None = Field(
        None,
        alias="in",
        description="The refrigerator, chiller, freezer or ice bath it is put in, a piece of "
        "equipment.",
        examples=["walk-in"],
    )
    vessel: Annotated[str, PlainValidator(reader(str.strip)), _VESSEL_SCHEMA] | None = Field(
        None, description="What it is filled into."
    )
    at: DegreeSpan | None = Field(
        None, description="The temperature of the oven, water, oil or air; not of the food."
    )
    humidity: RelativeHumidity | None = Field(
        None,
        description="The relative humidity of the air it is in. It is printed, and no limit rests "
        "on it.",
    )
    target: TargetField | None = Field(
        None, description="What the chef wants of the food at this step."
    )
    house_limit: HouseLimit | None = Field(
        None,
        description="Your own limit for this step, in place of the code's.",
        examples=["core 76 °C for 30 s"],
    )
    schedule: Id | None = Field(
        None,
        description="On a step that cools, which of the authority's cooling schedules the plan "
        "uses. Not stated: the first.",
        examples=["option-2"],
    )
    time: TimeSpan | None = Field(
        None,
        description="How long it takes: one time, or a range. A formula may give its own under "
        "`times`.",
    )
    stays: TimeSpan | None = Field(
        None,
        description="How long food stays where it was chilled, after it reaches its target. "
        "`time` is how long it takes to get there.",
        examples=["12 h"],
    )
    standing_time: TimeSpan | None = Field(
        None,
        description="For a microwave oven, how long the food then stands covered, so that the "
        "heat evens out.",
        examples=["2 min"],
    )
    every: Duration | None = Field(
        None, description="For cleaning, at least how often while the work goes on."
    )
    solid: YesNo = Field(
        False,
        description="For freezing, does it last until the food is frozen solid? Fish frozen "
        "against parasites and then stored less cold needs it. The time counts from "
        "then.",
    )
    stays_frozen: YesNo = Field(
        False,
        description="For slacking outside a refrigerator, does the food stay frozen until the "
        "next step? Not stated: no. Then it is held as cold as thawing food.",
    )
    until: Told = Field(
        "", description="How the cook sees that it is done.", examples=["A spoon cuts the meat."]
    )
    how: ToldList = Field(
        (),
        description="What to do, one sentence on each line.",
        examples=["Lay the rolls side by side.", "[Slow for 2 minutes., Fast for 4 minutes.]"],
    )
    probe: Told = Field(
        "",
        description="Where to put the probe. The limit's box shows it.",
        examples=["The centre of the largest piece."],
    )
    procedure: Paper = Field(
        "",
        description="For food held by time alone, or part-cooked: the written procedure on file.",
        examples=["Salad bar, procedure 1"],
    )
    if_missed: Told = Field(
        "",
        description="What to do if the limit is missed, in place of the general words.",
        examples=["Cook longer. Probe again every 10 minutes."],
    )
    loses: Loss | None = Field(
        None,
        description="The weight lost in this step, of what went into it. Of a range, weights go by "
        "the middle, and portions are counted by the low end of the yield.",
    )
    gains: Gain | None = Field(
        None,
        description="The weight gained in this step, of what went into it: rice, pasta, soaked "
        "pulses. The water isn't an ingredient.",
    )
    pump: OfGreenWeight | None = Field(
        None,
        description="How much pickle is pumped in, of the meat's green weight. The rest of the "
        "pickle is thrown away.",
        examples=["10 % of green weight"],
    )
    pick_up: OfGreenWeight | None = Field(
        None,
        description="How much pickle the meat takes up by lying or turning in it, of its green "
        "weight. The rest is thrown away.",
        examples=["6 % of green weight"],
    )
    ends: Length | None = Field(
        None, description="What is cut off each end before slicing, for `makes: {slice: …}`."
    )
    does: Annotated[tuple[Effect, ...], BeforeValidator(_effects), _EFFECTS_SCHEMA] = Field(
        (),
        description="For your own verb, what it does to the food. On a verb from the list, it "
        "adds to the list's.",
    )
    picture: PictureFile | None = Field(None, description="A picture of the step.")
    note: Told = Field("", description="A remark for the crew.", examples=["Gloves."])

    @property
    def says_what_it_does(self) -> bool:
        """Whether `does` is written, were it only to say that it changes nothing."""
        return "does" in self.model_fields_set

    def changed_by(self, change: StepChange) -> Step:
        """The step as a formula changes it. What it says since is found where the formula says
        it."""
        said = {key: getattr(change, key) for key in change.model_fields_set}
        if "gains" in said:
            said.setdefault("loses", None)
        if "loses" in said:
            said.setdefault("gains", None)
        step = self.model_copy(update=said)
        typed = Mapping(self._at)
        for source in (self._typed, change._typed):
            if source is not None:
                typed.update(source)
                typed.keys_at |= source.keys_at
        step._typed = typed
        return step


class StepChange(Record):
    """What a formula does otherwise at one step of a process it shares."""

    with_: Id | None = Field(
        None, alias="with", description="The machine.", examples=["braising-pan"]
    )
    in_: Id | None = Field(
        None,
        alias="in",
        description="The refrigerator, chiller, freezer or ice bath.",
        examples=["walk-in"],
    )
    vessel: Id | None = Field(None, description="What it is filled into.", examples=["shallow-pan"])
    at: DegreeSpan | None = Field(
        None, description="The temperature of the oven, water, oil or air; not of the food."
    )
    time: TimeSpan | None = Field(None, description="How long it takes.")
    stays: TimeSpan | None = Field(
        None, description="How long it stays where it was chilled.", examples=["12 h"]
    )
    loses: Loss | None = Field(None, description="The weight lost, of what went into the step.")
    gains: Gain | None = Field(None, description="The weight gained, of what went into the step.")
    until: Told = Field(
        "", description="How the cook sees that it is done.", examples=["A spoon cuts the meat."]
    )
    how: ToldList = Field(
        (), description="What to do, in place of the process's.", examples=["Stir every 5 minutes."]
    )
    probe: Told = Field(
        "", description="Where to put the probe.", examples=["The centre of the largest piece."]
    )
    if_missed: Told = Field(
        "",
        description="What to do if the limit is missed.",
        examples=["Cook longer. Probe again every 10 minutes."],
    )
    note: Told = Field("", description="A remark for the crew.", examples=["Gloves."])


class Process(Record):
    """A process spec: steps that formulas share. One a file of `standards/processes/`."""

    name: Told = Field(description="The name the crew reads.", examples=["Braise and chill"])
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
    parts: IdList = Field(
        (),
        description="The parts a formula must have. Left out: what the steps add.",
        examples=["[meat, pot, seasoning]"],
    )
    steps: tuple[Step, ...] = Field(min_length=1, description="The steps in working order, a list.")
    note: Told = Field("", description="A remark.", examples=["Gloves."])

    def step_ids(self) -> tuple[str, ...]:
        """Each step's id: its own, else its verb."""
        return tuple(step.id or step.do for step in self.steps)
