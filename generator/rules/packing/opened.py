"""Packs that must be opened in so many hours: 3-502.12(F) of the model code. What the formula says
of its keeping is held against that."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import duration
from generator.reference.row_kinds import ReducedOxygenRow
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import StepContext

_OPENS = frozenset(
    {"cuts", "slices", "divides", "comminutes", "takes-off", "drains", "fills", "joins", "serves"}
)
"""Whoever does this to the food has its pack open."""


def opened_in_time(context: StepContext, row: ReducedOxygenRow) -> Iterator[Finding]:
    """What says that the food stays in its pack for longer than a row allows: the steps up to the
    one that opens it, an error; or, where none does, what the formula `keeps`, a question: it may
    be opened and kept on. Nothing of a row that counts days."""
    if row.within is None:
        return
    later = context.formula.after(context.step.number)
    opening = next((i for i, step in enumerate(later) if step.effects & _OPENS), None)
    inside = later if opening is None else later[:opening]
    if "packs-without-air" not in context.step.effects:
        inside = (context.step, *inside)  # it lies under fat there
    yield from _closed_for_long(context, row, inside)
    if opening is None:
        yield from _kept_for_long(context, row)


def _closed_for_long(
    context: StepContext, row: ReducedOxygenRow, inside: tuple[JoinedStep, ...]
) -> Iterator[Finding]:
    """An error where the steps keep the pack closed for too long."""
    assert row.within is not None
    stays = sum((_stays(step) for step in inside), Fraction(0))
    if stays <= row.within.seconds:
        return
    longest = max(inside, key=_stays).step
    yield Finding(
        "pack-opened-late",
        "error",
        f"The pack must be opened within {_most(row)} of packing. The steps keep it closed for "
        f"{duration(stays)}.",
        longest.place("stays" if longest.stays is not None else "time"),
        "Open it sooner: a step `do: unpack`. Or pack it by another `criterion`.",
        source=context.source(row).words,
        about=frozenset({context.formula.id}),
    )


def _kept_for_long(context: StepContext, row: ReducedOxygenRow) -> Iterator[Finding]:
    """A question where the formula keeps the food for longer than its pack may be closed."""
    kept = context.formula.formula.keeps
    assert row.within is not None
    if kept is None:
        return
    given = [time for time in (kept.cold, kept.frozen, kept.dry) if time is not None]
    longest = max(given, key=lambda time: time.seconds, default=None)
    if longest is None or longest.seconds <= row.within.seconds:
        return
    yield Finding(
        "pack-kept-longer",
        "warning",
        f"The pack must be opened within {_most(row)} of packing. The formula keeps the food for "
        f"{longest.text}.",
        kept.place(),
        "In its pack? Write no more than 2 days. Opened and kept on? Write the step that opens it, "
        "`do: unpack`, behind the one that packs it.",
        source=context.source(row).words,
        about=frozenset({context.formula.id}),
    )


def _most(row: ReducedOxygenRow) -> str:
    assert row.within is not None
    return duration(row.within.seconds, days=False)


def _stays(step: JoinedStep) -> Fraction:
    """The seconds food is at a step at most, as far as it says."""
    said = (step.step.time, step.step.stays)
    return sum((time.longest for time in said if time is not None), Fraction(0))
