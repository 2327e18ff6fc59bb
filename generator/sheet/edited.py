"""A manual with one formula otherwise: another target supposed, or its file saved again."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace

from generator.files.finding import Refused
from generator.intake.standards import Standards, read_again
from generator.measures.marks import written_with
from generator.records.formula import Formula
from generator.records.kitchen import today_at
from generator.records.process import Target
from generator.sheet.manual import Beside, Broken, Manual, Read, computed
from generator.sheet.walk import Walk, walk

_MOST_KIN = 100


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
    """The manual with the file of one formula read again, which has been saved since, and its
    sheet as it is now; the sheets of others are as they were. ``day`` is the one asked for; None
    is the kitchen's today.

    None where the manual is of another day, or where that can't be told from the formulas it hangs
    together with alone: it has a fault now, it is an ending of a card or hangs together with one,
    or nothing is kept.
    """
    if (day or today_at(manual.house.kitchen)) != manual.as_of or ident not in manual.sheets:
        return None
    keeping = manual.keeping
    again = read_again(manual.project, manual.library.folder, manual.standards, ident, keeping.kept)
    found = _computed(manual, again, ident) if again is not None and keeping.base else None
    if again is None or found is None:
        return None
    return replace(
        manual,
        standards=again,
        sheets={**manual.sheets, ident: found.sheets[ident]},
        walks={**manual.walks, **found.walks},
        keeping=replace(keeping, known={**keeping.known, ident: found.keeping.known[ident]}),
    )


def _computed(manual: Manual, again: Standards, ident: str) -> Manual | None:
    """What comes of a formula and of what it hangs together with, in the manual's kitchen; None
    where anything stops one of them."""
    kin = _kin(again.formulas, ident)
    if not kin or any(again.formulas[one].ending is not None for one in kin):
        return None
    keeping = manual.keeping
    beside = Beside(keeping.kept, base=keeping.base, walks=manual.walks)
    with written_with(manual.writing):
        read = Read(_of_kin(again, kin), manual.library)
        found = computed(manual.project, manual.as_of, read, beside)
    if isinstance(found, Broken) or found.stopped or ident not in found.keeping.known:
        return None
    return found


def _kin(formulas: Mapping[str, Formula], ident: str) -> frozenset[str]:
    """The formulas one hangs together with, itself among them: what it is made of, what is made of
    it, its variants and its base, at whatever remove; none where they are very many."""
    near: dict[str, set[str]] = {}
    for one, formula in formulas.items():
        named = {item for items in formula.parts.values() for item in items}
        of = formula.by_product
        named |= {of.formula} if of is not None else set()
        named |= {formula.variant_of} if formula.variant_of is not None else set()
        for other in named & formulas.keys():
            near.setdefault(one, set()).add(other)
            near.setdefault(other, set()).add(one)
    found, waiting = {ident}, [ident]
    while waiting and len(found) <= _MOST_KIN:
        new = near.get(waiting.pop(), set()) - found
        found |= new
        waiting += new
    return frozenset(found) if len(found) <= _MOST_KIN else frozenset()


def _of_kin(standards: Standards, kin: frozenset[str]) -> Standards:
    """The standards with these formulas alone, as they are written: by-products follow of them."""
    formulas = {
        i: one for i, one in standards.formulas.items() if i in kin and one.by_product is None
    }
    files = {i: standards.formula_files[i] for i in formulas}
    return replace(
        standards,
        formulas=formulas,
        formula_files=files,
        names={
            i: name
            for i, name in standards.names.items()
            if i not in standards.formulas or i in formulas
        },
        salvaged={},
        findings=(),
        cards={},
        plans={},
        made={},
    )
