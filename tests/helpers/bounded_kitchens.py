"""Formulas with bounds, drawn by a seed, and what is on hand for each; worked out here by sums of
their own, and on small grids point by point."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction as F
from pathlib import Path

from conftest import lay

STEP = 25
"""The one scale's division, in grams."""


@dataclass(frozen=True)
class Food:
    """A food by its id: fat and protein from … to … percent, and its trim."""

    ident: str
    fat: tuple[int, int]
    protein: tuple[int, int]
    trim: int

    def share(self, of: str, high: bool) -> F:
        low_high = self.fat if of == "fat" else self.protein
        return F(low_high[high], 100)

    @property
    def text(self) -> str:
        fat, protein = (
            f"{a} %" if a == b else f"{a} to {b} %" for a, b in (self.fat, self.protein)
        )
        trim = f"\n  trim: {self.trim} %" if self.trim else ""
        return (
            f"{self.ident}:\n  name: {self.ident.title()}\n  species: none\n"
            f"  state: ready-to-eat\n  allergens: none\n  tcs: no{trim}\n"
            f"  composition: {{fat: {fat}, protein: {protein}, water: 20 %, source: weighed}}\n"
        )


@dataclass(frozen=True)
class Asked:
    """A formula: lines of the base in grams and others in percent of it, what a line may be,
    bounds by (what, in what) with their ends in percent, and what is on hand in grams."""

    ident: str
    lines: Mapping[str, int]
    percents: Mapping[str, int]
    may_be: Mapping[str, str]
    bounds: Mapping[tuple[str, str], tuple[int | None, int | None]]
    have: Mapping[str, int]
    foods: Mapping[str, Food] = field(repr=False)

    @property
    def text(self) -> str:
        rows = [
            f"    {i}: {{amount: {g} g, may_be: {self.may_be[i]}}}"
            if i in self.may_be
            else f"    {i}: {g} g"
            for i, g in self.lines.items()
        ]
        rest = [f"    {i}: {p} %" for i, p in self.percents.items()]
        bounds = [f"  {what}: {_ends(*ends)}{where}" for (what, where), ends in self._typed()]
        shares = [f"    {w}: {_ends(*e)} of all" for (w, _), e in self._typed(shares=True)]
        return "\n".join(
            [
                f"name: {self.ident.title()}\nrevision: 1\neffective: 2026-01-12",
                "station: pass\nbase: main\nparts:\n  main:",
                *rows,
                *(["  rest:", *rest] if rest else []),
                "bounds:",
                *bounds,
                *(["  shares:", *shares] if shares else []),
                f"process: {'both' if rest else 'one'}\nkeeps: {{dry: 30 days}}",
                f"batches: [{sum(self.lines.values())} g base]\n",
            ]
        )

    def _typed(
        self, shares: bool = False
    ) -> Iterator[tuple[tuple[str, str], tuple[int | None, int | None]]]:
        for (what, where), ends in self.bounds.items():
            if (what in self.foods) == shares:
                yield (what, where), ends

    def as_it_is(self) -> dict[str, F]:
        """What each item weighs in the formula as written."""
        base = sum(self.lines.values())
        return {i: F(g) for i, g in self.lines.items()} | {
            i: F(p * base, 100) for i, p in self.percents.items()
        }

    def broken(self, grams: Mapping[str, F]) -> list[str]:
        """The bounds that weights don't hold at the worse end."""
        found = []
        for (what, where), (least, most) in self.bounds.items():
            inside = {
                i: g for i, g in grams.items() if where != " in main" or i not in self.percents
            }
            whole = sum(inside.values(), F(0))
            if not whole:
                continue
            low, high = (self._sum(what, inside, end) / whole * 100 for end in (False, True))
            if (least is not None and low < least) or (most is not None and high > most):
                found.append(f"{what}{where}: {float(low)} to {float(high)}")
        return found

    def _sum(self, what: str, grams: Mapping[str, F], high: bool) -> F:
        if what in self.foods:
            return grams.get(what, F(0))
        return sum((self.foods[i].share(what, high) * g for i, g in grams.items()), F(0))

    def overdrawn(self, grams: Mapping[str, F]) -> list[str]:
        """The items of which more is used than there is."""
        return [
            i
            for i, have in self.have.items()
            if grams.get(i, F(0)) / (1 - F(self.foods[i].trim, 100)) > have
        ]

    def distance(self, choice: Mapping[tuple[str, str], F]) -> F:
        """How far weights by (line, item) are from the formula: of each line the share that it is
        off, and the share that something else stands in for."""
        found = F(0)
        for line, wished in self.lines.items():
            own = {item: g for (of, item), g in choice.items() if of == line}
            found += abs(sum(own.values(), F(0)) - wished) / wished
            found += sum((g for item, g in own.items() if item != line), F(0)) / wished
        return found

    def brute(self) -> F | None:
        """The distance of the nearest weights on the grid, every point tried; None where none
        holds. For formulas without percentages."""
        assert not self.percents
        total = sum(self.lines.values())
        places = [(i, i) for i in self.lines]
        places += [(i, o) for i, o in self.may_be.items() if self.have.get(o)]
        ranges = [range(0, total + STEP + 1, STEP)] * len(places)
        best: F | None = None
        for point in itertools.product(*ranges):
            if abs(sum(point) - total) > STEP:
                continue
            choice = {place: F(g) for place, g in zip(places, point, strict=True)}
            distance = self.distance(choice)
            if best is not None and distance >= best:
                continue
            grams: dict[str, F] = {}
            for (_, item), g in choice.items():
                grams[item] = grams.get(item, F(0)) + g
            if not self.broken(grams) and not self.overdrawn(grams):
                best = distance
        return best


def _ends(least: int | None, most: int | None) -> str:
    if least is None:
        return f"at most {most} %"
    return f"at least {least} %" if most is None else f"{least} to {most} %"


def drawn_foods(rng: random.Random) -> dict[str, Food]:
    """Ten foods, a third of them known from … to … alone."""
    found = {}
    for n in range(10):
        fat, protein = rng.randrange(0, 50), rng.randrange(1, 25)
        wide = rng.choice((0, 0, 3))
        ident = f"food-{'abcdefghij'[n]}"
        trim = rng.choice((0, 0, 5, 10))
        found[ident] = Food(ident, (fat, fat + wide), (protein, protein + wide), trim)
    return found


def drawn(number: int, foods: Mapping[str, Food], rng: random.Random, small: bool) -> Asked:
    """A formula; a ``small`` one has two or three lines, no percentages, and a grid that can be
    tried point by point."""
    names = rng.sample(sorted(foods), 6)
    count = rng.choice((2, 3)) if small else rng.choice((2, 3, 4))
    most = 6 if small else 80
    lines = {i: STEP * rng.randrange(2, most) for i in names[:count]}
    percents = {} if small else {i: rng.randrange(1, 12) for i in names[count : count + 1]}
    may_be = {names[0]: names[-1]} if rng.random() < 0.5 else {}
    asked = Asked(f"mix-{number}", lines, percents, may_be, {}, {}, foods)
    was = asked.as_it_is()
    bounds: dict[tuple[str, str], tuple[int | None, int | None]] = {}
    for what in rng.sample(("fat", "protein"), rng.choice((1, 2))):
        where = "" if small else rng.choice(("", " in main"))
        inside = {i: g for i, g in was.items() if not where or i not in percents}
        whole = sum(inside.values(), F(0))
        low, high = (asked._sum(what, inside, end) / whole * 100 for end in (False, True))
        room = rng.randrange(0, 4)
        ends = [max(0, int(low) - room), int(high) + 1 + room]
        bounds[what, where] = rng.choice([(ends[0], ends[1]), (ends[0], None), (None, ends[1])])
    if rng.random() < 0.4:
        item = rng.choice(sorted(lines))
        share = int(was[item] / sum(was.values(), F(0)) * 100)
        bounds[item, ""] = (None, share + rng.randrange(2, 20))
    short = rng.choice(sorted(lines))
    have = {short: max(1, int(lines[short] * rng.choice((F(5, 10), F(8, 10), F(9, 10), F(2)))))}
    if may_be:
        have[names[-1]] = STEP * rng.randrange(1, most)
    return Asked(asked.ident, lines, percents, may_be, bounds, have, foods)


def bounded_kitchen(folder: Path, asked: list[Asked]) -> Path:
    """The clean kitchen with these formulas in place of its own, and one scale."""
    project = lay("base", folder)
    standards = project / "standards"
    for path in (standards / "formulas").iterdir():
        path.unlink()
    for one in asked:
        (standards / "formulas" / f"{one.ident}.yaml").write_text(one.text)
    foods = asked[0].foods
    (standards / "ingredients" / "foods.yaml").write_text("".join(f.text for f in foods.values()))
    house = (standards / "equipment" / "house.yaml").read_text().splitlines()
    scale = (
        f"scale: {{kind: scale, name: Scale, division: {STEP} g, accuracy: 1 g, capacity: 30 kg}}"
    )
    rest = [line for line in house if "kind: scale" not in line]
    (standards / "equipment" / "house.yaml").write_text("\n".join([scale, *rest]) + "\n")
    for name, parts in (("one", "main"), ("both", "main, rest")):
        text = f"name: {name.title()}\nsteps:\n  - do: mix\n    add: [{parts}]\n  - do: store\n"
        (standards / "processes" / f"{name}.yaml").write_text(text)
    return project
