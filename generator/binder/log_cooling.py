"""Cooling logs: the clock of the limit, with its deadlines printed to fill in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.binder.log_forms import (
    AT,
    BY,
    CHECK,
    DAY,
    FOOD,
    MISSED,
    READS,
    Column,
    Watched,
    column,
    head_fields,
    in_unit,
    log_block,
    log_sheet,
    monitoring,
    small_print,
)
from generator.binder.sheets import Record, Words, bold
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, duration, listed, plain
from generator.reference.rows import HazardWords
from generator.resolve.joined import House
from generator.rules.basics.limit import CoolingLimit, Limit, Stage
from generator.sheet.manual import Manual
from generator.views.code_line import ADVISED
from generator.views.limit_view import FigureView, clock_words


@dataclass(frozen=True)
class CoolingGroup:
    """The foods of one cooling clock: the kind and the title of their log, and its clock in words,
    empty where none starts at a figure."""

    kind: str
    title: str
    clock: str
    foods: tuple[Watched, ...]


def cooling_groups(
    house: House, watched: Sequence[Watched]
) -> dict[tuple[object, ...], CoolingGroup]:
    """The cooling clocks of a station's foods, each with a log, an id and a title of its own."""
    clocks: dict[tuple[object, ...], list[Watched]] = {}
    for one in watched:
        clocks.setdefault(cooling_key(house, one), []).append(one)
    found: dict[tuple[object, ...], CoolingGroup] = {}
    given: dict[str, int] = {}
    for key, group in clocks.items():
        clock, _, words, came_in = key
        kind = "log-cool" if clock else ("log-cool-by-eye" if words else "log-cool-made-cold")
        if came_in:
            kind = "log-cool-received"
        given[kind] = given.get(kind, 0) + 1
        again = given[kind]
        title = _TITLES[kind] + (f", clock {again}" if again > 1 else "")
        kind += f"-{again}" if again > 1 else ""
        found[key] = CoolingGroup(kind, title, str(clock), tuple(group))
    return found


_TITLES = {
    "log-cool": "Cooling log",
    "log-cool-made-cold": "Cooling log, food made cold",
    "log-cool-by-eye": "Cooling log, no figure in the law",
    "log-cool-received": "Cooling log, deliveries",
}


def cooling_key(house: House, one: Watched) -> tuple[object, ...]:
    """What makes two cooling clocks the same."""
    clock = _clock(one.limit, house.kitchen.temperature)
    return (*clock, one.view.words, one.limit.step == "put-away")


def cooling_logs(manual: Manual, station: str, watched: Sequence[Watched]) -> list[Record]:
    """A cooling log for each clock of the station's foods: its deadlines are printed to fill in."""
    return [
        _cooling_log(manual, station, group)
        for group in cooling_groups(manual.house, watched).values()
    ]


def _clock(limit: Limit, unit: Degree) -> tuple[str, object]:
    """When its clock starts, in words, and what makes two clocks the same: no clock for a rule in
    words."""
    if not isinstance(limit, CoolingLimit):
        return "", ()
    stages = tuple((s.within_s, s.after_stage, s.advised) for s in limit.stages)
    return clock_words(limit, unit), (stages, limit.begin_s, limit.finish is None)


def _cooling_log(manual: Manual, station: str, group: CoolingGroup) -> Record:
    """The log of one clock."""
    house = manual.house
    words = _of_one_deadline(_monitored(house, group.foods), group.foods[0].limit)
    limit = group.foods[0].limit
    if not isinstance(limit, CoolingLimit):
        block = _block_in_words(house, group.foods, words)
    else:
        block = _block_of_a_clock(house, group.foods, limit, group.clock, words)
    subtitle = "Delivered warm, then chilled" if _came_in(limit) else "Food that is chilled to keep"
    return log_sheet(manual, station, group.kind, group.title, subtitle, [block])


def _of_one_deadline(words: HazardWords, limit: Limit) -> HazardWords:
    """The words of the log where its clock has one deadline, or none: they speak of one."""
    if isinstance(limit, CoolingLimit) and len(limit.stages) > 1:
        return words
    spoken = {"each deadline": "the deadline", "both readings": "the reading"}
    changed = {}
    for key in ("what", "check", "how_often"):
        text = str(getattr(words, key))
        for many, one in spoken.items():
            text = text.replace(many, one)
        changed[key] = text
    return words.model_copy(update=changed)


def _came_in(limit: Limit) -> bool:
    """Whether it cools what was delivered."""
    return limit.step == "put-away"


def _monitored(house: House, group: Sequence[Watched]) -> HazardWords:
    """How the group's limit is kept; what to do if it is missed as its foods say."""
    words = house.library.hazards["cool"]
    first = group[0]
    if _came_in(first.limit):  # it is raw or sold ready: nothing of it is heated again
        reported = {
            "check": first.view.check,
            "if_missed": first.view.if_missed,
            "if_missed_stage": "",
            "how_often": "Every delivery",
        }
        return words.model_copy(update={**reported, "who": "Who takes the delivery"})
    if len({w.view.if_missed for w in group}) == 1:
        reported = {"if_missed": first.view.if_missed, "if_missed_stage": ""}
        return words.model_copy(update=reported)
    return words


def _block_in_words(house: House, group: Sequence[Watched], words: HazardWords) -> Record:
    """The log of a limit without figures: the start and what was seen."""
    columns = [DAY, FOOD, column("Start, time", 20, "start"), READS, AT, MISSED, BY, CHECK]
    example = {
        "date": "25 Nov",
        "food": "Soup, 261125-1",
        "start": "14:10",
        "reads": "",
        "at": "16:05",
        "missed": "none",
        "by": "MK",
        "check": "HO",
    }
    return log_block(
        figures=[],
        start="",
        small=["", ""],
        how=[[bold("Limit: "), group[0].view.words], *monitoring(house, words)],
        fields=head_fields(house),
        foods=[w.food for w in group],
        columns=in_unit(house, columns),
        example=[example],
    )


def _block_of_a_clock(
    house: House, group: Sequence[Watched], limit: CoolingLimit, clock: str, words: HazardWords
) -> Record:
    """The log of a clock: a line to fill in for each deadline, the beginning and the packing."""
    least = _least(group)
    deadlines = [
        f"+{NARROW}{duration(s.within_s)}" + (" more" if s.after_stage else "")
        for s in limit.stages
    ]
    fixed = ["begun"] if limit.begin_s is not None else []
    fixed += deadlines
    if limit.finish is not None:
        fixed.append("packing")
    return log_block(
        figures=_figures(limit, least),
        start=_start(limit, clock),
        small=small_print(group[0].view),
        how=[_to_write(limit, deadlines), *monitoring(house, words)],
        fields=head_fields(house),
        foods=[w.food for w in group],
        columns=_columns(limit, clock, house.kitchen.temperature, fixed),
        example=_cooling_example(limit, [f.value for f in least]),
        lines=len(fixed),
    )


def _least(group: Sequence[Watched]) -> list[FigureView]:
    """The strictest figure of all foods at each deadline, then before packing: one line to fill in
    serves them all."""
    at_each = zip(*(w.view.figures for w in group), strict=False)
    return [min(alike, key=lambda figure: figure.value) for alike in at_each]


def _figures(limit: CoolingLimit, least: Sequence[FigureView]) -> list[Record]:
    """The large figures: each stage's, then the one before packing."""
    words: list[Words] = [
        ["Within ", bold(duration(stage.within_s)), _counted(stage)] for stage in limit.stages
    ]
    if limit.finish is not None:
        words.append("Before it is packed")
    return [
        {"words": reported, "number": figure.number, "unit": figure.unit, "after": "or colder"}
        for reported, figure in zip(words, least, strict=True)
    ]


def _start(limit: CoolingLimit, clock: str) -> Words:
    """When the clock starts, and by when chilling begins."""
    start: Words = f"Clock starts when {limit.since}"
    if clock:
        start = ["Clock starts when the food falls to ", bold(clock)]
    if limit.begin_s is not None:
        start = [f"Begin chilling within {duration(limit.begin_s)} after cooking. ", *start]
    return start


def _columns(limit: CoolingLimit, clock: str, sign: str, fixed: Sequence[str]) -> list[Column]:
    """The columns of a clock's log; ``fixed`` is before the lines of an entry."""
    start = "Came in at" if _came_in(limit) else "Start, made at"
    if clock:
        start = f"Start, at {clock}"
    if len(fixed) == 1:  # all of it on one line
        return [
            column("Food, batch no.,", None, "food", "vessel"),
            column(start, 20, "start"),
            {**column("", 15, "plus"), "fixed": fixed},
            column("Deadline", 17, "deadline"),
            column(f"Reads {sign}", 17, "reads"),
            column("At, time", 16, "at"),
            column("If missed:", 24, "missed", "what you did"),
            column("Probe", 12, "probe", "no."),
            column("By", 13, "by"),
            column("Check", 13, "check"),
        ]
    return [
        column("Food, batch no., vessel", None, "food", "If missed: what you did"),
        column(start, 24, "start", "Probe no."),
        {**column("", 17, "plus"), "fixed": fixed},
        column("Deadline", 20, "deadline"),
        column(f"Reads {sign}", 19, "reads"),
        column("At, time", 19, "at"),
        column("By", 14, "by"),
        {**column("Check", 15, "check"), "once": True},
    ]


def _to_write(limit: CoolingLimit, deadlines: list[str]) -> Words:
    """What an entry takes down, in the order of its lines."""
    words: list[str | dict[str, str]] = [bold("Write ")]
    if limit.begin_s is not None:
        words.append("by when to begin and when you began, ")
    which = "both deadlines" if len(deadlines) == 2 else "the deadline"
    words.append(f"the start, then {which}: {listed(deadlines)}")
    if limit.finish is not None:
        words.append(", and last the reading before it is packed")
    words.append(".")
    return words


def _counted(stage: Stage) -> str:
    """What a stage's time is counted from, and whether it is a limit."""
    return (" more" if stage.after_stage else " of the start") + (ADVISED if stage.advised else "")


def _cooling_example(limit: CoolingLimit, figures: Sequence[Fraction]) -> list[dict[str, str]]:
    """An entry whose deadlines are worked out from the limit: start at 14:10. ``figures`` are those
    of its stages, then the one before packing if there is one."""
    start = datetime.datetime(2026, 11, 25, 14, 10)
    lines: list[tuple[str, str, str]] = []
    if limit.begin_s is not None:
        begin = (
            start
            - datetime.timedelta(minutes=80)
            + datetime.timedelta(seconds=float(limit.begin_s))
        )
        lines.append((f"{begin:%H:%M}", "", "13:05"))
    last = start
    food = "Milk, lot 4471" if limit.step == "put-away" else "Stock, 261125-2, 4 l"
    for stage, figure in zip(limit.stages, figures, strict=False):
        last = (last if stage.after_stage else start) + datetime.timedelta(
            seconds=float(stage.within_s)
        )
        at = last - datetime.timedelta(minutes=25)
        lines.append((f"{last:%H:%M}", plain(figure - Fraction(3, 5), 1), f"{at:%H:%M}"))
    if limit.finish is not None:
        packed = last + datetime.timedelta(hours=2)
        lines.append(("", plain(figures[-1] - Fraction(3, 5), 1), f"{packed:%H:%M}"))
    if len(lines) == 1:
        ((by_when, reads, when),) = lines
        only = {"food": food, "start": "14:10", "deadline": by_when, "reads": reads, "at": when}
        return [{**only, "missed": "none", "probe": "P2", "by": "MK", "check": "HO"}]
    return [
        {
            "food": (food, "none", "", "")[index],
            "start": ("14:10", "P2", "", "")[index],
            "deadline": deadline,
            "reads": reads,
            "at": at,
            "by": "MK",
            "check": "HO" if index == 0 else "",
        }
        for index, (deadline, reads, at) in enumerate(lines)
    ]
