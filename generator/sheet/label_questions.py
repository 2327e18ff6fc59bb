"""What is said of a batch when a label is asked for, and what the maker's date and the formula's
own day say against it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from generator.files.finding import Refused
from generator.measures.words import date, with_verb
from generator.rules.basics.context import Dates
from generator.sheet.sheet import Sheet


@dataclass(frozen=True)
class Frozen:
    """A stay in the freezer: the day it went in, and the day it came out (None: it is in there)."""

    since: datetime.date
    thawed: datetime.date | None = None


@dataclass(frozen=True)
class PartDay:
    """A part's own day 1 (made here, opened, or prepared elsewhere) and its stay in the freezer, if
    it had one."""

    first: datetime.date
    frozen: Frozen | None = None


@dataclass(frozen=True)
class Asked:
    """What the cook knows of a batch: the day it was first ready to eat, its parts' days by item,
    the earliest day any bought part was opened, its own stay in the freezer, the earliest sell-by
    or use-by a maker put on a part, that none did, and the day it was taken out of the colder of
    two places, or that it is still in there."""

    made: datetime.date
    parts: Mapping[str, PartDay] = field(default_factory=dict)
    opened: datetime.date | None = None
    frozen: Frozen | None = None
    maker_use_by: datetime.date | None = None
    moved: datetime.date | None = None
    no_maker_date: bool = False
    still_colder: bool = False


def makers_date(sheet: Sheet, dates: Dates, asked: Asked) -> list[Refused]:
    """Whether the date its maker put on it is still to be asked for: it ends the days of a pack
    without air if it is sooner (Food Code 3-502.12(B)(4), (E)(3))."""
    if asked.no_maker_date and asked.maker_use_by is not None:
        words = f"{sheet.name}: one option gives a maker's date, the other says there is none."
        return [Refused("label-maker-undated", words, "Leave one of them out.")]
    if not dates.makers_date or asked.no_maker_date or asked.maker_use_by is not None:
        return []
    return [
        Refused(
            "label-maker-undated",
            f"{sheet.name}: which sell-by or use-by date did its maker put on it? The sooner date "
            f"counts.",
            "Write the earliest of all packs. If none has a date, write --no-maker-date.",
            ("--maker-use-by YYYY-MM-DD",),
        )
    ]


def eaten_frozen(sheet: Sheet, asked: Asked) -> list[Refused]:
    """What speaks against a label of food that is eaten frozen: no day on which it was frozen, or
    one on which it was thawed."""
    if not sheet.formula.formula.eaten_frozen:
        return []
    if asked.frozen is None:
        return [
            Refused(
                "label-frozen-missing",
                f"{with_verb(sheet.name, 'is')} eaten frozen: on which day was it frozen?",
                "",
                ("--frozen YYYY-MM-DD",),
            )
        ]
    if asked.frozen.thawed is None:
        return []
    return [
        Refused(
            "label-thawed",
            f"{with_verb(sheet.name, 'is')} eaten frozen. Thawed, it isn't kept.",
            "Throw it away.",
        )
    ]


def before_in_force(
    sheet: Sheet, asked: Asked, parts: Mapping[str, PartDay], in_force: Mapping[str, datetime.date]
) -> list[Refused]:
    """Days on which the formula, or that of a part made ahead, wasn't in force yet: what was made
    then was made by another revision, with limits and days of its own."""
    formula = sheet.formula.formula
    days = [(sheet.name, "made", asked.made, formula.effective)]
    for line in sheet.walk.lines:
        joined = line.joined
        since = in_force.get(joined.formula or "")
        if since is not None and joined.name in parts:
            days.append((joined.name, "day 1", parts[joined.name].first, since))
    return [
        Refused(
            "label-before-in-force",
            f"{name}: {word} on {date(day)}, and its formula is in force from {date(since)}.",
            "Food made earlier follows an earlier revision. Check the day, or label it by that "
            "revision.",
        )
        for name, word, day, since in dict.fromkeys(days)
        if day < since
    ]
