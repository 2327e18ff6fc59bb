"""The walk: a formula's steps in order, carrying the product's state and mass.

Everything here is at factor 1, the formula as written; limits don't change with batch size, and
masses scale in a straight line. Pure: no YAML, no file, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding
from generator.records.effects import HEATS, WAITS
from generator.records.formula import Makes
from generator.resolve.joined import House, JoinedFormula, JoinedLine, JoinedStep
from generator.rules.asked import ask_end, ask_step
from generator.rules.basics.context import DatedPart, DayOne, EndContext, Outcome, StepContext
from generator.rules.basics.course import Bounds, Course, Stay, stay_of, warms
from generator.rules.basics.course import after as course_after
from generator.rules.basics.fate import fate_of
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.basics.warmth import (
    as_warm,
    chilled_by,
    cools_at,
    heated_up_again,
    hot_by,
    needs_cold,
    thaws_at,
    with_parts,
)
from generator.rules.cold.holding import bounds_of
from generator.rules.cold.part_cooking import PART_COOKS
from generator.rules.cold.plants import marked as plants_marked
from generator.rules.cold.plants import sprouted
from generator.rules.cures.brining import after_taking_up
from generator.rules.cures.salting import salting
from generator.rules.heat.enclosing import enclosed
from generator.rules.heat.roast import in_pieces
from generator.rules.heat.to_order import holds as made_to_order
from generator.rules.heat.to_order import raw_egg
from generator.rules.packing.on_file import with_document
from generator.rules.store.shelf import day_one_of
from generator.scaling.batch import Figures
from generator.sheet.components import components_of, pieces_of
from generator.sheet.walked import Walk as Walk
from generator.sheet.walked import WalkedStep as WalkedStep
from generator.sheet.weighing import WeighedLine, weigh_lines

_BREAKS = WAITS | {
    "cools",
    "freezes",
    "slices",
    "divides",
    "packs",
    "holds-hot",
    "holds-by-time",
    "serves",
    "thaws",
}
"""What ends a run of heating."""
_DIVIDES = frozenset(
    {"cuts", "slices", "comminutes", "tenderises", "injects", "stuffs", "fills", "pools", "divides"}
)


def walk(
    house: House, formula: JoinedFormula, made: Mapping[str, Walk]
) -> Walk | tuple[Finding, ...]:
    """Walk one formula. ``made`` holds the walks of its sub-formulas.

    Returns the walk, or the findings that keep it from being computed.
    """
    lines, findings = weigh_lines(
        house, formula, {i: pieces_of(made[i]) for i in formula.sub_formulas}
    )
    if lines is None:
        return tuple(findings)
    walking = _Walking(house, formula, _components(house, formula, lines, made))
    for index in range(len(formula.steps)):
        walking.take_step(index)
    product = walking.product
    end = EndContext(
        house,
        formula,
        product,
        formula.formula.not_tcs.words if formula.formula.not_tcs is not None else "",
        _to_date(house, lines, made, product),
        walking.course,
        walking.fate,
        walking.aged,
    )
    endings, spoken = ask_end(end)
    figures, of_sizes = _figures(formula, lines, walking.filled, product.mass)
    return Walk(
        formula,
        tuple(lines),
        tuple(walking.walked),
        product,
        tuple(limit for outcome in endings for limit in outcome.limits),
        next((o.dates for o in endings if o.dates is not None), None),
        figures,
        end.tcs,
        (*findings, *walking.findings, *(f for o in endings for f in o.findings), *of_sizes),
        walking.touched | spoken,
        salting(formula, ((s.step, s.after) for s in walking.walked), product),
        walking.course,
        walking.aged,
        walking.stood,
    )


def _components(
    house: House, formula: JoinedFormula, lines: list[WeighedLine], made: Mapping[str, Walk]
) -> dict[str, list[Component]]:
    """What each part of the formula is made of. Raw eggs of what is made to order are for that
    order."""
    parts: dict[str, list[Component]] = {}
    to_order = made_to_order(formula)
    for line in lines:
        found = components_of(house, line, made)
        if to_order and raw_egg(line.joined.ingredient):
            found = [replace(c, to_order=True) for c in found]
        parts.setdefault(line.joined.part, []).extend(found)
    return parts


class _Walking:
    """The walk under way: what is the same at every step, and what each step changes. Times are in
    seconds: ``aged`` kept ready to eat, ``wet`` moist and warm, ``stood`` between cold and hot."""

    def __init__(
        self, house: House, formula: JoinedFormula, parts: dict[str, list[Component]]
    ) -> None:
        self.house, self.formula, self.parts = house, formula, parts
        self.bounds, self.fate = bounds_of(house), fate_of(formula)
        self.due = _due(formula.steps, house.library.preparation.noted.seconds)
        components = [c for found in parts.values() for c in found]
        self.aged = max((c.aged_s for c in components), default=Fraction(0))
        self.stood = max((c.stood_s for c in components), default=Fraction(0))
        self.wet = Fraction(0)
        self.product = Product()
        self.course = Course()
        self.filled: Fraction | None = None
        self.walked: list[WalkedStep] = []
        self.findings: list[Finding] = []
        self.touched: Spoken = frozenset()

    def take_step(self, index: int) -> None:
        """The next step: what comes to it, what the rules say of it, and what leaves it."""
        steps = self.formula.steps
        step, taken = steps[index], self._taken_in((steps[index],))
        before = self._made_up(step, taken)
        course = with_parts(self.course, before, taken, step)
        before = replace(before, hot=before.hot or hot_by(course))
        step, stay = self._as_it_thaws(step, course, before)
        context = StepContext(
            self.house,
            self.formula,
            step,
            before,
            self.due[index],
            _held_hot_next(steps[index:]),
            cools_at(before, stay, steps[index:]),
            self._taken_in(steps[index + 1 :]),
            course,
            stay,
            needs_cold(self.formula, before, index),
            chilled_by(steps[index + 1 :], self.bounds),
            self.fate,
            self.stood,
        )
        outcomes = self._ask(context)
        after = _after(self.house, self.formula.id, context, outcomes, self.bounds)
        if stay.during == "by plan" and not _cooked_from(steps[index:]):
            after = after.made_ready()
        if "fills" in step.effects and self.filled is None:
            self.filled = after.mass
        self._leave(context, after, outcomes)

    def _taken_in(self, steps: tuple[JoinedStep, ...]) -> tuple[Component, ...]:
        """What steps take in, in their order."""
        return tuple(c for s in steps for part in s.parts for c in self.parts.get(part, ()))

    def _made_up(self, step: JoinedStep, taken: tuple[Component, ...]) -> Product:
        """What a step begins with: the product so far with what is taken in, cut and put together
        as the step does."""
        house = self.house
        opened = step.effects | {"cuts"} if _reported_to_cut(house, step) else step.effects
        before = plants_marked(_marked(self.product.take(taken), step), opened, house)
        self.wet += _wet_and_warm(before, step, self.bounds)
        before = plants_marked(sprouted(before, self.wet, house), opened, house)
        return enclosed(in_pieces(before, step.effects), step, self.formula, house.pack)

    def _as_it_thaws(
        self, step: JoinedStep, course: Course, before: Product
    ) -> tuple[JoinedStep, Stay]:
        """The step, which thaws what is frozen whatever its verb; and what it is for the food."""
        stay = stay_of(step, course, before, self.bounds)
        if not thaws_at(course, step, stay):
            return step, stay
        step = replace(step, effects=step.effects | {"thaws"})
        return step, stay_of(step, course, before, self.bounds)

    def _ask(self, context: StepContext) -> list[Outcome]:
        """What the rules say of a step, their findings noted."""
        outcomes, spoken = ask_step(context)
        self.touched |= spoken
        self.findings += [f for outcome in outcomes for f in outcome.findings]
        return outcomes

    def _leave(self, context: StepContext, after: Product, outcomes: list[Outcome]) -> None:
        """Carry what leaves a step to the next one."""
        step, before, stay, course = context.step, context.before, context.stay, context.course
        limits = tuple(
            with_document(self.house, self.formula, limit)
            for outcome in outcomes
            for limit in outcome.limits
        )
        self.stood += heated_up_again(before, course, step)
        needs = after.needs_cold if warms(step, self.bounds) else before.needs_cold
        self.course = course_after(course, step, stay, needs, context.cools)
        self.product = as_warm(after, self.course, step)
        self.aged += _kept(before, stay, step)
        self.walked.append(WalkedStep(step, before, self.product, limits, stay, self.course))


def _kept(product: Product, stay: Stay, step: JoinedStep) -> Fraction:
    """The seconds a step keeps food that is ready to eat already, frozen food aside; as far as it
    says."""
    if not product.eaten_as_it_is or not product.needs_cold:
        return Fraction(0)
    if stay.during in ("frozen", "unchanged", "by plan"):
        return Fraction(0)
    stays = step.step.stays.longest if step.step.stays is not None else Fraction(0)
    return (stay.seconds or Fraction(0)) + stays


def _cooked_from(steps: tuple[JoinedStep, ...]) -> bool:
    return any("cooks" in step.effects for step in steps)


def _marked(product: Product, step: JoinedStep) -> Product:
    for effect, form in (
        ("comminutes", "comminuted"),
        ("tenderises", "tenderised"),
        ("injects", "injected"),
    ):
        if effect in step.effects:
            product = product.with_form(form)
    if _cut_up(step):
        product = product.divided()
    return replace(product, stuffed=True) if "stuffs" in step.effects else product


def _wet_and_warm(product: Product, step: JoinedStep, bounds: Bounds) -> Fraction:
    """The seconds moist food waits at a step, neither in the cold nor in the heat."""
    time = step.step.time
    if time is None or not product.wet or step.cold is not None or _surely_warms(step, bounds):
        return Fraction(0)
    return time.longest


def _surely_warms(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether heat goes into the food at the cooler end of the step's temperature too."""
    at = step.step.at
    if step.effects & HEATS or at is None or bounds.hot is None:
        return warms(step, bounds)
    return warms(step, bounds) and bounds.hot <= at.coolest


def _reported_to_cut(house: House, step: JoinedStep) -> bool:
    """Whether a word of what the cook is asked to do says that something is cut."""
    return any(house.library.known_names.cuts(line) for line in step.step.how)


def _cut_up(step: JoinedStep) -> bool:
    """Whether a step leaves no whole roast whole."""
    return bool(step.effects & _DIVIDES)


def _after(
    house: House, formula: str, context: StepContext, outcomes: list[Outcome], bounds: Bounds
) -> Product:
    """The product after a step: by what the rules learned, then by what the step does to it."""
    step = context.step
    product = after_taking_up(house, context.before, step)
    product = _safe_by(outcomes, product, formula, step)
    product = _keeping_by(outcomes, product)
    product = _heated_by(step, product, bounds)
    product = _cooled_or_packed_by(step, product, context.cools)
    return product.lose(step.step.loses) if step.step.loses else product


def _safe_by(outcomes: list[Outcome], product: Product, formula: str, step: JoinedStep) -> Product:
    """The product with what the rules count as made safe in it."""
    if any(o.cooked for o in outcomes):
        product = product.heated()
    if any(o.roast for o in outcomes) and not _cut_up(step):
        product = product.roasted(formula)
    if any(o.freed for o in outcomes):
        product = product.freed()
    return product.seared() if any(o.seared for o in outcomes) else product


def _keeping_by(outcomes: list[Outcome], product: Product) -> Product:
    """The product with what the rules learned of its keeping: packed without air, or acidified."""
    for outcome in outcomes:
        if outcome.air_days is not None:
            product = replace(product, air_days=outcome.air_days, air_row=outcome.air_row)
    sour = next((o.acidified for o in outcomes if o.acidified), "")
    return replace(product, acidified=sour) if sour else product


def _heated_by(step: JoinedStep, product: Product, bounds: Bounds) -> Product:
    """The product as the heat of a step leaves it."""
    if "reheats" in step.effects:
        product = product.reheated()
    if PART_COOKS in step.effects:
        product = product.part_heated()
    if step.effects & {"cooks", PART_COOKS, "reheats", "holds-hot"}:
        product = replace(product, hot=True, frozen=False)  # cooked from frozen, too
    if warms(step, bounds) and not product.raw_animals:
        raw = any(c.state in RAW_STATES for c in product.components)
        product = replace(product, plants_heated=product.plants_heated or (raw and product.wet))
    return product


def _cooled_or_packed_by(step: JoinedStep, product: Product, cools: bool) -> Product:
    """The product as the cold, the clock and the pack of a step leave it."""
    if cools or "freezes" in step.effects:
        product = replace(product, hot=False)
    if "freezes" in step.effects:
        product = replace(product, frozen=True)
    if "thaws" in step.effects:
        product = replace(product, frozen=False).packed(no_air=False)
    if "holds-by-time" in step.effects:
        product = replace(product, by_time=True)
    return product.packed(no_air=True) if "packs-without-air" in step.effects else product


def _held_hot_next(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the food is held hot at one of ``steps`` before it is cooled again."""
    for step in steps:
        if "holds-hot" in step.effects:
            return True
        if step.effects & {"cools", "freezes"}:
            return False
    return False


def _due(steps: tuple[JoinedStep, ...], wait: Fraction) -> list[bool]:
    """At which cooking steps raw food must be safe: those with a core or a surface target, and the
    last of each run of heating. Browning bones before they simmer is no limit; the cold, whatever
    is done there, and more than ``wait`` seconds of other work end a run."""
    result: list[bool] = []
    for index, step in enumerate(steps):
        if "cooks" not in step.effects:
            result.append(False)
            continue
        has_core = step.target is not None and step.target.kind in ("core", "surface")
        last, waited = True, Fraction(0)
        for later in steps[index + 1 :]:
            if later.effects & _BREAKS or later.cold is not None:
                break
            if not later.effects & HEATS and later.step.time is not None:
                waited += later.step.time.longest
            if waited > wait:
                break
            if "cooks" in later.effects:
                last = False
                break
        result.append(has_core or last)
    return result


def _to_date(
    house: House, lines: list[WeighedLine], made: Mapping[str, Walk], product: Product
) -> tuple[DatedPart, ...]:
    """The parts whose own date counts: ready-to-eat and in need of temperature control, made ahead
    or bought. Pasteurised food counts unless it is cooked in this formula."""
    cooked = {c.item for c in product.components if c.cooked and not c.through}
    days = [(line.joined, _day_one(house, line.joined, made, cooked)) for line in lines]
    parts = [DatedPart(part.item, part.name, how) for part, how in days if how is not None]
    return tuple(dict.fromkeys(parts))


def _day_one(
    house: House, line: JoinedLine, made: Mapping[str, Walk], cooked: set[str]
) -> DayOne | None:
    """Which day is day 1 of one line's own date; None where it has none."""
    facts = line.ingredient
    if line.formula is not None:
        dates = made[line.formula].dates
        return "made" if dates is not None and dates.kind in ("cold", "by-time") else None
    if facts is None or not facts.tcs:
        return None
    if facts.state == "pasteurised" and line.item in cooked:
        return None
    return day_one_of(house.pack, facts)


def _figures(
    formula: JoinedFormula, lines: list[WeighedLine], filled: Fraction | None, finished: Fraction
) -> tuple[Figures, list[Finding]]:
    """The masses a batch is sized by, in grams, and the portions in one fill."""
    raw = sum((ln.grams for ln in lines), Fraction(0))
    base = sum(
        (ln.grams for ln in lines if (ln.joined.part, ln.joined.item) in formula.base), Fraction(0)
    )
    makes = formula.formula.makes
    if makes is None:
        return Figures(base, raw, filled, finished), []
    fill = makes.fill_weight.value if makes.fill_weight else None
    portion = makes.portion.value if makes.portion else None
    per_fill, sliced, findings = _slices(formula, makes)
    return Figures(base, raw, filled, finished, fill, portion, per_fill, sliced), findings


def _slices(formula: JoinedFormula, makes: Makes) -> tuple[int | None, Fraction, list[Finding]]:
    """The portions in one fill, and the share of it that is sliced: all of it, where nothing is."""
    if makes.slice is None:
        return makes.portions, Fraction(1), []
    if makes.length is None or makes.fill_weight is None:
        words = "A slice needs the length and weight of one fill."
        help = "Add `length` and `fill_weight` under `makes`."
        found = _slice_wrong(formula, makes, "slice-needs-length", words, help)
        return makes.portions, Fraction(1), [found]
    ends = sum((s.step.ends.value for s in formula.steps if s.step.ends), Fraction(0))
    usable = makes.length.value - 2 * ends
    per_fill = max(0, math.floor(usable / makes.slice.value))
    if per_fill == 0:
        words = "There is no whole slice between the ends."
        help = "Check slice, length and ends."
        found = _slice_wrong(formula, makes, "slice-too-thick", words, help)
        return per_fill, Fraction(1), [found]
    return per_fill, per_fill * makes.slice.value / makes.length.value, []


def _slice_wrong(formula: JoinedFormula, makes: Makes, code: str, words: str, help: str) -> Finding:
    about = frozenset({formula.id})
    return Finding(code, "error", words, makes.place("slice"), help, about=about)
