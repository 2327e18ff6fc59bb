"""How a formula's own chills and cooks likely go, for the page and the batch sheet: a band over
time, when each figure is likely reached, when to read first. A prediction, never a limit.

What is predicted is one fill, so that it is the same for each batch size of the page.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from generator.files.finding import BrokenData, Refused
from generator.heat.chilling import Verdict, verdict_of
from generator.heat.constituents import Impossible
from generator.heat.media import load_media
from generator.heat.quick import Quick, fits, quick
from generator.heat.ranges import Range
from generator.records.equipment import Equipment
from generator.resolve.joined import House
from generator.rules.basics.limit import CoolingLimit, Figure, HeatingLimit
from generator.sheet.composed import Made
from generator.sheet.heat_case import Asked, FormulaCase, chill_case, cooling_limits, formula_case
from generator.sheet.heat_places import Media
from generator.sheet.heat_remedies import Remedy, remedies_of
from generator.sheet.sheet import Sheet

_POINTS = 24
_Of = TypeVar("_Of")


@dataclass(frozen=True)
class Mark:
    """A temperature to reach, °C: the seconds it likely takes from the start; of a stage of the law
    the seconds from the start it may take, what that means, and its limit's ``figure``."""

    celsius: float
    seconds: Range
    within: float | None = None
    verdict: Verdict | None = None
    figure: Figure | None = None


@dataclass(frozen=True)
class Forecast:
    """How one step likely goes: the course at the slowest point, (seconds, °C within bounds), and
    its marks in order; ``first`` is when to read first, s. ``remedies`` are what likely passes in
    this kitchen, where a stage likely fails."""

    case: FormulaCase
    course: tuple[tuple[float, Range], ...]
    marks: tuple[Mark, ...]
    remedies: tuple[Remedy, ...] = ()

    @property
    def number(self) -> int:
        return self.case.number

    @property
    def first(self) -> float:
        return self.marks[0].seconds.low


class Forecasts(Mapping[str, tuple[Forecast, ...]]):
    """The forecasts of every sheet, by its id, each worked out when it is first asked for: of what
    is chilled, and of what cooks in water. What an oven does, and what can't be predicted at once,
    has none; where the media can't be read, nothing has."""

    def __init__(
        self,
        house: House,
        sheets: Mapping[str, Sheet],
        made: Mapping[str, Made],
        equipment: Mapping[str, Equipment],
    ) -> None:
        self._house, self._sheets, self._made = house, sheets, made
        self._equipment = equipment
        self._found: dict[str, tuple[Forecast, ...]] = {}

    @cached_property
    def _media(self) -> Media | None:
        try:
            return load_media(self._house.library.folder)
        except BrokenData:
            return None

    def __getitem__(self, ident: str) -> tuple[Forecast, ...]:
        if ident not in self._found:
            self._found[ident] = self._of(self._sheets[ident])
        return self._found[ident]

    def _of(self, sheet: Sheet) -> tuple[Forecast, ...]:
        if self._media is None:
            return ()
        asked = Asked(sheet, self._made.get(sheet.id), self._equipment, self._media)
        return tuple(sorted(_forecasts(asked), key=lambda one: one.number))

    def __iter__(self) -> Iterator[str]:
        return iter(self._sheets)

    def __len__(self) -> int:
        return len(self._sheets)


def _forecasts(asked: Asked) -> Iterator[Forecast]:
    yield from _chills(asked)
    limits = [one for one in asked.sheet.walk.limits if isinstance(one, HeatingLimit)]
    for number in dict.fromkeys(one.number for one in limits if one.number):
        case = _if_any(formula_case, asked, str(number))
        if case is not None and case.kind == "cook" and case.place.kind != "oven":
            yield _forecast(case)


def _chills(asked: Asked) -> Iterator[Forecast]:
    for limit in cooling_limits(asked.sheet):
        case = _if_any(chill_case, asked, limit)
        if case is not None and case.deadlines:
            one = _forecast(case)
            late = any(mark.verdict == "likely fails" for mark in one.marks)
            yield replace(one, remedies=_remedies(asked, limit, case)) if late else one


def _remedies(asked: Asked, limit: CoolingLimit, case: FormulaCase) -> tuple[Remedy, ...]:
    try:
        return tuple(remedies_of(asked, limit, case))
    except (Refused, Impossible):
        return ()


def _if_any(make: Callable[[Asked, _Of], FormulaCase], asked: Asked, of: _Of) -> FormulaCase | None:
    """A case that can be predicted at once; None for what can't be."""
    try:
        case = make(asked, of)
    except (Refused, Impossible):
        return None
    return case if fits(case.case) else None


def _forecast(case: FormulaCase) -> Forecast:
    found = quick(case.case)
    marks = tuple(_marks(case, found))
    end = _end(marks)
    times = [end * n / _POINTS for n in range(_POINTS + 1)]
    return Forecast(case, tuple((seconds, found.at(seconds)) for seconds in times), marks)


def _marks(case: FormulaCase, found: Quick) -> Iterator[Mark]:
    within = 0.0
    for deadline, figure in zip(case.deadlines, case.figures, strict=True):
        seconds = found.time_to(deadline.celsius)
        within = deadline.seconds + (within if deadline.after_stage else 0.0)
        yield Mark(deadline.celsius, seconds, within, verdict_of(seconds, within), figure)
    if not case.deadlines:
        for celsius in case.case.targets:
            yield Mark(celsius, found.time_to(celsius))


def _end(marks: tuple[Mark, ...]) -> float:
    """How far the course goes: past the last mark, no further than a quarter past its time."""
    last = marks[-1]
    if last.within is not None:
        return min(last.seconds.high * 1.05, last.within * 1.25)
    high = last.seconds.high if math.isfinite(last.seconds.high) else last.seconds.likely * 1.6
    return high * 1.05 if math.isfinite(high) else 8 * 3600.0
