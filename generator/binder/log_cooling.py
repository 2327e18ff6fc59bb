"""Cooling logs: the clock of the limit, with its deadlines printed to fill in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from fractions import Fraction

from generator.binder.log_forms import (
    AT,
    BY,
    CHECK,
    DAY,
    FOOD,
    MISSED,
    READS,
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
from generator.measures.temperature import SIGN, Degree
from generator.measures.words import NARROW, duration, listed, plain
from generator.rules.basics.limit import CoolingLimit, Limit, Stage
from generator.sheet.manual import Manual
from generator.views.code_line import ADVISED
from generator.views.limit_view import clock_words


def cooling_logs(manual: Manual, station: str, watched: Sequence[Watched]) -> list[Record]:
    """A cooling log for each clock of the station's foods: its deadlines are printed to fill in."""
    house = manual.house
    assert house is not None
    clocks: dict[tuple[object, ...], list[Watched]] = {}
    for one in watched:
        clocks.setdefault(
            (
                *_clock(one.limit, house.kitchen.temperature),
                one.view.words,
                one.limit.step == "put-away",
            ),
            [],
        ).append(one)
    found: list[Record] = []
    for (clock, _, words, came_in), group in clocks.items():
        kind = "log-cool" if clock else ("log-cool-by-eye" if words else "log-cool-made-cold")
        if came_in:
            kind = "log-cool-received"
        found.append(_cooling_log(manual, station, kind, group, str(clock)))
    return found


def _clock(limit: Limit, unit: Degree) -> tuple[str, object]:
    """When its clock starts, in words, and what makes two clocks the same: no clock for a rule in
    words."""
    if not isinstance(limit, CoolingLimit):
        return "", ()
    stages = tuple((s.within_s, s.after_stage, s.advised) for s in limit.stages)
    return clock_words(limit, unit), (stages, limit.begin_s, limit.finish is None)


def _cooling_log(
    manual: Manual, station: str, kind: str, group: Sequence[Watched], clock: str
) -> Record:
    house = manual.house
    assert house is not None
    words = house.library.hazards["cool"]
    limit = group[0].limit
    came_in = limit.step == "put-away"
    if came_in:  # it is raw or sold ready: nothing of it is heated again
        told = {
            "check": group[0].view.check,
            "if_missed": group[0].view.if_missed,
            "if_missed_stage": "",
            "how_often": "Every delivery",
        }
        words = words.model_copy(update={**told, "who": "Who takes the delivery"})
    elif len({w.view.if_missed for w in group}) == 1:
        told = {"if_missed": group[0].view.if_missed, "if_missed_stage": ""}
        words = words.model_copy(update=told)
    sign = SIGN[house.kitchen.temperature]
    foods = listed(tuple(dict.fromkeys(w.food for w in group)))
    if not isinstance(limit, CoolingLimit):
        columns = [
            DAY,
            FOOD,
            column("Start, time", 20, "start"),
            READS,
            AT,
            MISSED,
            BY,
            CHECK,
        ]
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
        block = log_block(
            figures=[],
            start="",
            small=["", ""],
            how=[
                [bold("Limit: "), group[0].view.words],
                [bold("For: "), foods],
                *monitoring(words),
            ],
            fields=head_fields(house),
            columns=in_unit(house, columns),
            example=[example],
        )
        return log_sheet(manual, station, kind, "Cooling log", words.guards.rstrip("."), [block])
    # the strictest figure of all foods at each deadline: one line to fill in serves them all
    least = [
        min((w.view.figures[i] for w in group), key=lambda f: Fraction(f.number.replace(",", ".")))
        for i in range(len(group[0].view.figures))
    ]
    last = least.pop() if limit.finish is not None else None
    deadlines = [
        f"+{NARROW}{duration(s.within_s)}" + (" more" if s.after_stage else "")
        for s in limit.stages
    ]
    figures: list[Record] = [
        {
            "words": ["Within ", bold(duration(stage.within_s)), _counted(stage)],
            "number": figure.number,
            "unit": figure.unit,
            "after": "or colder",
        }
        for stage, figure in zip(limit.stages, least, strict=True)
    ]
    start: Words = (
        ["Clock starts when the food falls to ", bold(clock)]
        if clock
        else f"Clock starts when {limit.since}"
    )
    if last is not None:
        before = {
            "words": "Before it is packed",
            "number": last.number,
            "unit": last.unit,
            "after": "or colder",
        }
        figures.append(before)
    if limit.begin_s is not None:
        start = [f"Begin chilling within {duration(limit.begin_s)} after cooking. ", *start]
    lines = len(limit.stages)
    fixed = ["begun"] if limit.begin_s is not None else []
    fixed += [*deadlines, *(["packing"] if last is not None else [])]
    columns = [
        column("Food, batch no., vessel", None, "food", "If missed: what you did"),
        column(
            f"Start, at {clock}" if clock else "Came in at" if came_in else "Start, made at",
            24,
            "start",
            "Probe no.",
        ),
        {**column("", 17, "plus"), "fixed": fixed},
        column("Deadline", 20, "deadline"),
        column(f"Reads {sign}", 19, "reads"),
        column("At, time", 19, "at"),
        column("By", 14, "by"),
        {**column("Check", 15, "check"), "once": True},
    ]
    how: list[Words] = [
        [
            bold("Write "),
            *(["by when to begin and when you began, "] if limit.begin_s is not None else []),
            f"the start, then {'both deadlines' if lines == 2 else 'the deadline'}: "
            f"{listed(deadlines)}",
            *(["; last the reading before it is packed"] if last is not None else []),
            ".",
        ],
        [bold("For: "), foods],
        *monitoring(words),
    ]
    block = log_block(
        figures=figures,
        start=start,
        small=small_print(group[0].view),
        how=how,
        fields=head_fields(house),
        columns=columns,
        example=_cooling_example(
            limit,
            [Fraction(f.number.replace(",", ".")) for f in (*least, *([last] if last else []))],
        ),
        lines=len(fixed),
    )
    title = "Cooling log, deliveries" if came_in else "Cooling log"
    return log_sheet(manual, station, kind, title, words.guards.rstrip("."), [block])


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
