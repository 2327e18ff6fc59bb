"""The masses a batch is sized by, in grams at factor 1, and the portions in one fill."""

from __future__ import annotations

import math
from fractions import Fraction

from generator.files.finding import Finding
from generator.records.formula import Makes
from generator.resolve.joined import JoinedFormula
from generator.scaling.batch import Figures
from generator.sheet.weighing import WeighedLine


def figures_of(
    formula: JoinedFormula, lines: list[WeighedLine], filled: Fraction | None, finished: Fraction
) -> tuple[Figures, list[Finding]]:
    """The masses a batch is sized by, in grams, and the portions in one fill."""
    raw = sum((ln.grams for ln in lines), Fraction(0))
    base = sum(
        (ln.grams for ln in lines if (ln.joined.part, ln.joined.item) in formula.base), Fraction(0)
    )
    makes = formula.formula.makes
    if makes is None:
        return Figures(base, raw, filled, finished), []
    fill = makes.fill_weight.value if makes.fill_weight else None
    portion = makes.portion.value if makes.portion else None
    per_fill, sliced, findings = _slices(formula, makes)
    return Figures(base, raw, filled, finished, fill, portion, per_fill, sliced), findings


def _slices(formula: JoinedFormula, makes: Makes) -> tuple[int | None, Fraction, list[Finding]]:
    """The portions in one fill, and the share of it that is sliced: all of it, where nothing is."""
    if makes.slice is None:
        return makes.portions, Fraction(1), []
    if makes.length is None or makes.fill_weight is None:
        words = "A slice needs the length and weight of one fill."
        help = "Add `length` and `fill_weight` under `makes`."
        found = _slice_wrong(formula, makes, "slice-needs-length", words, help)
        return makes.portions, Fraction(1), [found]
    ends = sum((s.step.ends.value for s in formula.steps if s.step.ends), Fraction(0))
    usable = makes.length.value - 2 * ends
    per_fill = max(0, math.floor(usable / makes.slice.value))
    if per_fill == 0:
        words = "There is no whole slice between the ends."
        help = "Check slice, length and ends."
        found = _slice_wrong(formula, makes, "slice-too-thick", words, help)
        return per_fill, Fraction(1), [found]
    return per_fill, per_fill * makes.slice.value / makes.length.value, []


def _slice_wrong(formula: JoinedFormula, makes: Makes, code: str, words: str, help: str) -> Finding:
    about = frozenset({formula.id})
    return Finding(code, "error", words, makes.place("slice"), help, about=about)
