"""Another formula in the size of a batch, to be compared with it."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Refused
from generator.records.size import Size
from generator.sheet.sheet import Batch, Sheet, make_batch


def in_total(sheet: Sheet, grams: Fraction) -> Batch | None:
    """A batch that weighs so many grams in all; None for one the formula or a machine doesn't
    allow."""
    try:
        return make_batch(sheet.house, sheet.walk, Size("total", grams))
    except Refused:
        return None
