"""The product through one step: what is done to it there by its effects, its heat and cold, and
what the rules learned."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.records.effects import HEATS
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.course import Bounds, Stay, warms
from generator.rules.basics.crushing import by_a_juicer, crushes
from generator.rules.basics.product import Product, changed
from generator.rules.cold.part_cooking import PART_COOKS
from generator.rules.cold.wetted import boiling_poured, made_with_heat
from generator.sheet.leaving import staying

_DIVIDES = frozenset(
    {"cuts", "slices", "comminutes", "tenderises", "injects", "stuffs", "fills", "pools", "divides"}
)
_NONE = Fraction(0)


def kept(product: Product, stay: Stay, step: JoinedStep) -> Fraction:
    """The seconds a step keeps food that is ready to eat already, frozen food aside; as far as it
    says."""
    if stay.during in ("frozen", "unchanged", "by plan"):
        return _NONE
    if not product.eaten_as_it_is or not product.needs_cold:
        return _NONE
    seconds = stay.seconds or _NONE
    return seconds if step.step.stays is None else seconds + step.step.stays.longest


def marked(product: Product, step: JoinedStep) -> Product:
    """The product in the form a step gives its raw pieces."""
    for effect, form in (
        ("comminutes", "comminuted"),
        ("tenderises", "tenderised"),
        ("injects", "injected"),
    ):
        if effect in step.effects:
            product = product.with_form(form)
    if _cut_up(step):
        product = product.divided()
    return changed(product, stuffed=True) if "stuffs" in step.effects else product


def wet_and_warm(
    product: Product, step: JoinedStep, bounds: Bounds, wetted: bool = False
) -> Fraction:
    """The seconds moist food waits at a step, neither in the cold, stated or by its place, nor in
    the heat; ``wetted`` says that it is moist though nothing moist was weighed in."""
    time = step.step.time
    if time is None or not (product.wet or wetted) or said_cold(step, bounds):
        return _NONE
    return _NONE if _surely_warms(step, bounds) else time.longest


def stood_since_cold(product: Product, before: Sequence[JoinedStep], bounds: Bounds) -> Fraction:
    """The seconds moist food stood warm at a stretch in the steps ``before`` one: since it was in
    the cold last; if it never was, with those in formulas made ahead."""
    total = Fraction(0)
    for step in reversed(before):
        if said_cold(step, bounds):
            return total
        total += wet_and_warm(product, step, bounds)
    return total + max((c.wet_s or Fraction(0) for c in product.components), default=Fraction(0))


def said_cold(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether it is put where it is cold, or the temperature of its place is stated so."""
    at = step.step.at
    stated = at is not None and bounds.cold is not None and at.warmest <= bounds.cold
    return stated or step.cold is not None


def stands_wet(
    product: Product, step: JoinedStep, bounds: Bounds, house: House, wetted: bool = False
) -> Fraction:
    """The seconds moist food stands at a step as :func:`wet_and_warm` counts them; left
    standing, or in a place, with nothing that says for how long, longer than food may be out of the
    cold."""
    told = step.step.time is not None or said_cold(step, bounds) or step.waiting
    stands = "waits" in step.effects or step.step.at is not None
    if told or not stands or "stores" in step.effects or _surely_warms(step, bounds):
        return wet_and_warm(product, step, bounds, wetted=wetted)
    long = house.library.preparation.most.seconds + 1
    return long if product.wet or wetted else Fraction(0)


def _surely_warms(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether heat goes into the food at the cooler end of the step's temperature too."""
    at = step.step.at
    if step.effects & HEATS or at is None or bounds.hot is None:
        return warms(step, bounds)
    return warms(step, bounds) and bounds.hot <= at.coolest


def reported_to_cut(house: House, step: JoinedStep) -> bool:
    """Whether a word of what the cook is asked to do, or a verb of the kitchen's own, says that
    something is cut or crushed, or it is put through a juicer."""
    own = () if step.step.do in house.library.verbs else (step.verb,)
    words = (*own, *step.step.how)
    if step.machine is not None and by_a_juicer((step.machine.name,)):
        return True
    return crushes(words) or any(map(house.library.known_names.cuts, words))


def _cut_up(step: JoinedStep) -> bool:
    """Whether a step leaves no whole roast whole."""
    return bool(step.effects & _DIVIDES)


def after(
    house: House, formula: str, context: StepContext, outcomes: list[Outcome], bounds: Bounds
) -> Product:
    """The product after a step: what stays behind is gone, then by what the rules learned, then by
    what the step does to it and to its weight."""
    step = context.step
    product = staying(house, context.before, step)
    learned = [one for one in outcomes if one is not NOTHING]  # most rules have nothing to say
    product = _safe_by(learned, product, formula, step)
    product = _keeping_by(learned, product)
    product = _heated_by(step, product, bounds, house)
    product = _cooled_or_packed_by(step, product, context.cools)
    return product.weighing(step.yields.mean) if step.yields is not None else product


def _safe_by(outcomes: list[Outcome], product: Product, formula: str, step: JoinedStep) -> Product:
    """The product with what the rules count as made safe in it."""
    if any(o.cooked for o in outcomes):
        product = product.heated()
    if any(o.reheated for o in outcomes):
        product = product.reheated()
    if any(o.roast for o in outcomes) and not _cut_up(step):
        product = product.roasted(formula)
    if any(o.freed for o in outcomes):
        product = product.freed()
    return product.seared() if any(o.seared for o in outcomes) else product


def _keeping_by(outcomes: list[Outcome], product: Product) -> Product:
    """The product with what the rules learned of its keeping: packed without air, or acidified."""
    for outcome in outcomes:
        if outcome.air_days is not None:
            product = changed(product, air_days=outcome.air_days, air_row=outcome.air_row)
    sour = next((o.acidified for o in outcomes if o.acidified), "")
    return changed(product, acidified=sour) if sour else product


def _heated_by(step: JoinedStep, product: Product, bounds: Bounds, house: House) -> Product:
    """The product as the heat of a step leaves it."""
    if "reheats" in step.effects:
        product = product.reheated()
    if PART_COOKS in step.effects:
        product = product.part_heated()
    if step.effects & {"cooks", PART_COOKS, "reheats", "holds-hot"}:
        product = changed(product, hot=True, frozen=False)  # cooked from frozen, too
    heats = warms(step, bounds) or boiling_poured(step, product, house)
    if heats and not product.raw_animals:
        made = product.plants_heated or made_with_heat(product, house)
        product = changed(product, plants_heated=made)
    return product


def _cooled_or_packed_by(step: JoinedStep, product: Product, cools: bool) -> Product:
    """The product as the cold, the clock and the pack of a step leave it."""
    if cools or "freezes" in step.effects:
        product = changed(product, hot=False)
    if "freezes" in step.effects:
        product = changed(product, frozen=True)
    if "thaws" in step.effects:
        product = changed(product, frozen=False).packed(no_air=False)
    if "holds-by-time" in step.effects:
        product = changed(product, by_time=True)
    return product.packed(no_air=True) if "packs-without-air" in step.effects else product
