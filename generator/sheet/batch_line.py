"""A line of a batch on its scale: for how many loads, rounded how, and what a cook measures it
by."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.limit import DoseLimit
from generator.scaling.scales import (
    STRICT,
    ScaleFacts,
    Weighing,
    choose,
    choose_above,
    choose_below,
)
from generator.scaling.weights import household
from generator.sheet.dosed import cure_limit, least_of, most_of_a_cure, nitrite_in
from generator.sheet.size_words import is_piece, pieces_words
from generator.sheet.step_loads import StepLoads
from generator.sheet.walk import Walk
from generator.sheet.weighing import WeighedLine


@dataclass(frozen=True)
class BatchLine:
    """One line of a batch, in grams.

    ``exact_g`` and ``weigh_g`` are for the whole batch, ``weighing`` is what the scale shows for
    one of ``loads`` equal loads; ``capped`` says that a legal maximum holds it. ``ready_g`` over
    ``purchased_g`` is the trim. ``at`` is the step whose machine makes the loads, empty where it is
    weighed once; ``shares`` are that machine's loads where they differ, so that the line is weighed
    once for all of them; ``whole_pieces`` says that ``count`` is how many pieces there are in all,
    not about how many.
    """

    line: WeighedLine
    step: JoinedStep
    exact_g: Fraction
    weigh_g: Fraction
    loads: int
    weighing: Weighing
    count: Fraction | None
    household: str
    purchased_g: Fraction
    capped: bool = False
    at: str = ""
    whole_pieces: bool = False
    shares: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        return self.line.joined.name

    @property
    def part(self) -> str:
        return self.line.joined.part


def line_of_batch(
    house: House,
    walk: Walk,
    line: WeighedLine,
    step: JoinedStep,
    factor: Fraction,
    one: StepLoads | None,
    scales: tuple[ScaleFacts, ...],
) -> BatchLine:
    """A line on its scale; ``one`` are the loads of its part's machine, if there is any."""
    exact, count = line.grams * factor, 1
    shares: tuple[int, ...] = ()
    if one is not None and one.loads.alike:
        count = one.loads.count
    elif one is not None:
        shares = one.loads.pieces
    each = exact if count == 1 else exact / count
    limit = cure_limit(walk, line)
    weighing = _weighed(walk, line, limit, each, factor / count, scales)
    whole = is_piece(walk, line)
    if whole:
        pieces: Fraction | None = line.joined.line.amount.value * factor
        words = pieces_words(line, int(pieces or 0), count)
    else:
        pieces, words = _measures(house, line, each)
    return BatchLine(
        line,
        step,
        exact,
        weighing.grams if count == 1 else weighing.grams * count,
        count,
        weighing,
        pieces,
        words,
        _purchased(house, line, exact),
        limit is not None,
        one.step if one is not None else "",
        whole,
        shares,
    )


def _weighed(
    walk: Walk,
    line: WeighedLine,
    limit: DoseLimit | None,
    each: Fraction,
    share: Fraction,
    scales: tuple[ScaleFacts, ...],
) -> Weighing:
    """``each`` grams of a line on a scale: a load's part of it, which is ``share`` of it as
    written. ``limit`` is the legal maximum of a cure."""
    least = least_of(walk, line)
    if least is not None:
        return choose_above(each, least * share, line.permitted, scales)
    if limit is not None:
        most_g = most_of_a_cure(limit, line, nitrite_in(walk, line), share)
        return choose_below(each, most_g, min(line.permitted, STRICT), scales)
    weighing = choose(each, line.permitted, scales)
    if weighing.needs is not None and as_needed(line):
        return replace(weighing, permitted=Fraction(1), needs=None)
    return weighing


def _measures(house: House, line: WeighedLine, each: Fraction) -> tuple[Fraction | None, str]:
    """So many grams of a line in pieces, spoons or cups; nothing of what is weighed only."""
    facts = line.joined.ingredient
    if facts is not None and facts.function in ("cure", "gelling-agent"):
        return None, ""
    return household(each, line.joined.line.amount, line.unit_weights, house.units)


def _purchased(house: House, line: WeighedLine, exact: Fraction) -> Fraction:
    """What is purchased for so many grams of a line."""
    facts = line.joined.ingredient
    trim = house.once("trim", facts, lambda: facts.trim_share) if facts is not None else None
    return exact / (1 - trim) if trim else exact


def as_needed(line: WeighedLine) -> bool:
    """Written as needed: the cook tastes, so a pinch of it asks for no finer scale. A spoon, a cup
    or a piece does: what it stands for is weighed, so that it is the same on Tuesday."""
    return line.joined.line.amount.kind == "as-needed"
