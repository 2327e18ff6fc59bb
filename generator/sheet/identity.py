"""Standards of identity: what food sold under a name may be made of, held against what it is.

9 CFR part 319 by the rows held. The balance of a formula gives its fat, water and protein from …
to …: above the bound even at the low end it can't be sold so; between, nobody can tell. Added water
is water less four times the protein (Michigan 289.7113(b)), and only the meat's protein counts.
Water put in, and meat, are shares of all ingredients as weighed; what is taken as needed, as
casings are, is none of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.composition.balance import Balance
from generator.composition.contents import Contents
from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.between import NOTHING, Between
from generator.measures.words import NARROW, listed, plain, with_verb
from generator.reference.packs import Pack
from generator.reference.row_kinds import OF_WHAT, CompositionRow, Standard
from generator.resolve.joined import House
from generator.rules.basics.limit import ShareLimit, Source, Verdict
from generator.sheet.composed import Made, contents_in
from generator.sheet.walk import Walk
from generator.sheet.weighing import WeighedLine

NONE = "none"
"""The word for food that is sold under no such name."""
_MEAT = ("meat", "poultry", "game", "wild-game", "ratite")
_WATER = Fraction(95, 100)
"""From this share of water on a liquid counts as water or ice: a working rule of ours."""
_FOUR = Fraction(4)
PHOSPHATE = "phosphate"
"""The standard that every formula with meat and a phosphate is held to."""
_SALT = re.compile(r"phosphate|\bstpp\b", re.IGNORECASE)
_HUNDRED = Fraction(100)


@dataclass(frozen=True)
class _Food:
    """What a standard is held against, in grams: the finished ``balance``, the protein of its meat,
    and of all ingredients what is ``meat`` and what is ``water``; ``poultry`` is in it."""

    balance: Balance
    protein: Between
    ingredients: Fraction
    meat: Between
    water: Between
    poultry: bool
    phosphate: Between

    @property
    def fat(self) -> Between:
        """Fat, in percent of the finished food."""
        return self.balance.share("fat").times(_HUNDRED)

    @property
    def added_water(self) -> Between:
        """Added water, in percent of the finished food: anything from nothing where poultry is in
        it, of which the rule doesn't speak."""
        water, grams = self.balance.parts["water"], self.balance.grams
        low = max(water.low - _FOUR * self.protein.high, Fraction(0))
        high = max(water.high - _FOUR * self.protein.low, Fraction(0))
        if self.poultry:
            low, high = Fraction(0), water.high
        return Between(low, high).times(_HUNDRED / grams) if grams else NOTHING

    @property
    def both(self) -> Between:
        """Fat and added water together."""
        found = self.fat + self.added_water
        return found.within(Fraction(0), _HUNDRED)

    @property
    def put_in(self) -> Between:
        """Water or ice, in percent of all ingredients."""
        return self.water.times(_HUNDRED / self.ingredients) if self.ingredients else NOTHING

    @property
    def of_meat(self) -> Between:
        """Meat, in percent of all ingredients."""
        return self.meat.times(_HUNDRED / self.ingredients) if self.ingredients else NOTHING

    @property
    def phosphates(self) -> Between:
        """Phosphate, in percent of the finished food."""
        grams = self.balance.grams
        return self.phosphate.times(_HUNDRED / grams) if grams else NOTHING

    @property
    def meat_protein(self) -> Between:
        """The meat's protein, in percent of what is no fat."""
        grams, fat = self.balance.grams, self.balance.parts["fat"]
        if grams <= fat.high:
            return Between(Fraction(0), _HUNDRED)
        low = self.protein.low / (grams - fat.low)
        high = self.protein.high / (grams - fat.high)
        return Between(low, max(low, high)).times(_HUNDRED).within(Fraction(0), _HUNDRED)


_FOUND: dict[Standard, Callable[[_Food], Between]] = {
    "fat": lambda food: food.fat,
    "added-water": lambda food: food.added_water,
    "fat-and-added-water": lambda food: food.both,
    "water-put-in": lambda food: food.put_in,
    "meat": lambda food: food.of_meat,
    "meat-protein": lambda food: food.meat_protein,
    "phosphate": lambda food: food.phosphates,
}


def held_to_standards(
    house: House, walks: Mapping[str, Walk], made: Mapping[str, Made]
) -> tuple[dict[str, Walk], list[Finding]]:
    """The walks, with the limits of the standards of identity they are sold by at their last steps;
    and what is wrong with them, or isn't said."""
    found, findings = dict(walks), list[Finding]()
    for ident, walk in walks.items():
        stated = walk.formula.formula.standard_of_identity
        asked = [PHOSPHATE] if _phosphates(house, walk) else []
        findings += _unstated(house, walk)
        if stated is None:
            findings += _asked_about(house, walk)
        elif stated == PHOSPHATE:  # a bound on all meat, and no name it is sold by
            findings.append(_unknown(house, walk, stated))
        elif stated != NONE:
            asked.append(stated)
        for standard in asked:
            limits, reported = _limits(house, walk, standard, made)
            findings += reported
            found[ident] = _with_limits(found[ident], limits)
    return found, findings


def _phosphates(house: House, walk: Walk) -> bool:
    """Whether there is a phosphate with meat, and a row that bounds it."""
    held = any(row.applies == PHOSPHATE for _, row in _rows(house.additives))
    return (
        held
        and _has_meat(house, walk)
        and any(c.facts is not None and c.facts.phosphate for c in walk.end.components)
    )


def _has_meat(house: House, walk: Walk) -> bool:
    return any(house.pack.class_of(c.species) in _MEAT for c in walk.end.components)


def _unstated(house: House, walk: Walk) -> Iterator[Finding]:
    """The error of a phosphate with meat that doesn't say how strong it is."""
    if not _has_meat(house, walk) or not _rows(house.additives):
        return
    lines = {line.joined.item: line for line in walk.lines}
    for one in walk.end.components:
        facts, line = one.facts, lines.get(one.came or one.item)
        if facts is None or line is None or facts.phosphate is not None:
            continue
        if _SALT.search(facts.name):
            yield Finding(
                "phosphate-strength-missing",
                "error",
                f"{facts.name}: how much of it is phosphate?",
                line.joined.line.place("amount"),
                "Add `phosphate` to the ingredient, as its label says. Nothing is guessed.",
                about=frozenset({walk.formula.id}),
            )


def _with_limits(walk: Walk, limits: tuple[ShareLimit, ...]) -> Walk:
    if not limits:
        return walk
    last = walk.steps[-1]
    last = replace(last, limits=(*last.limits, *limits))
    return replace(walk, steps=(*walk.steps[:-1], last))


def _rows(pack: Pack | None) -> tuple[tuple[str, CompositionRow], ...]:
    return tuple(pack.rows_of(CompositionRow)) if pack is not None else ()


def _limits(
    house: House, walk: Walk, standard: str, made: Mapping[str, Made]
) -> tuple[tuple[ShareLimit, ...], list[Finding]]:
    """The limits of a standard by its id, and what this food fails of it."""
    rows = [row for _, row in _rows(house.additives) if row.applies == standard]
    if not rows:
        return (), [_unknown(house, walk, standard)]
    food = _food(house, walk, made)
    limits = tuple(_limit(house, walk, row, food) for row in rows)
    findings = [
        f for limit, row in zip(limits, rows, strict=True) if (f := _doubt(walk, row, limit))
    ]
    return limits, findings


def _unknown(house: House, walk: Walk, standard: str) -> Finding:
    """The error of a standard that isn't held, with those that are."""
    held = (row.applies for _, row in _rows(house.additives))
    known = tuple(dict.fromkeys(one for one in held if one != PHOSPHATE))
    help = f"Held here: {listed(known, 'or')}. Or write none." if known else "Write none."
    words = f"{walk.formula.formula.name}: no standard of identity `{standard}` is held here."
    return _finding(walk, "standard-unknown", "error", words, help)


def _limit(house: House, walk: Walk, row: CompositionRow, food: _Food) -> ShareLimit:
    found = _FOUND[row.constituent](food)
    too_much, sure = (
        (found.low > row.percent, found.high <= row.percent)
        if row.bound == "max"
        else (found.high < row.percent, found.low >= row.percent)
    )
    side = "at most" if row.bound == "max" else "at least"
    words = f"{_words(found, row)} against {side} {plain(row.percent)}{NARROW}%"
    verdict = Verdict("fails", f"{words}.") if too_much else Verdict("close", f"{words}: unsure.")
    if sure:
        verdict = Verdict("meets", f"{words}.")
    last = walk.steps[-1].step
    source = _source(house, row)
    return ShareLimit(
        id=f"{walk.formula.id}/{last.id}/composition-{row.constituent}",
        step=last.id,
        number=last.number,
        verb=last.verb,
        hazard="composition",
        bound=row.bound,
        source=source,
        group=row.food,
        verdict=verdict,
        basis=_basis(row, food, found, source),
        percent=row.percent,
        of=OF_WHAT[row.constituent],
        found=found,
    )


def _basis(row: CompositionRow, food: _Food, found: Between, source: Source) -> Basis:
    grams = food.balance.grams
    inputs = [("Finished", f"{plain(grams, 1)}{NARROW}g"), ("Here", _words(found, row))]
    if row.constituent in ("water-put-in", "meat"):
        inputs[0] = ("All ingredients", f"{plain(food.ingredients, 1)}{NARROW}g")
    if row.constituent in ("added-water", "fat-and-added-water"):
        inputs.insert(1, ("Added water", "water less four times the meat's protein"))
    if not found.known and row.constituent in ("fat", "fat-and-added-water"):
        left = food.balance.left_open_by("fat")
        if left:
            inputs.append(("Left open by", listed(left[:3])))
    side = "at most" if row.bound == "max" else "at least"
    rule = f"{row.food}: {side} {plain(row.percent)}{NARROW}%"
    return Basis(tuple(inputs), rule, f"{source.clause}; calculated, not analysed")


def _doubt(walk: Walk, row: CompositionRow, limit: ShareLimit) -> Finding | None:
    """The error of food that can't be sold so, or the warning that nobody can tell."""
    if limit.verdict.status == "meets":
        return None
    name = walk.formula.formula.name
    side = "at most" if row.bound == "max" else "at least"
    found = f"{name}: {_words(limit.found, row)} {OF_WHAT[row.constituent]}"
    asked = f"{_by(row)}: {side} {plain(row.percent)} %."
    if limit.verdict.status == "fails":
        help = "Change the formula, or sell it by another name. `design blend` gives fat or lean."
        return _finding(walk, "standard-not-met", "error", f"{found}. {asked}", help, row.clause)
    words = f"{found}, as far as is known. {asked}"
    help = "State what is open under `composition` of the ingredients, or have a batch analysed."
    return _finding(walk, "standard-unsure", "warning", words, help, row.clause)


def _by(row: CompositionRow) -> str:
    if row.applies == PHOSPHATE:
        return "Meat may have"
    return f"Sold as {row.applies.replace('-', ' ')}"


def _asked_about(house: House, walk: Walk) -> Iterator[Finding]:
    """The warning that a name is a standard's and the formula doesn't say so: of meat alone."""
    formula = walk.formula.formula
    if not _has_meat(house, walk):
        return
    names = [formula.name, *formula.other_names]
    for _, row in _rows(house.additives):
        if row.raw and not walk.end.raw_animals:
            continue
        called = next((c for c in row.called if any(_named(c, name) for name in names)), None)
        if called is not None:
            yield _finding(
                walk,
                "standard-not-stated",
                "warning",
                f"{with_verb(formula.name, 'is')} called {called}. Is it sold as that? The law "
                "says what it may "
                "be made of.",
                f"Write `standard_of_identity: {row.applies}` if it is, `none` if it isn't.",
                row.clause,
            )
            return


def _named(called: str, name: str) -> bool:
    return re.search(rf"\b{re.escape(called)}s?\b", name.lower()) is not None


def _finding(
    walk: Walk,
    code: str,
    severity: str,
    words: str,
    help: str,
    source: str = "",
) -> Finding:
    formula = walk.formula.formula
    stated = formula.standard_of_identity is not None
    place = formula.place("standard_of_identity") if stated else formula.key_place("name")
    about = frozenset({walk.formula.id})
    return Finding(code, severity, words, place, help, (), source, about)  # type: ignore[arg-type]


def _food(house: House, walk: Walk, made: Mapping[str, Made]) -> _Food:
    """What the standard is held against: of the lines, and of the finished balance."""
    balance = made[walk.formula.id].balance
    ingredients, meat, water = Fraction(0), NOTHING, NOTHING
    of_meat, of_others = NOTHING, NOTHING
    poultry = False
    for line in walk.lines:
        contents = _contents(house, line, made)
        protein = contents.shares["protein"].times(line.grams)
        kind = _kind(house, line, walk)
        poultry = poultry or kind == "poultry"
        if kind == "some":  # made ahead with meat and other food in it
            of_meat += Between(Fraction(0), protein.high)
            of_others += Between(Fraction(0), protein.high)
        elif kind:
            of_meat += protein
        else:
            of_others += protein
        if line.joined.line.amount.kind == "as-needed":
            continue
        ingredients += line.grams
        meat += Between(
            line.grams if kind and kind != "some" else Fraction(0),
            line.grams if kind else Fraction(0),
        )
        water += NOTHING if kind and kind != "some" else _put_in(contents, line)
    whole = balance.parts["protein"]
    low = max(whole.low - of_others.high, Fraction(0))
    high = max(min(whole.high, of_meat.high), low)
    own = Between(low, high)
    return _Food(balance, own, ingredients, meat, water, poultry, balance.parts[PHOSPHATE])


def _kind(house: House, line: WeighedLine, walk: Walk) -> str:
    """Whether a line is meat: "meat", "poultry", "some" of what is made ahead, "" if none."""
    facts = line.joined.ingredient
    if facts is not None:
        kind = house.pack.class_of(facts.species)
        return ("poultry" if kind == "poultry" else "meat") if kind in _MEAT else ""
    brought = [c for s in walk.steps for c in s.before.components if c.came == line.joined.item]
    kinds = {house.pack.class_of(c.species) for c in brought}
    return "some" if kinds & set(_MEAT) else ""


def _contents(house: House, line: WeighedLine, made: Mapping[str, Made]) -> Contents:
    facts = line.joined.ingredient
    return (
        contents_in(house, facts) if facts is not None else made[line.joined.item].balance.contents
    )


def _put_in(contents: Contents, line: WeighedLine) -> Between:
    """Water or ice that a line puts in: all of what is water; none of dry food; of what is made
    ahead, or whose water nobody states, as much as may be in it."""
    share = contents.shares["water"]
    if share.low >= _WATER:
        return Between.just(line.grams)
    facts = line.joined.ingredient
    if facts is None:
        return Between(Fraction(0), share.high * line.grams)
    dry = facts.form == "dry" or facts.function is not None
    if dry or "water" in contents.stated:
        return NOTHING
    return Between(Fraction(0), share.high * line.grams)


def _source(house: House, row: CompositionRow) -> Source:
    assert house.additives is not None
    facts = house.additives.facts
    copies = tuple(house.library.source_title(key) for key in row.read_in)
    return Source(row.document, facts.edition, row.clause, copies, facts.checked_on, row.standing)


def _words(found: Between, row: CompositionRow) -> str:
    return f"{found.words_beside(row.percent, 1)}{NARROW}%"
