"""What a label says of a food, in words: the statement of its ingredients with the allergens made
to stand out, the equipment it shares, and its nutrition, a figure where it is known and else from
… to …"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.marks import as_written
from generator.measures.words import NARROW, listed, plain
from generator.records.ingredient import Allergen
from generator.records.per_weight import UNITS
from generator.sheet.manual import Manual
from generator.sheet.nutrition import Declared, Nutrition, NutritionRow, nutrition_of
from generator.sheet.statement import Shared, Stated, Statement, allergens_in, statement_of

MOST_NAMES = 4
RULE = (
    "What goes in, less what is lost, of the finished weight. Energy is by the law's factors. Each "
    "figure is rounded as the law says, exact halves up. Where its ends round apart, both are "
    "said. What a food doesn't state is never taken for nothing. Salt counts as two fifths sodium."
)
NOT_CLEANING = "This is no substitute for cleaning and controls."
DEFERS = (
    "Computed from the formula. Sold packed, local law and a laboratory's analysis go first: have "
    "the label reviewed."
)
_RANGE = " to "
_NEARLY_ALL = Fraction(99)
"""Grams in 100 g: what may be from nothing to this much isn't known at all."""


@dataclass(frozen=True)
class Run:
    """A run of the statement's text; ``out`` says that it stands out: an allergen's name."""

    words: str
    out: bool = False


@dataclass(frozen=True)
class NutrientLine:
    """A row of the nutrition in words: for 100 g and for a portion, each with its part of a day;
    "" where there is none. ``tolerance`` is how far an official sample may be from the figure for
    100 g, as "±2 g"."""

    name: str
    per_100_g: str
    per_portion: str
    day: str
    part: bool
    open_by: tuple[str, ...]
    tolerance: str = ""


@dataclass(frozen=True)
class LabelView:
    """All that a label says of a formula's food. ``contains`` is said under the list, "" where
    there is nothing to say there; ``shared`` one sentence or "" where nothing is."""

    law: str
    runs: tuple[Run, ...]
    contains: str
    shared: str
    equipment: tuple[tuple[str, str], ...]
    doubts: tuple[str, ...]
    portion: str
    lines: tuple[NutrientLine, ...]
    rows: tuple[tuple[str, str], ...]

    @property
    def statement(self) -> str:
        """The statement as plain text, allergens in capitals."""
        return "".join(run.words.upper() if run.out else run.words for run in self.runs)


def label_view(manual: Manual, formula: str) -> LabelView:
    """What the label of a formula says, by its id, by the law of labels in force."""
    walk = manual.walks[formula]
    statement = statement_of(manual.house, manual.walks, manual.stated, formula)
    nutrition = nutrition_of(manual.label_law, manual.labelled[formula], walk)
    lines = tuple(nutrient_lines(nutrition)) if nutrition is not None else ()
    return LabelView(
        statement.law.name,
        tuple(runs_of(statement)),
        contains_words(statement),
        shared_words(statement.shared),
        tuple(shared_rows(statement.shared)),
        (*_doubts(statement), *_not_counted(manual)),
        kilos(nutrition.portion_g) if nutrition and nutrition.portion_g else "",
        lines,
        tuple(_rows(manual, statement, lines)),
    )


def runs_of(statement: Statement) -> Iterator[Run]:
    """The statement in runs, in its order; parted by semicolons where a name has a comma."""
    names = {name for one in statement.ingredients for name in _names_in(one)}
    mark = "; " if any("," in name for name in names) else ", "
    yield from _listed(statement.ingredients, statement, mark)


def _names_in(one: Stated) -> Iterator[str]:
    yield from (one.name, *one.says)
    for part in one.inside:
        yield from _names_in(part)


def _listed(stated: Iterable[Stated], statement: Statement, mark: str) -> Iterator[Run]:
    for index, one in enumerate(stated):
        if index:
            yield Run(mark)
        yield from _one(one, statement, mark)


def _one(one: Stated, statement: Statement, mark: str) -> Iterator[Run]:
    """One ingredient: its name, its share if asked for, what it is made of, and the allergens that
    neither its name nor that says."""
    yield from _marked(one.name, one.allergens)
    if one.quid:
        yield Run(f" {quid_words(one, statement.lost)}")
    if one.inside:
        yield from (Run(" ("), *_listed(one.inside, statement, mark), Run(")"))
    elif one.says:
        yield from _bracketed((tuple(_marked(name, one.allergens)) for name in one.says), mark)
    names = (one.name, *one.says)
    unsaid = [a for a in one.allergens if not any(_found(a, name) for name in names)]
    if unsaid:
        yield from _bracketed(((Run(a.kind or a.word, out=True),) for a in unsaid), ", ")


def _bracketed(items: Iterable[Iterable[Run]], mark: str) -> Iterator[Run]:
    """Several texts in brackets, with a mark between them."""
    for index, runs in enumerate(items):
        yield Run(mark if index else " (")
        yield from runs
    yield Run(")")


def _stems(allergen: Allergen) -> tuple[str, ...]:
    """The words a name says an allergen by: its kind's, or its own, in the singular too."""
    words = (allergen.kind,) if allergen.kind else (allergen.word,)
    found = [*words, *(word[:-1] for word in words if word.endswith("s"))]
    if allergen.word == "soybeans":
        found += ["soya", "soy"]
    return tuple(sorted(found, key=len, reverse=True))


def _found(allergen: Allergen, name: str) -> re.Match[str] | None:
    """Where a name says an allergen, as a whole word or its plural."""
    stems = "|".join(re.escape(stem) for stem in _stems(allergen))
    return re.search(rf"\b(?:{stems})(?:s|es)?\b", name, re.IGNORECASE)


def _marked(name: str, allergens: Iterable[Allergen]) -> Iterator[Run]:
    """A name with the allergens in it made to stand out."""
    spans = sorted(m.span() for a in allergens if (m := _found(a, name)) is not None)
    at = 0
    for start, end in spans:
        if start < at:
            continue
        if start > at:
            yield Run(name[at:start])
        yield Run(name[start:end], out=True)
        at = end
    if at < len(name):
        yield Run(name[at:])


def quid_words(one: Stated, lost: bool) -> str:
    """How much of an ingredient is said beside its name: its share of what went in; of food that
    lost weight, of the finished food; over 100 %, how much 100 g were made with."""
    share = one.of_finished if lost else one.share
    if share > 1:
        return f"({plain(share * 100, 0)}{NARROW}g in 100{NARROW}g)"
    return f"({plain(share * 100, 0 if share >= Fraction(1, 10) else 1)}{NARROW}%)"


def contains_words(statement: Statement) -> str:
    """The allergens under the list, in the words of the list in force; where the law wants them in
    the list alone, those that aren't in it: what they came with was poured off. "" where there are
    none."""
    listed_above = () if statement.law.contains else all_allergens(statement)
    return ", ".join(str(a) for a in statement.allergens if a not in listed_above)


def shared_words(shared: Iterable[Shared]) -> str:
    """One sentence on the equipment that is shared; "" where none is."""
    brought = dict.fromkeys(str(a) for one in shared for a, _ in one.allergens)
    if not brought:
        return ""
    return f"Made on equipment that also handles {listed(list(brought))}."


def shared_rows(shared: Iterable[Shared]) -> list[tuple[str, str]]:
    """Which equipment is shared, with each allergen and the formulas that bring it."""
    return [
        (one.equipment, "; ".join(f"{a}: {', '.join(names)}" for a, names in one.allergens))
        for one in shared
    ]


def _doubts(statement: Statement) -> Iterator[str]:
    """What a cure is made of beside what is stated, and what the order of the list can't know."""
    for name in statement.unsaid:
        yield (
            f"{name}: what it is made of isn't all stated. Write `contains_ingredients` as its "
            "label says."
        )
    for number, verb in statement.poured:
        yield (
            f"Step {number}, {verb}, pours something off and doesn't say of what. Its ingredients "
            "count as weighed in."
        )


def _not_counted(manual: Manual) -> Iterator[str]:
    """That formulas that can't be computed may share equipment too."""
    if manual.stopped:
        names = listed([one.name for one in manual.stopped.values()][:MOST_NAMES])
        yield f"Formulas with errors aren't counted among those that share equipment: {names}."


def _rows(
    manual: Manual, statement: Statement, lines: Iterable[NutrientLine]
) -> Iterator[tuple[str, str]]:
    """What leaves figures open, by which rules they are rounded and listed, and where those were
    read."""
    law, library = statement.law, manual.library
    left = dict.fromkeys(name for line in lines for name in line.open_by)
    if left:
        yield "Left open by", listed(list(left)[:MOST_NAMES])
    yield "Law", law.name
    yield "Rule", as_written(RULE)
    for rule in law.rules.values():
        yield rule.clause, rule.words
    keys = [key for rule in law.rules.values() for key in rule.read_in]
    keys += [key for row in law.rows.values() for key in row.read_in]
    for key in dict.fromkeys(keys):
        yield "Source", library.source_title(key)


def nutrient_lines(nutrition: Nutrition) -> Iterator[NutrientLine]:
    """The rows of the nutrition in words, in the law's order."""
    for row in nutrition.rows:
        portion = row.per_portion
        yield NutrientLine(
            row.row.name,
            figure_words(row, row.per_100_g),
            figure_words(row, portion) if portion is not None else "",
            day_words(row, portion or row.per_100_g),
            row.row.part,
            row.open_by if not row.per_100_g.known else (),
            tolerance_words(row),
        )


def tolerance_g(row: NutritionRow) -> Fraction | None:
    """How far an official sample may be from the declared figure for 100 g, in the row's unit; None
    where no one figure is declared, or the law doesn't say."""
    figure = row.per_100_g.low
    if not row.per_100_g.known or not isinstance(figure, Fraction) or not figure:
        return None
    return row.row.tolerance(figure)


def tolerance_words(row: NutritionRow) -> str:
    """The same in words: "±2 g"; "" where nothing is known."""
    found = tolerance_g(row)
    return f"±{plain(found, 3)}{NARROW}{row.row.unit}" if found is not None else ""


def figure_words(row: NutritionRow, found: Declared) -> str:
    """A figure as the law rounds it; both ends where they round apart; what is known at least where
    some food doesn't state it; or that nothing is known."""
    unit = row.row.unit
    if found.known:
        return _end(found.low, unit)
    if not row.stated or _anything(row, found):
        return "not known"
    if row.row.trace and row.unstated:
        known = isinstance(found.low, Fraction) and found.low > 0
        return f"at least {_end(found.low, unit)}" if known else "not known"
    low = _plain(found.low)
    return f"{low}{_RANGE}{_end(found.high, unit)}"


def _anything(row: NutritionRow, found: Declared) -> bool:
    """Whether a figure may be anything from nothing to the whole weight."""
    if row.row.counts == "energy" or found.exact.low:
        return False
    return row.per_100_g.exact.high * UNITS[row.row.unit] >= _NEARLY_ALL


def _plain(end: Fraction | str) -> str:
    return as_written(end) if isinstance(end, str) else plain(end)


def _end(end: Fraction | str, unit: str) -> str:
    return f"{_plain(end)}{NARROW}{unit}"


def day_words(row: NutritionRow, found: Declared) -> str:
    """The part of a day's value, in percent; "" where the row has none or it isn't known."""
    if found.percent is None or figure_words(row, found).startswith(("not known", "at least")):
        return ""
    low, high = found.percent
    words = plain(high) if low == high else f"{plain(low)}{_RANGE}{plain(high)}"
    return f"{words}{NARROW}%"


def all_allergens(statement: Statement) -> tuple[Allergen, ...]:
    """Every allergen in the list, in its order."""
    return tuple(dict.fromkeys(a for one in statement.ingredients for a in allergens_in(one)))
