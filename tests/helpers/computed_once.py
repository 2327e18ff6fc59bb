"""Walks and sheets computed once for all kitchens of a worker that have them in common.

Hundreds of kitchens are the clean one with an edit, and most edits leave two of its three formulas
alone. What a formula is walked with is compared whole, and must be of files of the same bytes. For tests of kitchens alone: where a test changes the program, nothing may be kept.
"""

from __future__ import annotations

import datetime
import operator
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest

from generator.measures.marks import decimal_mark, weights_in_force
from generator.pages import formula as formula_page
from generator.pages.page import Page
from generator.records.record import Record
from generator.resolve.joined import House, JoinedFormula
from generator.sheet import manual as pipeline
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.uris import formula_uri

AT_MOST = 8
"""As many of each formula are kept, those asked for last."""
WALK, NOTICES, SHEET = pipeline.walk, pipeline.notices_for, pipeline.make_sheet


class Kept:
    """What was computed last of each formula, with what it was computed of."""

    def __init__(self) -> None:
        self._of: dict[tuple[str, ...], list[tuple[tuple[Any, ...], tuple[Any, ...], Any]]] = {}

    def get(
        self, ident: str, equal: tuple[Any, ...], same: tuple[Any, ...], make: Callable[[], Any]
    ) -> Any:
        """What was made in this writing of things that are ``equal`` to these, and of the very
        ``same`` ones; made now if nothing was."""
        kept = self._of.setdefault((ident, decimal_mark(), weights_in_force()), [])
        for at, (before, held, made) in enumerate(kept):
            alike = len(same) == len(held) and all(map(operator.is_, same, held))
            if alike and before == equal:
                kept.insert(0, kept.pop(at))
                return made
        made = make()
        kept.insert(0, (equal, same, made))
        del kept[AT_MOST:]
        return made


def computed_once(patch: pytest.MonkeyPatch) -> None:
    """Let the pipeline keep walks and sheets until the patch is undone."""
    patch.setattr(pipeline, "walk", _walk)
    patch.setattr(pipeline, "notices_for", _notices)
    patch.setattr(pipeline, "make_sheet", _sheet)


_walks, _noticed, _sheets = Kept(), Kept(), Kept()


def _walk(house: House, formula: JoinedFormula, made: Mapping[str, Any]) -> Any:
    same = (
        *(made[ident] for ident in formula.sub_formulas),
        *map(_as_typed, _records(house, formula)),
    )
    return _walks.get(formula.id, (house, formula), same, lambda: WALK(house, formula, made))


def _records(house: House, formula: JoinedFormula) -> Iterator[Record | None]:
    """Every record that a walk looks at."""
    yield from (house.kitchen, house.probe, *house.stations.values())
    yield from (scale for _, scale in house.scales)
    yield from (formula.formula, formula.station, formula.process, formula.vessel)
    yield from (line.ingredient for line in formula.lines)
    for step in formula.steps:
        yield from (step.machine, step.cold, step.vessel)


def _as_typed(record: Record | None) -> object:
    """The place in a file's tree that a record was read of, with the places of its keys: which the
    records don't compare. A file is read once (``conftest``)."""
    return record and record._typed


def _notices(house: House, walk: Any, shared: frozenset[str]) -> Any:
    return _noticed.get(
        walk.formula.id, (house, shared), (walk,), lambda: NOTICES(house, walk, shared)
    )


def _sheet(house: House, walk: Any, notices: Any, as_of: datetime.date) -> Any:
    return _sheets.get(
        walk.formula.id,
        (house, as_of),
        (walk, notices),
        lambda: SHEET(house, walk, notices, as_of),
    )


_drawn: list[tuple[str, Sheet]] = []


def new_formula_pages(manual: Manual) -> list[Page]:
    """The pages of the formulas whose sheet no page was drawn of yet, in the writing in force."""
    made_at = {i: formula_uri(s.formula.formula.home, i) for i, s in manual.sheets.items()}
    return [formula_page._page(manual, sheet, made_at) for sheet in _new(manual)]


def _new(manual: Manual) -> Iterator[Sheet]:
    mark = decimal_mark()
    for sheet in manual.sheets.values():
        if not any(held.walk is sheet.walk and (mark, sheet) == (m, held) for m, held in _drawn):
            _drawn.append((mark, sheet))
            del _drawn[:-100]
            yield sheet
