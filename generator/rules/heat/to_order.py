"""Made for one guest's order and served at once: shell eggs broken for it need less heat, and
cooked food heated again for it none by law.

Food Code 3-401.11(A)(1)(a) and 3-403.10. A formula says so by `to_order`; what its own words and
steps speak against is an error, and it then counts as made ahead: the eggs as pooled, what is
reheated as held hot.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from generator.files.finding import Finding, Place
from generator.measures.words import with_verb
from generator.records.effects import KEPT, WAITS
from generator.records.ingredient import Ingredient
from generator.records.makes import Makes
from generator.records.size import Size
from generator.reference.row_kinds import CookRow
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome, cited
from generator.rules.basics.product import RAW_STATES

TO_ORDER = "to-order"
"""The rows that hold for what is made to order only."""
_DENIED = "Until then it counts as made ahead and needs more heat. Fix it, or delete `to_order`."


@dataclass(frozen=True)
class Problem:
    """One thing that speaks against it, and where that is written."""

    words: str
    place: Place


def raw_egg(facts: Ingredient | None) -> bool:
    """Whether an ingredient is a raw egg, in its shell or out of it."""
    return facts is not None and facts.species == "egg" and facts.state in RAW_STATES


def holds(formula: JoinedFormula) -> bool:
    """Whether a formula is made to order, and nothing in it speaks against that."""
    return formula.formula.to_order and next(problems(formula), None) is None


def problems(formula: JoinedFormula) -> Iterator[Problem]:
    """All that speaks against a formula's `to_order`, in the order of its file and then of its
    steps."""
    yield from _by_its_words(formula)
    yield from _by_its_steps(formula)


def _by_its_words(formula: JoinedFormula) -> Iterator[Problem]:
    """Eggs out of their shells, food that is kept, a batch of more than one guest's order."""
    record = formula.formula
    for line in formula.lines:
        if raw_egg(line.ingredient) and line.ingredient and line.ingredient.form != "intact":
            yield Problem(
                f"{with_verb(line.name, 'is not')} stated to come in its shell (`form: intact`)",
                line.line.place("amount"),
            )
    if record.keeps is not None:
        yield Problem("the formula keeps some of it", record.key_place("keeps"))
    if any(_more_than_one(record.makes, size) for size in formula.sizes):
        yield Problem(
            "a batch is more than one fill or portion, which is one guest's order (as in "
            "`batches: [1 portion]`, with `portion` under `makes`)",
            record.key_place("batches"),
        )


def _more_than_one(makes: Makes | None, size: Size) -> bool:
    """Whether a batch size is more than one guest's order: a fill that is parted into portions is
    for several."""
    if size.kind not in ("fills", "portions") or size.value > 1:
        return True
    if size.kind == "portions" or makes is None:
        return False
    portion, fill = makes.portion, makes.fill_weight
    if portion is not None and fill is not None:
        return portion.value < fill.value
    parted = (makes.portions or 1) > 1 or makes.slice is not None
    return parted or makes.by_portions


def _by_its_steps(formula: JoinedFormula) -> Iterator[Problem]:
    """Eggs broken together, food that waits, an end without the guest."""
    steps = [s for s in formula.steps if "cleans" not in s.effects]
    egg, heated = first_egg(formula, steps), _first_reheat(steps)
    for index, step in enumerate(steps):
        if index >= egg and "pools" in step.effects:
            yield Problem("eggs are broken together", step.step.place("do"))
        elif (index >= egg or index > heated) and waits(step):
            yield Problem(f"it waits or is held ({step.verb.lower()})", step.step.place("do"))
    if steps and "serves" not in steps[-1].effects:
        yield Problem("its last step isn't `serve`", steps[-1].step.place("do"))


def first_egg(formula: JoinedFormula, steps: Sequence[JoinedStep]) -> int:
    """Where in ``steps`` the one is that takes the first raw egg in; past the end where there
    is none."""
    parts = {line.part for line in formula.lines if raw_egg(line.ingredient)}
    return next((i for i, step in enumerate(steps) if parts & set(step.parts)), len(steps))


def _first_reheat(steps: list[JoinedStep]) -> int:
    """The first step that heats cooked food again; past the end where there is none."""
    return next((i for i, step in enumerate(steps) if "reheats" in step.effects), len(steps))


def waits(step: JoinedStep) -> bool:
    """Whether a step holds, keeps or lets wait what is to be served at once."""
    return bool(step.effects & (KEPT | WAITS)) or step.cold is not None


def made_to_order(context: EndContext) -> EndOutcome:
    """An error for each thing that speaks against a formula's `to_order`."""
    formula = context.formula
    if not formula.formula.to_order:
        return EndOutcome()
    row = context.house.pack.row_for(CookRow, TO_ORDER)
    source = cited(context.house, row[1]) if row is not None else ""
    findings = tuple(
        Finding(
            "not-to-order",
            "error",
            f"{with_verb(formula.formula.name, 'is not')} made to order: {why.words}.",
            why.place,
            _DENIED,
            source=source,
            about=frozenset({formula.id}),
        )
        for why in problems(formula)
    )
    return EndOutcome((), findings)
