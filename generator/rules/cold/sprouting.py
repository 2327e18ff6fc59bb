"""Seeds and beans that are sprouted here. Food Code 3-502.11: sprouting them needs a variance."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.measures.words import with_verb
from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.paper import asks_for_it, paper

_SPROUTS = "sprouts"


def sprouts_unsaid(context: EndContext) -> EndOutcome:
    """The error of seeds that lie wet and warm until they are sprouts, by no step that says so: the
    variance is asked for at the step that does."""
    house = context.house
    if house.pack.row_for(WordsRow, f"{_SPROUTS}-raw", "tcs") is None:
        return EndOutcome()
    if any(_SPROUTS in step.effects for step in context.formula.steps):
        return EndOutcome()
    grown = [
        c
        for c in context.product.components
        if c.grown == "here" and not c.cooked  # soaked for long, and boiled
    ]
    if not grown:
        return EndOutcome()
    formula = context.formula.formula
    names = list(dict.fromkeys(c.name for c in grown))
    untimed = any(map(_soaks_untimed, context.formula.steps))
    unsaid = "for all that its steps say" if untimed else "and no step says so"
    how_long = "How long does it soak? Write its `time`. " if untimed else ""
    finding = Finding(
        "sprouts-unsaid",
        "error",
        f"{formula.name}: {with_verb(names, 'lies')} wet and warm long enough to sprout, {unsaid}.",
        formula.key_place("name"),
        f"{how_long}Write `does: sprouts` at that step, or `do: sprout`, and record the "
        f"{paper(house)} under `authorisations` in kitchen.yaml, `for: sprout`. Or soak it "
        "in a refrigerator (`in`), or for less time.",
        source=asks_for_it(house, "3-502.11"),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _soaks_untimed(step: JoinedStep) -> bool:
    return "soaks" in step.effects and step.step.time is None and step.cold is None
