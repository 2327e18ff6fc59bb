"""Food between cold and hot in words: which, and between which figures."""

from __future__ import annotations

from generator.measures.words import listed, verb_for, with_verb
from generator.resolve.joined import House
from generator.rules.basics.context import StepContext, authorisation_problem, both, cited
from generator.rules.basics.limit import figure_of
from generator.rules.basics.paper import paper
from generator.rules.cold.holding import held_cold, held_hot
from generator.rules.cold.never_chilled import PLANS

CALLED = {
    "ferments": "fermenting",
    "dries": "drying",
    "ages": "ageing",
    "sprouts": "sprouting",
    "smokes": "smoking",
}
"""What is done by a plan, in words, by its effect."""


def figures(context: StepContext) -> str:
    """The figures between which food is neither cold nor hot, on this probe."""
    cold, hot = held_cold(context.house), held_hot(context.house)
    assert cold is not None and cold[1].value is not None
    low = figure_of(cold[1].value, cold[1].printed, "max", context.accuracy)
    first = both(low.value, low.shown_c, low.shown_f)
    if hot is None or hot[1].value is None:
        return f"{first} and hot"
    high = figure_of(hot[1].value, hot[1].printed, "min", context.accuracy)
    return f"{first} and {both(high.value, high.shown_c, high.shown_f)}"


def names_of(context: StepContext) -> str:
    """What of the food needs the cold, by name; the formula, where that is more than three."""
    return listed(_named(context))


def it_is(context: StepContext) -> str:
    """The same with its verb: "Milk is", "Milk and Egg are"."""
    return with_verb(_named(context), "is")


def does_it(context: StepContext) -> str:
    """The same behind the verb of a question: "does Milk", "do Milk and Egg"."""
    named = _named(context)
    return f"{verb_for(named, 'does')} {listed(named)}"


def _named(context: StepContext) -> list[str]:
    found = [c for c in context.before.components if c.tcs or c.raw_animal]
    found_names = list(dict.fromkeys(c.through or c.name for c in found))
    if not found_names or len(found_names) > 3 or not context.before.raw_animals:
        return [context.formula.formula.name]
    return found_names


def held_in(house: House) -> str:
    """Document and clause of the row for holding cold; empty where there is none."""
    cold = held_cold(house)
    return cited(house, cold[1]) if cold is not None else ""


def by_a_plan_before(context: StepContext) -> str:
    """What a plan in force let the food do at a step before, as an effect; empty where none did."""
    house = context.house
    done = [e for s in context.formula.before(context.step.number) for e in PLANS if e in s.effects]
    in_force = (e for e in done if not authorisation_problem(house, PLANS[e], "none", ""))
    return next(in_force, "")


def do_otherwise(context: StepContext) -> str:
    """What to do about a time that is too long; where the place is hot enough, it may be a cook."""
    hot, at = held_hot(context.house), context.step.step.at
    figure = hot[1].value if hot is not None else None
    if at is not None and figure is not None and figure <= at.coolest:
        return (
            "Does the heat cook it through? Write `does: cooks` and its core `target`. If not, "
            "take less time."
        )
    effect = by_a_plan_before(context)
    if effect:
        return (
            f"Does your plan for {CALLED[effect]} cover this step? Write `does: {effect}` on it. "
            "If not, do it in a refrigerator (`in`), or in less time."
        )
    return (
        f"{_how_long_cold(context)}Do it in a refrigerator (`in`), or in less time. To ferment, "
        f"dry, age or sprout it on purpose needs a {paper(context.house)}: `for: ferment`, "
        f"`for: dry` to dry or age it, or `for: sprout`.{_smoked_to_keep(context)}"
    )


def _how_long_cold(context: StepContext) -> str:
    """The question how long food was in the cold at steps that don't say so: until then that made
    it cold by no more than a moment."""
    spell = context.course.spell
    unsaid = [
        f"step {s.number}"
        for s in context.formula.before(context.step.number)
        if spell is not None and s.number >= spell.began and s.cold is not None
        if s.step.time is None and s.target is None
    ]
    if not unsaid:
        return ""
    return f"How long is it in the cold at {listed(unsaid)}? Write its `time`. Or: "


def _smoked_to_keep(context: StepContext) -> str:
    """How a chef says that smoke keeps the food, where it is smoked for its flavour, or nothing is
    said."""
    if "smokes" not in context.step.effects:
        return ""
    asked = paper(context.house)
    return f" Smoked to keep it by a {asked}, `for: smoke`? Write `smoked_for: keeping`."
