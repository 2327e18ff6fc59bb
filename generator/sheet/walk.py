"""The walk: a formula's steps in order, carrying the product's state and mass.

Everything here is at factor 1, the formula as written; limits don't change with batch size, and
masses scale in a straight line. Pure: no YAML, no file, no clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding
from generator.records.yields import StepYield
from generator.resolve.joined import Comes, House, JoinedFormula, JoinedLine, JoinedStep
from generator.resolve.ways import waits, with_ways
from generator.rules.asked import ask_end, ask_step
from generator.rules.basics.context import DatedPart, DayOne, EndContext, Outcome, StepContext
from generator.rules.basics.course import Course, Stay, stay_of, warms
from generator.rules.basics.course import after as course_after
from generator.rules.basics.fate import fate_of
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.product import RAW_STATES, Component, Product, changed
from generator.rules.basics.warmth import (
    as_warm,
    chilled_by,
    cools_at,
    heated_up_again,
    hot_by,
    left_warm,
    needs_cold,
    thaws_at,
    with_parts,
)
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.cultures import turned
from generator.rules.cold.holding import bounds_of
from generator.rules.cold.plants import marked as plants_marked
from generator.rules.cold.plants import (
    says_sprout,
    soured,
    sprouted,
    without_its_paper,
)
from generator.rules.cold.wetted import made_with_heat, wetted
from generator.rules.cures.salting import salting
from generator.rules.heat.enclosing import enclosed
from generator.rules.heat.roast import in_pieces
from generator.rules.heat.to_order import holds as made_to_order
from generator.rules.heat.to_order import raw_egg
from generator.rules.packing.on_file import with_document
from generator.rules.store.shelf import day_one_of
from generator.scaling.batch import Figures
from generator.sheet.components import components_of, measures_of
from generator.sheet.fills import Filling, filling_of
from generator.sheet.leaving import leftovers, nothing_left, raw_juice_kept
from generator.sheet.stepping import after as after_step
from generator.sheet.stepping import (
    kept,
    marked,
    reported_to_cut,
    stands_wet,
    stood_since_cold,
)
from generator.sheet.streams import Stream, of_a_wait, opened, waiting_at
from generator.sheet.to_come import cooked_from, due_at, held_hot_next
from generator.sheet.walked import Walk as Walk
from generator.sheet.walked import WalkedStep as WalkedStep
from generator.sheet.weighing import WeighedLine, weigh_lines
from generator.sheet.wet_steps import came_wet_s, left_to_sprout, soaks_uncooked, wet_here

_Parts = dict[str, list[Component]]
"""What each part of a formula is made of."""


def walk(
    house: House, formula: JoinedFormula, made: Mapping[str, Walk]
) -> Walk | tuple[Finding, ...]:
    """Walk one formula. ``made`` holds the walks of its sub-formulas.

    Returns the walk, or the findings that keep it from being computed.
    """
    lines, findings = weigh_lines(
        house, formula, {i: measures_of(made[i]) for i in formula.sub_formulas}
    )
    if lines is None:
        return tuple(findings)
    formula = with_ways(formula)
    parts = _components(house, formula, lines, made)
    walking = _Walking(house, formula, parts)
    ended = walking.to_the_end()
    product = ended.product
    end = EndContext(
        house,
        formula.along(formula.steps[-1].number),
        product,
        formula.formula.not_tcs.words if formula.formula.not_tcs is not None else "",
        _to_date(house, lines, made, product),
        ended.course,
        walking.fate,
        ended.aged,
    )
    endings, spoken = ask_end(end)
    filling = walking.filling(lines)
    least, most = _from_to(house, formula, lines, parts)
    return Walk(
        formula,
        tuple(lines),
        tuple(walking.walked),
        product,
        tuple(limit for outcome in endings for limit in outcome.limits),
        next((o.dates for o in endings if o.dates is not None), None),
        filling.figures,
        end.tcs,
        (
            *findings,
            *walking.findings,
            *(f for o in endings for f in o.findings),
            *filling.findings,
        ),
        walking.touched | spoken,
        salting(formula, ((s.step, s.after) for s in walking.walked), product),
        ended.course,
        ended.aged,
        ended.stood,
        least,
        most,
        walking.filled_at,
        filling.basis,
        ended.wet,
    )


def _from_to(
    house: House, formula: JoinedFormula, lines: list[WeighedLine], parts: _Parts
) -> tuple[Figures | None, Figures | None]:
    """The masses where all yields that vary come out low, and high; None where none varies."""
    if not any(step.yields is not None and step.yields.varies for step in formula.steps):
        return None, None
    found: list[Figures] = []
    for end in ("low", "high"):
        walking = _Walking(house, _at_one_end(formula, end), parts)
        walking.to_the_end()
        found.append(walking.filling(lines).figures)
    return found[0], found[1]


def _at_one_end(formula: JoinedFormula, end: str) -> JoinedFormula:
    """The formula as if every step yielded what it may fall, or come, to."""
    steps = tuple(
        step
        if step.yields is None
        else replace(step, yields=StepYield(*(3 * (getattr(step.yields, end),))))
        for step in formula.steps
    )
    return with_ways(replace(formula, steps=steps, ways=None))


def _components(
    house: House, formula: JoinedFormula, lines: list[WeighedLine], made: Mapping[str, Walk]
) -> _Parts:
    """What each part of the formula is made of. Raw eggs of what is made to order are for that
    order."""
    parts: _Parts = {}
    to_order = made_to_order(formula)
    for line in lines:
        found = components_of(house, line, made)
        if to_order and raw_egg(line.joined.ingredient):
            found = [changed(c, to_order=True) for c in found]
        parts.setdefault(line.joined.part, []).extend(found)
    return parts


class _Walking:
    """The walk under way: what is the same at every step, and the streams that were given so far.
    ``own`` are the parts each step takes in itself."""

    def __init__(self, house: House, formula: JoinedFormula, parts: _Parts) -> None:
        self.house, self.formula, self.parts = house, formula, parts
        self.bounds = bounds_of(house, formula.formula.smoked_for or "")
        self.fate = fate_of(formula)
        self._passed_on = not self.fate.eaten and formula.formula.keeps is None
        self.noted = house.library.preparation.noted.seconds
        self.own = {step.number: step.parts for step in formula.steps}
        self.streams: dict[tuple[int, str], Stream] = {}
        self.filled: Product | None = None
        self.filled_at = 0
        self.walked: list[WalkedStep] = []
        self.findings: list[Finding] = []
        self.touched: Spoken = frozenset()
        components = [c for found in parts.values() for c in found]
        self.begins = Stream(
            aged=max((c.aged_s for c in components), default=Fraction(0)),
            stood=max((c.stood_s for c in components), default=Fraction(0)),
        )
        self.last_meeting = max((s.number for s in formula.steps if len(s.comes) > 1), default=0)

    def to_the_end(self) -> Stream:
        """Every step in turn; the stream the last of them gives."""
        for step in self.formula.steps:
            self.take_step(step.number)
        return self.streams[self.formula.steps[-1].number, self.formula.formula.ends_as]

    def filling(self, lines: list[WeighedLine]) -> Filling:
        """What the formula makes of what was walked."""
        end = self.streams[self.formula.steps[-1].number, self.formula.formula.ends_as].product
        return filling_of(self.house, self.formula, lines, self.walked, self.filled, end)

    def take_step(self, number: int) -> None:
        """A step: the streams that come to it and what it takes in, what the rules say of it, and
        what leaves it."""
        step = self.formula.step(number)
        stream = self._come_to(step)
        taken = self._taken_in(self.own[number])
        view = self.formula.along(number)
        context, outcomes, left = self._through(stream, step, taken, view)
        limits = tuple(
            with_document(self.house, self.formula, limit)
            for outcome in outcomes
            for limit in outcome.limits
        )
        shown, own = context.step, self.own[number]
        if shown.parts != own:
            shown = replace(shown, parts=own)
        after = left.product
        if self._fills(step):
            self.filled, self.filled_at = after, number
        drained = tuple(leftovers(self.house, context.before, step))
        self.findings += nothing_left(self.formula.id, step, drained)
        self.findings += raw_juice_kept(self.formula, step, drained, after)
        self.walked.append(
            WalkedStep(
                shown,
                context.before,
                after,
                limits,
                context.stay,
                context.course,
                left.course,
                drained,
            )
        )
        self.streams[number, ""] = left
        for one in drained:
            self.streams[number, one.name] = replace(left, product=one.behind(after))

    def _fills(self, step: JoinedStep) -> bool:
        """Whether a step's filling counts so far; of a by-product, only its own steps do."""
        if "fills" not in step.effects:
            return False
        of = self.formula.formula.by_product
        if of is not None and step.number <= of.step:
            return False
        return self.filled is None or step.number == self._fills_again()

    def _fills_again(self) -> int:
        """The first step that fills once all streams have met: what is filled there counts."""
        steps = (s for s in self.formula.steps if s.number >= self.last_meeting)
        return next((s.number for s in steps if "fills" in s.effects), 0)

    def _come_to(self, step: JoinedStep) -> Stream:
        """What comes to a step from earlier ones, each after its wait."""
        streams = tuple(
            self._waited(self.streams[come.number, come.name if come.left else ""], come, step)
            for come in step.comes
        )
        self.findings += opened(self.formula.id, step, streams)
        if not streams:
            return self.begins
        found = streams[0]
        for other in streams[1:]:
            found = found.join(other, step.number)
        return found

    def _waited(self, stream: Stream, come: Comes, step: JoinedStep) -> Stream:
        """A stream once it waited for a step to take it; its limits are those of the step it waits
        after."""
        if self.formula.ways is None:
            return stream
        by_number = {s.number: s for s in self.formula.steps}
        all_waits = waits(by_number, come, step)
        onward = (step, *self.formula.after(step.number))
        for index, wait in enumerate(all_waits):
            rest = (*all_waits[index + 1 :], *onward)
            view = waiting_at(self.formula, all_waits[:index], wait, rest)
            found = len(self.findings)
            _, outcomes, stream = self._through(stream, wait, (), view)
            self.findings[found:] = [of_a_wait(f, step) for f in self.findings[found:]]
            self._add_limits(wait.number, outcomes)
        return stream

    def _add_limits(self, number: int, outcomes: list[Outcome]) -> None:
        """Put the limits of a wait to those of the step behind which it is, without those that it
        has already."""
        index = next(i for i, walked in enumerate(self.walked) if walked.step.number == number)
        walked = self.walked[index]
        had = {(type(limit), limit.hazard, limit.bound) for limit in walked.limits}
        new = tuple(
            with_document(self.house, self.formula, replace(limit, step=walked.step.id))
            for outcome in outcomes
            for limit in outcome.limits
            if (type(limit), limit.hazard, limit.bound) not in had
        )
        self.walked[index] = replace(walked, limits=(*walked.limits, *new))

    def _through(
        self,
        stream: Stream,
        step: JoinedStep,
        taken: tuple[Component, ...],
        view: JoinedFormula,
    ) -> tuple[StepContext, list[Outcome], Stream]:
        """A stream through one step of its way, ``view``: what the rules were told and answered,
        and the stream behind it."""
        onward = (step, *view.after(step.number))
        before, wet = self._made_up(stream, step, taken, view)
        course = with_parts(stream.course, before, (*taken, *before.turned()), step)
        before = before.with_turned()
        before = changed(before, hot=before.hot or hot_by(course))
        step, stay = self._as_it_thaws(step, course, before)
        context = StepContext(
            self.house,
            view,
            step,
            before,
            due_at(onward, self.noted),
            held_hot_next(onward),
            cools_at(before, stay, onward),
            self._to_come(view, step.number),
            course,
            stay,
            needs_cold(view, before, step.number),
            chilled_by(onward[1:], self.bounds),
            self.fate,
            stream.stood,
            warms(step, self.bounds),
        )
        outcomes = self._ask(context)
        after = after_step(self.house, self.formula.id, context, outcomes, self.bounds)
        if stay.during == "by plan" and not cooked_from(onward):
            after = after.made_ready()
        return context, outcomes, self._left(stream, context, after, wet)

    def _taken_in(self, parts: tuple[str, ...]) -> tuple[Component, ...]:
        """The components of some parts, in their order."""
        return tuple(c for part in parts for c in self.parts.get(part, ()))

    def _to_come(self, view: JoinedFormula, number: int) -> tuple[Component, ...]:
        """What is still to be put to the food of a step."""
        done = {step.number for step in view.before(number)} | {number}
        later = (own for n, own in self.own.items() if n not in done)
        return tuple(c for own in later for c in self._taken_in(own))

    def _brine(self, view: JoinedFormula, number: int) -> bool:
        """Whether nothing was taken in so far but water, salt, sugar, acid and dry seasoning."""
        numbers = [step.number for step in view.before(number)] + [number]
        taken = (c for n in numbers for c in self._taken_in(self.own.get(n, ())))
        return all(_seasoning(self.house, c) for c in taken)

    def _made_up(
        self,
        stream: Stream,
        step: JoinedStep,
        taken: tuple[Component, ...],
        view: JoinedFormula,
    ) -> tuple[Product, Fraction]:
        """What a step begins with: the stream so far with what is taken in, cut and put together
        as the step does; and the seconds it was moist and warm by its end."""
        house = self.house
        opened = step.effects | {"cuts"} if reported_to_cut(house, step) else step.effects
        before = plants_marked(marked(stream.product.take(taken), step), opened, house)
        if not (self._passed_on or cooked_from((step, *view.after(step.number)))):
            sprouts = any(map(says_sprout, view.since(step.number)))
            before = wetted(before, step, house, sprouts)
        if "holds-hot" in step.effects and made_with_heat(before, house):
            before = changed(before, plants_heated=True)
        stood = max(stream.wet, *came) if (came := came_wet_s(taken)) else stream.wet
        here = wet_here(before, step, view, self.bounds, house, self._passed_on)
        wet = stood + here if here else stood
        if left_to_sprout(step, view, self._passed_on):
            before = plants_marked(sprouted(before, wet, house), opened, house)
        soaked = soaks_uncooked(house, before, step, view)
        left = stood + stands_wet(before, step, self.bounds, house, wetted=soaked)
        since = stood_since_cold(before, view.before(step.number), self.bounds)
        before = soured(before, step.effects, left, house, soaked=soaked, before_s=since)
        if not cooked_from((step, *view.after(step.number))):
            before = turned(before, left, stood, "ferments" in step.effects, house)
        before = without_its_paper(before, step, house)
        return enclosed(in_pieces(before, step.effects), step, view, house.pack), wet

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
        found = [f for outcome in outcomes for f in outcome.findings]
        self.findings += self._said_once(found) if _soured_alone(context.before) else found
        return outcomes

    def _said_once(self, found: list[Finding]) -> list[Finding]:
        """What was found of food that needs the cold only since it stood too long, without a chill
        that begins too late for it: the wait is an error already, and nothing else is wrong."""
        if not any(f.code == "between-too-long" for f in self.findings):
            return found
        return [f for f in found if f.code != "chill-begun-too-late"]

    def _left(self, stream: Stream, context: StepContext, after: Product, wet: Fraction) -> Stream:
        """What leaves a step, ``wet`` and warm for so many seconds by then."""
        step, before, stay, course = context.step, context.before, context.stay, context.course
        needs = after.needs_cold if warms(step, self.bounds) else before.needs_cold
        behind = course_after(course, step, stay, needs, context.cools)
        cold = behind.state in ("cold", "frozen")
        brine = cold and self._brine(context.formula, step.number)
        product = as_warm(after, behind, step, brine)
        aged, stood = kept(before, stay, step), heated_up_again(before, course, step)
        return Stream(
            left_warm(product) if stay.during == "by plan" else product,
            behind,
            stream.aged + aged if aged else stream.aged,
            stream.stood + stood if stood else stream.stood,
            wet,
        )


def _soured_alone(product: Product) -> bool:
    """Whether nothing in it needed the cold before it fermented: raw plant food alone does now."""
    needing = [c for c in product.components if c.tcs or c.raw_animal]
    return not product.hot and all(
        c.species == "none"
        and c.state in RAW_STATES
        and not c.heated
        and c.facts is not None
        and not c.facts.tcs
        for c in needing
    )


def _seasoning(house: House, part: Component) -> bool:
    """Whether a part is water, salt, a cure, sugar, acid, or dry and ready to eat."""
    if part.through or part.tcs or part.species != "none":
        return False
    dry = part.form == "dry" and part.state == "ready-to-eat"
    sweet = part.boils == "sugar"
    return bool(part.function) or sweet or part.acid or dry or is_water(house, part)


def _to_date(
    house: House, lines: list[WeighedLine], made: Mapping[str, Walk], product: Product
) -> tuple[DatedPart, ...]:
    """The parts whose own date counts: ready-to-eat and in need of temperature control, made ahead
    or bought. Pasteurised food counts unless it is cooked in this formula."""
    cooked = {(c.part, c.item) for c in product.components if c.cooked and not c.through}
    days = [(line.joined, _day_one(house, line.joined, made, cooked)) for line in lines]
    parts = [
        DatedPart(part.item, part.name, how, _kept(made.get(part.formula or "")))
        for part, how in days
        if how is not None
    ]
    return tuple(dict.fromkeys(parts))


def _kept(made: Walk | None) -> int | None:
    """How many days a made-ahead formula keeps; None for what is bought, or has no figure."""
    return made.dates.day if made is not None and made.dates is not None else None


def _day_one(
    house: House, line: JoinedLine, made: Mapping[str, Walk], cooked: set[tuple[str, str]]
) -> DayOne | None:
    """Which day is day 1 of one line's own date; None where it has none."""
    facts = line.ingredient
    if line.formula is not None:
        dates = made[line.formula].dates
        return "made" if dates is not None and dates.kind in ("cold", "by-time") else None
    if facts is None or not facts.tcs:
        return None
    if facts.state == "pasteurised" and (line.part, line.item) in cooked:
        return None
    return day_one_of(house.pack, facts)
