"""A plan: what is served on which day and at which hour, and what of it is on the shelf."""

from __future__ import annotations

import datetime
import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.dates import read_date
from generator.records.fields import Id, LineAmount, Told, reader, refusal, text_of, units_of
from generator.records.record import Record
from generator.records.size import Size, read_size, unmarked_counts

_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])", re.ASCII)
_NOT_24 = re.compile(r"(1[0-2]|0?[1-9])(?:[:.]([0-5][0-9]))?\s*([ap])\.?m\.?", re.ASCII)
_DOTTED = re.compile(r"([01]?[0-9]|2[0-3])[.,h]?([0-5][0-9])(?:\s*h)?", re.ASCII)


def read_clock(text: str) -> datetime.time:
    """An hour of the day, as ``11:30``, on the clock of 24 hours. Raises Refused for any other."""
    typed = text.strip().lower()
    match = _CLOCK.fullmatch(typed)
    if match is not None:
        return datetime.time(int(match[1]), int(match[2]))
    write: list[str] = []
    if (half := _NOT_24.fullmatch(typed)) is not None:
        hour = int(half[1]) % 12 + (12 if half[3] == "p" else 0)
        write = [f"{hour}:{half[2] or '00'}"]
    elif (dotted := _DOTTED.fullmatch(typed)) is not None:
        write = [f"{int(dotted[1])}:{dotted[2]}"]
    raise Refused(
        "clock-unreadable",
        f"`{clipped(text)}` is not an hour of the day.",
        "Write hour and minutes on the clock of 24 hours, as in 11:30 or 18:00.",
        write,
    )


def read_day(text: str) -> datetime.date:
    """A day of this century, as ``2026-12-07``. Raises Refused for any other text or day."""
    day = read_date(text)
    if not 2000 <= day.year < 2100:
        words = f"`{clipped(text)}` is not a day of this century."
        raise Refused("date-unreadable", words, "Check the year.")
    return day


_NOUGHT = re.compile(r"0+(?:[.,]0+)?\s.*", re.DOTALL)
_WORD = re.compile(r"[^0-9., '’_]")
_MANY = re.compile(r"[0-9]{6,}\s+\S.*", re.DOTALL)


def _asked(value: Any, info: ValidationInfo) -> Size:
    """How much is served: a batch size, with a refusal of its own for nothing and for too much."""
    typed = text_of(value).strip()
    try:
        if _NOUGHT.fullmatch(typed):
            raise Refused(
                "amount-zero", f"`{clipped(typed)}` is nothing to make.", "Delete the dish."
            )
        bare = unmarked_counts(typed)
        if _MANY.fullmatch(typed) or (bare and _MANY.fullmatch(bare[0])):
            raise Refused(
                "size-too-large",
                f"`{clipped(typed)}` is over 99,999 in one line.",
                "Check the figure.",
            )
        if typed.isdigit() or (bare and not _WORD.search(typed)):
            help = "Write the formula's own word behind it, as in 30 portions or 8 loaves."
            raise Refused("size-unreadable", f"{typed} of what?", help)
        return read_size(typed, units_of(info))
    except Refused as refused:
        raise refusal(refused) from None


Clock = Annotated[
    datetime.time,
    PlainValidator(reader(read_clock)),
    WithJsonSchema(
        {
            "type": "string",
            "form": "An hour of the day, on the clock of 24 hours.",
            "examples": ["11:30", "18:00"],
            "pattern": "^[0-9]{1,2}:[0-9]{2}$",
        }
    ),
]
Day = Annotated[
    datetime.date,
    PlainValidator(reader(read_day)),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A day as year-month-day.",
            "examples": ["2026-12-07"],
            "pattern": "^20[0-9]{2}-[0-9]{2}-[0-9]{2}$",
        }
    ),
]
Served = Annotated[
    Size,
    PlainValidator(_asked),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A count of portions, fills or batches by their word, or a weight in total, of "
            "the base or of the yield.",
            "examples": ["60 ladles", "12 loaves", "40 portions", "2 batches", "4 kg yield"],
            "pattern": "[A-Za-z]",
        }
    ),
]


def _not_percent(value: Any, info: ValidationInfo) -> Any:
    typed = text_of(value)
    if "%" in typed or " ".join(typed.lower().split()) == "as needed":
        raise refusal(
            Refused(
                "amount-wrong-kind",
                f"`{clipped(typed)}`: how much is there?",
                "Weigh, measure or count it, as in 4 kg, 2 l or 30 each.",
            )
        )
    if _NOUGHT.fullmatch(typed.strip()):
        raise refusal(Refused("amount-zero", "Nothing of it is there.", "Delete the line."))
    return value


OnShelfAmount = Annotated[LineAmount, BeforeValidator(_not_percent)]


class PlannedDish(Record):
    """A dish of a plan: which formula, how much, and when it is served."""

    dish: Id = Field(
        description="The formula, by its id: a dish, or anything else that is made here.",
        examples=["onion-gravy"],
    )
    amount: Served = Field(description="How much of it is served, or must be there: its par.")
    day: Day | None = Field(None, description="The day of service. Left out: the plan's `day`.")
    at: Clock | None = Field(None, description="The hour of service. Left out: the plan's `at`.")


class Shelved(Record):
    """What is on the shelf already: an ingredient, or a batch of a formula."""

    item: Id = Field(
        description="The ingredient or the formula, by its id.",
        examples=["onion", "brown-turkey-stock"],
    )
    amount: OnShelfAmount = Field(
        description="How much of it is there: an ingredient as purchased; of a formula its "
        "finished weight, or its fills or portions by their word.",
        examples=["4 kg", "2 l", "30 each", "3 tubs"],
    )
    made: Day | None = Field(
        None,
        description="For a batch, the day it was made, as its label says. It keeps as long as its "
        "formula says.",
    )
    use_by: Day | None = Field(
        None,
        description="The last day it may be used, as its label says. A batch with a part that is "
        "dated, and an ingredient that needs the cold, need it: without it they don't count.",
    )


class Plan(Record):
    """One plan a file, standards/plans/<id>.yaml: a week's par list, an event, a menu."""

    name: Told = Field(
        description="What the crew calls it.", examples=["Week of 30 November", "Mill fair"]
    )
    day: Day | None = Field(
        None, description="The day of service of every dish that gives none of its own."
    )
    at: Clock | None = Field(
        None,
        description="The hour of service of every dish that gives none of its own. All must be "
        "ready by then.",
    )
    dishes: tuple[PlannedDish, ...] = Field(
        min_length=1, description="What is served, a list. A dish may come on several days."
    )
    on_shelf: tuple[Shelved, ...] = Field(
        (),
        description="What is there already, a list. It is used first, the soonest date first, and "
        "never past its day.",
    )
    note: Told = Field("", description="A remark.", examples=["The mill is closed on Thursday."])
