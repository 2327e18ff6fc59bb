"""What a batch gives, in a word or two."""

from __future__ import annotations

from generator.measures.kilos import kilos
from generator.measures.rounding import half_up
from generator.measures.words import counted
from generator.resolve.joined import JoinedFormula
from generator.sheet.sheet import Batch


def gets_words(formula: JoinedFormula, batch: Batch) -> tuple[str, str]:
    """What a batch gives: ("160 slices", "of 30 g"), or ("9.7 kg", "")."""
    yields, makes = batch.yields, formula.formula.makes
    if makes is not None and yields.portions is not None and yields.portion_g is not None:
        each = kilos(half_up(yields.portion_g) if yields.portion_g >= 10 else yields.portion_g)
        noun = makes.portion_unit or "portion"
        return counted(yields.portions, noun, makes.portion_units or None), f"of {each}"
    if makes is not None and yields.fills is not None:
        return counted(yields.fills, makes.unit, makes.plural), ""
    return kilos(yields.yield_g), ""
