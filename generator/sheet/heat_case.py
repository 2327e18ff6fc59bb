"""A formula's step as a case for heat: what is in it, its vessel, how deep it is filled, where it
is chilled, cooked, frozen or thawed.

What isn't known of the food widens the band. Raises Refused for what can't be predicted, with what
is missing. A prediction is never a limit: no rule reads any of this.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from generator.files.finding import Refused, clipped
from generator.heat.bodies import Body, Course
from generator.heat.case import DEGREES_OFF, FROZEN_OFF, Case, Made, Place
from generator.heat.chilling import Deadline
from generator.heat.constituents import Impossible
from generator.heat.ranges import Range
from generator.records.equipment import Cold, Equipment, Machine, Vessel
from generator.resolve.joined import JoinedStep
from generator.rules.basics.limit import CoolingLimit, Figure, HeatingLimit, Limit, held_against
from generator.sheet.at_hand import pours
from generator.sheet.composed import Made as MadeOf
from generator.sheet.heat_food import Food, food_of
from generator.sheet.heat_places import Media, cooking, in_air, in_the_cold
from generator.sheet.heat_shape import Filled, filled, named
from generator.sheet.sheet import Batch, Sheet

COLD_START = Range(3.0, 8.0, 20.0)
"""What food is taken to be at before it is cooked or frozen, °C. Ours."""
CHILLED_START = Range(1.0, 4.0, 8.0)
"""The same of food that was chilled before it is frozen. Ours."""
FROZEN_START = Range(-22.0, -18.0, -12.0)
"""What food is taken to be at before it thaws, where no freezer says, °C. Ours."""
FROZEN_THROUGH, THAWED = -10.0, 0.0
"""Where food counts as frozen, and as thawed, all through, °C: most of its water is ice, none is.
Ours."""

Kind = Literal["chill", "cook", "freeze", "thaw"]


@dataclass(frozen=True)
class FormulaCase:
    """A step: the case at the depth it is filled to, at any other, and the stages of its cooling;
    none where it isn't cooled by law. ``hold_s`` is how long a cooking step holds its target;
    ``after`` is the air it comes into when it is taken out, ``held_at`` what its oven or bath is
    set to, °C. ``moves``: it is a liquid. ``comes_g`` is the food that comes to the step in the
    formula as written, in grams; ``guidance``: the words of guidance its stages are of, where the
    law sets none; ``figures`` are the limits of its stages, with what the probe must read."""

    kind: Kind
    step: str
    number: int
    filled: Filled
    place: Cold | Machine
    food: Food
    case: Case
    at_depth: Callable[[float], Case] | None = None
    deadlines: tuple[Deadline, ...] = ()
    hold_s: float = 0.0
    after: Place | None = None
    held_at: float | None = None
    moves: bool = False
    guidance: str = ""
    comes_g: Fraction = Fraction(0)
    figures: tuple[Figure, ...] = ()

    def kilos(self, batch: Batch) -> float:
        """What comes to the step in a batch, kg: less than was weighed in where water left it
        before, more where it took some up."""
        return float(self.comes_g * batch.factor) / 1000

    @property
    def vessel(self) -> Vessel | None:
        return self.filled.vessel

    @property
    def depth(self) -> float | None:
        return self.filled.depth


@dataclass(frozen=True)
class Asked:
    """What a case is made from: the sheet, what its formula is made of, the kitchen's equipment,
    the media; and what is typed in place of the step's own."""

    sheet: Sheet
    made: MadeOf | None
    equipment: Mapping[str, Equipment]
    media: Media
    vessel: str | None = None
    depth: str | None = None
    chiller: str | None = None

    def food_at(self, number: int) -> Food:
        return food_of(self.made.at.get(number) if self.made is not None else None)

    def grams_at(self, number: int) -> Fraction:
        """What comes to a step in the formula as written, what it takes in with it."""
        return self.sheet.walk.steps[number - 1].before.mass

    def filled(self, number: int, food: Food) -> Filled:
        return filled(self.sheet, number, self.equipment, self.vessel, self.depth, food.composition)


def formula_case(asked: Asked, step: str | None) -> FormulaCase:
    """The case of a formula's step: the one named, or its first that cools hot food. Raises
    Refused."""
    limit = _cooling(asked.sheet, step)
    if limit is not None:
        return chill_case(asked, limit)
    if step is None:
        raise _no_chill(asked)
    joined = _step(asked.sheet, step)
    if joined.effects & {"freezes"}:
        return _frozen(asked, joined)
    if joined.effects & {"thaws", "slacks"}:
        return _thawed(asked, joined)
    if joined.effects & {"cooks", "part-cooks", "reheats", "heats"}:
        return _cooked(asked, joined)
    raise Refused("nothing-to-predict", f"{_of(asked.sheet, step)} {_NOTHING}", _ELSE)


_PREDICTED = frozenset({"cooks", "part-cooks", "reheats", "heats", "freezes", "thaws", "slacks"})


def other_steps(asked: Asked, but: int) -> tuple[list[str], list[tuple[str, str]]]:
    """A formula's other steps that heat, cool, freeze or thaw: those that can be predicted, and
    those that can't with the reason."""
    chills = {limit.number for limit in _held_against(asked.sheet)}
    can: list[str] = []
    cannot: list[tuple[str, str]] = []
    plain_asked = replace(asked, vessel=None, depth=None, chiller=None)
    for joined in asked.sheet.formula.steps:
        if joined.number == but or not (joined.number in chills or joined.effects & _PREDICTED):
            continue
        try:
            formula_case(plain_asked, str(joined.number))
        except (Refused, Impossible) as problem:
            words = problem.message if isinstance(problem, Refused) else f"{problem}."
            cannot.append((joined.id, words))
        else:
            can.append(joined.id)
    return can, cannot


_NOTHING = "has no limit for cooling hot food, and it doesn't cook, freeze or thaw."
_ELSE = (
    "From a formula, a step is predicted that cools hot food, cooks in water, in steam or in an "
    "oven, freezes or thaws. Describe anything else with --body."
)


def _of(sheet: Sheet, step: str | None) -> str:
    return f"step `{clipped(step)}` of {sheet.name}" if step is not None else sheet.name


def _no_chill(asked: Asked) -> Refused:
    """What can be predicted of a formula whose food isn't cooled from hot, and what can't."""
    can, cannot = other_steps(asked, 0)
    help = f"Name a step with --step: {', '.join(can)}. " if can else ""
    help += "".join(f"{step}: {why} " for step, why in cannot)
    name = asked.sheet.name
    return Refused(
        "nothing-to-predict", f"{name} has no limit for cooling hot food.", (help + _ELSE).strip()
    )


def _step(sheet: Sheet, step: str) -> JoinedStep:
    """The step of a name or a number. Raises Refused."""
    for joined in sheet.formula.steps:
        if step in (joined.id, joined.verb, str(joined.number)):
            return joined
    known = [s.id for s in sheet.formula.steps]
    raise Refused("step-unknown", f"There is no {_of(sheet, step)}.", f"Steps: {', '.join(known)}.")


def cooling_limits(sheet: Sheet) -> list[CoolingLimit]:
    """The limits for cooling of a sheet whose clock starts hot."""
    return _from_hot(sheet.walk.limits)


def _held_against(sheet: Sheet) -> list[CoolingLimit]:
    """The same, and the times of guidance where the law sets none."""
    return sorted(_from_hot(held_against(sheet.walk.limits)), key=lambda one: one.number)


def _from_hot(limits: Iterable[Limit]) -> list[CoolingLimit]:
    return [
        limit
        for limit in limits
        if isinstance(limit, CoolingLimit) and limit.clock is not None and limit.number
    ]


def _cooling(sheet: Sheet, step: str | None) -> CoolingLimit | None:
    for limit in _held_against(sheet):
        if step is None or step in (limit.step, str(limit.number)):
            return limit
    return None


# -- the kinds of step ----------------------------------------------------------------------------


def chill_case(asked: Asked, limit: CoolingLimit) -> FormulaCase:
    """A step that cools hot food, from where the law's clock starts. Raises Refused."""
    food = asked.food_at(limit.number)
    held = asked.filled(limit.number, food)
    cold = _cold(asked, asked.sheet.formula.steps[limit.number - 1], "chilled")
    assert limit.clock is not None
    start = float(limit.clock.value.celsius)
    hottest = cooked_to(asked.sheet, limit.number)
    stages = tuple(s for s in limit.stages if not s.advised)
    deadlines = tuple(
        Deadline(float(s.figure.value.celsius), float(s.within_s), s.after_stage) for s in stages
    )
    air = Course.constant(float(cold.air.warmest.celsius))
    moves = is_liquid(asked.sheet, limit.number, held)

    def case(body: Body) -> Case:
        around = in_the_cold(replace(held, body=body), cold, asked.media, air)
        stuff = Made(food.composition, moves=moves)
        came = Range(start - DEGREES_OFF, start, max(hottest, start + DEGREES_OFF))
        return Case(body, stuff, came, (Place(around),), (), clock=start)

    at_depth = _by_depth(held, case)
    return FormulaCase(
        "chill",
        limit.step,
        limit.number,
        held,
        cold,
        food,
        case(held.body),
        at_depth,
        deadlines,
        moves=moves,
        comes_g=asked.grams_at(limit.number),
        guidance=limit.note if limit.beside_law else "",
        figures=tuple(stage.figure for stage in stages),
    )


def is_liquid(sheet: Sheet, number: int, held: Filled) -> bool:
    """Whether the food of a step moves in its vessel: a third of it or more went in as liquid, and
    nothing has baked it since. In a casing it counts as set."""
    if held.vessel is None or held.vessel.shape == "casing":
        return False
    steps = sheet.walk.steps[:number]
    return pours(steps[-1].before) and not any("bakes" in one.step.effects for one in steps)


_HEATED = frozenset({"cooks", "part-cooks", "reheats", "heats"})


def cooked_to(sheet: Sheet, number: int) -> float:
    """How hot food was at the most before a step, °C: its outside is as hot as what it was cooked
    in, up to 100; by the chef's targets and the limits as well. 0 where nothing says."""
    targets = [joined.target for joined in sheet.formula.steps[: number - 1]]
    cooked = [
        float(target.coolest.celsius)
        for target in targets
        if target is not None and target.coolest is not None
    ]
    cooked += [
        float(joined.step.at.warmest.celsius)
        for joined in sheet.formula.steps[: number - 1]
        if joined.step.at is not None and joined.effects & _HEATED
    ]
    cooked += [
        float(one.figure.value.celsius)
        for one in sheet.walk.limits
        if isinstance(one, HeatingLimit) and one.number and one.number < number
    ]
    return min(max(cooked, default=0.0), 100.0)


def _by_depth(held: Filled, case: Callable[[Body], Case]) -> Callable[[float], Case] | None:
    at = held.at
    return None if at is None else lambda depth: case(at(depth))


def _cold(asked: Asked, joined: JoinedStep, done: str) -> Cold:
    """What it is in: what is named, or the step's own. Raises Refused."""
    found: Equipment | None = joined.cold
    if asked.chiller is not None:
        found = named(asked.equipment, asked.chiller, "chiller")
    if isinstance(found, Cold):
        return found
    known = [i for i, e in asked.equipment.items() if isinstance(e, Cold)]
    raise Refused(
        "chiller-missing",
        f"Nothing says where {asked.sheet.name} is {done}.",
        "Write `in` at the step, or name a chiller with --in.",
        [f"--in {ident}" for ident in known[:3]],
    )


def _frozen(asked: Asked, joined: JoinedStep) -> FormulaCase:
    """A step that freezes: until the slowest point is at the target, or frozen through."""
    cold = _cold(asked, joined, "frozen")
    chilled = any(s.effects & {"cools"} for s in asked.sheet.formula.steps[: joined.number - 1])
    start = CHILLED_START if chilled else COLD_START
    target = joined.target.warmest if joined.target is not None else None
    wanted = FROZEN_THROUGH if target is None else float(target.celsius)
    return _ice_case(asked, joined, "freeze", cold, start, wanted)


def _thawed(asked: Asked, joined: JoinedStep) -> FormulaCase:
    """A step that thaws: until no ice is left at the slowest point."""
    cold = _cold(asked, joined, "thawed")
    start = FROZEN_START
    for before in reversed(asked.sheet.formula.steps[: joined.number - 1]):
        if before.cold is not None and before.cold.kind == "freezer":
            likely = float(before.cold.air.warmest.celsius)
            start = Range.off_by(likely, 3.0)
            break
    target = joined.target.coolest if joined.target is not None else None
    wanted = THAWED if target is None else min(float(target.celsius), THAWED)
    return _ice_case(asked, joined, "thaw", cold, start, wanted)


def _ice_case(
    asked: Asked, joined: JoinedStep, kind: Kind, cold: Cold, start: Range, target: float
) -> FormulaCase:
    food = asked.food_at(joined.number)
    held = asked.filled(joined.number, food)
    air = Course.constant(float(cold.air.warmest.celsius))

    def case(body: Body) -> Case:
        around = in_the_cold(replace(held, body=body), cold, asked.media, air)
        stuff = Made(food.composition, off=FROZEN_OFF)
        return Case(body, stuff, start, (Place(around),), (target,))

    return FormulaCase(
        kind,
        joined.id,
        joined.number,
        held,
        cold,
        food,
        case(held.body),
        _by_depth(held, case),
        comes_g=asked.grams_at(joined.number),
    )


def _cooked(asked: Asked, joined: JoinedStep) -> FormulaCase:
    """A step that cooks: until the slowest point is at the chef's target, or at the limit."""
    if asked.chiller is not None:
        raise Refused("predict-usage", f"{joined.id} cooks: it has no chiller.", "Leave --in out.")
    if any(s.effects & {"raises"} for s in asked.sheet.formula.steps[: joined.number]):
        raise Refused(
            "nothing-to-predict", f"{asked.sheet.name} is raised: the air in it isn't known.", _ELSE
        )
    limits = [
        one
        for one in asked.sheet.walk.limits
        if isinstance(one, HeatingLimit) and one.number == joined.number
    ]
    wanted, hold = _wanted(joined, limits)
    food = asked.food_at(joined.number)
    held = asked.filled(joined.number, food)
    around = cooking(joined, held, asked.media)
    assert joined.machine is not None
    moves = is_liquid(asked.sheet, joined.number, held) and "bakes" not in joined.effects

    def case(body: Body) -> Case:
        there = cooking(joined, replace(held, body=body), asked.media)
        stuff = Made(food.composition, moves=moves)
        return Case(body, stuff, COLD_START, (Place(there),), (wanted,))

    return FormulaCase(
        "cook",
        joined.id,
        joined.number,
        held,
        joined.machine,
        food,
        replace(case(held.body), places=(Place(around),)),
        _by_depth(held, case),
        hold_s=hold,
        after=Place(in_air(held.body, asked.media)),
        held_at=None if joined.step.at is None else float(joined.step.at.coolest.celsius),
        moves=moves,
        comes_g=asked.grams_at(joined.number),
    )


def _wanted(joined: JoinedStep, limits: list[HeatingLimit]) -> tuple[float, float]:
    """The temperature to reach, °C, and for how long, s: the chef's target, else the strictest
    limit of the step. Raises Refused where there is neither."""
    target = joined.target
    if target is not None and target.coolest is not None:
        held = target.hold.longest if target.hold is not None else Fraction(0)
        return float(target.coolest.celsius), float(held)
    if not limits:
        raise Refused(
            "nothing-to-predict",
            f"Nothing says how warm the food has to be at {joined.id}.",
            "Write a `target` at the step, as in core 75 °C.",
        )
    strictest = max(limits, key=lambda one: one.figure.value.celsius)
    return float(strictest.figure.value.celsius), float(strictest.hold_s or 0)
