"""A critical limit as its box on paper: the same words and figures as on the page, and blanks."""

from __future__ import annotations

from generator.binder.sheets import Record, Words, bold, opened
from generator.measures.temperature import SIGN
from generator.measures.words import NARROW, duration, plain
from generator.resolve.joined import House
from generator.rules.basics.limit import Limit
from generator.views.limit_view import (
    ADVISED,
    BEFORE_PACKED,
    LimitView,
    clock_words,
    limit_view,
)

_ONE_FIGURE = ("cook", "reheat")
"""Hazards whose figure is set largest: what the probe must read while the food is on the heat."""


def limit_block(
    house: House, limit: Limit, number: str, words: Words, how: str = "", blank: bool = True
) -> Record:
    """A limit's block. ``number`` and ``words`` are the step's, ``how`` what to do; without ``blank``
    there is nothing to write in, as on a process sheet."""
    view = limit_view(house, limit)
    house_words = f"{view.house}{view.house_rest}"
    stand = f"Then let it stand, covered, {view.stand}." if view.stand and view.hold else ""
    note = " ".join(w for w in (stand, view.note, house_words) if w)
    block: Record = {
        "form": "limit",
        "covered": view.covered,
        "number": number,
        "words": words,
        "how": how,
        "blank": blank,
        "small": _small(house, limit, view),
        "note": note,
        "check": opened(view.check) if view.check else None,
        "missed": [bold("If missed:"), f" {view.if_missed}"] if view.if_missed else None,
    }
    if not view.covered:
        ask = "Ask your regulatory authority. This standard can’t be approved."
        told = " ".join(w for w in (view.note, ask) if w)
        return {
            **block,
            "shape": "words",
            "lead": "Not covered",
            "note": "",
            "check": told,
            "fields": [],
        }
    if view.words:
        reads = f"Reads {SIGN[house.kitchen.temperature]}"
        fields = _labels("Start, time", "End, time", reads, "By") if blank else []
        return {**block, "shape": "words", "lead": view.words, "fields": fields}
    if limit.stages:
        return {**block, "shape": "stages", "stages": _stages(house, limit, view, blank)}
    figure = view.figures[0]
    form = "probe" if limit.hazard in _ONE_FIGURE else "stage"
    rest: list[str | dict[str, str]] = [figure.words]
    if limit.hold_s == 0:
        rest.append(", in one reading")
    start = view.hold_rest if limit.stored is not None else view.start
    return {
        **block,
        "shape": "one",
        "lead": _lead(view),
        "start": start,
        "figure": {"form": form, "number": figure.number, "unit": figure.unit, "words": rest},
        "hold": _hold(view),
        "blanks": _blanks(house, limit) if blank else None,
        "note": " ".join(w for w in (view.dose, note) if w),
    }


def _hold(view: LimitView) -> Record | None:
    """What is timed behind the figure: its hold, or how long it then stands."""
    if view.hold:
        return {"before": "for", "figure": view.hold, "after": view.hold_rest}
    if view.stand:
        return {"before": "then let it stand, covered,", "figure": view.stand, "after": ""}
    return None


def _lead(view: LimitView) -> str:
    """What the figure is, as the page's box says it behind the hazard: "Probe must read"."""
    lead = view.head.rpartition(": ")[2]
    return lead[:1].upper() + lead[1:]


def _stages(house: House, limit: Limit, view: LimitView, blank: bool) -> list[Record]:
    clock = clock_words(limit, house.kitchen.temperature)
    start: Words = "Clock starts" if clock else f"Clock starts when {limit.since}"
    number, _, unit = clock.partition(NARROW)
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
    sign = SIGN[house.kitchen.temperature]
    for figure in view.figures:
        told, labels = _deadline(figure.words), ["Deadline", f"Reads {sign}", "At"]
        if figure.words == BEFORE_PACKED:
            told, labels = figure.words.capitalize(), labels[1:]
        stages.append(
            {
                "words": told,
                "number": figure.number,
                "unit": figure.unit,
                "fields": _labels(*labels),
            }
        )
    return stages


def _deadline(words: str) -> Words:
    """A stage's time with the hours in bold: Within **6 h** of start."""
    within, _, rest = words.removesuffix(ADVISED).partition(" ")
    time, of, end = rest.partition(" of ")
    after = f" of {end}" if of else " of start"
    advised = ADVISED if words.endswith(ADVISED) else ""
    return [f"{within.capitalize()} ", bold(time), after + advised]


def _labels(*labels: str) -> list[Record]:
    return [{"label": label, "share": 1} for label in labels]


def _blanks(house: House, limit: Limit) -> Record | None:
    """Room for a reading, its time, who took it, and for a second one after a miss."""
    sign = SIGN[house.kitchen.temperature]
    if limit.is_dose:
        return None  # written beside the weight
    if limit.within_s is not None:
        heads = [("Start", 2), ("End", 2), ("By", 1)]
        return {"rows": 2, "heads": [{"words": w, "share": s} for w, s in heads]}
    first, reads = ("Sample", "pH") if limit.ph is not None else ("Piece", sign)
    heads = [(first, 1), (reads, 1), ("At", 1), ("By", 1)]
    if limit.hold_s and limit.stored is None:
        heads = [(sign, 4), ("Start", 5), ("End", 5), ("By", 4)]
    rows = 3 if limit.hazard in _ONE_FIGURE else 2
    return {"rows": rows, "heads": [{"words": w, "share": s} for w, s in heads]}


def _small(house: House, limit: Limit, view: LimitView) -> list[str]:
    """The foot of the box: target and limit on this probe; the code's own figure and clause."""
    if not view.covered:
        return []
    left: list[str] = []
    if view.target:
        left.append(f"Target {view.target}.")
    unit = house.kitchen.temperature
    accuracy = house.probe.accuracy
    if limit.figure is not None and not limit.stages and limit.within_s is None:
        off = f"±{plain(accuracy.in_unit(unit))}{NARROW}{SIGN[unit]}"
        reads = f"{plain(limit.figure.read_at(unit))}{NARROW}{SIGN[unit]}"
        left.append(f"Limit on this probe ({off}) {reads}.")
    elif limit.stages:
        off = f"±{plain(accuracy.in_unit(unit))}{NARROW}{SIGN[unit]}"
        left.append(f"The probe’s {off} is in the figures.")
    code = f"{view.code}{view.code_rest}".strip()
    right = f"{view.label} {code}. " if code else ""
    clause = ", ".join(w for w in (view.document, view.clause) if w)
    return [" ".join(left), f"{right}{clause}."]
