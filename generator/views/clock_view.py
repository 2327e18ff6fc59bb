"""The clocks a limit asks for: what starts them, and by when what must be reached.

A clock counts to a time of day. Its seconds are the limit's own, its figures those of the limit's
box, in both scales of temperature.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import to_side
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, duration, plain
from generator.rules.basics.limit import (
    CoolingLimit,
    Figure,
    HeatingLimit,
    Limit,
    held_against,
    most_time,
)
from generator.views.code_line import ADVISED
from generator.views.limit_view import figures_in, other_scale


@dataclass(frozen=True)
class Due:
    """What must be reached within so many whole seconds, rounded down: ``words`` in the kitchen's
    scale, ``other`` in the other one. ``after`` is true where the seconds count from when the due
    before it was reached; what is only ``advised`` is no limit."""

    seconds: int
    words: str
    other: str
    after: bool = False
    advised: bool = False


@dataclass(frozen=True)
class LawClock:
    """A clock of a limit: what is seen when it starts (``does``, and in the other scale), what the
    probe then reads in °C and °F (None where nothing is read), and what is due. ``id`` tells it
    from the limit's other clocks."""

    id: str
    does: str
    other: str
    reads: tuple[Fraction, Fraction] | None
    due: tuple[Due, ...]


def law_clocks(limit: Limit, own: Degree) -> tuple[LawClock, ...]:
    """The clocks of a limit, ``own`` being the kitchen's scale; empty where it sets no most time. A
    hold is no clock of these: it is a least time. Beside law in words it is what is advised."""
    limit = held_against([limit])[0]
    if isinstance(limit, CoolingLimit):
        return tuple(_cooling(limit, own))
    if isinstance(limit, HeatingLimit) and limit.reach is not None:
        due = Due(_down(limit.reach.within_s), *_reads_both(limit, own))
        return (_started_at("reach", limit.reach.start, own, (due,)),)
    lasts = most_time(limit)
    if lasts is None:
        return ()
    words = f"{duration(lasts.most_s)}, {lasts.words}"
    over = Due(_down(lasts.most_s), f"{words}: over", f"{words}: over")
    return (LawClock("lasts", words, words, None, (over,)),)


def _down(seconds: Fraction) -> int:
    return int(to_side(seconds, "down"))


def _reads_both(limit: HeatingLimit, own: Degree) -> tuple[str, str]:
    """What the limit's box asks for, in the kitchen's scale and in the other."""
    one, other = (figures_in(limit, unit, own)[0] for unit in (own, other_scale(own)))
    return one.chip.figure, other.chip.figure


def _at(figure: Figure, unit: Degree) -> str:
    return f"{plain(figure.read_at(unit))}{NARROW}{unit}"


def _started_at(name: str, start: Figure, own: Degree, due: tuple[Due, ...]) -> LawClock:
    """A clock that starts when the probe reads a figure."""
    own_words, other = (f"The probe reads {_at(start, u)}" for u in (own, other_scale(own)))
    return LawClock(name, own_words, other, (start.read_at("°C"), start.read_at("°F")), due)


def _cooling(limit: CoolingLimit, own: Degree) -> Iterator[LawClock]:
    """The time in which cooling begins, where the law sets one, and the clock of its stages."""
    if limit.begin_s is not None:
        begun = Due(_down(limit.begin_s), "chilling begun", "chilling begun")
        yield LawClock("begin", "Cooking ends", "Cooking ends", None, (begun,))
    advised = [stage.advised or limit.beside_law for stage in limit.stages]
    both = (figures_in(limit, own, own), figures_in(limit, other_scale(own), own))
    due = tuple(
        Due(
            _down(stage.within_s),
            f"{one.chip.figure}{ADVISED if so else ''}",
            f"{other.chip.figure}{ADVISED if so else ''}",
            stage.after_stage,
            so,
        )
        for stage, so, one, other in zip(limit.stages, advised, *both, strict=False)
    )
    if limit.clock is not None:
        yield _started_at("cool", limit.clock, own, due)
    else:
        since = limit.since[:1].upper() + limit.since[1:]
        yield LawClock("cool", since, since, None, due)
