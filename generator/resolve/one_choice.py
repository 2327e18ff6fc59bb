"""What a formula and its process leave out because only one thing can be meant: the base, the step
a part goes in at, the place it is stored in. Where there are two it stays out, and is asked about.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from generator.measures.amounts import Amount
from generator.records.equipment import Cold, Equipment
from generator.records.formula import Formula
from generator.records.process import Effect, Process, Step
from generator.reference.rows import Verb


def with_base(formula: Formula) -> Formula:
    """The formula with the base it leaves out, where only one can be meant: all of it, if no line
    is a percentage; else what is given in weights, if one part alone has such lines, or if each
    percentage says of what it is."""
    if formula.states("base"):
        return formula
    lines = [(p, i, ln.amount) for p, items in formula.parts.items() for i, ln in items.items()]
    whole = [(part, item) for part, item, amount in lines if amount.kind != "percent"]
    parts = list(dict.fromkeys(part for part, _ in whole))
    base: tuple[str, ...] = ()
    if len(whole) == len(lines):
        base = tuple(parts)
    elif len(parts) == 1 or _of_others(amount for _, _, amount in lines):
        base = _in_weights(formula, whole)
    return formula.model_copy(update={"base": base}) if base else formula


def _of_others(amounts: Iterable[Amount]) -> bool:
    """Whether each percentage among them says of what it is."""
    return all(amount.of or amount.kind != "percent" for amount in amounts)


def _in_weights(formula: Formula, whole: list[tuple[str, str]]) -> tuple[str, ...]:
    """The lines given in weights as a base names them: a part where all of it is, else its items.
    Nothing, if such an item is in another part too: its name alone would mean both."""
    base: list[str] = []
    for part in dict.fromkeys(part for part, _ in whole):
        inside = [item for p, item in whole if p == part]
        if len(inside) == len(formula.parts[part]):
            base.append(part)
            continue
        others = [items for p, items in formula.parts.items() if p != part]
        if any(item in formula.parts or any(item in o for o in others) for item in inside):
            return ()
        base += inside
    return tuple(base)


def completed(
    process: Process,
    formula: Formula,
    equipment: Mapping[str, Equipment],
    verbs: Mapping[str, Verb],
) -> Process:
    """A process as one formula follows it: with what `add` and `in` can only be."""
    return _stored(_adding(process, formula, verbs), formula, equipment, verbs)


def _adding(process: Process, formula: Formula, verbs: Mapping[str, Verb]) -> Process:
    """The process with the `add` that none of its steps has, where only one can be meant: all parts
    at the only step with food, or the only part at the first of them."""
    if process.parts or any(step.add or step.work_on for step in process.steps):
        return process
    of_food = [n for n, step in enumerate(process.steps) if not does(step, "cleans", verbs)]
    if not of_food or (len(of_food) > 1 and len(formula.parts) > 1):
        return process
    steps = list(process.steps)
    steps[of_food[0]] = steps[of_food[0]].model_copy(update={"add": tuple(formula.parts)})
    return process.model_copy(update={"steps": tuple(steps)})


def does(step: Step, effect: Effect, verbs: Mapping[str, Verb]) -> bool:
    """Whether a step has an effect, by its verb or its `does`."""
    verb = verbs.get(step.do)
    return effect in step.does or (verb is not None and effect in verb.does)


def _stored(
    process: Process,
    formula: Formula,
    equipment: Mapping[str, Equipment],
    verbs: Mapping[str, Verb],
) -> Process:
    """The process with the refrigerator its last step leaves out, if that stores, the formula keeps
    cold alone and its station has one refrigerator. A freezer is never filled in: it would freeze.
    """
    keeps = formula.keeps
    if keeps is None or keeps.cold is None or keeps.dry is not None or keeps.frozen is not None:
        return process
    fitting = [
        ident
        for ident, place in equipment.items()
        if isinstance(place, Cold)
        and place.kind == "refrigerator"
        and not place.is_elsewhere(formula.home)
    ]
    if len(fitting) != 1:
        return process

    def stored(step: Step) -> Step:
        stores = does(step, "stores", verbs)
        bare = step.in_ is None and step.at is None and step.target is None
        return step.model_copy(update={"in_": fitting[0]}) if stores and bare else step

    return process.model_copy(update={"steps": (*process.steps[:-1], stored(process.steps[-1]))})
