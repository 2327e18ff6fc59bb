"""Meat and fish rolled or folded round something: stuffed, unless that is seasoning alone.

Food Code 3-401.11(A)(3) asks more heat of stuffed meat, poultry, fish and ratites, and of stuffing
that contains them. What a roll encloses its formula says by `filling`; unsaid it counts as food,
and a warning asks.
"""

from __future__ import annotations

from dataclasses import replace

from generator.measures.words import listed
from generator.reference.packs import Pack
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import NOTHING, EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.product import Component, Product
from generator.rules.basics.uncovered import without_its_step

ENCLOSES = "encloses"
_FLESH = ("meat", "game", "wild-game", "poultry", "ratite", "fish")
_SEASONS = ("salt", "cure")


def enclosed(product: Product, step: JoinedStep, formula: JoinedFormula, pack: Pack) -> Product:
    """The product at a step, stuffed where the step rolls or folds raw meat or fish round food, or
    food round it. ``product`` holds what the step takes in."""
    stated = formula.formula.filling
    if ENCLOSES not in step.effects or not _filling(product, pack):
        return product
    if stated not in (None, "food") and not _against(stated, product, step, pack):
        return product
    return replace(product, stuffed=True)


def filling(context: StepContext) -> Outcome:
    """Ask what is enclosed where the formula doesn't say, and refuse what it says where that isn't
    so."""
    step, stated, pack = context.step, context.formula.formula.filling, context.house.pack
    inside = _filling(context.before, pack)
    if ENCLOSES not in step.effects or not inside or stated == "food":
        return NOTHING
    if stated is None:
        finding = context.finding(
            "filling-not-stated",
            "warning",
            f"{step.verb}: what is inside isn't stated, so it counts as stuffed: {_names(inside)}.",
            "Write `filling: seasoning` in the formula if it is herbs, salt and spice alone, "
            "`filling: nothing` if "
            "one ground mixture is shaped, else `filling: food`.",
            place=step.step.place("do"),
            source=_source(context),
        )
        return Outcome((), (finding,))
    wrong = _against(stated, context.before, step, pack)
    if not wrong:
        return NOTHING
    finding = context.finding(
        "filling-contradicted",
        "error",
        f"{step.verb}: {wrong}.",
        "Write `filling: food`; it then counts as stuffed.",
        ("filling: food",),
        context.formula.formula.place("filling"),
        _source(context),
    )
    return Outcome((), (finding,))


def _source(context: StepContext) -> str:
    """The clause of the group stuffed food belongs to in the pack in force."""
    groups = context.house.pack.groups.values()
    clause = next((g.clause for g in groups if "stuffed" in g.takes), "")
    return f"{context.house.pack.facts.document}, {clause}" if clause else ""


def _against(stated: str, product: Product, step: JoinedStep, pack: Pack) -> str:
    """What speaks against a formula's word that seasoning, or nothing, is inside; empty if nothing
    does."""
    if stated == "nothing":
        new = set(step.parts)
        several = len(new) > 1 or (new and any(c.part not in new for c in product.components))
        ground = all(c.form in (None, "comminuted") for c in product.components if _flesh(c, pack))
        if several:
            return (
                "the formula says that nothing is inside, and more than one part comes "
                "together here"
            )
        return (
            "" if ground else "the formula says that nothing is inside, and the meat isn't ground"
        )
    food = [c for c in _filling(product, pack) if c.species != "none" or c.tcs]
    if not food:
        return ""
    are = "is" if len({c.name for c in food}) == 1 else "are"
    return f"the formula says that the filling is seasoning, and {_names(tuple(food))} {are} food"


def never_enclosed(context: EndContext) -> EndOutcome:
    """A formula that says what is inside, and whose steps enclose nothing."""
    return without_its_step(
        context,
        "filling",
        ENCLOSES,
        "filling-nowhere",
        "says what it is rolled round, and no step rolls it",
        "Roll it at a step, as in `do: roll`, or delete `filling`.",
    )


def _flesh(component: Component, pack: Pack) -> bool:
    """Whether it is raw meat, poultry or fish, or of an animal that isn't stated."""
    definition = pack.definitions.get(component.species or "")
    return component.raw_animal and (definition is None or definition.group_as in _FLESH)


def _filling(product: Product, pack: Pack) -> tuple[Component, ...]:
    """What is with the raw meat or fish that is rolled, salt and cure apart; none where there is
    none."""
    raw = [c for c in product.components if _flesh(c, pack)]
    return tuple(
        c for c in product.components if raw and c is not raw[0] and c.function not in _SEASONS
    )


def _names(components: tuple[Component, ...]) -> str:
    return listed(list(dict.fromkeys(c.name for c in components)))
