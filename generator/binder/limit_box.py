"""A critical limit as its box on paper: the same words and figures as on the page, and blanks."""

from __future__ import annotations

import datetime
import re
from typing import TypeAlias, assert_never

from generator.binder.sheets import Record, Words, bold, opened
from generator.measures.words import NARROW, duration, plain
from generator.resolve.joined import House
from generator.rules.basics.limit import (
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Lasts,
    Limit,
    NotCovered,
    ShareLimit,
    Stage,
    TimeLimit,
)
from generator.views.code_line import ADVISED, BEFORE_PACKED
from generator.views.limit_view import (
    LimitView,
    clock_figure,
    limit_view,
)

OneFigure: TypeAlias = (
    HeatingLimit | KeepingLimit | DoseLimit | ShareLimit | AcidityLimit | TimeLimit
)
"""The limits whose box holds one figure."""
_ONE_FIGURE = ("cook", "reheat")
"""Hazards whose figure is set largest: what the probe must read while the food is on the heat."""


def limit_block(
    house: House,
    limit: Limit,
    number: str,
    words: Words,
    how: str = "",
    blank: bool = True,
    log: str = "",
) -> Record:
    """A limit's block. ``number`` and ``words`` are the step's, ``how`` what to do; without
    ``blank`` there is nothing to write in, as on a process sheet. ``log`` is where its readings are
    written, if not in the box: a reading is written in one place."""
    blank = blank and not log
    view = limit_view(house, limit)
    note = _note(view)
    block: Record = {
        "form": "limit",
        "covered": view.covered,
        "number": number,
        "words": words,
        "how": how,
        "blank": blank,
        "target": view.target,
        "small": _small(house, limit, view),
        "note": note,
        "check": opened(_written(view.check, log)) if view.check else None,
        "missed": [bold("If missed:"), f" {view.if_missed}"] if view.if_missed else None,
        "write": _where("" if _WRITE.search(view.check) else log, _is_read(limit, blank)),
    }
    match limit:
        case NotCovered():
            ask = "Ask your regulatory authority. This standard can't be approved."
            check = " ".join(w for w in (view.note, ask) if w)
            reported = {"lead": "Not covered", "note": "", "check": check, "fields": []}
            return {**block, "shape": "words", **reported}
        case InWords():
            reads = f"Reads {house.kitchen.temperature}"
            fields = _labels("Start, time", "End, time", reads, "By") if blank else []
            return {**block, "shape": "words", "lead": view.words, "fields": fields}
        case CoolingLimit():
            stages = _stages(house, limit, view)
            return {**block, "shape": "stages", "stages": stages}
        case (
            HeatingLimit()
            | KeepingLimit()
            | DoseLimit()
            | ShareLimit()
            | AcidityLimit()
            | TimeLimit()
        ):
            return {**block, **_one_figure(house, limit, view, note, blank)}
        case _:
            assert_never(limit)


def sold_as(house: House, limit: ShareLimit) -> Record:
    """What food is sold as, on one line: it is calculated, and nobody reads it at the bench."""
    view = limit_view(house, limit)
    small = " ".join(words for words in _small(house, limit, view) if words)
    said = f"{small} {_note(view)}".strip()
    return {"form": "prose", "words": [bold("Sold as:"), f" {said}"], "phase": 0}


_WRITE = re.compile(r"\bWrite ([^.]*)\.$")


def _written(check: str, log: str) -> str:
    """How it is checked, with the log it is written in: "Write it in the cooking log."."""
    if not log:
        return check
    return _WRITE.sub(lambda m: f"Write {m[1]} in the {log[:1].lower()}{log[1:]}.", check)


def _is_read(limit: Limit, blank: bool) -> bool:
    """Whether a reading is written: what food is made of is calculated, and never read."""
    return blank and not isinstance(limit, ShareLimit)


def _where(log: str, blank: bool) -> Words | None:
    """Where a reading is written; None on a sheet nobody writes on."""
    if log:
        return [bold("Write it in:"), f" {log[:1].lower()}{log[1:]}."]
    return [bold("Write it here."), " No log holds it as well."] if blank else None


def _note(view: LimitView) -> str:
    """What is below the figure: how long it is, its note, how a house limit compares with the
    code."""
    stand = f"Then let it stand, covered, {view.stand}." if view.stand and view.hold else ""
    house = f"{view.house}{view.house_rest}"
    return " ".join(words for words in (stand, view.note, house) if words)


def _one_figure(house: House, limit: OneFigure, view: LimitView, note: str, blank: bool) -> Record:
    """The box of a limit of one figure: what is before it, behind it, and room to write."""
    figure = view.figures[0]
    form = "probe" if limit.hazard in _ONE_FIGURE else "stage"
    rest: list[str | dict[str, str]] = [figure.words]
    if isinstance(limit, HeatingLimit | KeepingLimit) and limit.hold_s == 0:
        rest.append(", in one reading")
    stored = isinstance(limit, KeepingLimit) and limit.stored is not None
    return {
        "shape": "one",
        "lead": view.lead,
        "start": view.hold_rest if stored else view.start,
        "figure": {"form": form, "number": figure.number, "unit": figure.unit, "words": rest},
        "hold": _hold(view),
        "blanks": _blanks(house, limit) if blank else None,
        "note": " ".join(w for w in (view.dose, note) if w),
    }


def _hold(view: LimitView) -> Record | None:
    """What is timed behind the figure: its hold, or how long it then waits."""
    if view.hold:
        return {"before": "for", "figure": view.hold, "after": view.hold_rest}
    if view.stand:
        return {"before": "then let it stand, covered,", "figure": view.stand, "after": ""}
    return None


def _stages(house: House, limit: CoolingLimit, view: LimitView) -> list[Record]:
    number, unit = clock_figure(limit, house.kitchen.temperature)
    start: Words = "Clock starts" if number else f"Clock starts when {limit.since}"
    stages: list[Record] = [
        {
            "words": start,
            "number": number,
            "unit": unit,
            "fields": _labels("Start, time", "Probe no."),
        }
    ]
    if limit.begin_s is not None:
        begin: Words = ["Begin within ", bold(duration(limit.begin_s)), " after cooking"]
        fields = _labels("Cooked at", "Begun at")
        stages.insert(0, {"words": begin, "number": "", "unit": "", "fields": fields})
    sign = house.kitchen.temperature
    reported: list[tuple[Words, list[str]]] = [
        (_deadline(stage), ["Deadline", f"Reads {sign}", "At"]) for stage in limit.stages
    ]
    if limit.finish is not None:
        reported.append((BEFORE_PACKED.capitalize(), [f"Reads {sign}", "At"]))
    for figure, (words, labels) in zip(view.figures, reported, strict=True):
        stages.append(
            {
                "words": words,
                "number": figure.number,
                "unit": figure.unit,
                "fields": _labels(*labels),
            }
        )
    return stages


def _deadline(stage: Stage) -> Words:
    """A stage's time with the hours in bold: Within **6 h** of start."""
    after = " of that" if stage.after_stage else " of start"
    return ["Within ", bold(duration(stage.within_s)), after + (ADVISED if stage.advised else "")]


def with_deadlines(block: Record, limit: CoolingLimit, start: datetime.time | None) -> Record:
    """The box of a clock that is planned to start at ``start``, its deadlines worked out; as it is
    where nothing is planned. Times past midnight say so."""
    if start is None:
        return block
    at = datetime.datetime.combine(datetime.date(2000, 1, 1), start)
    given: dict[str, list[str]] = {"Start, time": [f"{start:%H:%M}"], "Deadline": []}
    last = at
    for stage in limit.stages:
        within = datetime.timedelta(seconds=float(stage.within_s))
        last = (last if stage.after_stage else at) + within
        later = (last.date() - at.date()).days
        given["Deadline"].append(f"{last:%H:%M}" + (f" +{later} d" if later else ""))
    stages = []
    for stage in block["stages"]:
        fields = []
        for field in stage["fields"]:
            values = given.get(field["label"], [])
            fields.append({**field, "value": values.pop(0) if values else ""})
        stages.append({**stage, "fields": fields})
    note = "Starts at another time? Cross these times out. Write the start and the deadlines anew."
    return {**block, "stages": stages, "note": f"{note} {block['note']}".strip()}


def _labels(*labels: str) -> list[Record]:
    return [{"label": label, "share": 1} for label in labels]


def _blanks(house: House, limit: OneFigure) -> Record | None:
    """Room for a reading, its time, who took it, and for a second one after a miss."""
    sign, rows = house.kitchen.temperature, 3 if limit.hazard in _ONE_FIGURE else 2
    match limit:
        case DoseLimit() | ShareLimit():
            return None  # written beside the weight, or analysed elsewhere
        case TimeLimit() | KeepingLimit(lasts=Lasts()):
            return _heads(2, ("Start", 2), ("End", 2), ("By", 1))
        case AcidityLimit():
            return _heads(rows, ("Sample", 1), ("pH", 1), ("At", 1), ("By", 1))
        case HeatingLimit() | KeepingLimit(stored=None) if limit.hold_s:
            return _heads(rows, (sign, 4), ("Start", 5), ("End", 5), ("By", 4))
        case HeatingLimit() | KeepingLimit():
            return _heads(rows, ("Piece", 1), (sign, 1), ("At", 1), ("By", 1))
        case _:
            assert_never(limit)


def _heads(rows: int, *heads: tuple[str, int]) -> Record:
    return {"rows": rows, "heads": [{"words": w, "share": s} for w, s in heads]}


def _small(house: House, limit: Limit, view: LimitView) -> list[str]:
    """The foot of the box: target and limit on this probe; the code's own figure and clause."""
    if isinstance(limit, NotCovered):
        return []
    left: list[str] = []
    if view.target:
        left.append(f"Target {view.target}.")
    unit = house.kitchen.temperature
    off = f"±{plain(house.probe.accuracy.in_unit(unit))}{NARROW}{unit}"
    match limit:
        case CoolingLimit():
            left.append(f"The probe's {off} is in the figures.")
        case HeatingLimit() | KeepingLimit(lasts=None):
            reads = f"{plain(limit.figure.read_at(unit))}{NARROW}{unit}"
            left.append(f"Limit on this probe ({off}) {reads}.")
        case KeepingLimit() | DoseLimit() | ShareLimit() | AcidityLimit() | TimeLimit() | InWords():
            pass  # no temperature is its largest figure
        case _:
            assert_never(limit)
    code = f"{view.code}{view.code_rest}".strip()
    right = f"{view.label} {code}. " if code else ""
    clause = ", ".join(w for w in (view.document, view.clause) if w)
    return [" ".join(left), f"{right}{clause}."]
