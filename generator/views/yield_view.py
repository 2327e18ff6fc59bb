"""What a batch gives, in a word or two."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.rounding import half_up
from generator.measures.words import counted
from generator.records.makes import Makes
from generator.resolve.joined import JoinedFormula
from generator.scaling.batch import Yields
from generator.sheet.sheet import Batch


def gets_words(formula: JoinedFormula, batch: Batch) -> tuple[str, str]:
    """What a batch gives: ("160 slices", "of 30 g"), or ("9.7 kg", "")."""
    yields, makes = batch.yields, formula.formula.makes
    if makes is not None and yields.portions is not None and yields.portion_g is not None:
        noun = makes.portion_unit or "portion"
        return counted(
            yields.portions, noun, makes.portion_units or None
        ), f"of {each_words(yields)}"
    if makes is not None and yields.fills is not None:
        return counted(yields.fills, makes.unit, makes.plural), ""
    return kilos(yields.yield_g), ""


def fill_words(makes: Makes | None, grams: Fraction) -> str:
    """What one fill is: "900 g"; "1 l, 605 g"; "about 235 g" of a piece."""
    if makes is not None and makes.fill_volume is not None:
        return f"{makes.fill_volume.text}, {_whole(grams)}"
    if makes is not None and makes.piece is not None:
        return f"about {_whole(grams)}"
    return kilos(grams)


def each_words(yields: Yields) -> str:
    """What one portion weighs: "30 g"; "about 228 g, 203 g to 260 g" where pieces differ."""
    assert yields.portion_g is not None
    each = _whole(yields.portion_g)
    if yields.portion_from_g is None or yields.portion_to_g is None:
        return each
    return f"about {each}, {_whole(yields.portion_from_g)} to {_whole(yields.portion_to_g)}"


def _whole(grams: Fraction) -> str:
    return kilos(half_up(grams) if grams >= 10 else grams)
