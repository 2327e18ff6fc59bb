"""Packs that must be opened in so many hours: 3-502.12(F) of the model code. What the formula says
of its keeping is held against that."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.times import Time
from generator.measures.words import duration
from generator.resolve.joined import JoinedStep
from generator.rules.basics.context import StepContext

_OPENS = frozenset(
    {"cuts", "slices", "divides", "comminutes", "takes-off", "drains", "fills", "joins", "serves"}
)
"""Whoever does this to the food has its pack open."""


def opened_in_time(context: StepContext, within_s: Fraction, source: str) -> Iterator[Finding]:
    """What says that the food stays in its pack for longer than ``within_s`` seconds: the steps up
    to the one that opens it, an error; or, where none does, what the formula `keeps`, a question:
    it may be opened and kept on."""
    record, number = context.formula.formula, context.step.number
    later = context.formula.after(number)
    opening = next((i for i, step in enumerate(later) if step.effects & _OPENS), None)
    inside = later if opening is None else later[:opening]
    if "packs-without-air" not in context.step.effects:
        inside = (context.step, *inside)  # it lies under fat there
    stays = sum((_stays(step) for step in inside), Fraction(0))
    most = duration(within_s, days=False)
    about = frozenset({context.formula.id})
    if stays > within_s:
        place = max(inside, key=_stays).step
        yield Finding(
            "pack-opened-late",
            "error",
            f"The pack must be opened within {most} of packing. The steps keep it closed for "
            f"{duration(stays)}.",
            place.place("stays" if place.stays is not None else "time"),
            "Open it sooner: a step `do: unpack`. Or pack it by another `criterion`.",
            source=source,
            about=about,
        )
    kept = record.keeps
    longest = max(_kept(kept.cold, kept.frozen, kept.dry), default=None) if kept else None
    if opening is not None or longest is None or longest[0] <= within_s or kept is None:
        return
    yield Finding(
        "pack-kept-longer",
        "warning",
        f"The pack must be opened within {most} of packing. The formula keeps the food for "
        f"{longest[1]}.",
        kept.place(),
        "In its pack? Write no more than 2 days. Opened and kept on? Write the step that opens it, "
        "`do: unpack`, behind the one that packs it.",
        source=source,
        about=about,
    )


def _stays(step: JoinedStep) -> Fraction:
    """The seconds food is at a step at most, as far as it says."""
    said = (step.step.time, step.step.stays)
    return sum((time.longest for time in said if time is not None), Fraction(0))


def _kept(*given: Time | None) -> Iterator[tuple[Fraction, str]]:
    for time in given:
        if time is not None:
            yield time.seconds, time.text
