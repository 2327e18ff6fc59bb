"""What changed between two manuals: numbers, limits and pages, never lines of YAML.

Each formula's sheet is laid out as facts, a name and its words as the page shows them; two sheets
differ where a fact does. Both manuals are computed by this program on the same day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from generator.measures.kilos import kilos
from generator.measures.marks import written_with
from generator.measures.words import NARROW, counted, date, listed, plain
from generator.pages import make_pages
from generator.resolve.joined import House
from generator.rules.basics.context import Dates
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Broken, Manual
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.sheet.walk import WalkedStep
from generator.views.limit_view import at_a_glance, limit_view

Group = Literal["control", "formula", "limits", "steps", "dates", "batch"]
Facts = dict[tuple[Group, str, str], str]
"""Words by (group, batch size or "", name)."""
ABSENT = "none"


@dataclass(frozen=True)
class Change:
    """One fact that differs. ``size`` is the batch size it is of, or empty; ``old`` or ``new`` is
    empty where there was or is no such fact."""

    group: Group
    size: str
    name: str
    old: str
    new: str


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
    """All that differs between two manuals; ``ingredients`` whose own limits differ; ``stopped``
    names the formulas that couldn't be computed then, by their errors' count."""

    formulas: tuple[FormulaChange, ...]
    ingredients: tuple[FormulaChange, ...]
    pages: tuple[PageChange, ...]
    errors_then: int
    stopped: tuple[str, ...]


def compare(old: Manual | Broken, new: Manual) -> Changes:
    """The changes from ``old`` to ``new``, formulas in the new manual's order, the gone ones
    last."""
    stopped = tuple(s.name for s in old.stopped.values())
    return Changes(
        _formulas(old, new), _ingredients(old, new), _pages(old, new), len(old.errors), stopped
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
        changes = differences(facts_in(old, before), facts_in(new, sheet))
        if changes:
            formulas.append(FormulaChange(ident, sheet.name, "changed", changes))
    formulas += [
        FormulaChange(i, s.name, "gone") for i, s in old.sheets.items() if i not in new.sheets
    ]
    return tuple(formulas)


def _ingredients(old: Manual | Broken, new: Manual) -> tuple[FormulaChange, ...]:
    """The ingredients whose own limits differ, by id; a new or a gone one if it has any."""
    before = _shelves(old) if isinstance(old, Manual) else {}
    after = _shelves(new)
    found: list[FormulaChange] = []
    for ident in sorted({*before, *after}):
        name, facts = after.get(ident) or before[ident]
        if ident in before and ident in after:
            changes = differences(before[ident][1], facts)
            if changes:
                found.append(FormulaChange(ident, name, "changed", changes))
        elif facts:
            found.append(FormulaChange(ident, name, "new" if ident in after else "gone"))
    return tuple(found)


def _shelves(manual: Manual) -> dict[str, tuple[str, Facts]]:
    """Each ingredient's name and its own limits: at the door, put away, in store, its days."""
    found: dict[str, tuple[str, Facts]] = {}
    with written_with(manual.writing):
        for ident, shelf in manual.shelves.items():
            facts: Facts = {}
            for limit in shelf.limits:
                facts.update(
                    (("limits", "", name), words.replace(NARROW, " "))
                    for name, words in _limit(manual.house, limit)
                )
            if shelf.dates is not None and shelf.dates.day is not None:
                facts["dates", "", "Use by"] = shelf.dates.words.replace(NARROW, " ")
            found[ident] = (shelf.name, facts)
    return found


def facts_in(manual: Manual, sheet: Sheet) -> Facts:
    """A sheet's facts, in the decimal mark of its manual."""
    with written_with(manual.writing):
        return facts_of(sheet)


def facts_of_all(manual: Manual) -> dict[str, Facts]:
    """The facts of every formula, by its id."""
    return {ident: facts_in(manual, sheet) for ident, sheet in manual.sheets.items()}


def differences(old: Facts, new: Facts) -> tuple[Change, ...]:
    """The facts that differ, in the new sheet's order, those that are gone last."""
    found = [
        Change(*key, old.get(key, ""), words) for key, words in new.items() if old.get(key) != words
    ]
    found += [Change(*key, words, "") for key, words in old.items() if key not in new]
    return tuple(found)


class _NamedFacts(Facts):
    """Facts by group, size and name; a name that comes twice is counted."""

    def put(self, group: Group, name: str, words: str, size: str = "") -> None:
        key, count = (group, size, name), 2
        while key in self:  # the same name twice: an ingredient in two parts
            key, count = (group, size, f"{name}, {count}"), count + 1
        self[key] = words


def facts_of(sheet: Sheet) -> Facts:
    """Every number, limit and date of a sheet by its name, in words as they are shown."""
    facts = _NamedFacts()
    _put_control(facts, sheet)
    _put_formula(facts, sheet)
    for walked in sheet.walk.steps:
        facts.put("steps", f"Step {walked.step.number}", _step(walked))
    for limit in sheet.walk.limits:
        for name, words in _limit(sheet.house, limit):
            facts.put("limits", name, words)
    if sheet.walk.dates is not None:
        _put_dates(facts, sheet.walk.dates)
    cautions = [n.name for n in sheet.notices.all]
    facts.put("steps", "Cautions", ", ".join(dict.fromkeys(cautions)) or ABSENT)
    for batch in sheet.batches:
        for name, words in _batch(batch):
            facts.put("batch", name, words, batch.label.replace(NARROW, " "))
    return {key: words.replace(NARROW, " ") for key, words in facts.items()}


def _put_control(facts: _NamedFacts, sheet: Sheet) -> None:
    """Document control: revision, days, names."""
    formula = sheet.formula.formula
    facts.put("control", "Revision", str(formula.revision))
    facts.put("control", "Effective", date(formula.effective))
    facts.put("control", "Approved by", formula.approved or "nobody")
    facts.put("control", "Name", sheet.name)
    facts.put("control", "Station", sheet.formula.station.name)
    facts.put("control", "Process", sheet.formula.process.name)


def _put_formula(facts: _NamedFacts, sheet: Sheet) -> None:
    """What is in it, as typed, and what it makes."""
    facts.put("formula", "Contains", ", ".join(str(a) for a in sheet.allergens) or ABSENT)
    for line in sheet.formula.lines:
        typed = (line.line.amount.text, line.line.prepare)
        facts.put("formula", line.name, " ".join(w for w in typed if w))
    for name, words in _makes(sheet):
        facts.put("formula", name, words)


def _put_dates(facts: _NamedFacts, dates: Dates) -> None:
    """How long it is used, and from which day."""
    facts.put("dates", "Use by", f"day {dates.day}" if dates.day is not None else ABSENT)
    frozen = counted(dates.frozen_days, "day") if dates.frozen_days else ABSENT
    facts.put("dates", "Frozen", frozen)
    if dates.moved_days is not None:
        facts.put("dates", "Taken out", counted(dates.moved_days, "day"))
    facts.put("dates", "Dated by", listed(dates.parts_to_date) or "the day it is made")


def _makes(sheet: Sheet) -> list[tuple[str, str]]:
    makes = sheet.formula.formula.makes
    found: list[tuple[str, str]] = []
    vessel = sheet.formula.vessel
    if vessel is not None:
        found.append(("Vessel", vessel.name))
    if makes is not None:
        for name, amount in (
            ("Fill", makes.fill),
            ("Portion", makes.portion),
            ("Slice", makes.slice),
            ("Length", makes.length),
        ):
            if amount is not None:
                found.append((name, amount.text))
    return found


def _step(walked: WalkedStep) -> str:
    """A step in a line: verb, machine, heat, time, target, loss, words."""
    joined, step = walked.step, walked.step.step
    words = [joined.verb]
    for thing in (joined.machine, joined.cold, joined.vessel):
        if thing is not None:
            words.append(thing.name)
    if step.at is not None:
        words.append(f"at {step.at}")
    if step.time is not None:
        words.append(step.time.text)
    if joined.target is not None:
        words.append(f"target {joined.target.text}")
    if step.every is not None:
        words.append(f"every {step.every.text}")
    if step.loses is not None:
        words.append(f"loses {plain(step.loses * 100)} %")
    words += [w for w in (step.until, *step.how, step.note, step.probe, step.if_missed) if w]
    return ", ".join(words)


def _limit(house: House, limit: Limit) -> list[tuple[str, str]]:
    """A limit's figures as the page shows them, and what the source enacts."""
    view = limit_view(house, limit)
    where = f"{limit.verb}, {view.head.split(':')[0].lower()}" if limit.verb else view.head
    if not view.covered:
        return [(where, "not covered")]
    if view.words:
        return [(where, view.words)]
    figures = [f"{chip.figure} {chip.words}".strip() for chip in at_a_glance(view)]
    found = [(where, ", ".join(w for w in (*figures, view.start, view.dose) if w))]
    code = f"{view.code}{view.code_rest}".strip()
    found.append(
        (
            f"{where}, {view.label.lower()}",
            ", ".join(w for w in (code, view.document, view.clause) if w),
        )
    )
    return found


def _batch(batch: Batch) -> list[tuple[str, str]]:
    found = [(line.name, _weight(line)) for line in batch.lines]
    found.append(("Loads", _loads(batch)))
    yields = batch.yields
    for name, grams in (
        ("Raw", yields.raw_g),
        ("Filled", yields.filled_g),
        ("Yield", yields.yield_g),
    ):
        if grams is not None:
            found.append((name, kilos(grams)))
    for name, count in (("Fills", yields.fills), ("Portions", yields.portions)):
        if count is not None:
            found.append((name, str(count)))
    if yields.portion_g is not None:
        found.append(("One portion", kilos(yields.portion_g)))
    return found


def _weight(line: BatchLine) -> str:
    """What the scale shows for one load, and how often."""
    weighing = line.weighing
    if weighing.scale is None:
        return f"{plain(weighing.grams)} g"
    words = f"{weighing.scale.shows(weighing.grams)} {weighing.scale.unit}"
    return f"{words} in each of {line.loads} loads" if line.loads > 1 else words


def _loads(batch: Batch) -> str:
    if batch.loads.count == 1:
        return "1"
    return f"{batch.loads.count} of {kilos(batch.load_g())}"


def _pages(old: Manual | Broken, new: Manual) -> tuple[PageChange, ...]:
    before = {p.uri: p for p in make_pages(old)}
    after = {p.uri: p for p in make_pages(new)}
    found: list[PageChange] = []
    for uri, page in after.items():
        if uri not in before:
            found.append(PageChange(uri, page.title, "new"))
        elif (before[uri].title, before[uri].html) != (page.title, page.html):
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
        errors = counted(changes.errors_then, "error").replace(NARROW, " ")
        out.append(
            f"The standards had {errors} then; not computed then: "
            f"{listed(changes.stopped) or 'all of it'}."
        )
    if not changes.formulas and not changes.ingredients:
        out.append("No number, limit or date of a formula or an ingredient changed.")
    for one in (*changes.formulas, *changes.ingredients):
        out += ["", f"{one.name} ({one.id})" + ("" if one.how == "changed" else f": {one.how}")]
        out += _change_lines(one)
    if changes.pages:
        out += ["", f"{counted(len(changes.pages), 'page').replace(NARROW, ' ')} of the site:"]
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
