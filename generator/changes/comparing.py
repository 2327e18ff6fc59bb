"""What changed between two manuals: numbers, limits and pages, never lines of YAML.

Each formula's sheet is laid out as facts, a name and its words as the page shows them; two sheets
differ where a fact does. Both manuals are computed by this program on the same day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from generator.measures.words import breakable, counted, listed
from generator.pages import make_pages
from generator.sheet.manual import Broken, Manual
from generator.views.facts import ABSENT, Change, Facts, Group, fact_changes
from generator.views.sheet_facts import facts_in, facts_of_equipment, facts_of_shelves


@dataclass(frozen=True)
class FormulaChange:
    """A formula or an ingredient that differs: ``how`` is changed, new, gone, or not computed
    then."""

    id: str
    name: str
    how: Literal["changed", "new", "gone", "not computed then"]
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class PageChange:
    """A page of the site that differs; its address as in ``stove/stock.md``."""

    uri: str
    title: str
    how: Literal["changed", "new", "gone"]


@dataclass(frozen=True)
class Changes:
    """All that differs between two manuals; ``ingredients`` whose allergens or own limits differ;
    ``equipment`` whose figures do; ``stopped`` names the formulas that couldn't be computed then,
    by their errors' count."""

    formulas: tuple[FormulaChange, ...]
    ingredients: tuple[FormulaChange, ...]
    equipment: tuple[FormulaChange, ...]
    pages: tuple[PageChange, ...]
    errors_then: int
    stopped: tuple[str, ...]


def compare(old: Manual | Broken, new: Manual) -> Changes:
    """The changes from ``old`` to ``new``, formulas in the new manual's order, the gone ones
    last."""
    stopped = tuple(s.name for s in old.stopped.values())
    return Changes(
        _formulas(old, new),
        _by_id(old, new, facts_of_shelves),
        _by_id(old, new, facts_of_equipment),
        _pages(old, new),
        len(old.errors),
        stopped,
    )


def _formulas(old: Manual | Broken, new: Manual) -> tuple[FormulaChange, ...]:
    """The formulas that differ."""
    if isinstance(old, Broken):
        return tuple(FormulaChange(i, s.name, "not computed then") for i, s in new.sheets.items())
    formulas: list[FormulaChange] = []
    for ident, sheet in new.sheets.items():
        before = old.sheets.get(ident)
        if before is None:
            how: Literal["new", "not computed then"] = (
                "not computed then" if ident in old.stopped else "new"
            )
            formulas.append(FormulaChange(ident, sheet.name, how))
            continue
        changes = fact_changes(facts_in(old, before), facts_in(new, sheet))
        if changes:
            formulas.append(FormulaChange(ident, sheet.name, "changed", changes))
    formulas += [
        FormulaChange(i, s.name, "gone") for i, s in old.sheets.items() if i not in new.sheets
    ]
    return tuple(formulas)


def _by_id(
    old: Manual | Broken, new: Manual, facts_of: Callable[[Manual], dict[str, tuple[str, Facts]]]
) -> tuple[FormulaChange, ...]:
    """The ingredients, or the equipment, whose own facts differ, by id; a new or a gone one if it
    has any."""
    before = facts_of(old) if isinstance(old, Manual) else {}
    after = facts_of(new)
    found: list[FormulaChange] = []
    for ident in sorted({*before, *after}):
        name, facts = after.get(ident) or before[ident]
        if ident in before and ident in after:
            changes = fact_changes(before[ident][1], facts)
            if changes:
                found.append(FormulaChange(ident, name, "changed", changes))
        elif facts:
            found.append(FormulaChange(ident, name, "new" if ident in after else "gone"))
    return tuple(found)


def _pages(old: Manual | Broken, new: Manual) -> tuple[PageChange, ...]:
    before = {p.uri: p for p in make_pages(old)}
    after = {p.uri: p for p in make_pages(new)}
    found: list[PageChange] = []
    for uri, page in after.items():
        if uri not in before:
            found.append(PageChange(uri, page.title, "new"))
        elif (before[uri].title, before[uri].body) != (page.title, page.body):
            found.append(PageChange(uri, page.title, "changed"))
    found += [PageChange(u, p.title, "gone") for u, p in before.items() if u not in after]
    return tuple(found)


_HEADS: dict[Group, str] = {
    "control": "",
    "formula": "",
    "limits": "Limits",
    "steps": "Steps",
    "dates": "Dates",
    "batch": "Batch of",
    "allergens": "",
    "vessel": "",
    "equipment": "",
    "composition": "",
    "paper": "",
}


def changes_record(changes: Changes, since: str, commit: str) -> dict[str, Any]:
    """The changes as one JSON object."""
    return {
        "since": since,
        "commit": commit,
        "errors_then": changes.errors_then,
        "not_computed_then": list(changes.stopped),
        "formulas": [_record("formula", one) for one in changes.formulas],
        "ingredients": [_record("ingredient", one) for one in changes.ingredients],
        "equipment": [_record("equipment", one) for one in changes.equipment],
        "pages": [{"page": p.uri, "title": p.title, "how": p.how} for p in changes.pages],
    }


def _record(kind: str, one: FormulaChange) -> dict[str, Any]:
    return {
        kind: one.id,
        "name": one.name,
        "how": one.how,
        "changes": [
            {
                "group": c.group,
                **({"size": c.size} if c.size else {}),
                "what": c.name,
                "old": c.old or None,
                "new": c.new or None,
            }
            for c in one.changes
        ],
    }


def changes_text(changes: Changes, since: str, commit: str) -> str:
    """The changes for the terminal: formula by formula, old → new, then the pages."""
    out = [f"Since {since} (commit {commit[:12]})"]
    if changes.errors_then:
        errors = breakable(counted(changes.errors_then, "error"))
        out.append(
            f"The standards had {errors} then; not computed then: "
            f"{listed(changes.stopped) or 'all of it'}."
        )
    listed_here = (*changes.formulas, *changes.ingredients, *changes.equipment)
    if not listed_here:
        out.append("No number, limit or date of a formula, an ingredient or a machine changed.")
    for one in listed_here:
        out += ["", f"{one.name} ({one.id})" + ("" if one.how == "changed" else f": {one.how}")]
        out += _change_lines(one)
    if changes.pages:
        out += ["", f"{breakable(counted(len(changes.pages), 'page'))} of the site:"]
        out += [f"  {p.uri}{'' if p.how == 'changed' else f' ({p.how})'}" for p in changes.pages]
    return "\n".join(out)


def _change_lines(one: FormulaChange) -> Iterator[str]:
    """The changes of a formula or an ingredient, below the head of their group and size."""
    last = ("", "")
    for change in one.changes:
        head = (_HEADS[change.group], change.size)
        if head != last and head[0]:
            yield f"  {head[0]} {head[1]}".rstrip()
        last = head
        indent = "    " if head[0] else "  "
        yield f"{indent}{change.name}: {change.old or ABSENT} → {change.new or ABSENT}"
