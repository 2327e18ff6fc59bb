"""Work by hand on one piece after the other, at step after step that says no time.

One such step may leave its time out: food is worked on for a while and goes back. Two and more add
up, and nobody sees how long the food is out by then. Which work that is, and from how many steps it
is asked, are working rules of this manual; the law sets no figure (Food Code 3-501.16(A)).
"""

from __future__ import annotations

from generator.measures.words import listed
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.cold.between import most_of
from generator.rules.cold.between_words import does_it

_BY_THE_PIECE = frozenset(
    {"cuts", "slices", "takes-off", "divides", "fills", "encloses", "stuffs", "tenderises"}
)
"""What is done to each piece: the more pieces, the longer."""
_ENDS = frozenset({"cools", "freezes", "thaws", "slacks", "holds-hot", "holds-by-time", "stores"})


def worked_on(context: StepContext) -> Outcome:
    """A question at the second step in a row at which food that needs the cold is worked on by
    hand, piece by piece, out of the cold, and no time is stated. Of hot food that is chilled
    afterwards the cooling limit asks; what is served hot is asked elsewhere."""
    step = context.step
    if not context.needs_cold or context.course.state in ("hot", "frozen") or not _asked(context):
        return NOTHING
    began = context.course.spell.began if context.course.spell is not None else step.number
    since = [s for s in context.formula.before(step.number) if s.number >= began]
    before = [s for s in since if _untimed(s)]
    if len(before) != 1:
        return NOTHING  # the first, or asked already
    verbs = [s.verb.lower() for s in (*before, step, *_to_come(context))]
    finding = context.finding(
        "work-not-timed",
        "warning",
        f"{step.verb}: how long {does_it(context)} stay out of the cold for this work? No step "
        f"says it: {listed(verbs)}.",
        "Write `time` at each, for all the pieces of a batch. Or do it in the cold (`in`). Or put "
        "a step that chills between them, and take out a few pieces at a time.",
        place=step.step.place("do"),
        source=most_of(context.house).source.words,
    )
    return Outcome((), (finding,))


def _asked(context: StepContext) -> bool:
    stays_out = context.stay.during == "between" and context.stay.seconds is None
    return stays_out and _untimed(context.step)


def _untimed(step: JoinedStep) -> bool:
    """Whether a step is work on each piece by hand, in no cold place, and says no time. A machine
    that cuts or fills is quick."""
    by_hand = step.machine is None or step.machine.kind == "other"
    stated = step.step.time is not None or step.step.at is not None or step.cold is not None
    return bool(step.effects & _BY_THE_PIECE) and by_hand and not stated


def _to_come(context: StepContext) -> list[JoinedStep]:
    """The steps of such work that follow before the food is cold, hot or put by."""
    found: list[JoinedStep] = []
    for step in context.formula.after(context.step.number):
        if step.cold is not None or step.effects & _ENDS or "cooks" in step.effects:
            break
        if _untimed(step):
            found.append(step)
    return found
