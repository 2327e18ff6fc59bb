"""A batch as a phone keeps it and hands it on: ticks, clocks and readings, each with its time.

The file is JSON, written by the manual's pages (`generator/pages/static/hand.js`). Times are in
UTC; the day is the kitchen's.
"""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.records.fields import Date, Degree, Id, WholeNumber, Words, YesNo, reader
from generator.records.record import Record

KIND = "kitchen-manual batch"
_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,6})?Z", re.ASCII)
_FIGURE = re.compile(r"[-−]?\d{1,4}(?:[.,]\d{1,6})?", re.ASCII)
_TICK = re.compile(r"[a-z][a-z0-9-]{0,30}")


def _stamp(text: str) -> datetime.datetime:
    if _STAMP.fullmatch(text.strip()):
        try:
            return datetime.datetime.fromisoformat(text.strip())
        except ValueError:
            pass  # a day or an hour that isn't
    raise Refused(
        "batch-time",
        f"`{clipped(text)}` is not a time of a batch.",
        "Times are in UTC, as in 2026-11-25T18:05:00Z.",
    )


def _figure(text: str) -> str:
    if not _FIGURE.fullmatch(text.strip()):
        raise Refused(
            "batch-reading",
            f"`{clipped(text)}` is not a reading.",
            "Up to four digits and six decimals, as in 74 or -18.5.",
        )
    return text.strip().replace(",", ".").replace("−", "-")


def _tick(text: str) -> str:
    if not _TICK.fullmatch(text):
        raise Refused(
            "batch-tick",
            f"`{clipped(text)}` is not a tick.",
            "w-0-3 is load 1, row 3; v-2 row 2 of what is weighed once; d4 step 4.",
        )
    return text


def _version(text: str) -> int:
    if text.strip() != "1":
        raise Refused(
            "batch-version",
            f"This batch is of version {clipped(text)}; version 1 is known.",
            "Update kitchen-manual, or hand the batch over again.",
        )
    return 1


Version = Annotated[int, PlainValidator(reader(_version)), WithJsonSchema({"const": 1})]
Stamp = Annotated[
    datetime.datetime,
    PlainValidator(reader(_stamp)),
    WithJsonSchema(
        {"type": "string", "pattern": f"^{_STAMP.pattern}$", "examples": ["2026-11-25T18:05:00Z"]}
    ),
]
Figure = Annotated[
    str,
    PlainValidator(reader(_figure)),
    WithJsonSchema({"type": "string", "pattern": f"^{_FIGURE.pattern}$", "examples": ["74"]}),
]
TickKey = Annotated[
    str,
    PlainValidator(reader(_tick)),
    WithJsonSchema({"type": "string", "pattern": f"^{_TICK.pattern}$", "examples": ["w-0-3"]}),
]
Count = Annotated[WholeNumber, WithJsonSchema({"type": "integer", "minimum": 0})]
Flag = Annotated[YesNo, WithJsonSchema({"type": "boolean"})]


class Tick(Record):
    """One tick: when it was last set or taken away."""

    at: Stamp = Field(description="When it was set or taken away.")
    done: Flag = Field(description="Whether it is set.", examples=[True])


class DueTime(Record):
    """What a clock waits for."""

    at: Stamp = Field(description="The time of day it is due.")
    words: Words = Field(description="What must be reached, or how long it is.", examples=["20 °C"])
    after: Count | None = Field(
        None, description="Its seconds, where they count from the one before.", examples=[14400]
    )
    advised: Flag | None = Field(
        None, description="True where it is advised, and no limit.", examples=[True]
    )
    reached: Stamp | None = Field(None, description="When a reading showed it reached.")
    by: Words | None = Field(None, description="The id of that reading.", examples=["5f3a9c01d2e4"])
    seen: Stamp | None = Field(None, description="When somebody saw that it was due.")


class BatchClock(Record):
    """A clock: started by a person, counting to times of day."""

    id: Words = Field(description="Its own id.", examples=["5f3a9c01d2e4"])
    key: Words = Field(description="Which clock of the page it is.", examples=["step-3 0"])
    kind: Literal["deadline", "hold", "time"] = Field(
        description="`deadline` is a most time of a limit, `hold` a least one, `time` a step's."
    )
    limit: Words | None = Field(
        None, description="The limit it is of.", examples=["turkey-chive-roll/chill/cool"]
    )
    step: Count | None = Field(None, description="The step's number.", examples=[7])
    anchor: Words = Field(description="Its place on the page.", examples=["step-7"])
    name: Words = Field(description="Its name.", examples=["7 Chill"])
    revision: Count = Field(description="The revision it was started with.", examples=[4])
    started: Stamp = Field(description="When it was started.")
    due: tuple[DueTime, ...] = Field(description="What it waits for, in order.")
    stopped: Stamp | None = Field(None, description="When somebody stopped it.")


class BatchReading(Record):
    """One reading of a probe."""

    id: Words = Field(description="Its own id.", examples=["5f3a9c01d2e4"])
    at: Stamp = Field(description="When it was kept.")
    step: Count | None = Field(None, description="The step's number.", examples=[6])
    limit: Words = Field(
        description="The limit it was read for.", examples=["turkey-chive-roll/poach/cook"]
    )
    clock: Words | None = Field(
        None, description="The id of the clock it was read by.", examples=["5f3a9c01d2e4"]
    )
    probe: Words = Field(description="Which probe.", examples=["1"])
    value: Figure = Field(description="The figure as it was typed.")
    unit: Degree = Field(description="Its scale.")
    verdict: Words = Field(
        description="What the page said of it, by its own figure.", examples=["not yet"]
    )
    law: Literal["pass", "fail", "cannot tell"] = Field(
        description="What `review` says of this one reading, by the row of law."
    )
    struck: Stamp | None = Field(
        None, description="When it was struck out as typed wrong. It counts no more."
    )


class EarlierTicks(Record):
    """Ticks that were made by another revision, kept and not counted."""

    revision: Count = Field(description="The revision they were made by.", examples=[3])
    stamp: Words = Field(description="The stamp of its page.", examples=["288855fb"])
    until: Stamp = Field(description="When the batch went on with another.")
    ticks: dict[TickKey, Tick] = Field(description="The ticks.")


class BatchRecord(Record):
    """A batch's record: written by a phone as JSON, read by `review`."""

    kind: Literal["kitchen-manual batch"] = Field(description="What the file is.")
    version: Version = Field(description="The version of this form.")
    id: Words = Field(description="Its own id, the same on every phone.", examples=["0a1b2c3d4e5f"])
    formula: Id = Field(description="The formula's id.", examples=["turkey-chive-roll"])
    name: Words = Field(description="The formula's name.", examples=["Turkey roll"])
    page: Words = Field(
        description="The address of its page, within the manual.",
        examples=["cold-kitchen/turkey-chive-roll/"],
    )
    revision: Count = Field(description="The revision its ticks were made by.", examples=[4])
    stamp: Words = Field(
        description="The stamp of that page: of its weights, steps and limits.",
        examples=["288855fb"],
    )
    size: Words = Field(description="The size, as in the page's address.", examples=["fills=8"])
    label: Words = Field(description="The size in words.", examples=["8 rolls"])
    number: Count = Field(description="The batch's number of its day.", examples=[2])
    day: Date = Field(description="The kitchen's day it was started for.")
    zone: Words = Field(description="The kitchen's time zone.", examples=["America/Chicago"])
    who: Words | None = Field(None, description="Who makes it.", examples=["Ana"])
    going: Date | None = Field(
        None, description="The last day somebody said that it is still going."
    )
    started: Stamp = Field(description="When it was started.")
    ended: Stamp | None = Field(None, description="When it was ended.")
    handed: Stamp | None = Field(
        None, description="When it was handed to another phone and ended on this one."
    )
    ticks: dict[TickKey, Tick] = Field(
        description="What is ticked: w-0-3 is load 1, row 3; v-2 row 2 of what is weighed once for "
        "the whole batch; d4 step 4."
    )
    clocks: tuple[BatchClock, ...] = Field(description="Its clocks, in the order of their starts.")
    readings: tuple[BatchReading, ...] = Field(description="Its readings, in order of time.")
    earlier: tuple[EarlierTicks, ...] = Field(
        (), description="Ticks made by earlier revisions. They don't count."
    )
