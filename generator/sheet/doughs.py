"""Which formulas are doughs, and what goes into them: the lines up to the mixed dough, with the
preferments and soakers among them opened, for the bakers' figures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.composition.bakers import Doughed, Overall, overall, wets
from generator.resolve.joined import House
from generator.sheet.composed import Made, contents_in
from generator.sheet.walked import Walk
from generator.sheet.weighing import WeighedLine, salt_in

SOURCES = ("overall-formula",)
_MIXED = frozenset({"fills", "divides", "encloses", "stuffs", "joins", "cooks", "bakes"})
"""What is done to a dough that is mixed: what comes in then is put to it."""
_RISES = frozenset({"raises", "ferments"})


@dataclass(frozen=True)
class Dough:
    """A dough: its overall formula at factor 1, and the names of the preferments it is mixed with;
    ``mixed`` is the number of the step that last takes flour in, and what comes in at step ``put``
    or later is put to the mixed dough. The parts ``ahead`` rise before the rest comes to them."""

    overall: Overall
    preferments: tuple[str, ...]
    mixed: int
    put: int
    ahead: frozenset[str] = frozenset()


def dough_of(
    house: House,
    walk: Walk,
    walks: Mapping[str, Walk],
    made: Callable[[], Mapping[str, Made]],
) -> Dough | None:
    """The dough a formula makes; None for one whose base holds no flour. ``made`` works out what
    its made-ahead formulas are made of, and is asked for a dough alone."""
    if not _on_flour(walk):
        return None
    opening = _Opening(house, walks, made())
    last = _last_flour(walk, walks)
    end = _put_to_it(walk, last)
    ahead = _parts_ahead(walk, walks, last)
    before, after = list[Doughed](), list[Doughed]()
    for line in walk.lines:
        step = _taken_at(walk, line.joined.part)
        if step >= end:
            after.append(opening.line(line, "", ahead=False))
        else:
            part = line.joined.part
            through = part.replace("-", " ").capitalize() if part in ahead else ""
            before.extend(opening.opened(line, through, ahead=part in ahead))
    found = overall(before, after)
    if found is None:
        return None
    sponge = ("sponge",) if ahead else ()
    names = tuple(dict.fromkeys((*_preferments(walk, walks, end), *sponge)))
    return Dough(found, names, last + 1, end + 1, ahead)


@dataclass(frozen=True)
class Opened:
    """What a gram of a line brings into a dough: its flour, and its liquids as they are weighed."""

    flour: Fraction
    liquid: Fraction


def opened_lines(
    house: House,
    walk: Walk,
    lines: Iterable[WeighedLine],
    walks: Mapping[str, Walk],
    made: Mapping[str, Made],
) -> tuple[Opened, ...]:
    """What a gram of each of a dough's ``lines`` brings into it, preferments opened; nothing of
    what is put to the mixed dough, and nothing where the base of ``walk`` holds no flour."""
    if not _on_flour(walk):
        return tuple(Opened(Fraction(0), Fraction(0)) for _ in lines)
    end = _put_to_it(walk, _last_flour(walk, walks))
    opening = _Opening(house, walks, made)
    found: list[Opened] = []
    for line in lines:
        of_one = replace(line, grams=Fraction(1))
        mixed = _taken_at(walk, line.joined.part) < end
        brought = list(opening.opened(of_one, "", ahead=False)) if mixed else []
        flour = sum((one.grams for one in brought if one.flour), Fraction(0))
        liquid = sum((o.grams for o in brought if not o.flour and wets(o)), Fraction(0))
        found.append(Opened(flour, liquid))
    return tuple(found)


def _on_flour(walk: Walk) -> bool:
    """Whether the base of a formula holds flour."""
    return any(
        _is_flour(line) and (line.joined.part, line.joined.item) in walk.formula.base
        for line in walk.lines
    )


def _is_flour(line: WeighedLine) -> bool:
    return line.joined.ingredient is not None and bool(line.joined.ingredient.flour)


def _rises(walk: Walk) -> bool:
    """Whether a formula is a preferment: it has flour in it and is left to ferment."""
    return _on_flour(walk) and any(s.step.effects & _RISES for s in walk.steps)


def _brings_flour(line: WeighedLine, walks: Mapping[str, Walk]) -> bool:
    sub = line.joined.formula
    return _on_flour(walks[sub]) if sub is not None else _is_flour(line)


def _taken_at(walk: Walk, part: str) -> int:
    """The index of the step that takes a part in."""
    return next((i for i, s in enumerate(walk.steps) if part in s.step.parts), len(walk.steps))


def _last_flour(walk: Walk, walks: Mapping[str, Walk]) -> int:
    """The index of the step that last takes flour in while the dough is mixed."""
    taken = sorted(
        {_taken_at(walk, ln.joined.part) for ln in walk.lines if _brings_flour(ln, walks)}
    )
    last = taken[0]
    for index in taken:
        shaped = any(s.step.effects & _MIXED for s in walk.steps[last + 1 : index + 1])
        if not shaped:
            last = index
    return last


def _put_to_it(walk: Walk, last: int) -> int:
    """The index of the first step behind the mixing that shapes, fills or cooks the dough."""
    for index in range(last + 1, len(walk.steps)):
        if walk.steps[index].step.effects & _MIXED:
            return index
    return len(walk.steps)


def _parts_ahead(walk: Walk, walks: Mapping[str, Walk], last: int) -> frozenset[str]:
    """The parts that rise or ferment before the last of the flour comes to them, flour among them:
    a sponge in the dough's own process."""
    risen = [i for i, s in enumerate(walk.steps[:last]) if s.step.effects & _RISES]
    if not risen:
        return frozenset()
    early = {p for s in walk.steps[: risen[-1]] for p in s.step.parts}
    floured = {ln.joined.part for ln in walk.lines if _brings_flour(ln, walks)}
    return frozenset(early) if early & floured else frozenset()


def _preferments(walk: Walk, walks: Mapping[str, Walk], end: int) -> Iterator[str]:
    """The names of the made-ahead formulas a dough is fermented from."""
    for line in walk.lines:
        sub = line.joined.formula
        if sub is not None and _taken_at(walk, line.joined.part) < end and _rises(walks[sub]):
            yield line.joined.name


class _Opening:
    """Lines as what they bring into a dough, made-ahead formulas with flour opened."""

    def __init__(self, house: House, walks: Mapping[str, Walk], made: Mapping[str, Made]) -> None:
        self.house, self.walks, self.made = house, walks, made

    def opened(self, line: WeighedLine, through: str, *, ahead: bool) -> Iterator[Doughed]:
        """A line, or what is in the made-ahead formula with flour that it means."""
        sub = self.walks.get(line.joined.formula or "")
        if sub is None or not _on_flour(sub):
            yield self.line(line, through, ahead=ahead)
            return
        total = sum((ln.grams for ln in sub.lines), Fraction(0))
        name = through or line.joined.name
        for inner in sub.lines:
            for one in self.opened(inner, name, ahead=ahead or _rises(sub)):
                yield replace(one, grams=one.grams * line.grams / total)

    def line(self, line: WeighedLine, through: str, *, ahead: bool) -> Doughed:
        """A line as it is."""
        joined, facts = line.joined, line.joined.ingredient
        if facts is None:
            contents = self.made[joined.item].balance.contents
            salt = contents.shares["salt"].low
            return Doughed(
                joined.item, joined.name, line.grams, contents, through=through, salt=salt
            )
        return Doughed(
            joined.item,
            facts.name,
            line.grams,
            contents_in(self.house, facts),
            bool(facts.flour),
            facts.form == "liquid" or facts.species == "egg",
            through,
            ahead,
            salt_in(facts),
        )
