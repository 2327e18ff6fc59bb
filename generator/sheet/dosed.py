"""How much a line of a batch may weigh, and must, by the formula's doses."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.rounding import to_side, total
from generator.measures.words import plain
from generator.rules.basics.limit import DoseLimit
from generator.rules.basics.product import Component
from generator.rules.cures.dosing import MILLION
from generator.sheet.walk import Walk
from generator.sheet.weighing import WeighedLine

_NONE = Fraction(0)


def capped_dose(walk: Walk) -> DoseLimit | None:
    """The dose of a formula that has a legal maximum; None if it has none."""
    return next((dose for dose in _doses(walk) if dose.most_ppm is not None), None)


def _doses(walk: Walk) -> list[DoseLimit]:
    return [limit for limit in walk.limits if isinstance(limit, DoseLimit)]


def cure_limit(walk: Walk, line: WeighedLine) -> DoseLimit | None:
    """The legal maximum a line is held to as a cure; None for anything else."""
    return capped_dose(walk) if nitrite_in(walk, line) else None


def nitrite_in(walk: Walk, line: WeighedLine) -> Fraction:
    """How much of a line is nitrite, as a share: of a cure, or of a cure mix or a brine made ahead;
    else 0."""
    facts = line.joined.ingredient
    if facts is not None:
        of_a_cure = facts.nitrite if facts.function == "cure" else None
        return of_a_cure or _NONE
    came = _components_of(walk, line)
    grams = total(c.grams for c in came)
    nitrite = total(c.grams * c.nitrite for c in came if c.cures)
    return nitrite / grams if grams else Fraction(0)


def _components_of(walk: Walk, line: WeighedLine) -> list[Component]:
    """What a line of a made-ahead formula brings into the step that takes its part in."""
    part, item = line.joined.part, line.joined.item
    step = next((s for s in walk.steps if part in s.step.parts), None)
    if step is None:
        return []
    return [c for c in step.before.components if (c.part, c.came) == (part, item)]


def least_of(walk: Walk, line: WeighedLine) -> Fraction | None:
    """The least grams of an accelerator at factor 1 that a dose of it asks for, the formula's
    others taken as written; None for anything else."""
    facts = line.joined.ingredient
    if facts is None or not facts.erythorbate:
        return None
    limit = next((dose for dose in _doses(walk) if dose.most_ppm is None), None)
    if limit is None:
        return None
    others = limit.ppm * limit.meat_share / MILLION - line.grams * facts.erythorbate
    return (limit.law_ppm * limit.meat_share / MILLION - others) / facts.erythorbate


def most_of_a_cure(
    limit: DoseLimit, line: WeighedLine, nitrite: Fraction, share: Fraction
) -> Fraction:
    """The most a load may hold of a cure, in grams, the formula's other cures taken as dosed.
    ``nitrite`` is how much of it is nitrite, ``share`` the load's part of the formula as
    written."""
    others = limit.ppm * limit.meat_share / MILLION - line.grams * nitrite
    return (limit.law_ppm * limit.meat_share / MILLION - others) / nitrite * share


_TENTH = Fraction(1, 10)


def weighed_short(
    limit: DoseLimit,
    what: str,
    exact_g: Fraction,
    weigh_g: Fraction,
    off_g: Fraction,
    place: Place,
) -> Finding | None:
    """The finding of a cure that the scale brings below the least asked for: an
    error where what it shows is too little, a warning where it is by its error alone. ``exact_g``
    are the grams of the formula, ``weigh_g`` those shown, ``off_g`` how far all its weighings may
    be off; ``what`` says of what, in words. None where it surely reaches the least."""
    if limit.least_ppm is not None and limit.final_ppm < limit.least_ppm:
        return None  # the dose itself is too low, whatever the scale
    each = limit.final_ppm / exact_g if exact_g else Fraction(0)
    least, weighed = limit.weighed_least_ppm or Fraction(0), weigh_g * each
    low = (weigh_g - off_g) * each
    help = "Weigh it on a finer scale, or make a larger batch."
    if weighed <= 0 or weighed < least:
        words = (
            f"{what} the scale's steps bring it down to {plain(weighed, 1)} ppm of nitrite, below "
            f"{plain(least, 1)}."
        )
        return Finding("cure-scale-too-coarse", "error", words, place, help)
    if low >= least:
        return None
    words = (
        f"{what} the scale shows {plain(weighed, 1)} ppm of nitrite. By its error it may be "
        f"{plain(to_side(low, 'down', _TENTH), 1)}, below {plain(least, 1)}."
    )
    return Finding("cure-scale-may-miss", "warning", words, place, help)
