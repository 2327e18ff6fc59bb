"""Walks and sheets computed once for all kitchens of a worker that have them in common; a body's
prediction, and what the typesetter measured and drew, once for all who ask the same.

Thousands of kitchens are the clean one or the demo with an edit, and most edits leave all formulas
but one alone. What a formula is walked with is compared whole, and must be of files of the same
bytes. Where a test changes the program nothing may be kept: ``keep_for`` says which tests keep.
"""

from __future__ import annotations

import copy
import datetime
import json
import operator
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import pytest

from generator.binder.drawing import _Drawer
from generator.cli import predicted_step
from generator.heat import prediction
from generator.heat.case import Case
from generator.heat.prediction import Prediction
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
WALK, RAISED, SHEET = pipeline.walk, pipeline.Raised, pipeline.make_sheet
PREDICT, MEASURE, PDF = prediction.predict, _Drawer.measure, _Drawer.pdf


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


_keeping = False


def installed() -> None:
    """Have the pipeline ask what is kept here, where it is kept at all."""
    pipeline.walk, pipeline.Raised = _walk, _raised  # type: ignore[assignment,misc]
    pipeline.make_sheet = _sheet
    prediction.predict = predicted_step.predict = _predict
    _Drawer.measure, _Drawer.pdf = _measure, _pdf  # type: ignore[method-assign]


def keep_for(item: pytest.Item) -> None:
    """Keep walks and sheets for this test, if it can't change the program, doesn't ask for them
    ``made_anew``, and is none of every tenth, which are always computed anew."""
    names = getattr(item, "fixturenames", ())
    anew = {"monkeypatch", "made_anew"} & {*names}
    marked = any(item.get_closest_marker(name) for name in ("slow", "benchmark"))
    keep(not anew and not marked and zlib.crc32(item.nodeid.encode()) % 10 > 0)


def keep(on: bool) -> None:
    """Keep walks and sheets until the next test: for a test that patches no more than where it
    runs."""
    global _keeping
    _keeping = on


_walks, _all_raised, _sheets = Kept(), Kept(), Kept()


def _walk(house: House, formula: JoinedFormula, made: Mapping[str, Any]) -> Any:
    if not _keeping:
        return WALK(house, formula, made)
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


def _raised(house: House, walk: Any, shared: frozenset[str]) -> Any:
    if not _keeping:
        return RAISED(house, walk, shared)
    return _all_raised.get(
        walk.formula.id, (house, shared), (walk,), lambda: RAISED(house, walk, shared)
    )


def _sheet(house: House, walk: Any, raised: Any, as_of: datetime.date) -> Any:
    if not _keeping:
        return SHEET(house, walk, raised, as_of)
    return _sheets.get(
        walk.formula.id,
        (house, as_of),
        (walk, raised),
        lambda: SHEET(house, walk, raised, as_of),
    )


_predicted: list[tuple[tuple[Case, float | None], Prediction]] = []


def _predict(case: Case, horizon: float | None = None) -> Prediction:
    if not _keeping:
        return PREDICT(case, horizon)
    for asked, found in _predicted:
        if asked == (case, horizon):
            return found
    _predicted.insert(0, ((case, horizon), PREDICT(case, horizon)))
    del _predicted[60:]
    return _predicted[0][1]


_measured: dict[str, Any] = {}
_pdfs: dict[str, bytes] = {}


def _measure(drawer: _Drawer, asked: Sequence[dict[str, Any]]) -> list[Any]:
    if not _keeping:
        return MEASURE(drawer, asked)
    keys = [json.dumps((drawer.form, one), sort_keys=True) for one in asked]
    new = {key: one for key, one in zip(keys, asked, strict=True) if key not in _measured}
    answers = MEASURE(drawer, [*new.values()]) if new else []
    _measured.update(zip(new, answers, strict=True))
    return [copy.deepcopy(_measured[key]) for key in keys]


def _pdf(drawer: _Drawer, template: str, record: dict[str, Any]) -> bytes:
    if not _keeping:
        return PDF(drawer, template, record)
    key = json.dumps((drawer.form, template, record), sort_keys=True)
    if key not in _pdfs:
        _pdfs[key] = PDF(drawer, template, record)
        if len(_pdfs) > 40:
            del _pdfs[next(iter(_pdfs))]
    return _pdfs[key]


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
