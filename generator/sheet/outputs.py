"""What else comes out of a batch, and how its yields were found: by range, by tests."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from generator.resolve.joined import JoinedStep
from generator.rules.basics.without_cold import full_of_sugar
from generator.scaling.batch import Yields, factor_for, yields_at
from generator.sheet.walked import Leftover, Walk


@dataclass(frozen=True)
class Output:
    """What stays behind at a step and isn't the product, in grams: ``then`` is what becomes of it,
    ``cold`` that it needs the cold, ``warm`` that it is hot still, or between cold and hot; of a
    pickle, the ``cover_g`` there were and what the meat took up of it; ``kept_as`` is the name of
    the formula that it is, if it is one; ``alone`` that the food itself needs no cold."""

    name: str
    step: JoinedStep
    then: str
    grams: Fraction
    cold: bool
    warm: bool = False
    cover_g: Fraction | None = None
    taken_up_g: Fraction | None = None
    kept_as: str = ""
    alone: bool = False


def outputs_of(walk: Walk, factor: Fraction) -> tuple[Output, ...]:
    """What drains or stays behind in a batch; what is used again in it is none. Beside a by-product
    the food itself goes its own way."""
    return (*_goes_on(walk, factor), *_drained(walk, factor))


def _goes_on(walk: Walk, factor: Fraction) -> tuple[Output, ...]:
    of = walk.formula.formula.by_product
    if of is None:
        return ()
    at = next(one for one in walk.steps if one.step.number == of.step)
    return (Output(of.name, at.step, "goes-on", at.after.mass * factor, False),)


def _drained(walk: Walk, factor: Fraction) -> tuple[Output, ...]:
    return tuple(
        Output(
            left.words,
            walked.step,
            left.then,
            left.product.mass * factor,
            left.product.needs_cold and not _full_of_sugar(walk, left),
            walked.after.hot or walked.course.state in ("hot", "between"),
            left.cover * factor if left.cover is not None else None,
            left.taken_up * factor if left.taken_up is not None else None,
            walk.formula.kept_as.get(left.name, ""),
            walk.formula.formula.not_tcs is not None,
        )
        for walked in walk.steps
        for left in walked.drains
    )


def _full_of_sugar(walk: Walk, left: Leftover) -> bool:
    """Whether its sugar keeps what stays behind, where the formula says that the food needs no
    cold: syrup is kept like what was candied in it. Raw food of an animal in it is kept cold."""
    said = walk.formula.formula.not_tcs is not None
    return said and not left.product.raw_animals and full_of_sugar(left.product)


def factor_of(walk: Walk, kind: str, value: Fraction) -> Fraction:
    """The factor that gives a batch size. Counted sizes go by the low end of a yield that varies:
    nobody is to go without. Raises Refused for a size the formula doesn't make."""
    figures = walk.figures
    if walk.least is not None and kind in ("fills", "portions"):
        figures = walk.least
    return factor_for(kind, value, figures)


def yields_of(walk: Walk, factor: Fraction) -> Yields:
    """What a batch of a factor gives: weights by the middle of a yield that varies, what is counted
    by its low end."""
    yields = yields_at(factor, walk.figures)
    if walk.least is None:
        return yields
    low = yields_at(factor, walk.least)
    return replace(
        yields,
        fills=low.fills,
        rest_g=low.rest_g,
        portions=low.portions,
        portion_g=low.portion_g,
        portion_from_g=low.portion_from_g,
        portion_to_g=yields_at(factor, walk.most or walk.figures).portion_to_g,
        fill_g=low.fill_g,
        rest_pieces=low.rest_pieces,
        beside_g=low.beside_g,
    )


def from_to_of(walk: Walk, factor: Fraction) -> tuple[Fraction, Fraction] | None:
    """What can be served, at least and at most, in grams; None where no yield varies."""
    if walk.least is None or walk.most is None:
        return None
    return walk.least.yielded * factor, walk.most.yielded * factor
