"""What the meat takes up of its pickle: the share pumped in or picked up; the rest is thrown
away."""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import plain
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.product import Product
from generator.rules.cures.dosing import pickle_parts, takes_up, weight_of


def share_taken_up(step: JoinedStep) -> Fraction | None:
    """The pickle a step brings into the meat, as a share of its green weight; None if not
    stated."""
    return step.step.pump or step.step.pick_up


def _green(house: House, product: Product) -> Fraction:
    """Green weight of what takes up brine in the product, in grams."""
    return sum((c.grams for c in product.components if takes_up(house, c)), Fraction(0))


def after_taking_up(house: House, product: Product, step: JoinedStep) -> Product:
    """The product once the meat has taken up its share: what is left of the pickle is gone."""
    share = share_taken_up(step)
    if share is None:
        return product
    parts = pickle_parts(house, product, step.parts)
    pickle = weight_of(product, parts)
    if not pickle:
        return product
    part_kept = share * _green(house, product) / pickle
    return product.keep(parts, min(part_kept, Fraction(1)))


def taking_up(context: StepContext) -> Outcome:
    """Refuse a pump or pick-up without a pickle or meat, or of more pickle than the formula
    makes."""
    share = share_taken_up(context.step)
    if share is None:
        return NOTHING
    record = context.step.step
    place = record.place("pump" if record.pump is not None else "pick_up")
    green = _green(context.house, context.before)
    parts = pickle_parts(context.house, context.before, context.step.parts)
    pickle = weight_of(context.before, parts)
    if not green or not pickle:
        missing = "meat or fish to take it up" if pickle else "pickle"
        finding = context.finding(
            "pump-without-pickle",
            "error",
            f"{context.step.verb}: there is no {missing} at this step.",
            "Add the meat before this step. Add the pickle, as its own part, at this step.",
            place=place,
        )
        return Outcome((), (finding,))
    if share * green > pickle:
        need = f"{plain(share * green, 0)} g of pickle"
        finding = context.finding(
            "pickle-too-little",
            "error",
            f"{context.step.verb}: that needs {need}. The formula makes {plain(pickle, 0)} g.",
            "Make more pickle in proportion, or pump less.",
            place=place,
        )
        return Outcome((), (finding,))
    return NOTHING
