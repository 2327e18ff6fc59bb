"""How finished food is kept, and what on file lets it be kept so."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from generator.records.fields import Keeping, PureNumber, YesNo
from generator.records.figures import MeterError, Ph, WaterActivity
from generator.records.named import Paper, Said
from generator.records.record import Record


class NotTcs(Record):
    """Why the finished food needs no temperature control, and the paper that shows it."""

    short: ClassVar[str] = "reason"
    reason: Said = Field(
        min_length=1,
        description="Why it needs none. You may write only the reason after the colon.",
        examples=["Dry spices only. Nothing wet goes in."],
    )
    document: Paper = Field(
        "",
        description="The paper on file that proves it: a laboratory's pH or water activity, or "
        "your authority's letter. Left out: the reason is enough only for food baked "
        "or boiled dry.",
        examples=["Laboratory report 26-114"],
    )
    water_activity: WaterActivity | None = Field(
        None,
        description="The water activity of the finished food, as the document has it. Only what "
        "is dry enough for the code's table whatever its pH is kept by that; food with an acid in "
        "it, or dried, then needs no variance for it.",
        examples=["0.80"],
    )

    @property
    def words(self) -> str:
        """The reason, and the document beside it."""
        return f"{self.reason} ({self.document})" if self.document else self.reason


class Keeps(Record):
    """How long it keeps: the chef's figure; the law caps it."""

    cold: Keeping | None = Field(
        None, description="Kept cold. Day 1 is the day it is ready to eat."
    )
    frozen: Keeping | None = Field(None, description="Kept frozen. The date mark pauses.")
    dry: Keeping | None = Field(
        None, description="Kept dry, for food that needs no temperature control."
    )
    study: Paper = Field(
        "",
        description="Where the law sets no days: what proves that it keeps so long, such as a "
        "laboratory's report.",
        examples=["Shelf-life study 2026-07, Fenland Laboratory"],
    )


class WithoutAir(Record):
    """Which criterion of the code lets it be packed without air, and the record that shows it."""

    criterion: Literal[
        "water-activity",
        "acidity",
        "cured-at-a-plant",
        "competing-organisms",
        "cheese",
        "fish-frozen",
        "cook-chill",
        "within-48-hours",
    ] = Field(
        description="The criterion it meets, or its paragraph: cook-chill includes sous vide; "
        "within-48-hours is opened by then."
    )
    kept: Literal["cold", "near-freezing", "near-freezing-then-cold", "frozen"] = Field(
        "cold",
        description="For cook-chill, how it is kept: cold has the shortest life. "
        "near-freezing-then-cold is kept at two places, the `store` steps at the end of "
        "its process.",
    )
    sold: YesNo | None = Field(
        None,
        description="For cook-chill: is it sold, or passed on to another business, in its pack? "
        "Only `no` is legal, and you must write it.",
    )
    measured: PureNumber | None = Field(
        None, description="The water activity or the pH measured in this food."
    )
    record: Paper = Field(description="Where the measurement, or the receipt, is written down.")


class Acidified(Record):
    """Made sour enough to need no temperature control: the pH asked for, where each is written."""

    ph: Ph = Field(
        description="The pH every batch must read, or less. Measure each batch. Never calculate "
        "it.",
        examples=["4.0"],
    )
    meter: MeterError = Field(
        description="How far the pH meter may be off, plus or minus.", examples=["0.1"]
    )
    water_activity: WaterActivity | None = Field(
        None,
        description="The water activity measured in this food. Not stated: the strictest "
        "column counts.",
        examples=["0.91"],
    )
    packed_after_heating: YesNo = Field(
        False,
        description="Is it heated, and then closed in its pack? If not, the stricter table counts.",
    )
    record: Paper = Field(
        description="Where the pH of each batch is written down.", examples=["pH log"]
    )
