"""A batch that was made: what was weighed from which lots, what was read, what it yielded, and what
went otherwise than the standard says."""

from __future__ import annotations

import datetime
import re
from typing import Annotated

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.dates import read_date
from generator.records.fields import (
    Degrees,
    Duration,
    Id,
    Mass,
    Told,
    WholeNumber,
    Words,
    reader,
)
from generator.records.plan import Clock, Day, read_clock
from generator.records.record import Record

OWN_LOT = re.compile(r"[A-Za-z0-9][A-Za-z0-9./-]{0,19}")
"""A batch's own number, as its labels carry it."""
_LOT = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/#:+-]{0,39}")
_AT = re.compile(r"(?:(\S+)[ T])?(\S+?)(?:(?<=:[0-9]{2}):([0-5][0-9]))?", re.ASCII)


def same_lot(text: str) -> str:
    """A lot's number as two are compared: capitals and spaces are no difference, since nobody
    copies them alike from a carton. Hyphens are: 12-1 is not 1-21."""
    return re.sub(r"\s+", "", text).casefold()


def bare_lot(text: str) -> str:
    """A lot's number without what is misread or left out: two that are alike so may be one."""
    found = re.sub(r"[^a-z0-9]", "", text.casefold())
    return found.translate(str.maketrans("oil", "011"))


def in_order(text: str) -> tuple[tuple[int, str], ...]:
    """The key by which numbers of batches and lots, and the names of their records, are put in
    order as people count: 261103-2 before 261103-10, S-9 before S-10; texts of one key differ at
    most in capitals and in zeros in front, and keep the order they came in."""
    parts = re.split(r"([0-9]+)", text.casefold())
    return tuple((int(p), "") if n % 2 else (-1, p) for n, p in enumerate(parts) if p)


def _own_lot(text: str) -> str:
    typed = text.strip()
    if not OWN_LOT.fullmatch(typed):
        raise Refused(
            "lot-unreadable",
            f"`{clipped(text)}` can't be a batch's own number.",
            "At most 20 letters, digits, dots, hyphens and slashes, as on its labels: 261103-1.",
        )
    return typed


def _lot(text: str) -> str:
    typed = " ".join(text.split())
    if not _LOT.fullmatch(typed):
        raise Refused(
            "lot-unreadable",
            f"`{clipped(text)}` can't be a lot's number.",
            "At most 40 letters, digits and . _ / # : + - as on the carton: L 22-91.",
        )
    return typed


def read_moment(text: str) -> tuple[datetime.date | None, datetime.time]:
    """``11:40``, or ``2026-12-07 11:40``: an hour of the batch's day, or of another; with seconds,
    ``11:40:25``, where two readings are of one minute. Raises Refused."""
    found = _AT.fullmatch(text.strip())
    if found is None:
        raise Refused(
            "clock-unreadable",
            f"`{clipped(text)}` is not an hour of a day.",
            "Write the hour, as in 11:40; on another day than the batch's, 2026-12-08 01:15.",
        )
    if found[1] and ":" in found[1]:
        read_clock(text)  # 9:05 pm: no day is before it
    day = read_date(found[1]) if found[1] else None
    return day, read_clock(found[2]).replace(second=int(found[3] or 0))


OwnLot = Annotated[
    str,
    PlainValidator(reader(_own_lot)),
    WithJsonSchema({"type": "string", "pattern": f"^{OWN_LOT.pattern}$", "examples": ["261103-1"]}),
]
LotNumber = Annotated[
    str,
    PlainValidator(reader(_lot)),
    WithJsonSchema(
        {
            "type": ["string", "integer"],
            "pattern": f"^{_LOT.pattern}$",
            "examples": ["L 22-91"],
        }
    ),
]
Moment = Annotated[
    tuple[datetime.date | None, datetime.time],
    PlainValidator(reader(read_moment)),
    WithJsonSchema(
        {
            "type": "string",
            "form": "An hour on the clock of 24 hours, with the day before it where it isn't the "
            "batch's; with seconds where two readings are of one minute.",
            "examples": ["11:40", "2026-12-08 01:15"],
            "pattern": "[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?$",
        }
    ),
]


class UsedLot(Record):
    """What went in: an item, or a part of it from one lot. Two lots of one item are two lines."""

    item: Id = Field(
        description="The ingredient, or the formula that was made ahead, by its id. Of what was "
        "left of an earlier batch and worked in again, the formula too.",
        examples=["turkey-thigh"],
    )
    weight: Mass | None = Field(None, description="What was weighed of it.")
    lot: LotNumber | None = Field(
        None,
        description="The lot's number as on the carton; of what was made ahead, that batch's own "
        "number as on its label.",
    )
    from_: Words = Field(
        "",
        alias="from",
        description="Whose lot it is: the supplier. Two suppliers may use one number.",
        examples=["Alder Farm"],
    )


class MadeReading(Record):
    """One reading of a probe at a step."""

    step: Id = Field(
        description="The step, by its id; `store` for the finished food.", examples=["poach"]
    )
    at: Moment = Field(description="When it was read.")
    value: Degrees = Field(description="What the probe read.")
    probe: Words = Field("", description="Which probe, where there are several.", examples=["1"])


class StepWeights(Record):
    """What a step made of the weight that came to it, in this batch."""

    step: Id = Field(description="The step, by its id.", examples=["poach"])
    before: Mass = Field(description="What came to the step.", examples=["5.8 kg"])
    after: Mass = Field(description="What came out of it.", examples=["5.5 kg"])


class Deviation(Record):
    """What went otherwise, and what was done about it."""

    step: Id | None = Field(None, description="The step, by its id.", examples=["chill"])
    what: Words = Field(
        description="What went otherwise.", examples=["21 °C after 2 h 20 min, lid left on."]
    )
    done: Words = Field(
        description="What was done about it. The record says so if it was nothing.",
        examples=["Reheated to 75 °C, chilled again in two pans."],
    )


class MadeBatch(Record):
    """One batch that was made, standards/records/<formula>-<lot>.yaml, which `record` writes. A
    record is never changed: one that was wrong is corrected by another."""

    formula: Id = Field(description="The formula, by its id.", examples=["onion-gravy"])
    revision: WholeNumber = Field(description="The revision it was made by.", examples=["4"])
    lot: OwnLot = Field(description="The batch's own number, as on its labels.")
    day: Day = Field(description="The day it was made: day 1, once it is ready to eat.")
    who: Words = Field("", description="Who made it.", examples=["Ana"])
    size: Words = Field("", description="Its size, as the page says it.", examples=["8 rolls"])
    started: Clock | None = Field(None, description="When it was started.")
    used: tuple[UsedLot, ...] = Field(
        (), description="What went in, each lot on a line of its own, a list."
    )
    readings: tuple[MadeReading, ...] = Field((), description="What the probe read, a list.")
    weights: tuple[StepWeights, ...] = Field(
        (), description="What steps made of the weight, a list. The formula's page shows them."
    )
    times: dict[Id, Duration] = Field(
        {}, description="How long steps took, by step id.", examples=["{poach: 82 min}"]
    )
    made: Mass | None = Field(
        None, description="What the finished batch weighed.", examples=["5.5 kg"]
    )
    labels: WholeNumber | None = Field(
        None, description="How many packs were labelled.", examples=["8"]
    )
    use_by: Day | None = Field(None, description="The last day, as its labels say.")
    deviations: tuple[Deviation, ...] = Field(
        (), description="What went otherwise, and what was done, a list."
    )
    corrects: Id | None = Field(
        None,
        description="The record that this one replaces, by the name of its file.",
        examples=["onion-gravy-261103-1"],
    )
    why: Words = Field(
        "", description="Why it is corrected.", examples=["The lot of the onions was misread."]
    )
    note: Told = Field("", description="A remark.", examples=["New grinder plate."])

    def instant(
        self, at: tuple[datetime.date | None, datetime.time], zone: datetime.tzinfo
    ) -> datetime.datetime:
        """A moment of the record as an instant, in the kitchen's zone."""
        return datetime.datetime.combine(at[0] or self.day, at[1], zone)
