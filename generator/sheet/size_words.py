"""Batch sizes, loads and pieces in the formula's own words."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.measures.kilos import kilos, kilos_figure
from generator.measures.words import NARROW, counted, counted_figure, duration, listed
from generator.records.formula import Size
from generator.resolve.joined import JoinedFormula
from generator.scaling.batch import Figures
from generator.scaling.loads import Loads
from generator.scaling.weights import piece_of
from generator.sheet.step_loads import StepLoads
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine, piece_words


def size_label(formula: JoinedFormula, size: Size) -> str:
    """A batch size as the kitchen says it: "8 rolls", "40 portions", "3 kg base"."""
    return NARROW.join(size_figure(formula, size))


def size_figure(formula: JoinedFormula, size: Size) -> tuple[str, str]:
    """The same as a figure and what it counts: ("8", "rolls"), ("3", "kg base")."""
    makes = formula.formula.makes
    if size.kind == "fills" and makes is not None:
        return counted_figure(size.value, makes.unit, makes.plural)
    if size.kind == "portions" and makes is not None and makes.portion_unit:
        return counted_figure(size.value, makes.portion_unit, makes.portion_units or None)
    if size.kind in ("fills", "portions"):
        return counted_figure(size.value, size.kind[:-1])
    if size.by_volume or size.piece:
        return size.amount, size.kind
    number, unit = kilos_figure(size.value)
    return number, f"{unit} {size.kind}"


def in_pieces_if_any(size: Size, factor: Fraction, figures: Figures) -> Size:
    """A size as so many pieces, where the formula is made in pieces: 5 kg of legs are 17 legs."""
    if figures.pieces is None:
        return size
    fills = factor * (figures.fills or 0)
    portions = fills * (figures.per_fill or 1)
    if size.kind == "portions" and size.value == portions:
        return size
    if fills.denominator == 1:
        return Size("fills", fills, size.text)
    if figures.per_fill == figures.to_a_fill:
        return Size("portions", portions, size.text)
    return Size("total", factor * figures.total, size.text)


def is_piece(walk: Walk, line: WeighedLine) -> bool:
    """Whether a line is the one whose pieces the formula is made in."""
    return walk.figures.pieces is not None and line.joined.item == _piece_of(walk)


def _piece_of(walk: Walk) -> str | None:
    makes = walk.formula.formula.makes
    return makes.piece if makes is not None else None


def pieces_words(line: WeighedLine, count: int, loads: int = 1) -> str:
    """How many pieces of a line there are: "24 legs"; "12 of 24 legs" in each of two loads."""
    one, many = piece_words(line)
    word = one if count == 1 else many
    return f"{count // loads} of {count} {word}" if loads > 1 else f"{count} {word}"


def shares_words(shares: Sequence[int]) -> str:
    """Loads that differ, with how much of a line is for each: "9, 9 and 8 of 26."."""
    return f"{listed([str(n) for n in shares])} of {sum(shares)}."


def scatter_words(line: WeighedLine) -> str:
    """What the lightest and the heaviest piece of a line weigh: "250 g to 320 g each"; empty where
    that isn't stated."""
    weight = piece_of(line.joined.line.amount.unit, line.unit_weights)
    if weight is None or weight.low is None or weight.high is None:
        return ""
    return f"{kilos(weight.low)} to {kilos(weight.high)} each"


def loads_words(loads: Loads) -> str:
    """A machine's loads in words: "2 loads of 5 rolls", "3 loads: 4, 3 and 3 rolls"."""
    if not loads.pieces:
        if loads.count == 1:
            return kilos(loads.grams)
        return f"{counted(loads.count, 'load')} of {kilos(loads.grams)}"
    if loads.count == 1:
        return counted(loads.pieces[0], *loads.called) + _and_the_rest(loads)
    if loads.alike:
        each = counted(loads.pieces[0], *loads.called)
        return f"{counted(loads.count, 'load')} of {each}"
    shares = ", ".join(str(p) for p in loads.pieces if p)
    return f"{counted(loads.count, 'load')}: {shares} {loads.called[1]}{_and_the_rest(loads)}"


def _and_the_rest(loads: Loads) -> str:
    if not loads.rest:
        return ""
    return " and the rest" if loads.count == 1 else ", the rest in the last"


def run_words(one: StepLoads, room: str = "") -> str:
    """A machine's loads in words, how long they take it one after another, and how the others wait
    until their turn; ``room`` is said behind the loads."""
    words = loads_words(one.loads) + room
    if one.loads.count == 1:
        return words
    if one.handed_g:
        words += f", each with {kilos(one.handed_g)} from {one.handed_from}"
    if one.in_all_s is not None:
        words += f", one after another: {duration(one.in_all_s)} in all"
    if one.by_load:
        words += ". Each load goes through the next step, too, before another goes in"
    elif one.heats:
        words += ". Take each on as it comes out"
    if not one.waits:
        return words
    how = f"Keep the others {'hot' if one.waits == 'hot' else 'in the cold'}"
    if one.waits == "warm":
        how = "The others wait between hot and cold"
    longest = f": up to {duration(one.longest_wait_s)}" if one.longest_wait_s else ""
    return f"{words}. {how} until their turn{longest}"
