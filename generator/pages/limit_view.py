"""A critical limit in the words and figures of its box."""

from __future__ import annotations

from dataclasses import dataclass

from generator.computed import Basis
from generator.joined import House
from generator.measures.temperature import SIGN
from generator.measures.words import NARROW, duration, plain
from generator.rules.context import both, hold_words
from generator.rules.limit import Limit


@dataclass(frozen=True)
class FigureView:
    """One large figure: the number, its unit, the words behind it."""

    number: str
    unit: str
    words: str


@dataclass(frozen=True)
class LimitView:
    """What a limit box shows, top to bottom."""

    id: str
    covered: bool
    hazard: str
    head: str
    figures: tuple[FigureView, ...]
    start: str
    hold: str
    hold_rest: str
    check: str
    if_missed: str
    code: str
    code_rest: str
    where: str
    note: str
    why: str
    basis: Basis
    chips: tuple[str, ...]
    target: str


def limit_view(house: House, limit: Limit) -> LimitView:
    """The view of a limit in the kitchen's unit."""
    words = house.library.hazards.get(limit.hazard)
    head = words.head if words else limit.hazard.replace("_", " ")
    if not limit.covered:
        return LimitView(
            limit.id, False, limit.hazard, head, (), "", "", "", "", "", "", "", "", limit.note, "", Basis(),
            ("not covered",), "",
        )  # fmt: skip
    figures = _figures(house, limit)
    hold, rest = _hold(limit)
    code, code_rest = _code(limit)
    source = limit.source
    check = words.check if words else ""
    if limit.probe:
        place = limit.probe[0].lower() + limit.probe[1:]
        check = f"Probe {_sentence(place)} Write the reading and the time."
    missed = limit.if_missed or (words.if_missed if words else "")
    first = figures[0] if len(figures) == 1 else figures[-1]
    return LimitView(
        limit.id, True, limit.hazard, head, figures, _start(house, limit), hold, rest, check, missed, code,
        code_rest, f"{source.document}, {source.clause}", limit.note,
        f"Why {first.number}{NARROW}{first.unit}?", limit.basis,
        tuple(f"{f.number}{NARROW}{f.unit} {f.words}" for f in figures), limit.target,
    )  # fmt: skip


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else text + "."


def _figures(house: House, limit: Limit) -> tuple[FigureView, ...]:
    unit = house.kitchen.temperature
    sign = SIGN[unit]
    if limit.stages:
        found = []
        for stage in limit.stages:
            figure = stage.figure.read_at(unit)
            if stage is limit.stages[-1] and limit.read is not None:
                figure = min(figure, limit.read)
            found.append(FigureView(plain(figure), sign, f"within {duration(stage.within_s)}"))
        return tuple(found)
    assert limit.read is not None
    words = "or hotter" if limit.bound == "min" else "or colder"
    return (FigureView(plain(limit.read), sign, words),)


def _start(house: House, limit: Limit) -> str:
    unit = house.kitchen.temperature
    if limit.clock is not None:
        return f"The clock starts when the probe falls to {plain(limit.clock.read_at(unit))}{NARROW}{SIGN[unit]}."
    return "The clock starts when it is made." if limit.stages else ""


def _hold(limit: Limit) -> tuple[str, str]:
    if limit.hold_s is None:
        return "", ""
    if limit.hold_s == 0:
        return "", "One reading is enough."
    return duration(limit.hold_s), "without falling below"


def _code(limit: Limit) -> tuple[str, str]:
    """The code's own figure in its own unit (bold), and the rest of the line."""
    figure = limit.figure
    assert figure is not None
    if limit.stages:
        parts = []
        for number, stage in enumerate(limit.stages):
            shown = both(stage.figure.value, stage.figure.shown_c, stage.figure.shown_f)
            last = " in all" if number and number == len(limit.stages) - 1 else ""
            parts.append(f"to {shown} in {duration(stage.within_s)}{last}")
        if limit.clock is not None:
            clock = limit.clock
            return both(clock.value, clock.shown_c, clock.shown_f), " " + ", ".join(parts)
        return "", ", ".join(parts)
    own = figure.value.in_unit(figure.value.unit)
    text = both(figure.value, figure.shown_c, figure.shown_f)
    first = f"{plain(own)}{NARROW}{SIGN[figure.value.unit]}"
    return first, text.removeprefix(first) + hold_words(limit.row_hold_s)
