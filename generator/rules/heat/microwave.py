"""Cooking and reheating in a microwave oven: one temperature in all parts, and a time to be
covered.

Food Code 3-401.12 and 3-403.11(B). Heat goes into the food unevenly there, so it is turned or
stirred midway, covered, and is covered afterwards.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import breakable, duration
from generator.reference.row_kinds import CookRow, ReheatRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import StepContext, cited
from generator.rules.basics.limit import Standing

MICROWAVE = "microwave"
"""The kind of the machine, and the name of what the packs hold for it: a cooking group, a way of
thawing."""
WORDS = "Turn or stir it midway. Keep it covered."
"""What both sections ask beside the figure and the time to be."""
EVERYWHERE = "Several places. Every part must read it."
"""Where the probe goes, where the process doesn't say."""


def in_microwave(step: JoinedStep) -> bool:
    """Whether a step is done in a microwave oven."""
    return step.machine is not None and step.machine.kind == MICROWAVE


def cooking_group(context: StepContext) -> str | None:
    """The group whose rows any raw animal food goes by here; None where the step isn't by microwave
    or the pack holds no rows for that."""
    rows = context.house.pack.rows_of(CookRow) if in_microwave(context.step) else []
    return MICROWAVE if any(row.stand is not None for _, row in rows) else None


def reheating_rows(context: StepContext) -> list[tuple[str, ReheatRow]]:
    """The rows for reheating by microwave; none where the step isn't, or the pack holds none."""
    rows = context.house.pack.rows_of(ReheatRow) if in_microwave(context.step) else []
    return [(i, r) for i, r in rows if r.stand is not None and r.value is not None]


def stands(context: StepContext, row: CookRow | ReheatRow) -> Standing | None:
    """How long it is covered, by the row and by the chef's longer time; None if the row asks
    for none."""
    if row.stand is None:
        return None
    own = context.step.step.standing_time
    asked = max(row.stand.seconds, own.shortest if own else Fraction(0))
    return Standing(asked, row.stand.seconds)


def standing(context: StepContext, row: CookRow | ReheatRow) -> tuple[Finding, ...]:
    """The error of a standing time that is missing or too short."""
    step, most = context.step, row.stand
    own = step.step.standing_time
    if most is None or (own is not None and own.shortest >= most.seconds):
        return ()
    need = duration(most.seconds)
    if own is None:
        words = (
            f"{step.verb}: after a microwave oven the food must stand covered for {need}. There "
            "is no `standing_time`."
        )
        place = step.step.place("with")
    else:
        words = f"{step.verb}: {own} of standing is shorter than the {need} the rule requires."
        place = step.step.place("standing_time")
    return (
        context.finding(
            "stand-too-short",
            "error",
            words,
            breakable(
                f"Write `standing_time: {need}` on the step, or longer: covered, so that the heat "
                "evens out."
            ),
            place=place,
            source=cited(context.house, row),
        ),
    )
