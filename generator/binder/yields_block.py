"""What a batch gives, on its sheet: yields beside what was weighed, and what else comes out."""

from __future__ import annotations

from fractions import Fraction

from generator.binder.sheets import Record
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, plain
from generator.sheet.sheet import Batch, Sheet
from generator.views.yield_view import output_views


def yields_block(sheet: Sheet, batch: Batch, total: str, phase: int) -> Record:
    """What is weighed, filled, served, and how many there are; ``total`` is what is weighed, in
    words, ``phase`` the half of the sheet it is on."""
    yields = batch.yields
    cells = [("Weighed", total)]
    if yields.filled_g is not None:
        cells.append(("Filled", _grams(yields.filled_g)))
    if yields.ends_g:
        cells.append(("Finished", _grams(yields.finished_g)))
    cells.append(("To serve", _grams(yields.yield_g)))
    if batch.from_to is not None:
        low, high = (plain(half_up(grams)) for grams in batch.from_to)
        cells.append(("From, to", f"{low} to {high}{NARROW}g"))
    counts = _counts(sheet, batch)
    cells += [(n[:1].upper() + n[1:], plain(Fraction(count))) for n, count in counts.items()]
    cells.append(("Yield", f"{plain(yields.yield_share * 100, 1)}{NARROW}%"))
    return {
        "form": "yields",
        "cells": [{"name": n, "figure": f} for n, f in cells],
        "keep": True,
        "phase": phase,
    }


def outputs_block(sheet: Sheet, batch: Batch, phase: int) -> list[Record]:
    """What else comes out, with what becomes of it."""
    rows = [[one.name, one.weight, one.step, one.then] for one in output_views(sheet, batch)]
    if not rows:
        return []
    columns = [
        {"head": "What", "mm": 44, "bold": True},
        {"head": "How much", "mm": 24, "role": "weight"},
        {"head": "Where", "mm": 40},
        {"head": "What to do", "share": 1},
    ]
    head = {"form": "head", "words": "What else comes out", "keep": True, "phase": phase}
    return [head, {"form": "table", "columns": columns, "rows": rows, "phase": phase}]


def _grams(grams: Fraction) -> str:
    return f"{plain(half_up(grams))}{NARROW}g"


def _counts(sheet: Sheet, batch: Batch) -> dict[str, int]:
    """How many fills and portions there are, by what they are called."""
    makes, yields = sheet.formula.formula.makes, batch.yields
    found: dict[str, int] = {}
    if makes is not None and yields.fills is not None:
        found[makes.plural] = yields.fills
    if makes is not None and yields.portions is not None:
        many = f"{makes.portion_unit}s" if makes.portion_unit else "portions"
        found[makes.portion_units or many] = yields.portions
    return found
