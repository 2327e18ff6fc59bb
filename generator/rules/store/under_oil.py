"""Fresh herbs and vegetables under oil, garlic in honey, and what was drawn in cold water, kept out
of the cold.

Oil keeps the air out, and such food isn't sour enough to stop botulism; garlic in oil is law of its
own (Food Code 1-201.10). Extension services ask for the refrigerator, or for herbs that are dried
first; of garlic in honey they say that no data show it safe. Cold-brewed coffee and tea were never
hot: closed in a bottle they are low-acid food without air. How much oil covers pieces, and which
names mean a brew, are working rules of this manual.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Severity
from generator.measures.rounding import total
from generator.measures.words import listed
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import RAW_STATES, Component
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.drinks import cold_brewed
from generator.rules.packing.under_fat import COVERS
from generator.rules.store.out_of_the_cold import KeptOut, found_moist, kept_out
from generator.rules.store.souring import kept_moist, moist_plant

_MOISTENS = Fraction(1, 2)
"""The least water, as a share of dry food's weight, that makes it moist."""


def kept_under_oil(context: EndContext) -> EndOutcome:
    """An error where raw, moist plant food lies under oil and is kept out of the cold, and nothing
    shows that it keeps. What is strained out again isn't asked, nor what was dried."""
    covered = _covered(context) if _is_asked(context) else []
    kept = kept_out(context, [*covered, *_fats(context)]) if covered else None
    if kept is None or any(f.severity == "error" for f in kept_moist(context).findings):
        return EndOutcome()  # what is ground is refused already
    names = list(dict.fromkeys(c.name for c in covered))
    words = (
        f"{kept.said(f'with {listed(names)} under oil')} Oil keeps the air out, and botulism can "
        "grow."
    )
    fresh = list(dict.fromkeys(c.name for c in covered if c.form != "dry"))
    other = f"dry {listed(fresh)} first, and put that into the name" if fresh else "use no water"
    return _outcome(context, kept, "error", words, "osu-herbs-in-oil", f"Or {other}.")


def kept_in_honey(context: EndContext) -> EndOutcome:
    """An error where raw garlic lies in honey or syrup and is kept out of the cold: nothing shows
    that it gets sour before botulism grows."""
    garlic = _in_syrup(context) if _is_asked(context) else []
    sugars = [c for c in context.product.components if c.boils == "sugar"]
    kept = kept_out(context, [*garlic, *sugars]) if garlic else None
    if kept is None:
        return EndOutcome()
    names = listed(list(dict.fromkeys(c.name for c in garlic)))
    words = f"{kept.said(f'with {names} in honey or syrup')} Botulism can grow."
    return _outcome(context, kept, "error", words, "osu-garlic-in-honey")


def _in_syrup(context: EndContext) -> list[Component]:
    """The raw garlic that lies in enough honey or syrup at the end."""
    parts = context.product.components
    garlic = [c for c in parts if c.plant == "garlic" and moist_plant(c)]
    sugar = _weight([c for c in parts if c.boils == "sugar"])
    heated = any(step.effects & HEATS for step in context.formula.steps)
    if not garlic or heated or any(c.acid for c in parts):
        return []
    return garlic if sugar >= COVERS * _weight(garlic) else []


def _weight(parts: list[Component]) -> Fraction:
    return total(c.weight for c in parts)


def kept_cold_brewed(context: EndContext) -> EndOutcome:
    """Coffee or tea drawn in cold water and kept out of the cold for more than a day: an error once
    it is closed in its pack, a warning in the open."""
    brewed = (
        cold_brewed(context.house, context.formula, context.product) if _is_asked(context) else ()
    )
    kept = kept_out(context, list(brewed)) if brewed else None
    if kept is None or not kept.beyond_a_day:
        return EndOutcome()
    closed = any("packs" in step.effects for step in context.formula.steps)
    words = f"{kept.said()} It was drawn in cold water, and nothing killed what grows."
    if closed:
        words += " Closed in its pack it has no air: botulism can grow."
    return _outcome(context, kept, "error" if closed else "warning", words, "cold-brew-policies")


def _outcome(
    context: EndContext, kept: KeptOut, severity: Severity, words: str, source: str, more: str = ""
) -> EndOutcome:
    title = context.house.library.source_title(source)
    return found_moist(context, kept, severity, words, title, more)


def _is_asked(context: EndContext) -> bool:
    """Whether nothing else asks for the cold, its pH or its paper."""
    formula, product = context.formula.formula, context.product
    proven = formula.not_tcs is not None and bool(formula.not_tcs.document)
    soured = any("acidifies" in step.effects for step in context.formula.steps)
    return not (product.tcs or proven or soured)


def _covered(context: EndContext) -> list[Component]:
    """The raw, moist plant food that lies under enough oil at the end."""
    parts = context.product.components
    fat = _weight(_fats(context))
    acid = any(c.acid for c in parts)
    moist = [c for c in parts if moist_plant(c) or _soaked(context, c)]
    weight = _weight(moist)
    covered = bool(weight) and not acid and fat >= COVERS * weight
    return moist if covered and not any(map(_takes_out, _last_on(context, moist))) else []


def _fats(context: EndContext) -> list[Component]:
    return [c for c in context.product.components if c.boils == "fat"]


def _soaked(context: EndContext, part: Component) -> bool:
    """Whether a part is dry plant food that half its weight of water and more is put to."""
    dry = part.form == "dry" and part.species == "none" and part.state in RAW_STATES
    if not dry or part.flour or part.function or part.boils:
        return False
    parts = context.product.components
    water = _weight([c for c in parts if is_water(context.house, c)])
    return water >= _MOISTENS * part.weight


def _last_on(context: EndContext, moist: list[Component]) -> Iterator[JoinedStep]:
    """The steps behind the one that takes the last of such food in."""
    yield from context.formula.after(context.formula.taken_at({c.part for c in moist}))


def _takes_out(step: JoinedStep) -> bool:
    return "drains" in step.effects or bool(step.step.leaves)
