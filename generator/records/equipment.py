"""Equipment: what a scale can read, what a machine can take, what a vessel holds."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.temperature import TemperatureDifference
from generator.measures.times import Time, read_time
from generator.records.fields import (
    Date,
    DegreeList,
    DegreeSpan,
    Difference,
    Id,
    IdList,
    Length,
    Mass,
    Share,
    Told,
    Volume,
    Watts,
    WholeNumber,
    Words,
    YesNo,
    reader,
)
from generator.records.figures import ProbeError
from generator.records.fitted import Fitted
from generator.records.pull_up import PullUp
from generator.records.record import Record

KIND = "What it is. It decides which other keys it may have."
FITTED = (
    "What logged runs here say of how fast it chills or heats: `predict --fit --keep` writes it. A "
    "prediction uses it in place of the range of such equipment. No limit does."
)
_RUN = """- vessel: shallow-pan
  h: 13 to 16 W/(m2 K)
  log: chill-1127.csv
  date: 2026-11-27
  residual: 0.6 °C"""


class Equipment(Record):
    """What all equipment says."""

    kind: Words = Field(description=KIND)
    name: Told = Field(description="The name the crew reads.")
    station: IdList = Field(
        (),
        description="The station that uses it, or several. Left out: the whole house uses it.",
        examples=["hearth", "[hearth, larder]"],
    )
    note: Told = Field(
        "",
        description="Anything the crew should know.",
        examples=["Unplug it before you clean it."],
    )

    def is_at(self, station: str) -> bool:
        """Whether it is named for this station."""
        return station in self.station

    def is_elsewhere(self, station: str) -> bool:
        """Whether it is named for other stations only; what is named for none goes round."""
        return bool(self.station) and station not in self.station


CHECK_EVERY = (
    "How long a check is good for, in days or weeks. Once that is over `check`, the home page and "
    "the register say that it is due. Of a thermometer left out: the `every` of a routine's check."
)


def _check_every(text: str) -> Time:
    try:
        time = read_time(text)
    except Refused as refused:
        if refused.code != "time-without-unit":
            raise
        days = f"{text.strip()} {'day' if text.strip() == '1' else 'days'}"
        words = f"{text.strip()} of what: days, weeks?"
        raise Refused(refused.code, words, "A check is good for days.", [days]) from None
    if time.seconds < 86400:
        raise Refused(
            "time-unreadable",
            f"`{clipped(text)}` is less than a day.",
            "Write whole days, as in 7 days. What is checked more often is a check of a routine.",
        )
    return time


CheckEvery = Annotated[
    Time,
    PlainValidator(reader(_check_every)),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A day or more.",
            "examples": ["7 days", "4 weeks"],
            "pattern": "[A-Za-z]",
        }
    ),
]


class LastCheck(Record):
    """The last time a thermometer or a scale was checked, and what was found."""

    short: ClassVar[str] = "date"
    date: Date = Field(
        description="The day. You may write only this after the colon.", examples=["2026-11-27"]
    )


class ProbeCheck(LastCheck):
    """The last check of a thermometer."""

    off_by: Difference | None = Field(
        None,
        description="How far it was off. More than its `accuracy` is an error.",
        examples=["0.4 °C"],
    )


class FailedCheck(Record):
    """A check that found a thermometer further off than its accuracy."""

    date: Date = Field(description="The day it failed.", examples=["2026-11-27"])
    off_by: Difference = Field(description="How far it was off.", examples=["3 °C"])
    right_on: Date | None = Field(
        None,
        description="The day of the last check before it that found it right. What it read from "
        "that day on is in doubt; left out: all it read before.",
        examples=["2026-11-20"],
    )

    def covers(self, day: datetime.date) -> bool:
        """Whether what was read on a day is in doubt: of either check nobody knows the hour."""
        return (self.right_on is None or self.right_on <= day) and day <= self.date


class ScaleCheck(LastCheck):
    """The last check of a scale."""

    off_by: Mass | None = Field(
        None,
        description="How far it was off. More than its `accuracy` is an error. Left out: nothing "
        "was found.",
        examples=["1 g"],
    )


class Scale(Equipment):
    """A scale: what it can weigh, and how finely."""

    kind: Literal["scale"] = Field(description=KIND)
    division: Mass = Field(
        description="The smallest step it shows, in the unit of its display: 1 g, 0.01 lb.",
        examples=["1 g", "0.1 g", "0.01 lb"],
    )
    accuracy: Mass = Field(
        description="How far it may be off, plus or minus, as its maker or its last check says.",
        examples=["1 g"],
    )
    capacity: Mass = Field(
        description="The most it can weigh, container included.", examples=["6 kg"]
    )
    minimum: Mass | None = Field(
        None, description="Below this it doesn't weigh.", examples=["10 g"]
    )
    tare: Mass | None = Field(
        None, description="What the usual container on it weighs.", examples=["900 g"]
    )
    last_check: ScaleCheck | None = Field(
        None, description="Its last check. The station's sheet prints it.", examples=["2026-11-27"]
    )
    check_every: CheckEvery | None = Field(None, description=CHECK_EVERY, examples=["365 days"])


class Thermometer(Equipment):
    """A probe, or a thermometer that stays where it is."""

    kind: Literal["thermometer"] = Field(description=KIND)
    reads: DegreeList = Field(min_length=1, description="The scales it reads.")
    accuracy: ProbeError = Field(
        description="How far it may be off, plus or minus. Every reading on the page counts it in."
    )
    last_check: ProbeCheck | None = Field(
        None,
        description="Its last check, in ice or in boiling water. The station's sheet prints it.",
        examples=["{date: 2026-11-27, off_by: 0.4 °C}"],
    )
    check_every: CheckEvery | None = Field(None, description=CHECK_EVERY, examples=["7 days"])
    failed_checks: tuple[FailedCheck, ...] = Field(
        (),
        description="Checks that found it further off than its `accuracy`, a list. They stay, "
        "whatever the next check finds: `check` names the batches it read meanwhile. A reading "
        "that names no thermometer counts as by the kitchen's own.",
    )
    measures: Literal["food", "air", "water"] = Field(
        "food",
        description="What it measures. One for air or water may be off by more than one for "
        "food. Not stated: food.",
    )

    def off_on(self, day: datetime.date) -> TemperatureDifference:
        """How far it may have been off on a day: its accuracy, or more where a later check failed
        and none between had found it right."""
        found = [failed.off_by for failed in self.failed_checks if failed.covers(day)]
        return max((self.accuracy, *found), key=lambda off: off.celsius)


def thermometer_named(name: str, equipment: Mapping[str, Equipment], usual: str) -> str | None:
    """The id of the thermometer that a reading's ``name`` means: by id or by name, whatever its
    capitals; the kitchen's ``usual`` one for any other word, such as a load's number; None where
    that is none."""
    wanted = " ".join(name.split()).casefold()
    known = {i: one for i, one in equipment.items() if isinstance(one, Thermometer)}
    for ident, item in known.items():
        if wanted in (ident.casefold(), item.name.casefold()):
            return ident
    return usual if usual in known else None


class Places(Record):
    """How many counted things go into a machine at a time."""

    short: ClassVar[str] = "any"
    any: WholeNumber | None = Field(
        None,
        description="How many fills or pieces of whatever kind. You may write only this after the "
        "colon.",
        examples=["12"],
    )
    each: WholeNumber | None = Field(
        None,
        description="How many pieces or fills that are in no vessel: on hooks, on racks.",
        examples=["24"],
    )
    vessels: dict[Id, WholeNumber] = Field(
        default_factory=dict,
        description="How many of a vessel, by its id.",
        examples=["{loaf-tin: 24, flat-pan: 6}"],
    )

    def of(self, vessel: str | None) -> int | None:
        """How many go in of a vessel, or of what is in none; None where that isn't said."""
        own = self.vessels.get(vessel) if vessel is not None else self.each
        return own if own is not None else self.any


class Machine(Equipment):
    """A machine that takes the product in loads."""

    kind: Literal[
        "mixer",
        "grinder",
        "cutter",
        "blender",
        "stuffer",
        "slicer",
        "kettle",
        "pot",
        "bath",
        "oven",
        "fryer",
        "griddle",
        "microwave",
        "hot-holding",
        "packer",
        "pressure-cooker",
        "retort",
        "other",
    ] = Field(
        description=KIND + " `other` is a machine of none of these kinds: a sheeter, a churn, a "
        "tumbler, a smoker, a drying cabinet."
    )
    capacity: Mass | None = Field(
        None, description="The most it takes at a time. A larger batch is made in loads."
    )
    minimum: Mass | None = Field(None, description="The least it works with, in each load.")
    places: Places | None = Field(
        None,
        description="How many fills or pieces go in at a time: trays, tins, hooks.",
        examples=["12", "{vessels: {loaf-tin: 24, flat-pan: 6}, each: 40}"],
    )
    bowl: Volume | None = Field(None, description="The bowl's volume. A load must fit in it.")
    fill_level: Share | None = Field(
        None,
        description="How full the bowl may be: room for the whisk, or for water round the food. "
        "Left out: to the brim.",
    )
    heat: Literal["still", "convection", "high-humidity"] | None = Field(
        None, description="For an oven, how it heats. The roast chart needs it."
    )

    fitted: tuple[Fitted, ...] = Field((), description=FITTED, examples=[_RUN])
    power: Watts | None = Field(
        None,
        description="For an oven, a bath, a pot or a kettle: the most heat it gives, as on its "
        "plate. `predict` says with it how far a cold load cools it.",
        examples=["9 kW"],
    )
    water: Volume | None = Field(
        None,
        description="For a bath, a pot or a kettle: the water round the food. `predict` needs it "
        "beside `power`.",
        examples=["40 l"],
    )
    stirred: YesNo | None = Field(
        None,
        description="For a bath, a pot or a kettle: does a pump, a paddle or a spoon keep its "
        "water moving all the time? `predict` is wide where it isn't said.",
        examples=["yes", "no"],
    )
    friction: Difference | None = Field(
        None,
        description="For a mixer: the friction it adds to a dough, as the formula's `dough` counts "
        "it. A formula may give its own.",
        examples=["12 °C", "24 °F"],
    )

    @property
    def under_pressure(self) -> bool:
        """Whether it cooks under pressure, so that water and wet food in it get hotter than
        boiling."""
        return self.kind in ("pressure-cooker", "retort")


class Cold(Equipment):
    """A refrigerator, blast chiller, freezer or ice bath."""

    kind: Literal["refrigerator", "blast-chiller", "freezer", "ice-bath"] = Field(description=KIND)
    air: DegreeSpan = Field(
        description="The temperature it is kept at, or a range: cold enough for what is held in "
        "it.",
        examples=["3 °C", "-18 °C"],
    )
    watched: YesNo = Field(
        False,
        description="Does an electronic system read its temperature without a break, and a "
        "person look twice a day? Cook-chill food needs it.",
    )
    capacity: Mass | None = Field(None, description="The most it chills at a time.")
    minimum: Mass | None = Field(None, description="The least it works with, in each load.")
    places: Places | None = Field(
        None,
        description="How many fills or pieces go in at a time: trays, tubs, hooks.",
        examples=["12", "{vessels: {soup-tub: 40}}"],
    )
    power: Watts | None = Field(
        None,
        description="For a refrigerator or a blast chiller: the most heat it takes away, as on its "
        "plate. It isn't the electricity it uses. `predict` says with it how far a warm load "
        "lifts it.",
        examples=["800 W"],
    )
    pull_up: PullUp | None = Field(
        None,
        description="For a refrigerator or a blast chiller: how far a warm load lifted its air, as "
        "you measured it, and when it was back. `predict` uses it in place of `power`.",
        examples=["{load: 10 kg, at: 60 °C, lifted_to: 8 °C, back: 2 h}"],
    )
    water: Volume | None = Field(
        None,
        description="For an ice bath: the water you put in, before its ice.",
        examples=["30 l"],
    )
    ice: Mass | None = Field(
        None,
        description="For an ice bath: the ice you put in. `predict` says whether it lasts.",
        examples=["15 kg"],
    )
    stirred: YesNo | None = Field(
        None,
        description="For an ice bath: does a pump, a paddle or a spoon keep its water moving all "
        "the time? `predict` is wide where it isn't said.",
        examples=["yes", "no"],
    )
    fitted: tuple[Fitted, ...] = Field((), description=FITTED, examples=[_RUN])


class Inside(Record):
    """Inside measures of a vessel."""

    diameter: Length | None = Field(None, description="Across, of a cylinder or casing.")
    length: Length | None = Field(None, description="The long side, or along a casing.")
    width: Length | None = Field(None, description="The short side, of a box.")
    depth: Length | None = Field(None, description="From the rim to the bottom.")


class Vessel(Equipment):
    """What the product is filled into."""

    kind: Literal["vessel"] = Field(description=KIND)
    shape: Literal["cylinder", "box", "casing"] = Field(description="Its shape.")
    inside: Inside = Field(
        description="Its inside measures. A fill must go in. The caution about deep vessels uses "
        "them, too."
    )
    headspace: Length | None = Field(None, description="What stays empty at the top.")
    capacity: Mass | None = Field(
        None, description="The most that goes in. A larger fill is refused."
    )
    moisture_tight: YesNo = Field(
        False,
        description="Is it a bag that no moisture passes? A roast whose cooking step names it "
        "under `vessel` is cooked in high humidity by the roast chart, whatever the oven.",
    )
    count: WholeNumber | None = Field(
        None,
        description="How many there are in the house. A batch with more fills is refused.",
    )


KINDS: dict[str, type[Equipment]] = {
    word: model
    for model in (Scale, Thermometer, Machine, Cold, Vessel)
    for word in model.model_fields["kind"].annotation.__args__  # type: ignore[union-attr]
}
