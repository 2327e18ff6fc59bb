"""What a batch gives, on its sheet: yields beside what was weighed, and what else comes out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from generator.binder.sheets import Record
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, plain, plural_of
from generator.sheet.sheet import Batch, Sheet
from generator.views.weigh_view import weigh_view
from generator.views.yield_view import output_views


def record_blocks(sheet: Sheet, batches: Sequence[Batch], phase: int) -> list[Record]:
    """The end of a batch sheet: yields beside what was got, release, and room for a copy of the
    label where a step labels. ``phase`` is the half of the sheet it is on.

    A deviation is written in its log; here is only its line.
    """
    labelled = any("labels" in walked.step.effects for walked in sheet.walk.steps)
    yields, release = _yields(sheet, batches, phase), _release(sheet, labelled, phase)
    short = all(len(cell) <= _SHORT for row in yields["rows"] for cell in row["cells"])
    if len(yields["names"]) <= _BESIDE - (not short):
        return [{**release, "yields": yields}]
    if release["label"] is None:
        release = {**release, "rows": _in_one(release["rows"])}
    return [yields, {**release, "back": _in_one(release["back"])}]


def _in_one(rows: list[list[Record]]) -> list[list[Record]]:
    """Rows of boxes as one row: over the whole width there is room for them all."""
    return [[box for row in rows for box in row]]


_BESIDE, _SHORT = 6, 6
"""As many yields, of as many letters, are beside release and a label's copy; one less of longer
ones."""


def _yields(sheet: Sheet, batches: Sequence[Batch], phase: int) -> Record:
    """What is weighed, filled, served, and how many there are, a row for each size."""
    rows = [(batch.label, _cells(sheet, batch)) for batch in batches]
    names = list(dict.fromkeys(name for _, cells in rows for name in cells))
    return {
        "form": "yields",
        "names": names,
        "rows": [
            {
                "size": label if len(batches) > 1 else "Expected",
                "cells": [cells.get(name, "–") for name in names],
            }
            for label, cells in rows
        ],
        "keep": True,
        "phase": phase,
    }


def _cells(sheet: Sheet, batch: Batch) -> dict[str, str]:
    """One size's yields by name."""
    yields = batch.yields
    cells = {"Weighed": weigh_view(sheet, batch, "", {}, with_why=False).total[0]}
    if yields.filled_g is not None:
        cells["Filled"] = _grams(yields.filled_g)
    for number, grams in _filled_again(sheet, batch):
        cells[f"At step {number}"] = _grams(grams)
    if yields.ends_g:
        cells["Finished"] = _grams(yields.finished_g)
    cells["To serve"] = _grams(yields.yield_g)
    if batch.from_to is not None:
        low, high = (plain(half_up(grams)) for grams in batch.from_to)
        cells["From, to"] = f"{low} to {high}{NARROW}g"
    for name, count in _counts(sheet, batch).items():
        cells[name[:1].upper() + name[1:]] = plain(Fraction(count))
    cells["Yield"] = f"{plain(yields.yield_share * 100, 1)}{NARROW}%"
    return cells


def _filled_again(sheet: Sheet, batch: Batch) -> Iterator[tuple[int, Fraction]]:
    """The steps that fill more into what was filled, or put more on what was moulded, by number:
    what all of it weighs then, in grams."""
    if not sheet.walk.filled_at:
        return
    behind = {step.number for step in sheet.formula.after(sheet.walk.filled_at)}
    for walked in sheet.walk.steps:
        step = walked.step
        more = bool(step.step.add) or len(step.comes) > 1
        if step.number in behind and "fills" in step.effects and more:
            yield step.number, walked.after.mass * batch.factor


_LABEL = (Fraction(63), Fraction(39))
_ROOM = Fraction(2)
"""How much wider and higher than a label, in mm, the place for its copy is."""
_MOST_LABEL = (Fraction(90), Fraction(60))


def _release(sheet: Sheet, labelled: bool, phase: int) -> Record:
    """Which line of the deviation log is of it, packs and release, a copy of the label."""
    sizes = _LABEL
    on = sheet.house.kitchen.labels
    if on is not None:
        sizes = (on.width.value, on.height.value)
    fits = all(size <= most for size, most in zip(sizes, _MOST_LABEL, strict=True))
    rows = [
        [("Deviation: log line", 1.1), ("Packs", 0.7)],
        [("Released by", 1.6), ("Date", 1)],
    ]
    back = [[*rows[0], ("Label copy: on the back", 1.4)], rows[1]]
    label = None
    if labelled and fits:
        wide, high = (float(size + _ROOM) for size in sizes)
        label = {"words": "A copy of the label here", "width": wide, "height": high}
    elif labelled:
        rows = back
    return {
        "form": "release",
        "rows": _boxes(rows),
        "back": _boxes(back),
        "label": label,
        "yields": None,
        "phase": phase,
    }


def _boxes(rows: list[list[tuple[str, float]]]) -> list[list[Record]]:
    return [[{"label": w, "share": s} for w, s in row] for row in rows]


def outputs_block(sheet: Sheet, batch: Batch, phase: int, alone: bool = True) -> list[Record]:
    """What else comes out of a size, with what becomes of it; without the others it isn't
    named."""
    rows = [[one.name, one.weight, one.step, one.then] for one in output_views(sheet, batch)]
    if not rows:
        return []
    columns = [
        {"head": "What", "mm": 44, "bold": True},
        {"head": "How much", "mm": 24, "role": "weight"},
        {"head": "Where", "mm": 40},
        {"head": "What to do", "share": 1},
    ]
    head = {
        "form": "head",
        "words": "What else comes out" if alone else f"What else comes out of {batch.label}",
        "keep": True,
        "phase": phase,
    }
    return [head, {"form": "table", "columns": columns, "rows": rows, "phase": phase}]


def _grams(grams: Fraction) -> str:
    return f"{plain(half_up(grams))}{NARROW}g"


def _counts(sheet: Sheet, batch: Batch) -> dict[str, int]:
    """How many fills and portions there are, by what they are called."""
    makes, yields = sheet.formula.formula.makes, batch.yields
    found: dict[str, int] = {}
    if makes is not None and yields.fills is not None:
        found[makes.plural] = yields.fills
    if makes is not None and yields.portions is not None and yields.portions != yields.fills:
        many = plural_of(makes.portion_unit) if makes.portion_unit else "portions"
        found[makes.portion_units or many] = yields.portions
    return found
