"""Date labels: the last day of one batch, from the day it was made and the days of its parts.

Pure: the sheet and days in, a date mark or every reason against it out. No clock: ``today`` comes
in.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.words import breakable, counted, date, listed, with_verb
from generator.reference.row_kinds import DateRow
from generator.resolve.joined import House
from generator.rules.basics.context import DatedPart, Dates, DayOne, cited
from generator.sheet.label_questions import Asked as Asked
from generator.sheet.label_questions import Frozen as Frozen
from generator.sheet.label_questions import PartDay as PartDay
from generator.sheet.label_questions import before_in_force, eaten_frozen, makers_date
from generator.sheet.sheet import Sheet
from generator.sheet.taken_out import last_day_out, problem, still_colder

_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class DateMark:
    """What a label says of days.

    ``day_one`` is the day the count starts, ``governed_by`` the part it comes from ("" for the food
    itself). ``use_by`` is None while it is frozen: ``left`` days then follow the thawing, the day
    of thawing being the first, and ``thaw_by`` is the chef's last day in the freezer, if there is
    one. ``days`` is how many it may keep, ``used`` how many were used when it went into the
    freezer; ``moved`` is the day it was taken out of the colder of two places, from which fewer
    days count: ``then_days``, where it is still in there and ``use_by`` is its last day in it.
    """

    kind: str
    made: datetime.date
    day_one: datetime.date
    governed_by: str
    days: int
    use_by: datetime.date | None
    frozen: Frozen | None
    used: int
    left: int
    thaw_by: datetime.date | None
    basis: Basis
    moved: datetime.date | None = None
    then_days: int | None = None


class NoDate(ValueError):
    """There is no date; ``reasons`` holds every reason, each with its fix."""

    def __init__(self, reasons: tuple[Refused, ...]) -> None:
        super().__init__("; ".join(r.message for r in reasons))
        self.reasons = reasons


def days_until(first: datetime.date, day: datetime.date, stays: tuple[Frozen, ...]) -> int:
    """How many days count from ``first`` to ``day``, both counted.

    A day counts unless the food was frozen all of it: the day it goes in and the day it comes out
    count, the days between don't (Food Code 3-501.18(A)(1), "except time that the product is
    frozen"; a day begun is a day counted, the strict side).
    """
    total = (day - first).days + 1
    return total - sum(_pause(stay, first, day) for stay in stays)


def _pause(stay: Frozen, first: datetime.date, day: datetime.date) -> int:
    """The days wholly in the freezer, of those from ``first`` to ``day``."""
    start = max(stay.since + _DAY, first)
    end = min(stay.thawed - _DAY, day) if stay.thawed is not None else day
    return max(0, (end - start).days + 1)


def last_day(first: datetime.date, days: int, stays: tuple[Frozen, ...]) -> datetime.date:
    """The day on which the count from ``first`` (day 1) reaches ``days``. ``stays`` have ended."""
    day = first + (days - 1) * _DAY
    while days_until(first, day, stays) < days:
        day += (days - days_until(first, day, stays)) * _DAY
    return day


def date_mark(
    sheet: Sheet,
    asked: Asked,
    today: datetime.date,
    in_force: Mapping[str, datetime.date] | None = None,
) -> DateMark:
    """The date mark of a batch of ``sheet``, as known on ``today``. ``in_force`` holds the days
    from which the formulas made ahead for it are in force, by id.

    It keeps as many days from the day it was made as the chef says, the law's at most, and no
    longer than the mark of any part of it (3-501.17(C)): the day that is over first is the last.
    Raises NoDate with every reason why there is none.
    """
    dates = sheet.walk.dates
    days = _days(sheet, dates)
    assert dates is not None
    parts, reasons = _parts(sheet, dates, asked)
    reasons += _order(asked, parts, today)
    reasons += before_in_force(sheet, asked, parts, in_force or {})
    reasons += _freezing(sheet, dates, asked)
    reasons += makers_date(sheet, dates, asked)
    reasons += eaten_frozen(sheet, asked)
    reasons += _two_places(sheet, dates, asked, today)
    if reasons:
        raise NoDate(tuple(reasons))
    own = _stay(asked.frozen)
    stays = {name: (*_stay(p.frozen), *own) for name, p in parts.items()}
    firsts = {name: p.first for name, p in parts.items()}
    firsts[""], stays[""] = asked.made, own
    counts = {name: days_with(dates, days, name) for name in firsts}
    if asked.frozen is not None and asked.frozen.thawed is None:
        return _in_the_freezer(sheet, dates, asked, counts, firsts, stays, today)
    lasts = {name: last_day(first, counts[name], stays[name]) for name, first in firsts.items()}
    by = min(lasts, key=lambda name: (lasts[name], name))  # its own day before a part's, if alike
    days = counts[by]
    use_by = _use_by(sheet, dates, asked, by, lasts[by], today)
    used = days_until(firsts[by], asked.frozen.since, stays[by]) if asked.frozen else 0
    return DateMark(
        dates.kind,
        asked.made,
        firsts[by],
        by,
        days,
        use_by,
        asked.frozen,
        used,
        days - used,
        None,
        _basis(sheet, dates, asked, parts, by, days),
        asked.moved,
        dates.moved_days if asked.still_colder else None,
    )


def _two_places(sheet: Sheet, dates: Dates, asked: Asked, today: datetime.date) -> list[Refused]:
    """What is wrong with the day it was taken out of the colder place, or with its being there."""
    frozen = asked.frozen is not None
    if asked.still_colder:
        return still_colder(sheet.name, dates, asked.moved, frozen)
    return problem(sheet.name, dates, asked.moved, asked.made, frozen, today)


def _stay(frozen: Frozen | None) -> tuple[Frozen, ...]:
    return (frozen,) if frozen is not None else ()


def days_with(dates: Dates, days: int, name: str) -> int:
    """How many days count from the day of a part, or of the food itself (``name`` ""): each has its
    own mark. The food's own figure counts from its own day alone; a part made ahead has the days of
    its formula, a bought one those of the law (3-501.17(B), (C)), and where that has none, or they
    count from a packing, the food's. ``days`` are the food's where no part keeps it shorter."""
    own = dates.alone or days
    part = next((p for p in dates.dated_parts if p.name == name), None)
    if part is None:
        return own
    if part.days is not None:
        return part.days
    if dates.law_day is None or dates.day_one != "made":
        return own
    return min(dates.law_day, dates.house_day or dates.law_day)


def _use_by(
    sheet: Sheet, dates: Dates, asked: Asked, by: str, last: datetime.date, today: datetime.date
) -> datetime.date:
    """The last day of all: that of the count, ``last``, of the days out of the colder place, and
    the maker's. Raises NoDate for one that is past."""
    if asked.moved is not None and dates.moved_days is not None:
        if asked.moved > last:
            raise NoDate((_past(sheet, by, last, asked),))
        last = min(last, last_day_out(asked.moved, dates.moved_days))
    if asked.maker_use_by is not None:
        last = min(last, asked.maker_use_by)
    if last < today:
        raise NoDate((_past(sheet, by, last, asked),))
    return last


def _days(sheet: Sheet, dates: Dates | None) -> int:
    """How many days it may keep. Raises NoDate for what isn't kept, or has no figure."""
    if dates is not None and dates.day is not None:
        return dates.day
    if dates is None or dates.kind in ("hot", "by-time") or sheet.walk.undercooked:
        words = dates.words if dates is not None else "How long it keeps isn't known."
        help = "A label is for food that is kept: write `keeps` in the formula if it is."
        raise NoDate((Refused("label-not-kept", f"{sheet.name}: {words}", help),))
    key = "dry" if dates.kind == "dry" else "cold"
    frozen = dates.frozen_days
    beside = breakable(f", frozen: {counted(frozen, 'day')}") if frozen else ""
    help = "Write the days you can answer for in the formula"
    help += ": those in the cold once it is thawed, too." if frozen else "."
    raise NoDate(
        (
            Refused(
                "label-no-figure",
                f"{sheet.name}: its formula doesn't say how long it keeps.",
                help,
                (f"keeps: {{{key}: 3 days{beside}}}",),
            ),
        )
    )


def _parts(sheet: Sheet, dates: Dates, asked: Asked) -> tuple[dict[str, PartDay], list[Refused]]:
    """Each dated part's day by its name, and what is missing or not asked for."""
    found: dict[str, PartDay] = {}
    known = {part.item: part for part in dates.dated_parts}
    reasons = [_unknown_part(sheet, item, known) for item in asked.parts if item not in known]
    bought = False
    for item, part in known.items():
        day = asked.parts.get(item)
        if part.how == "opened":
            bought = True
            if day is None and asked.opened is not None:
                day = PartDay(asked.opened)
        if day is None:
            reasons.append(_undated(part))
        else:
            found[part.name] = day
    if asked.opened is not None and not bought:
        reasons.append(
            Refused(
                "label-part-unknown",
                f"{with_verb(sheet.name, 'has')} no bought part whose opening counts.",
                "Leave --opened out.",
            )
        )
    return found, reasons


def _unknown_part(sheet: Sheet, item: str, known: Mapping[str, DatedPart]) -> Refused:
    """A day for what is no part, or has no day of its own."""
    help = "It has no part with a day of its own."
    if known:
        help = f"Asked for: {', '.join(known)}."
    return Refused(
        "label-part-unknown", f"{item}: no part of {with_verb(sheet.name, 'has')} such a day.", help
    )


_ASKED: dict[DayOne, tuple[str, str]] = {
    "made": ("was it made", "Its own label says day 1."),
    "opened": ("was it opened", "Or write --opened DATE for the earliest of all."),
    "prepared": (
        "was it prepared, by its seller or here",
        "If a plant made and packed it, write `commercially_packed: yes` in its ingredient. Then "
        "the day it was opened counts.",
    ),
}


def _undated(part: DatedPart) -> Refused:
    question, more = _ASKED[part.how]
    return Refused(
        "label-part-undated",
        f"{part.name}: on which day {question}? The earliest day counts.",
        more,
        (f"--parts-dated {part.item}=YYYY-MM-DD",),
    )


def _order(asked: Asked, parts: Mapping[str, PartDay], today: datetime.date) -> list[Refused]:
    """Days that haven't come yet, and days that can't follow each other."""
    reasons: list[Refused] = []
    spans = [
        ("This batch", asked.made, asked.frozen),
        *((n, p.first, p.frozen) for n, p in parts.items()),
    ]
    for name, first, stay in spans:
        days = [(first, "day 1"), *_days_of(stay)]
        for day, word in days:
            if day > today:
                reasons.append(
                    Refused(
                        "label-date-future",
                        f"{name}: {word}, {date(day)}, is in the future.",
                        f"Today is {date(today)}.",
                    )
                )
        for (early, before), (late, after) in pairwise(days):
            if late < early:
                reasons.append(
                    Refused(
                        "label-dates-order",
                        f"{name}: {after}, {date(late)}, is before {before}, {date(early)}.",
                        "Check the days.",
                    )
                )
    for name, part in parts.items():
        for day, word in ((part.first, "day 1"), *_days_of(part.frozen)):
            if asked.made < day <= today:
                reasons.append(
                    Refused(
                        "label-dates-order",
                        f"{name}: {word}, {date(day)}, is after the food was made with it, "
                        f"{date(asked.made)}.",
                        "Check the days.",
                    )
                )
        if part.frozen is not None and part.frozen.thawed is None:
            reasons.append(
                Refused(
                    "label-dates-order",
                    f"{name}: on which day was it thawed?",
                    "Write all three days.",
                    ("ITEM=MADE,FROZEN,THAWED",),
                )
            )
    return reasons


def _days_of(stay: Frozen | None) -> list[tuple[datetime.date, str]]:
    if stay is None:
        return []
    days = [(stay.since, "the day it was frozen")]
    return [*days, (stay.thawed, "the day it was thawed")] if stay.thawed is not None else days


def _freezing(sheet: Sheet, dates: Dates, asked: Asked) -> list[Refused]:
    """Whether freezing may pause the count: by a row of the law, or by the chef's own figure where
    the law sets no days; and never longer than the chef lets it stay there."""
    stays = [asked.frozen, *(p.frozen for p in asked.parts.values())]
    if not any(stays):
        return []
    reasons: list[Refused] = []
    pauses = any(r.frozen == "pauses" for _, r in sheet.house.pack.rows_of(DateRow))
    if dates.law_day is not None and not pauses:
        reasons.append(
            Refused(
                "label-freezing",
                "The rules here don't say that freezing pauses the days.",
                "Ask your regulatory authority.",
            )
        )
    if dates.law_day is None and dates.frozen_days is None:
        reasons.append(
            Refused(
                "label-freezing",
                f"{sheet.name}: its formula doesn't say how long it keeps frozen.",
                "Write the figure you can answer for.",
                ("keeps: {cold: 3 days, frozen: 60 days}",),
            )
        )
    own, most = asked.frozen, dates.frozen_days
    if own is not None and own.thawed is not None and most is not None:
        stayed = (own.thawed - own.since).days
        if stayed > most:
            reasons.append(
                Refused(
                    "label-freezing",
                    f"{with_verb(sheet.name, 'was')} in the freezer {counted(stayed, 'day')}; "
                    "the chef's "
                    f"figure is {most}.",
                    "Ask the chef before you use it.",
                )
            )
    return reasons


def _past(sheet: Sheet, by: str, use_by: datetime.date, asked: Asked) -> Refused:
    whose = f"its days count from day 1 of {by} in it, so it" if by else "it"
    if asked.maker_use_by == use_by:
        whose = "a part in it, by its maker,"
    return Refused(
        "label-past",
        f"{sheet.name}: {whose} had to be used by {date(use_by)}.",
        "Don't label it. Throw it away, and write down what you did.",
    )


def _in_the_freezer(
    sheet: Sheet,
    dates: Dates,
    asked: Asked,
    counts: Mapping[str, int],
    firsts: dict[str, datetime.date],
    stays: dict[str, tuple[Frozen, ...]],
    today: datetime.date,
) -> DateMark:
    """The mark of food that goes into the freezer: what is left once it is thawed."""
    stay = asked.frozen
    assert stay is not None
    used = {name: days_until(first, stay.since, stays[name]) for name, first in firsts.items()}
    by = min(sorted(used), key=lambda name: counts[name] - used[name])
    days = counts[by]
    left = days - used[by]
    if left < 1:
        words = (
            f"{with_verb(sheet.name, 'was')} frozen on day {used[by]} of {days}: no day is left "
            "once it "
            "is thawed."
        )
        help = "Freeze it earlier. Throw this batch away once it is thawed."
        raise NoDate((Refused("label-past", words, help),))
    thaw_by = stay.since + dates.frozen_days * _DAY if dates.frozen_days is not None else None
    if asked.maker_use_by is not None:
        thaw_by = min(asked.maker_use_by, thaw_by) if thaw_by else asked.maker_use_by
    if thaw_by is not None and thaw_by < today:
        raise NoDate(
            (
                Refused(
                    "label-past",
                    f"{sheet.name} had to be {_due(sheet)} by {date(thaw_by)}.",
                    "Ask the chef before you use it.",
                ),
            )
        )
    parts = {n: PartDay(f) for n, f in firsts.items() if n}
    return DateMark(
        dates.kind,
        asked.made,
        firsts[by],
        by,
        days,
        None,
        stay,
        used[by],
        left,
        thaw_by,
        _basis(sheet, dates, asked, parts, by, days),
    )


def _due(sheet: Sheet) -> str:
    return "eaten" if sheet.formula.formula.eaten_frozen else "thawed"


def _basis(
    sheet: Sheet, dates: Dates, asked: Asked, parts: Mapping[str, PartDay], by: str, days: int
) -> Basis:
    """From what a date mark follows: the days asked for, the bounds on how long it keeps, the
    rule."""
    inputs = [("Made", date(asked.made))]
    inputs += [(name, f"day 1 on {date(part.first)}") for name, part in parts.items()]
    inputs += _bounds(dates, asked)
    stays = [("Freezer", asked.frozen), *((name, part.frozen) for name, part in parts.items())]
    inputs += [(name, _frozen_words(stay)) for name, stay in stays if stay is not None]
    rule = f"day 1 is the day of {by or 'the food itself'}; day {days} is the last"
    if asked.moved is not None and dates.moved_days is not None:
        rule += (
            f", and at most {counted(dates.moved_days, 'day')} from the day it was taken out, "
            f"that day counted"
        )
    if any(stay is not None for _, stay in stays):
        rule += _pause_words(sheet.house)
    return Basis(tuple(inputs), rule, dates.source.words if dates.source else "")


def _bounds(dates: Dates, asked: Asked) -> Iterator[tuple[str, str]]:
    """Whose figures bound how long it keeps: the code's, the house's, the chef's, the maker's."""
    if dates.law_day is not None:
        yield "Code", f"day {dates.law_day} at most"
    if dates.unmarked:
        yield "Mark", "kept so short, the code asks for none"
    if dates.house is not None:
        yield "House", dates.house.compared
    if dates.chef_day is not None:
        yield "Chef", counted(dates.chef_day, "day")
    if asked.moved is not None:
        yield "Taken out", date(asked.moved)
    if asked.maker_use_by is not None:
        yield "Maker of a part", f"use by {date(asked.maker_use_by)}"
    elif dates.makers_date:
        yield "Maker of a part", "no pack has a date"


def _frozen_words(stay: Frozen) -> str:
    words = [f"frozen {date(stay.since)}"]
    if stay.thawed is not None:
        words.append(f"thawed {date(stay.thawed)}")
    return listed(words)


def _pause_words(house: House) -> str:
    """That days in the freezer don't count, and where the pack in force says so."""
    row = next((r for _, r in house.pack.rows_of(DateRow) if r.frozen == "pauses"), None)
    clause = f" ({cited(house, row)})" if row is not None else ""
    return f"; days wholly in the freezer don't count{clause}"
