"""Food that is put by under fat or oil: the air is kept out of it, whatever the verb.

Food Code 1-201.10, "Reduced oxygen packaging": the oxygen round the food is displaced. How much
fat covers pieces is a working rule of this manual: poured pieces leave a third of their room and
more between them, so less fat than that can't cover them.
"""

from __future__ import annotations

from fractions import Fraction

from generator.measures.rounding import total
from generator.measures.words import listed, with_verb
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import DAY_S, StepContext
from generator.rules.basics.product import Component

COVERS = Fraction(1, 3)
"""The least fat that may cover pieces, as a share of their weight."""
WEEK_S = 7 * DAY_S
"""The longest that raw garlic in fat is kept cold without a plan, in seconds: garlic in oil is kept
in the refrigerator and used within a week (Food Standards Agency, as quoted)."""
_GARLIC_ALONE = (
    "Is it raw garlic alone? Kept cold for 7 days at most, and with no `without_air`, it needs no "
    "plan."
)
_NO_PIECES = ("liquid", "comminuted", "dry")
_MADE_ONE = frozenset({"comminutes", "pools"})
"""Work after which fat and the rest are one mixture."""


def under_fat(context: StepContext) -> str:
    """What is put by under fat at a step, in words; empty if nothing is, if it is frozen, or if it
    was put by so before."""
    fats = [c for c in context.before.components if c.boils == "fat"]
    pieces = _pieces(context) if fats and _puts_by(context) else []
    if not _covered(pieces, fats):
        return ""
    if any(_stays(s) for s in _since_covered(context, pieces, fats)):
        return ""
    less = f" {_GARLIC_ALONE}" if _garlic(pieces) else ""
    return (
        f"{with_verb(_names(pieces), 'is')} put by with so much {listed(_names(fats))} that it "
        f"keeps the air out. That is packing without air.{less}"
    )


def if_not(context: StepContext) -> str:
    """What to write where it isn't so, or is so sooner: of pieces that were strained out in so many
    words, where they are a part of their own."""
    pieces = [c for c in context.before.components if _a_piece(c)]
    parts = {c.part for c in pieces}
    alone = not parts & {c.part for c in context.before.components if not _a_piece(c)}
    line = "`leaves`"
    if len(parts) == 1 and alone and all(c.species == "none" for c in pieces):
        line = f"`leaves: {{strained: {{share: 100 %, of: {pieces[0].part}}}}}`"
    return (
        "Strained out, or drained off, before? Until a step says so, all of it counts as in there: "
        f"write {line} at the step where it stays behind. Covered while it is hot? Write `does: "
        "packs-without-air` at that step."
    )


def _puts_by(context: StepContext) -> bool:
    """Whether food is put into the cold to be kept: stored, for a day and more, for a time that
    isn't said, or last."""
    step, stay = context.step, context.stay
    if stay.during == "frozen" or "freezes" in step.effects:
        return False
    if "stores" in step.effects:
        return True
    last = not context.formula.after(step.number) and context.fate.kept
    return step.cold is not None and (last or stay.seconds is None or stay.seconds >= DAY_S)


def _stays(step: JoinedStep) -> bool:
    """Whether a step put the food by already, so that it was asked about there."""
    if step.cold is not None and step.cold.kind == "freezer":
        return False
    time = step.step.time
    cold = step.cold is not None and (time is None or time.longest >= DAY_S)
    return "stores" in step.effects or cold or "packs-without-air" in step.effects


def _since_covered(
    context: StepContext, pieces: list[Component], fats: list[Component]
) -> list[JoinedStep]:
    """The steps before this one at which what the fat covers now lay under it already: all its
    pieces were in, and enough of the fat. What was done to the fat alone, or to other pieces, asks
    nothing of these; nor does food in the cold that was heated since."""
    formula = context.formula
    before = formula.before(context.step.number)
    heated = max((s.number for s in before if s.effects & HEATS), default=0)
    return [
        step
        for step in before
        if _lay_under_it(formula.upto(step.number), pieces, fats)
        and (step.number >= heated or "packs-without-air" in step.effects)
    ]


def _lay_under_it(
    steps: tuple[JoinedStep, ...], pieces: list[Component], fats: list[Component]
) -> bool:
    """Whether after ``steps`` all pieces are in, and enough of the fat to cover them."""
    present = {part for step in steps for part in step.parts}
    under = [c for c in fats if c.part in present]
    return _covered(pieces, under) and all(c.part in present for c in pieces)


def _covered(pieces: list[Component], fats: list[Component]) -> bool:
    """Whether there is enough fat to cover pieces, and there are any."""
    return bool(_weight(pieces)) and _weight(fats) >= COVERS * _weight(pieces)


def _pieces(context: StepContext) -> list[Component]:
    """What needs the cold and lies in pieces: meat and fish, vegetables that were heated, garlic.
    Eggs, dough and what was ground or whisked into one mixture aren't."""
    steps = (*context.formula.before(context.step.number), context.step)
    mixed = any(s.effects & _MADE_ONE for s in steps)
    baked = any("bakes" in s.effects for s in steps)
    if mixed or baked:
        return []
    pieces = [c for c in context.before.components if _a_piece(c)]
    garlic = _garlic(pieces) if _kept_cold_for_a_week(context) else []
    return [c for c in pieces if c not in garlic]


def _garlic(pieces: list[Component]) -> list[Component]:
    """The garlic that nothing heated: heat drives out what keeps germs that live without air from
    growing, and not their spores."""
    return [c for c in pieces if c.plant == "garlic" and not (c.cooked or c.heated)]


def _kept_cold_for_a_week(context: StepContext) -> bool:
    """Whether food is put into a cold place and its formula keeps it for no longer than raw garlic
    in oil keeps there: the Food Standards Agency's word, a week. Where nothing is said of how long,
    the law's days count, or the formula is asked for its own. Not where the formula itself says
    that it is packed without air."""
    formula = context.formula.formula
    if formula.without_air is not None:
        return False
    keeps = formula.keeps
    cold = keeps.cold if keeps is not None else None
    short = cold is None or cold.seconds <= WEEK_S
    return context.step.cold is not None and short and (keeps is None or keeps.dry is None)


def _a_piece(part: Component) -> bool:
    if part.form in _NO_PIECES or part.boils or part.acid or part.function:
        return False
    if part.species == "none":
        grown = part.state in (None, "raw") or part.through != ""
        return grown and (part.tcs or part.cooked or part.heated or part.plant == "garlic")
    return part.species != "egg"


def _weight(parts: list[Component]) -> Fraction:
    return total(c.weight for c in parts)


def _names(parts: list[Component]) -> list[str]:
    return list(dict.fromkeys(c.name for c in parts))
