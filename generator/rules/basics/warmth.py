"""How warm the product is by the course of its temperature, and what follows: whether it is cooled
at a step, thaws there, needs the cold there, and is chilled later."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from generator.records.effects import HEATS, WAITS
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.course import Bounds, Course, Stay, taken_in
from generator.rules.basics.product import Component, Product, changed


def hot_by(course: Course) -> bool:
    """Whether the food was hot, and hasn't been cold since."""
    return course.state == "hot" or (course.spell is not None and course.spell.hot)


def with_parts(
    course: Course, product: Product, taken: tuple[Component, ...], step: JoinedStep
) -> Course:
    """The course once the step's parts are in, and once what is done at the step makes food need
    the cold."""
    course = taken_in(course, taken, step.number)
    if course.state == "none" and product.needs_cold:
        course = taken_in(course, product.components, step.number)
    return course


def as_warm(product: Product, course: Course, step: JoinedStep, brine: bool) -> Product:
    """The product as hot, and as cold, as its course says. Boiled ``brine`` that got cold is no
    food to be reheated."""
    if product.needs_cold and course.state != "none":
        frozen = course.state == "frozen"
        product = changed(product, hot=hot_by(course), frozen=frozen)
    settles = course.state in ("cold", "hot", "frozen") or step.effects & HEATS
    if settles and any(c.ambient for c in product.components):
        settled = tuple(changed(c, ambient=False) for c in product.components)
        product = changed(product, components=settled)
    if (
        course.state in ("cold", "frozen") and not brine
    ):  # cooked and cooled here, it is heated again as such
        product = changed(product, components=product.set_by())
    return product


def left_warm(product: Product) -> Product:
    """The product a plan let be warm, so that it ferments, dries or ages: it owes its cooling like
    food made of what was as warm as the room, whatever step the cold comes at."""
    if not product.needs_cold:
        return product
    warm = tuple(changed(c, ambient=True) for c in product.components)
    return changed(product, components=warm)


def heated_up_again(product: Product, course: Course, step: JoinedStep) -> Fraction:
    """The seconds of the spell between that a step ends by heating food that is ready to eat and
    needs the cold. ``product`` and ``course`` are as they were before it."""
    if not step.effects & HEATS or not (product.ready_to_eat and product.tcs):
        return Fraction(0)
    return course.so_far


_NOT_THAWED_BY = HEATS | {
    "thaws",
    "slacks",
    "freezes",
    "serves",
    "cleans",
    "holds-hot",
    "holds-by-time",
}
"""What has a rule of its own for frozen food, or leaves it to the guest."""


def thaws_at(course: Course, step: JoinedStep, stay: Stay) -> bool:
    """Whether frozen food thaws at a step that doesn't say so: in a refrigerator, or where it
    is."""
    if course.state != "frozen" or step.effects & _NOT_THAWED_BY:
        return False
    in_a_refrigerator = step.cold is not None and step.cold.kind != "freezer"
    stands = stay.during == "between" and bool(step.effects & WAITS)
    return in_a_refrigerator or stands


def needs_cold(formula: JoinedFormula, product: Product, number: int) -> bool:
    """Whether the food has to be cold or hot at the step of a number. What a chef says of the
    finished food, that it needs no cold, counts once it is cooked and fermented, or where nothing
    later cooks or ferments it."""
    if formula.formula.not_tcs:
        steps = (formula.step(number), *formula.after(number))
        done = not any(s.effects & _FINISHES for s in steps)
        if done and not product.raw_animals:
            return False
    return product.needs_cold


_FINISHES = frozenset({"cooks", "ferments"})
"""What makes food of which its formula says that it needs no cold."""


_ENDS_THE_WAIT = HEATS | {"holds-hot", "serves", "holds-by-time"}
"""What the food may come to before it is cold again."""


def _comes_first(
    steps: tuple[JoinedStep, ...],
    wanted: Callable[[JoinedStep], bool],
    plans: frozenset[str] = frozenset(),
) -> bool:
    """Whether a ``wanted`` step comes, before the food is heated, held hot or served, or changes by
    one of the ``plans`` on file."""
    for step in steps:
        if wanted(step):
            return True
        if step.effects & (_ENDS_THE_WAIT | plans):
            return False
    return False


def chilled_by(steps: tuple[JoinedStep, ...], bounds: Bounds) -> bool:
    """Whether one of ``steps`` brings the food to cold, before it is heated, held hot or served: it
    cools, is in a cold place, or says how cold its place is. Food that a plan on file lets be warm
    (``bounds.plans``) has a clock of its own from there, which counts nothing of the time before.
    """

    def cold(step: JoinedStep) -> bool:
        at = step.step.at
        place = at is not None and bounds.cold is not None and at.warmest <= bounds.cold
        return place or step.cold is not None or bool(step.effects & {"cools", "freezes"})

    return _comes_first(steps, cold, bounds.plans)


def cools_at(product: Product, stay: Stay, steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the first of ``steps`` brings the food to cold: a step that cools; or hot food, or
    food made of what was as warm as the room, put where it is cold, and no later step cools it
    first."""
    step, later = steps[0], steps[1:]
    if "cools" in step.effects:
        return True
    if stay.during not in ("cold", "frozen"):
        return False
    warm = product.hot or product.from_ambient
    return warm and not _comes_first(later, lambda s: "cools" in s.effects)
