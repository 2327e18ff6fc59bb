"""The temperature of the food from step to step: its state, how that is known, and the time
between.

*Between* is warmer than the pack's figure for holding cold and colder than its figure for holding
hot. A *spell* runs from the last moment the food is known cold or hot to the next, or to the guest.
What a step is called doesn't matter: heat, a cold place, a stated temperature or a limit of the
step's own say what the food's temperature is; where none of them does, the step's time is spent
between.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from generator.measures.temperature import Temperature
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedStep
from generator.rules.basics.product import Component, Product

State = Literal["none", "frozen", "cold", "between", "hot"]
"""How the food is when a step is done; ``none`` while nothing in it needs the cold."""
During = Literal[
    "unchanged",
    "frozen",
    "cold",
    "between",
    "hot",
    "cooking",
    "cooling",
    "thawing",
    "by time",
    "by plan",
    "served",
]
"""How the food is while a step lasts."""
Known = Literal["stated", "follows from the step", "unknown"]
_RANK: dict[State, int] = {"none": 0, "frozen": 1, "cold": 2, "between": 3, "hot": 4}


@dataclass(frozen=True)
class Bounds:
    """The pack's own figures for holding cold and for holding hot; None where it sets none.
    ``plans`` are the ways of changing food by time that a plan on file allows today."""

    cold: Temperature | None
    hot: Temperature | None
    plans: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Spell:
    """One time between: ``seconds`` as far as it is timed, the verbs of the steps ``not_timed``,
    the number of the step it ``began`` at and of the one that ended it; ``hot`` if the food was hot
    before it."""

    began: int
    seconds: Fraction = Fraction(0)
    not_timed: tuple[str, ...] = ()
    hot: bool = False
    ended: int = 0


@dataclass(frozen=True)
class Course:
    """Where the food is: its state, how that is known, the spell that runs, and those that are
    over."""

    state: State = "none"
    known: Known = "unknown"
    spell: Spell | None = None
    over: tuple[Spell, ...] = ()

    @property
    def so_far(self) -> Fraction:
        """The seconds of the spell that runs."""
        return self.spell.seconds if self.spell is not None else Fraction(0)

    @property
    def in_all(self) -> Fraction:
        """The seconds of all spells, for information: the law adds them up nowhere."""
        return sum((spell.seconds for spell in self.over), self.so_far)


@dataclass(frozen=True)
class Stay:
    """What one step is for the food's temperature; ``seconds`` at the longest."""

    during: During
    known: Known
    seconds: Fraction | None = None


def stay_of(step: JoinedStep, course: Course, food: Product, bounds: Bounds) -> Stay:
    """What a step is for the temperature of ``food`` that came to it by ``course``."""
    seconds = step.step.time.longest if step.step.time is not None else None
    during, known = _during(step, course, food, bounds)
    return Stay(during, known, seconds)


_BY_EFFECT: tuple[tuple[str, During], ...] = (
    ("cleans", "unchanged"),
    ("holds-hot", "hot"),
    ("holds-by-time", "by time"),
    ("thaws", "thawing"),
    ("slacks", "thawing"),
    ("freezes", "frozen"),
    ("cools", "cooling"),
)


def _during(
    step: JoinedStep, course: Course, food: Product, bounds: Bounds
) -> tuple[During, Known]:
    effects = step.effects
    if "cleans" in effects and step.step.time is not None:
        standing = course.spell is not None or course.state == "hot"
        return ("between", "stated") if standing else ("unchanged", "follows from the step")
    if effects & HEATS:
        gets_hot = _gets_hot(step, food, bounds)
        return ("cooking", "follows from the step") if gets_hot else ("between", "unknown")
    for effect, during in _BY_EFFECT:
        if effect in effects:
            return during, "follows from the step"
    return _place_and_reason(step, course, bounds)


def _place_and_reason(step: JoinedStep, course: Course, bounds: Bounds) -> tuple[During, Known]:
    """What a step is by the place it is in, the plan it goes by, or what it states; no word of
    it, and it is between cold and hot."""
    if step.cold is not None:
        return ("frozen" if step.cold.kind == "freezer" else "cold"), "stated"
    if step.effects & bounds.plans and not _kept_cold(step, bounds):
        return "by plan", "stated"
    held = _held(step, course.state == "hot" and course.spell is None, bounds)
    if held is not None:
        return held, "stated"
    if step.step.time is not None:
        return "between", "stated"
    if "serves" in step.effects:
        return "served", "follows from the step"
    return ("cold", "follows from the step") if "stores" in step.effects else ("between", "unknown")


def _gets_hot(step: JoinedStep, food: Product, bounds: Bounds) -> bool:
    """Whether a step is known to make the food hot: it reheats or part-cooks by a limit of its own,
    or cooks what is raw. Warming says nothing; cooking again what is cooked has to state a core
    temperature at which food is held hot, or hotter."""
    if step.effects & {"reheats", "part-cooks"}:
        return True
    if "cooks" not in step.effects:
        return False
    if any(_not_cooked(c) for c in food.components) and not _stated_warm(step, bounds):
        return True
    return _probed_hot(step, food, bounds)


def _probed_hot(step: JoinedStep, food: Product, bounds: Bounds) -> bool:
    """Whether the food is probed at a step and by that is hot: raw food of an animal has its
    cooking limit there, any other is as hot as the target."""
    target = step.target
    if target is None or target.kind not in ("core", "surface"):
        return False
    if any(c.raw_animal and not c.heated for c in food.components):
        return True
    if target.coolest is None or bounds.hot is None:
        return False
    return bounds.hot <= target.coolest


def _stated_warm(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether what the step states is too cool to hold food hot, whatever its verb: milk steamed at
    30 °C is being kept warm."""
    target = step.target.coolest if step.target is not None else None
    at = step.step.at.coolest if step.step.at is not None else None
    stated = [t for t in (at, target) if t is not None]
    return bool(stated) and bounds.hot is not None and max(stated) < bounds.hot


def _not_cooked(part: Component) -> bool:
    """Whether a step that cooks cooks it for the first time."""
    return not (part.cooked or part.heated) and part.state != "ready-to-eat"


def warms(step: JoinedStep, bounds: Bounds) -> bool:
    """Whether heat goes into the food at a step, whatever it is called: by its effects, or `at` a
    temperature at which food is held hot, or hotter."""
    at = step.step.at
    hot = at is not None and bounds.hot is not None and bounds.hot <= at.warmest
    return bool(step.effects & HEATS) or (hot and not step.effects & {"holds-hot", "cleans"})


def _kept_cold(step: JoinedStep, bounds: Bounds) -> bool:
    return _held(step, False, bounds) == "cold"


def _held(step: JoinedStep, hot: bool, bounds: Bounds) -> Literal["cold", "hot"] | None:
    """Cold or hot by a stated temperature of the food, or of the place it is in. A place warms
    nothing that was cold: only hot food is held hot by it."""
    spans = (step.step.at, step.target.degrees if step.target is not None else None)
    stated = [end for span in spans if span is not None for end in (span.coolest, span.warmest)]
    if not stated:
        return None
    warmest, coldest = max(stated), min(stated)
    if bounds.cold is not None and warmest <= bounds.cold:
        return "cold"
    if hot and bounds.hot is not None and coldest >= bounds.hot:
        return "hot"
    return None


def incoming(parts: tuple[Component, ...]) -> Course | None:
    """The state in which parts come in, the worst of those that need the cold; None where none
    does."""
    needing = [c for c in parts if c.tcs or c.raw_animal]
    if not needing:
        return None
    worst = max(needing, key=lambda c: _RANK[c.comes])
    if worst.comes in ("between", "hot"):
        return _coming_warm(needing, worst)
    known: Known = "stated" if all(c.comes_stated for c in needing) else "unknown"
    frozen = all(c.comes == "frozen" for c in needing)
    return Course("frozen" if frozen else "cold", known)


def _coming_warm(needing: list[Component], worst: Component) -> Course:
    """Parts of which one comes in warm or hot: out for as long as the longest of them."""
    out = max(c.out_s for c in needing)
    hot = any(c.comes == "hot" for c in needing)
    spell = Spell(0, out, (), hot) if worst.comes == "between" or out else None
    return Course("hot" if hot else "between", "follows from the step", spell)


def taken_in(course: Course, parts: tuple[Component, ...], number: int) -> Course:
    """The course with more parts in it: the food is as warm as the warmest, and has been out as
    long as the longest. What was frozen or cold lends nothing to what was not."""
    more = incoming(parts)
    if more is None:
        return course
    if course.state == "none":
        spell = replace(more.spell, began=number) if more.spell is not None else None
        return replace(course, state=more.state, known=more.known, spell=spell)
    state: State = max(course.state, more.state, key=lambda s: _RANK[s])
    spell = course.spell
    if more.spell is not None:
        before = spell or Spell(number)
        spell = replace(
            before,
            seconds=max(before.seconds, more.spell.seconds),
            hot=before.hot or more.spell.hot,
        )
    if state == "between" and spell is None:
        spell = Spell(number)
    return replace(course, state=state, spell=spell)


def met(course: Course, other: Course, number: int) -> Course:
    """The course of two streams that meet at step ``number``: as warm as the warmer, out as long as
    the longer. Hot food that meets food that isn't hot is hot no more from then on: its clock
    runs."""
    longer = max(course.over, other.over, key=lambda o: sum(s.seconds for s in o))
    if "none" in (course.state, other.state):
        known = other if course.state == "none" else course
        return replace(known, over=longer)
    state: State = max(course.state, other.state, key=lambda s: _RANK[s])
    spells = [spell for spell in (course.spell, other.spell) if spell is not None]
    mixed = state in ("hot", "between") and course.state != other.state
    if not spells and (mixed or state == "between"):
        spells = [Spell(number)]
    known_as: Known = course.known if course.known == other.known else "unknown"
    return Course(state, known_as, _longest(spells, state == "hot"), longer)


def _longest(spells: list[Spell], hot: bool) -> Spell | None:
    """One spell of several that run: the longest of each; none where none runs."""
    if not spells:
        return None
    return Spell(
        min(spell.began for spell in spells),
        max(spell.seconds for spell in spells),
        tuple(dict.fromkeys(verb for spell in spells for verb in spell.not_timed)),
        hot or any(spell.hot for spell in spells),
    )


def after(course: Course, step: JoinedStep, stay: Stay, needs: bool, cools: bool) -> Course:
    """The course after a step. ``needs``: whether the food needs the cold; ``cools``: whether the
    step brings it there, by a limit of its own."""
    if not needs:
        return course
    match stay.during:
        case "unchanged" | "served":
            # somebody cleans; or what isn't served goes on as warm, and as long out, as it was
            return course
        case "cooking" | "hot":
            return _ended(course, "hot", stay, step)
        case "frozen" if _too_short(course, step, stay):
            return replace(course, known="unknown")
        case "frozen":
            return _ended(course, "frozen", stay, step)
        case "cooling":
            return _ended(course, "cold", stay, step)
        case "cold":
            return _in_the_cold(course, step, stay, cools)
        case "thawing":
            return _ended(course, _thawed(step), stay, step)
        case "by time" | "by plan":
            return _ended(course, "between", stay, step)
        case _:
            return _out(course, step, stay)


def _thawed(step: JoinedStep) -> State:
    """The state a step that thaws or slacks leaves the food in."""
    if step.step.stays_frozen:
        return "frozen"
    return "cold" if step.cold is not None or "slacks" in step.effects else "between"


def _in_the_cold(course: Course, step: JoinedStep, stay: Stay, cools: bool) -> Course:
    """In a cold place. Hot food that a later step cools is on its clock still. A stay that is
    shorter than the time the food was out, and states no temperature of the food, doesn't make it
    cold again: a working rule of ours, without which ten minutes on a cold shelf would begin every
    clock anew."""
    hot = course.state == "hot" or (course.spell is not None and course.spell.hot)
    if hot and not cools:
        return _out(course, step, stay)
    if course.state == "between" and _too_short(course, step, stay) and not cools:
        return replace(course, known="unknown")
    return _ended(course, "cold", stay, step)


def _too_short(course: Course, step: JoinedStep, stay: Stay) -> bool:
    """Whether a stay in the cold is shorter than the time the food was out, and states nothing of
    its temperature. One that says no time may be as short, unless the food is put away there."""
    if stay.seconds is None:
        short = course.so_far > 0 and not step.effects & {"stores", "freezes"}
    else:
        short = stay.seconds < course.so_far
    return short and step.target is None and not step.step.solid


def _out(course: Course, step: JoinedStep, stay: Stay) -> Course:
    """Between cold and hot for the step's time, or for a time that isn't stated."""
    ran = course.spell or Spell(step.number)
    hot = ran.hot or course.state == "hot" or bool(step.effects & HEATS)
    seconds, not_timed = ran.seconds, ran.not_timed
    if stay.seconds is not None:
        seconds = seconds + stay.seconds
    else:
        not_timed = (*not_timed, step.verb)
    frozen = course.state == "frozen" and "waits" not in step.effects
    state: State = "hot" if hot else "frozen" if frozen else "between"
    spell = Spell(ran.began, seconds, not_timed, hot, ran.ended)
    return Course(state, stay.known, spell, course.over)


def _ended(course: Course, state: State, stay: Stay, step: JoinedStep) -> Course:
    """The spell that ran is over, and the food is known to be in ``state``."""
    over = course.over
    if course.spell is not None:
        over = (*over, replace(course.spell, ended=step.number))
    return Course(state, stay.known, None, over)
