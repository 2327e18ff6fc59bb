"""Batch sizes given by volume: of a base that is measured, as a weight; of anything else, what to
ask for instead."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Refused
from generator.measures.kilos import kilos
from generator.measures.words import NARROW, counted, listed
from generator.records.formula import Size
from generator.scaling.weights import UnitWeight, piece_of
from generator.sheet.walked import Walk


def base_ml(walk: Walk) -> Fraction | None:
    """The millilitres of the base in the formula as written; None unless all its lines are measured
    by volume."""
    base = [ln for ln in walk.lines if (ln.joined.part, ln.joined.item) in walk.formula.base]
    amounts = [ln.joined.line.amount for ln in base]
    if not amounts or any(amount.kind != "volume" for amount in amounts):
        return None
    return sum((amount.value for amount in amounts), Fraction(0))


def as_weight(walk: Walk, size: Size) -> Size:
    """A size by volume, or in pieces of the base, as the weight that much of the base has; any
    other as it is. Raises Refused where the base isn't given so."""
    if size.piece:
        return replace(
            size, value=grams_of_pieces(walk, size.value, size.piece, size.amount), piece=""
        )
    if not size.by_volume:
        return size
    return replace(size, value=grams_of_base(walk, size.value, size.amount), by_volume=False)


def base_pieces(walk: Walk) -> dict[str, Fraction]:
    """What the whole base weighs for each piece of it, in grams, by every word for that piece, the
    food's own name with them; a word that is of several lines of the base is left out."""
    found: dict[str, Fraction] = {}
    several: set[str] = set()
    for line in walk.lines:
        if (line.joined.part, line.joined.item) not in walk.formula.base:
            continue
        pieces = {w.word: w.grams for w in line.unit_weights if w.ml is None}
        if "each" in pieces:
            pieces |= {word: pieces["each"] for word in _called(line.joined.item)}
        several |= found.keys() & pieces.keys()
        found |= {word: walk.figures.base * g / line.grams for word, g in pieces.items()}
    return {word: grams for word, grams in found.items() if word not in several}


def _called(item: str) -> tuple[str, ...]:
    """What one piece of an ingredient is called by its id: an apple."""
    words = item.replace("-", " ")
    return tuple(dict.fromkeys((words, words.split()[-1])))


def grams_of_pieces(walk: Walk, count: Fraction, word: str, typed: str) -> Fraction:
    """What a base with so many pieces weighs, in grams. Raises Refused where the base has no such
    piece."""
    known = base_pieces(walk)
    pieces = tuple(UnitWeight(one, "", grams, None, "") for one, grams in known.items())
    piece = piece_of(word, pieces)
    if piece is not None:
        return count * piece.grams
    usual = kilos(walk.figures.base)
    words = listed([f"`{one}`" for one in known], "or")
    raise Refused(
        "amount-wrong-kind",
        f"`{typed}`: the base has no piece called `{word}`.",
        f"Count it by {words}, or write its weight. In the formula as written it is {usual}."
        if known
        else f"Write its weight. In the formula as written it is {usual}. To count it, enter what "
        "one weighs under the ingredient's `weighs`, as in `each: 60 g`.",
    )


def grams_of_base(walk: Walk, ml: Fraction, typed: str) -> Fraction:
    """What so many millilitres of the base weigh, in grams. Raises Refused where the base isn't
    given by volume."""
    at_one = base_ml(walk)
    if at_one is None:
        usual = kilos(walk.figures.base)
        raise Refused(
            "amount-wrong-kind",
            f"`{typed}` is a volume, and the base isn't given by volume.",
            f"Write its weight. In the formula as written it is {usual}.",
        )
    return walk.figures.base * ml / at_one


def not_by_volume(walk: Walk, ml: Fraction, typed: str) -> Refused:
    """Why a total or a yield isn't asked for by volume, and what to ask for instead."""
    help, write = _instead(walk, ml, typed)
    words = f"`{typed}` is a volume. What a batch weighs, or yields, is a weight."
    return Refused("amount-wrong-kind", words, help, write)


def _instead(walk: Walk, ml: Fraction, typed: str) -> tuple[str, list[str]]:
    """What gives at least so much: fills or portions by volume, the weight by the litre weighed,
    so much of the base."""
    makes = walk.formula.formula.makes
    if makes is not None and makes.fill_volume is not None:
        count = math.ceil(ml / makes.fill_volume.value)
        words = counted(count, makes.unit, makes.plural)
        return f"For {typed} ask for {words}.", [f"--fills {count}"]
    if makes is not None and makes.portion_volume is not None:
        count = math.ceil(ml / makes.portion_volume.value)
        words = counted(count, makes.portion_unit or "portion", makes.portion_units or None)
        return f"For {typed} ask for {words}.", [f"--portions {count}"]
    if makes is not None and makes.litre is not None:
        grams = ml / 1000 * makes.litre.value / (1 + (makes.overrun or 0))
        weight = kilos(grams)
        return f"It weighs {weight}: ask for that yield.", [f"--yield {weight.replace(NARROW, '')}"]
    if base_ml(walk) is not None:
        return "The base is measured: ask for so much of it.", [f"--base {typed.replace(' ', '')}"]
    return "Weigh a litre of it. Then ask for its weight, as in --total 5kg.", []
