"""A formula's sheet and an ingredient's own limits laid out as facts: each number, limit and date
by its name, in words as the page shows them."""

from __future__ import annotations

from collections.abc import Iterable

from generator.measures.kilos import kilos
from generator.measures.marks import written_with
from generator.measures.words import breakable, counted, date, listed, plain
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import Dates
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.sheet.walk import WalkedStep
from generator.views.equipment_view import facts_of as figures_of
from generator.views.facts import ABSENT, Facts, NamedFacts
from generator.views.limit_view import at_a_glance, limit_view


def facts_of_shelves(manual: Manual) -> dict[str, tuple[str, Facts]]:
    """Each ingredient's name, the allergens it declares and its own limits: at the door, put away,
    in store, its days."""
    found: dict[str, tuple[str, Facts]] = {}
    with written_with(manual.writing):
        for ident, shelf in manual.shelves.items():
            facts: Facts = {}
            if contains := _by_name(manual.standards.ingredients[ident].allergens):
                facts["allergens", "", "Contains"] = contains
            for limit in shelf.limits:
                facts.update(
                    (("limits", "", name), breakable(words))
                    for name, words in _limit(manual.house, limit)
                )
            if shelf.dates is not None and shelf.dates.day is not None:
                facts["dates", "", "Use by"] = breakable(shelf.dates.words)
            found[ident] = (shelf.name, facts)
    return found


def facts_of_equipment(manual: Manual) -> dict[str, tuple[str, Facts]]:
    """Each piece of equipment's name and its figures, as its page shows them; when it was checked
    last is no figure of it, and what follows from another isn't said twice."""
    found: dict[str, tuple[str, Facts]] = {}
    with written_with(manual.writing):
        for ident, record in manual.standards.equipment.items():
            facts = NamedFacts()
            for name, words in figures_of(record, manual.house.units):
                if name not in _FOLLOWS:
                    facts.put("equipment", name, breakable(words))
            found[ident] = (record.name, facts)
    return found


_FOLLOWS = frozenset({"Last check", "So read"})


def _by_name(allergens: Iterable[object]) -> str:
    """Allergens by the alphabet: in which order a list has them is no change of what is in it."""
    return ", ".join(sorted((str(a) for a in allergens), key=str.casefold))


def facts_in(manual: Manual, sheet: Sheet) -> Facts:
    """A sheet's facts, in the decimal mark of its manual."""
    with written_with(manual.writing):
        return facts_of(sheet)


def facts_of_all(manual: Manual) -> dict[str, Facts]:
    """The facts of every formula, by its id."""
    return {ident: facts_in(manual, sheet) for ident, sheet in manual.sheets.items()}


def facts_of(sheet: Sheet) -> Facts:
    """Every number, limit and date of a sheet by its name, in words as they are shown."""
    facts = NamedFacts()
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
            facts.put("batch", name, words, breakable(batch.label))
    return facts


def _put_control(facts: NamedFacts, sheet: Sheet) -> None:
    """Document control: revision, days, names."""
    formula = sheet.formula.formula
    facts.put("control", "Revision", str(formula.revision))
    facts.put("control", "Effective", date(formula.effective))
    facts.put("control", "Approved by", formula.approved or "nobody")
    facts.put("control", "Name", sheet.name)
    facts.put("control", "Station", sheet.stations)
    own = sheet.formula.formula.process is None
    facts.put("control", "Process", "its own steps" if own else sheet.formula.process.name)


def _put_formula(facts: NamedFacts, sheet: Sheet) -> None:
    """What is in it, as typed, and what it makes."""
    facts.put("allergens", "Contains", _by_name(sheet.allergens) or ABSENT)
    for line in sheet.formula.lines:
        typed = (line.line.amount.text, line.line.prepare)
        facts.put("formula", line.name, " ".join(w for w in typed if w))
    for name, words in _makes(sheet):
        facts.put("vessel" if name == "Vessel" else "formula", name, words)


def _put_dates(facts: NamedFacts, dates: Dates) -> None:
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
            ("Fill", makes.fill_weight),
            ("Fill by volume", makes.fill_volume),
            ("One litre of the mix", makes.litre),
            ("Portion", makes.portion),
            ("Portion by volume", makes.portion_volume),
            ("Slice", makes.slice),
            ("Length", makes.length),
        ):
            if amount is not None:
                found.append((name, amount.text))
        if makes.overrun is not None:
            found.append(("Overrun", f"{plain(makes.overrun * 100)} %"))
        if makes.piece is not None:
            found.append(("Made in pieces of", makes.piece))
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
    if step.humidity is not None:
        words.append(f"humidity {step.humidity}")
    if step.time is not None:
        words.append(step.time.text)
    if joined.target is not None:
        words.append(f"target {joined.target.text}")
    if step.every is not None:
        words.append(f"every {step.every.text}")
    words += _of_weight(joined)
    words += [f"leaves {one.words}, {one.then}" for one in walked.left]
    words += [w for w in (step.until, *step.how, step.note, step.probe, step.if_missed) if w]
    return ", ".join(words)


def _of_weight(step: JoinedStep) -> list[str]:
    """What a step loses or gains: by tests, or as stated."""
    found = step.yields
    if found is None:
        return []
    if found.tests:
        return [f"yields {plain(found.mean * 100, 2)} % by {counted(found.tests, 'test')}"]
    loses, gains = step.step.loses, step.step.gains
    said = (("loses", loses), ("gains", gains))
    return [f"{word} {breakable(share.words)}" for word, share in said if share]


def _limit(house: House, limit: Limit) -> list[tuple[str, str]]:
    """A limit's figures as the page shows them, and what the source enacts."""
    view = limit_view(house, limit)
    where = f"{limit.verb}, {view.done.lower()}" if limit.verb else view.head
    if not view.covered:
        return [(where, "not covered")]
    if view.words:
        return [(where, view.words)]
    figures = [f"{chip.figure} {chip.words}".strip() for chip in at_a_glance(view)]
    name = f"{where}, must read" if view.target else where  # the target's figure, not the limit's
    found = [(name, ", ".join(w for w in (*figures, view.start, view.dose) if w))]
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
    found += [
        (f"Loads, {one.name.lower()}", f"{one.loads.count} ({one.step})")
        for one in batch.step_loads
        if one.loads.count > 1 and one.step != batch.step
    ]
    yields = batch.yields
    for name, grams in (
        ("Total", yields.total_g),
        ("Filled", yields.filled_g),
        ("Yield", yields.yield_g),
    ):
        if grams is not None:
            found.append((name, kilos(grams)))
    for name, count in (("Fills", yields.fills), ("Portions", yields.portions)):
        if count is not None:
            found.append((name, str(count)))
    if yields.portion_g is not None:
        found.append(("One portion", kilos(yields.portion_g - yields.beside_g)))
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
