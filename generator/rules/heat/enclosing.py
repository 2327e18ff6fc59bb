"""Meat and fish rolled or folded round something: stuffed, unless that is seasoning alone.

Food Code 3-401.11(A)(3) asks more heat of stuffed meat, poultry, fish and ratites, and of stuffing
that contains them. What a roll encloses its formula says by `filling`; unsaid it counts as food,
and a warning asks. So does whole meat or fish with more than seasoning put on or into it, by
whatever step: nothing else says a filled breast from one that lies on its garnish.
"""

from __future__ import annotations

from fractions import Fraction

from generator.measures.words import listed, with_verb
from generator.records.effects import HEATS
from generator.reference.packs import Pack
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import NOTHING, EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.product import Component, Product, changed
from generator.rules.basics.uncovered import without_its_step

ENCLOSES, JOINS = "encloses", "joins"
MOST_SEASONING = Fraction(1, 10)
"""The share of the meat's weight above which what is put to it is no seasoning: a working rule."""
_FLESH = ("meat", "game", "wild-game", "poultry", "ratite", "fish")
_SEASONS = ("salt", "cure")


def enclosed(product: Product, step: JoinedStep, formula: JoinedFormula, pack: Pack) -> Product:
    """The product at a step, stuffed where the step rolls or folds raw meat or fish round food, or
    food round it. ``product`` holds what the step takes in."""
    stated = formula.formula.filling
    if not _inside(product, step, pack):
        return product
    if stated not in (None, "food") and not _problem(stated, product, step, pack):
        return product
    return changed(product, stuffed=True)


def filling(context: StepContext) -> Outcome:
    """Ask what is enclosed where the formula doesn't say, and refuse what it says where that isn't
    so."""
    step, stated, pack = context.step, context.formula.formula.filling, context.house.pack
    inside = _inside(context.before, step, pack)
    later = context.formula.after(step.number)
    asked_later = any(ENCLOSES in s.effects for s in later) and ENCLOSES not in step.effects
    if not inside or stated == "food" or asked_later or not _heated_from(context):
        return NOTHING
    if stated is None:
        finding = context.finding(
            "filling-not-stated",
            "warning",
            f"{step.verb}: what is inside isn't stated. It counts as stuffed: {_names(inside)}.",
            "Write `filling: seasoning` in the formula if it is herbs, salt and spice alone, "
            f"`filling: nothing` if {_nothing_if(step)}, else `filling: food`.",
            place=step.step.place("do"),
            source=_source(context),
        )
        return Outcome((), (finding,))
    wrong = _problem(stated, context.before, step, pack)
    if not wrong:
        return NOTHING
    finding = context.finding(
        "filling-contradicted",
        "error",
        f"{step.verb}: {wrong}.",
        "Write `filling: food`. It then counts as stuffed.",
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


def _problem(stated: str, product: Product, step: JoinedStep, pack: Pack) -> str:
    """What speaks against a formula's word that seasoning, or nothing, is inside; empty if nothing
    does."""
    if stated == "nothing":
        return _something_inside(product, step, pack)
    inside = _filling(product, pack)
    food = [c for c in inside if _is_food(c)]
    if not food and _is_seasoning(inside, product, pack):
        return ""
    food = food or list(inside)
    named = with_verb(list(dict.fromkeys(c.name for c in food)), "is")
    return f"the formula says that the filling is seasoning, but {named} food"


def _something_inside(product: Product, step: JoinedStep, pack: Pack) -> str:
    """What speaks against nothing being inside what a step rolls or folds: more than one part, or
    meat that isn't ground."""
    if ENCLOSES not in step.effects:
        return ""
    new = set(step.parts)
    if len(new) > 1 or (new and any(c.part not in new for c in product.components)):
        return "the formula says that nothing is inside, but more than one part comes together here"
    ground = all(c.form in (None, "comminuted") for c in product.components if _flesh(c, pack))
    return "" if ground else "the formula says that nothing is inside, but the meat isn't ground"


def _is_food(part: Component) -> bool:
    """Whether it is of an animal or needs the cold, and so no seasoning."""
    return part.species != "none" or part.tcs


def _is_seasoning(inside: tuple[Component, ...], product: Product, pack: Pack) -> bool:
    """Whether what is inside is little enough for seasoning."""
    return _grams(inside) <= _flesh_grams(product, pack) * MOST_SEASONING


def _heated_from(context: StepContext) -> bool:
    """Whether heat comes at or after this step, or what is made goes into another formula: nothing
    hangs on the filling of what is eaten raw."""
    later = context.formula.since(context.step.number)
    return bool(context.formula.used_in) or any(s.effects & HEATS for s in later)


def _nothing_if(step: JoinedStep) -> str:
    """When nothing is inside, in words, by what the step does."""
    if ENCLOSES in step.effects:
        return "one ground mixture is shaped"
    return "it lies beside or on the meat, or coats it"


def _inside(product: Product, step: JoinedStep, pack: Pack) -> tuple[Component, ...]:
    """What may be inside the raw meat or fish once a step is done: whatever is with it where it is
    rolled or folded; where one is put on or into the other there, food, or more than seasoning."""
    if ENCLOSES in step.effects:
        return _filling(product, pack)
    if JOINS not in step.effects:
        return ()
    inside = _put_to_it(product, step, pack)
    food = any(_is_food(c) for c in inside)
    return inside if food or not _is_seasoning(inside, product, pack) else ()


def _put_to_it(product: Product, step: JoinedStep, pack: Pack) -> tuple[Component, ...]:
    """What is put on or into whole meat or fish at a step, sugar and fat apart; nothing where all
    of it is ground."""
    flesh = [c for c in product.components if _flesh(c, pack)]
    if all(c.form == "comminuted" for c in flesh):
        return ()
    met = _met(step, flesh, _filling(product, pack))
    return tuple(c for c in met if not _flesh(c, pack) and not c.boils)


def _met(
    step: JoinedStep, flesh: list[Component], inside: tuple[Component, ...]
) -> tuple[Component, ...]:
    """What of ``inside`` comes together with the meat at this step, and not before."""
    if any(c.part in step.parts for c in flesh):
        return inside
    return tuple(c for c in inside if c.part in step.parts)


def _grams(parts: tuple[Component, ...]) -> Fraction:
    return sum((c.grams for c in parts), Fraction(0))


def _flesh_grams(product: Product, pack: Pack) -> Fraction:
    return _grams(tuple(c for c in product.components if _flesh(c, pack)))


def never_enclosed(context: EndContext) -> EndOutcome:
    """A formula that says what is inside, and whose steps enclose nothing."""
    if context.formula.formula.filling == "nothing" and not _whole_flesh(context):
        return EndOutcome()  # one ground mixture, shaped: nothing is inside, as it says
    asks = {JOINS, "stuffs"} if _whole_flesh(context) else {"stuffs"}
    if any(s.effects & asks for s in context.formula.steps):
        return EndOutcome()
    return without_its_step(
        context,
        "filling",
        ENCLOSES,
        "filling-nowhere",
        "says what it is rolled round, but no step rolls it",
        "Roll it at a step, as in `do: roll`, or delete `filling`.",
    )


def _whole_flesh(context: EndContext) -> bool:
    """Whether meat or fish is in it that isn't ground."""
    pack = context.house.pack
    parts = context.product.components
    whole = [c for c in parts if c.form != "comminuted" and c.species != "none"]
    return any(_of_flesh(c, pack) for c in whole)


def _of_flesh(component: Component, pack: Pack) -> bool:
    definition = pack.definitions.get(component.species or "")
    return definition is None or definition.group_as in _FLESH


def _flesh(component: Component, pack: Pack) -> bool:
    """Whether it is raw meat, poultry or fish, or of an animal that isn't stated."""
    return component.raw_animal and _of_flesh(component, pack)


def _filling(product: Product, pack: Pack) -> tuple[Component, ...]:
    """What is with the raw meat or fish that is rolled, salt and cure apart; none where there is
    none."""
    raw = [c for c in product.components if _flesh(c, pack)]
    return tuple(
        c for c in product.components if raw and c is not raw[0] and c.function not in _SEASONS
    )


def _names(components: tuple[Component, ...]) -> str:
    return listed(list(dict.fromkeys(c.name for c in components)))
