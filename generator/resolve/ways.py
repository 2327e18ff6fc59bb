"""The way of each stream through a formula's steps: what was done to it, what is still to be done,
and where it waits while something else is worked on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from generator.measures.ranges import Span
from generator.records.effects import HEATS, HELD, WAITS
from generator.records.process import Step
from generator.resolve.joined import Comes, JoinedFormula, JoinedStep, Way

_STAYS_WITH = frozenset({"holds-hot", "stores"})
"""Who holds it hot or stores it last leaves it there until somebody takes it."""


def stays_put(last: JoinedStep) -> bool:
    """Whether food stays where its last step left it, cold or hot, until somebody takes it."""
    return last.cold is not None or bool(last.effects & _STAYS_WITH)


def with_ways(formula: JoinedFormula) -> JoinedFormula:
    """The formula with the ways of its streams; as it is where its steps are one after the
    other."""
    if not any(step.step.work_on or any(c.name for c in step.comes) for step in formula.steps):
        return formula
    steps = _with_all_parts(formula.steps)
    by_number = {step.number: step for step in steps}
    before: dict[int, tuple[JoinedStep, ...]] = {}
    after: dict[int, tuple[JoinedStep, ...]] = {}
    for step in steps:
        before[step.number] = _before(step, by_number, before)
    for step in reversed(steps):
        after[step.number] = _after(step, by_number, after)
    ways = {n: Way(before[n], step, after[n]) for n, step in by_number.items()}
    return replace(formula, ways=ways)


def _before(
    step: JoinedStep, by_number: dict[int, JoinedStep], before: dict[int, tuple[JoinedStep, ...]]
) -> tuple[JoinedStep, ...]:
    found: dict[tuple[int, str, str], JoinedStep] = {}
    for come in step.comes:
        last = by_number[come.number]
        for other in (*before[come.number], last, *waits(by_number, come, step)):
            found.setdefault((other.number, other.id, other.verb), other)
    return tuple(sorted(found.values(), key=lambda s: s.number))


def _after(
    step: JoinedStep, by_number: dict[int, JoinedStep], after: dict[int, tuple[JoinedStep, ...]]
) -> tuple[JoinedStep, ...]:
    """What a step gives goes to one step alone; what it leaves behind goes its own way."""
    for later in by_number.values():
        for come in later.comes:
            if come.number == step.number and not come.left:
                return (*waits(by_number, come, later), later, *after[later.number])
    return ()


def _with_all_parts(steps: tuple[JoinedStep, ...]) -> tuple[JoinedStep, ...]:
    """The steps where streams meet with the parts of all but the first of them among those they
    take in."""
    parts: dict[int, tuple[str, ...]] = {}
    found: list[JoinedStep] = []
    for step in steps:
        joining = tuple(p for come in step.comes[1:] for p in parts[come.number])
        first = tuple(p for come in step.comes[:1] for p in parts[come.number])
        parts[step.number] = tuple(dict.fromkeys((*first, *step.parts, *joining)))
        new = tuple(dict.fromkeys((*step.parts, *joining)))
        found.append(replace(step, parts=new) if joining else step)
    return tuple(found)


def waits(
    by_number: Mapping[int, JoinedStep], come: Comes, step: JoinedStep
) -> tuple[JoinedStep, ...]:
    """What a stream waits through before ``step`` takes it: the timed work on other food, work
    whose time isn't said, and what else goes on for a time nobody says. It waits where its last
    step left it: in a place whose temperature is said, stored, held hot; else in the kitchen."""
    between = [by_number[n] for n in waited_for(by_number, come.number, step.number)]
    timed = sum((work_of(other) for other in between), Fraction(0))
    untimed = [s for s in between if not work_of(s) and "cleans" not in s.effects]
    last = by_number[come.number]
    found: list[JoinedStep] = []
    if timed:
        found.append(_wait(last, come, Span.of(timed), "waits"))
    if any(_works(s) for s in untimed):
        found.append(_wait(last, come, None, "handles"))
    if not all(_works(s) for s in untimed):
        found.append(_wait(last, come, None, "waits"))
    return tuple(found)


def waited_for(by_number: Mapping[int, JoinedStep], left: int, taken: int) -> tuple[int, ...]:
    """The numbers of the steps between two that food waits for, from the one it was ``left`` at to
    the one that takes it. Other food that only lies in the cold needs nobody: it is waited for only
    if what it gives is taken before this food is, or with it."""
    between = [n for n in by_number if left < n < taken]
    return tuple(
        n
        for n in between
        if not _lies_in_the_cold(by_number[n]) or _leads_to(by_number, n, range(n + 1, taken + 1))
    )


_NEEDS_SOMEBODY = HEATS | HELD | {"handles", "serves", "packs-without-air"}


def _lies_in_the_cold(step: JoinedStep) -> bool:
    waits = bool(step.effects & WAITS) and not step.effects & _NEEDS_SOMEBODY
    return step.cold is not None and waits


def _leads_to(by_number: Mapping[int, JoinedStep], number: int, later: range) -> bool:
    """Whether one of the ``later`` steps takes what a step gives or leaves behind."""
    return any(
        come.number == number for n in later if n in by_number for come in by_number[n].comes
    )


def _works(step: JoinedStep) -> bool:
    """Whether hands are at it, so that its time needn't be said."""
    return "handles" in step.effects and not step.effects & (HEATS | HELD | WAITS)


def work_of(step: JoinedStep) -> Fraction:
    """The seconds a step takes, as far as it says."""
    said = (step.step.time, step.step.stays, step.step.standing_time)
    return sum((time.longest for time in said if time is not None), Fraction(0))


def _wait(last: JoinedStep, come: Comes, time: Span | None, idle: str) -> JoinedStep:
    """A wait behind the step ``last``, as a step of its own."""
    at = last.step.at if not last.effects & HEATS else None
    record = Step.model_construct(do="rest", time=time, at=at)
    key = ("leaves", come.name) if come.left else ("gives",)
    record.set_place(last.step.key_place(*key))
    kept = frozenset(last.effects & _STAYS_WITH)
    verb = f"{come.name.replace('-', ' ').capitalize()} waits" if come.name else "Wait"
    ident = f"{last.id}-{idle}"
    effects = kept or frozenset({idle})
    return JoinedStep(
        last.number,
        ident,
        record,
        verb,
        effects,
        (),
        cold=last.cold,
        vessel=last.vessel,
        waiting=True,
    )
