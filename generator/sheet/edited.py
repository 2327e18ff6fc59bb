"""A manual with one formula otherwise: another target supposed, or its file saved again."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from generator.files.finding import Refused
from generator.intake.standards import Standards, read_again
from generator.measures.marks import written_with
from generator.records.kitchen import today_at
from generator.records.process import Target
from generator.sheet.manual import Beside, Manual, Read, computed
from generator.sheet.walk import Walk, walk

_T = TypeVar("_T")


def suppose(manual: Manual, formula: str, step: str, target: Target) -> Walk:
    """The walk of a formula with another target at one step; nothing else is changed.

    ``formula`` is one of ``manual.walks``. Raises Refused for a step the formula doesn't have.
    """
    asked = manual.walks[formula].formula
    known = [s.id for s in asked.steps]
    if step not in known:
        raise Refused("step-unknown", f"There is no step `{step}`.", f"Steps: {', '.join(known)}.")
    record = asked.formula.model_copy(update={"targets": {**asked.formula.targets, step: target}})
    steps = tuple(replace(s, target=target) if s.id == step else s for s in asked.steps)
    with written_with(manual.writing):
        found = walk(manual.house, replace(asked, formula=record, steps=steps), manual.walks)
    assert not isinstance(found, tuple), "a formula that was weighed once is weighed again"
    return found


def edited(manual: Manual, ident: str, day: datetime.date | None) -> Manual | None:
    """The manual with the file of one formula read again, which has been saved since: with its
    sheet as it is now, or stopped by what is wrong with it; others are as they were. ``day`` is the
    one asked for; None is the kitchen's today.

    None where the manual is of another day, or where that can't be told from the formula and what
    it is made of: one of them is an ending of a card, another formula is stopped beside this one,
    which its mending may set free, or nothing is kept.
    """
    known = ident in manual.sheets or manual.stopped.keys() == {ident}
    if (day or today_at(manual.house.kitchen)) != manual.as_of or not known:
        return None
    keeping = manual.keeping
    again = read_again(manual.project, manual.library.folder, manual.standards, ident, keeping.kept)
    found = _computed(manual, again, ident) if again is not None and keeping.base else None
    if again is None or found is None or found.stopped.keys() - {ident}:
        return None
    return replace(
        manual,
        standards=again,
        sheets=_with(manual.sheets, ident, found.sheets),
        walks={**manual.walks, **found.walks},
        stopped=_with(manual.stopped, ident, found.stopped),
        keeping=replace(keeping, known=_with(keeping.known, ident, found.keeping.known)),
    )


def _with(before: Mapping[str, _T], ident: str, now: Mapping[str, _T]) -> dict[str, _T]:
    """What was known by id, that of one as it is now: there or not."""
    if ident in now:
        return {**before, ident: now[ident]}
    return {one: known for one, known in before.items() if one != ident}


def _computed(manual: Manual, again: Standards, ident: str) -> Manual | None:
    """What comes of a formula and of what it is made of, in the manual's kitchen."""
    made_of = _made_of(again, ident)
    if any(again.formulas[one].ending is not None for one in made_of & again.formulas.keys()):
        return None
    keeping = manual.keeping
    beside = Beside(keeping.kept, "", keeping.base, again, manual.walks)
    with written_with(manual.writing):
        read = Read(_with_these(again, made_of), manual.library)
        found = computed(manual.project, manual.as_of, read, beside)
    return found if isinstance(found, Manual) else None


def _made_of(standards: Standards, ident: str) -> frozenset[str]:
    """A formula and what it is made of, at whatever remove: what goes or may go into it, what it
    comes out of, what it is a variant of."""
    formulas = standards.formulas
    found, waiting = {ident}, [ident]
    while waiting:
        at = waiting.pop()
        formula = formulas.get(at) or standards.salvaged.get(at)
        if formula is None:
            continue
        of = formula.by_product
        lines = [(i, one) for items in formula.parts.values() for i, one in items.items()]
        named = {i for item, line in lines for i in (item, *line.may_be)}
        named |= {of.formula} if of is not None else set()
        named |= {formula.variant_of} if formula.variant_of is not None else set()
        new = named & formulas.keys() - found
        found |= new
        waiting += new
    return frozenset(found)


def _with_these(standards: Standards, idents: frozenset[str]) -> Standards:
    """The standards with some formulas alone, as they are written: by-products follow of them."""
    formulas = {
        i: one for i, one in standards.formulas.items() if i in idents and one.by_product is None
    }
    gone = standards.formulas.keys() - formulas.keys()
    return replace(
        standards,
        formulas=formulas,
        formula_files={i: file for i, file in standards.formula_files.items() if i in idents},
        names={i: name for i, name in standards.names.items() if i not in gone},
        cards={},
        plans={},
        made={},
    )
