"""Batter out of the cold: flour and water as thin as it pours. Raw and dry, flour needs no cold;
once it is wet, Staphylococcus aureus grows in it, and no fryer destroys the toxin.

The times are the FDA's for hydrated batter mixes (guide on hazards of fish, chapter 15): no rule of
law, so a warning. Dough that rises, and batter that is left to ferment, have rules of their own.
"""

from __future__ import annotations

import re
from fractions import Fraction

from generator.measures.temperature import Temperature
from generator.measures.words import duration
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.fate import LEAVEN
from generator.rules.basics.flour import flour_in, is_raw_flour, mostly_flour
from generator.rules.basics.product import Product

WARM_S, COOL_S = Fraction(3 * 3600), Fraction(12 * 3600)
"""The most above 70 °F, and from 50 to 70 °F, in seconds and in all."""
COOL = Temperature.of(70, "°F")
_RISES = re.compile(r"\b(?:sponge|culture)\b", re.IGNORECASE)
"""What else batter is left to ferment with."""


def batter_left_warm(context: StepContext) -> Outcome:
    """A warning at the step by whose end batter was out of the cold for longer than the FDA says,
    or at which it is put by out of the cold."""
    step = context.step
    if context.needs_cold or not _out(step) or not _batter(context.before) or _rises(context):
        return NOTHING
    put_by = "stores" in step.effects and step.step.time is None
    before = sum((_seconds(one) for one in _since(context)), Fraction(0))
    total, most = before + _seconds(step), _most(step)
    if not put_by and not before <= most < total:
        return NOTHING
    how = "is put by out of the cold" if put_by else f"is out of the cold for {duration(total)}"
    finding = context.finding(
        "batter-left-warm",
        "warning",
        f"{step.verb}: the batter {how}. {duration(most)} is the most: germs in it form a "
        "toxin that no heat destroys.",
        "Keep it in a refrigerator (`in`). Or make less of it, more often.",
        place=step.step.place("do") if put_by else context.time_place(),
        source=context.house.library.source_title("fda-batter-quoted"),
    )
    return Outcome((), (finding,))


def _out(step: JoinedStep) -> bool:
    """Whether food is out of the cold and off the heat at a step."""
    return step.cold is None and not step.effects & (HEATS | {"holds-hot", "cleans"})


def _since(context: StepContext) -> list[JoinedStep]:
    """The steps before, since a flour went in, at which it was out of the cold."""
    flour = {c.part for c in context.before.components if is_raw_flour(c)}
    steps = context.formula.before(context.step.number)
    first = next((i for i, one in enumerate(steps) if flour & set(one.parts)), 0)
    return [one for one in steps[first:] if _out(one)]


def _seconds(step: JoinedStep) -> Fraction:
    time = step.step.time
    return time.longest if time is not None else Fraction(0)


def _most(step: JoinedStep) -> Fraction:
    """The most, by how warm its place is said to be."""
    at = step.step.at
    return COOL_S if at is not None and at.warmest <= COOL else WARM_S


def _batter(product: Product) -> bool:
    """Whether it is raw batter: a fourth of it flour, and as much liquid as flour."""
    parts = [c for c in product.components if not c.heated and not c.cooked]
    liquid = sum((c.grams for c in parts if c.form == "liquid"), Fraction(0))
    return mostly_flour(product.components) and liquid >= flour_in(parts)


def _rises(context: StepContext) -> bool:
    """Whether it is left to rise or to ferment, on purpose."""
    steps = (*context.formula.before(context.step.number), context.step)
    on_purpose = any(one.effects & {"raises", "ferments"} for one in steps)
    names = [c.name for c in context.before.components]
    return on_purpose or any(LEAVEN.search(n) or _RISES.search(n) for n in names)
