"""A step as a whole sentence with its object named: "Mix the ground mince with the eggs"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from generator.measures.words import listed, plural_of
from generator.resolve.joined import JoinedStep
from generator.sheet.sheet import Sheet
from generator.sheet.walk import WalkedStep
from generator.sheet.weighing import pours


@dataclass(frozen=True)
class _Form:
    """How a verb is said, as ``shared/verbs.yaml`` has it; a verb of a kitchen's own has its name
    alone."""

    name: str = ""
    says: str = ""
    joins: str | None = None
    called: str = ""
    done: str = ""


_MOST_NAMED, _MOST_INSIDE = 2, 4
"""As many parts under way are still called by their names, more are the mixture; as many
ingredients are named for a part that can't be."""
_INSIDE = frozenset(
    {
        "mixer",
        "blender",
        "cutter",
        "kettle",
        "pot",
        "bath",
        "oven",
        "fryer",
        "microwave",
        "hot-holding",
        "pressure-cooker",
        "retort",
    }
)
"""Kinds of machine the food is in; others it is worked with."""


@dataclass
class _Food:
    """What is under way while the steps are followed: its name, and what waits apart."""

    names: tuple[str, ...] = ()
    done: str = ""
    called: str = ""
    apart: list[str] = field(default_factory=list)

    @property
    def words(self) -> str:
        """What it is called now; empty before anything is taken in."""
        if self.called:
            return f"the {self.called}"
        if len(self.names) > _MOST_NAMED:
            return "the mixture"
        if len(self.names) == 1 and self.done:
            return f"the {self.done} {self.names[0]}"
        return _the(self.names)


def sentences_of(sheet: Sheet) -> dict[int, str]:
    """For each step by its number a sentence, without a stop at its end: verb, what is done to
    what, and in or with which machine or cold place."""
    food, found = _Food(), dict[int, str]()
    for walked in sheet.walk.steps:
        found[walked.step.number] = " ".join(
            w for w in (_said(sheet, walked, food), place_words(walked.step)) if w
        )
    return found


def place_words(step: JoinedStep) -> str:
    """In or with what a step is done: "in the poaching kettle"; empty where nothing is named."""
    if step.machine is not None:
        name = _in_line(step.machine.name)
        if "cleans" in step.effects:
            return f"the {name}"
        return f"{'in' if step.machine.kind in _INSIDE else 'with'} the {name}"
    return f"in the {_in_line(step.cold.name)}" if step.cold is not None else ""


def _said(sheet: Sheet, walked: WalkedStep, food: _Food) -> str:
    """The verb with its object; what is under way afterwards is noted in ``food``."""
    step = walked.step
    verb = _form_of(sheet, step)
    if "cleans" in step.effects:
        return step.verb
    says = verb.says if verb.says and step.verb == verb.name else _round(step.verb)
    new = tuple(_part_words(sheet, says, name) for name in step.step.add)
    if step.step.work_on:
        food.names, food.called, food.done = _spaced(step.step.work_on), "", ""
    elif step.comes and step.comes[0].name:
        food.names, food.called, food.done = _spaced((step.comes[0].name,)), "", ""
    said = _put_together(sheet, step, verb, food, new)
    if "fills" in step.effects and verb.joins == "in":
        said = said.replace(" in the ", " into the ", 1)
    _go_on(sheet, step, verb, food)
    _left(step, food)
    return " ".join(says.replace("…", said).split())


def _form_of(sheet: Sheet, step: JoinedStep) -> _Form:
    """The form of a step's verb."""
    known = sheet.house.library.verbs.get(step.step.do)
    if known is None:
        return _Form()
    return _Form(known.name, known.says, known.joins, known.called, known.done)


def _round(verb: str) -> str:
    """A verb round its object: "Freeze … in the machine"."""
    first, space, rest = verb.partition(" ")
    return f"{first} …{space}{rest}"


def _injected(sheet: Sheet, food: _Food, new: tuple[str, ...]) -> str:
    """What is injected with what: the part that is of an animal, whichever came first."""
    names = (*food.names, *new)
    pickle = _of_no_animal(sheet, names)
    meat = tuple(n for n in names if n not in pickle)
    if not meat or not pickle:
        return ""
    food.names, food.called, food.done = meat, "", "injected"
    return f"{_the(meat)} with {_the(pickle)}"


def _of_no_animal(sheet: Sheet, names: tuple[str, ...]) -> tuple[str, ...]:
    """Of some parts those that no animal is in, where one is in another; else none."""
    animal = {
        name
        for ln in sheet.walk.lines
        if ln.joined.ingredient is not None and ln.joined.ingredient.species not in (None, "none")
        for name in _spaced((ln.joined.part,))
    }
    return tuple(n for n in names if n not in animal) if animal & set(names) else ()


def _put_together(
    sheet: Sheet, step: JoinedStep, verb: _Form, food: _Food, new: tuple[str, ...]
) -> str:
    """What a verb is done to, with what is added to it."""
    said = ""
    if "injects" in step.effects:
        said = _injected(sheet, food, new)
    elif verb.joins == "in" and "soaks" in step.effects and not food.apart:
        said = _laid_in(sheet, food, new, "brines" in step.effects)
        food.done = verb.done if said else food.done
    return said or _object(food, verb, new)


def _laid_in(sheet: Sheet, food: _Food, new: tuple[str, ...], brined: bool) -> str:
    """What is laid in what pours, whichever came first: "the meat in the marinade". Brined, the
    food is what lay in it, alone. Empty where that can't be told of the parts."""
    names = tuple(dict.fromkeys((*food.names, *new)))
    bath = tuple(n for n in names if _pours(sheet, n)) or _of_no_animal(sheet, names)
    lies = tuple(n for n in names if n not in bath)
    if not bath or not lies:
        return ""
    before = food.words if lies == food.names else _the(lies)
    food.names = lies if brined else (*lies, *bath)
    return f"{before} in {_the(bath)}"


def _pours(sheet: Sheet, part: str) -> bool:
    """Whether most of a part pours, by weight; False for what a step before gave."""
    lines = [ln for ln in sheet.walk.lines if _spaced((ln.joined.part,)) == (part,)]
    whole = sum((ln.grams for ln in lines), Fraction(0))
    return 2 * sum((ln.grams for ln in lines if pours(ln)), Fraction(0)) > whole


_MOST = Fraction(1, 2)


def _left(step: JoinedStep, food: _Food) -> None:
    """A part of which a step leaves half or more behind is no longer named with the food."""
    gone = {
        name
        for left in step.step.leaves.values()
        if left.of is not None and (left.share is None or left.share >= _MOST)
        for name in _spaced((left.of,))
    }
    food.names = tuple(n for n in food.names if n not in gone) or food.names


def _object(food: _Food, verb: _Form, new: tuple[str, ...]) -> str:
    """What a verb is done to: what is under way, and what is added to it."""
    if verb.joins == "apart" and new:
        return _apart(food, new)
    if food.apart and (new or verb.joins in ("with", "into", "in")):
        new = (*food.apart, *new)
        food.apart = []
    before = food.words
    if new:
        food.names = (*food.names, *(n for n in new if n not in food.names))
        food.done = ""
    return _joined(verb, before, new)


def _apart(food: _Food, new: tuple[str, ...]) -> str:
    """What is worked by itself, and waits to be joined."""
    if food.words:
        food.apart += new
    else:
        food.names = new
    return _the(new)


def _joined(verb: _Form, before: str, new: tuple[str, ...]) -> str:
    """What is under way and what is added, as the verb joins them."""
    if not before and verb.joins in ("with", "in") and len(new) > 1:
        before, new = _the(new[:1]), new[1:]
    if not new or not before:
        return before or _the(new)
    if verb.joins == "into":
        return f"{_the(new)} into {before}"
    return f"{before} {'in' if verb.joins == 'in' else 'with'} {_the(new)}"


def _go_on(sheet: Sheet, step: JoinedStep, verb: _Form, food: _Food) -> None:
    """What the food is called behind a step."""
    pieces = _pieces(sheet, step)
    if step.step.gives is not None:
        food.names, food.called, food.done = _spaced((step.step.gives,)), "", ""
    elif "brines" in step.effects and len(food.names) > 1 and not food.done:
        food.names, food.done = food.names[:1], verb.done
    elif pieces or verb.called:
        food.called = pieces or verb.called
    elif verb.done and len(food.names) == 1:
        food.done = verb.done


def _pieces(sheet: Sheet, step: JoinedStep) -> str:
    """What a step that fills or slices makes of the food: "rolls", "slices"."""
    makes = sheet.formula.formula.makes
    if makes is None:
        return ""
    if "fills" in step.effects:
        return makes.plural
    if "slices" in step.effects and makes.portion_unit:
        return makes.portion_units or plural_of(makes.portion_unit)
    return ""


def _part_words(sheet: Sheet, says: str, name: str) -> str:
    """A part as it is called in a sentence: by what is in it where the verb says its name
    already, as in "Cut the melon and tomato"."""
    words = name.replace("-", " ")
    if words not in says.casefold().split():
        return words
    inside = [ln.joined.name for ln in sheet.walk.lines if ln.joined.part == name]
    found = [_in_line(n.partition(",")[0]) for n in dict.fromkeys(inside)]
    return listed(found) if found and len(found) <= _MOST_INSIDE else "other ingredients"


def _spaced(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(n.replace("-", " ") for n in names)


def _the(names: tuple[str, ...]) -> str:
    return f"the {listed(names)}" if names else ""


def _in_line(name: str) -> str:
    """A name within a sentence: a first word that isn't capitals begins small."""
    first = name.split(" ", 1)[0]
    return name if first.isupper() and len(first) > 1 else name[:1].lower() + name[1:]


def first_bold(sentence: str) -> Iterator[str]:
    """A sentence's first word, then the rest of it."""
    first, space, rest = sentence.partition(" ")
    yield first
    yield space + rest
