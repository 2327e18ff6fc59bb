"""Records of batches joined: which counts after corrections, what each was made of, and what is
wrong with them.

A record tells of a day that is past: a formula, a step or an ingredient that has gone since is no
fault of it. What is about to be recorded is held to what there is today.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter

from generator.files.finding import Finding, Place, Severity
from generator.intake.standards import RECORD
from generator.measures.words import date
from generator.records.made import MadeBatch, UsedLot, in_order, same_lot
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.resolve.names import Names

BatchKey = tuple[str, str]
"""A batch by its formula and its own number, as numbers are compared."""


@dataclass(frozen=True)
class MadeOf:
    """What went into a batch: the line of its record; ``batches`` may be the batch it came of, by
    the ids of their records: none for what was bought, or whose batch has no record."""

    used: UsedLot
    made_here: bool
    batches: tuple[str, ...]


@dataclass(frozen=True)
class JoinedBatch:
    """A batch whose record counts, by the ``id`` of its record."""

    id: str
    record: MadeBatch
    made_of: tuple[MadeOf, ...]

    @property
    def key(self) -> BatchKey:
        return self.record.formula, same_lot(self.record.lot)


@dataclass(frozen=True)
class History:
    """The batches whose records count, by day, and ``corrected``: by the id of each record that
    doesn't count any more, the id of the one that replaces it. ``unread`` are the records that
    can't be read: what is in them nobody knows."""

    batches: Mapping[str, JoinedBatch]
    corrected: Mapping[str, str]
    unread: tuple[str, ...] = ()


def join_history(
    names: Names, joined: Mapping[str, JoinedFormula], as_of: datetime.date
) -> History:
    """The records of batches joined; what is wrong with them goes to the findings."""
    records = names.standards.made
    corrected = _corrected(names, records)
    counting = {i: r for i, r in records.items() if i not in corrected}
    made = _joined(names, counting)
    _twice(names, counting)
    _later(names, made)
    _circles(names, made)
    for ident, record in counting.items():
        for finding in _faults(names, joined, as_of, ident, record):
            grave: Severity = "warning" if finding.code == "record-day" else "note"
            names.findings.append(replace(finding, severity=grave))
    broken = [one.removeprefix(RECORD) for one in names.standards.broken if one.startswith(RECORD)]
    ordered = sorted(made.values(), key=lambda b: (b.record.day, in_order(b.id)))
    return History({b.id: b for b in ordered}, corrected, tuple(sorted(broken, key=in_order)))


def faults_of(
    names: Names, joined: Mapping[str, JoinedFormula], as_of: datetime.date, ident: str
) -> list[Finding]:
    """All that is wrong with the record ``ident``, held to what there is today: for one that is
    about to be kept."""
    before = len(names.findings)
    about = f"{RECORD}{ident}"
    join_history(names, joined, as_of)
    found = [f for f in names.findings[before:] if about in f.about and f.is_error]
    del names.findings[before:]
    record = names.standards.made[ident]
    return [
        *found,
        *_faults(names, joined, as_of, ident, record),
        *_outdated(joined, ident, record),
    ]


def _corrected(names: Names, records: Mapping[str, MadeBatch]) -> dict[str, str]:
    """The records that others replace, each with the one that does."""
    found: dict[str, str] = {}
    for ident, record in sorted(records.items(), key=lambda one: in_order(one[0])):
        of = record.corrects
        if of is None:
            continue
        place = record.place("corrects")
        if not record.why:
            words = f"Why is `{of}` corrected? The record doesn't say."
            _error(
                names,
                "record-corrects",
                ident,
                record.key_place("corrects"),
                words,
                "Write it under `why`.",
            )
        if of not in records or of == ident:
            if f"{RECORD}{of}" not in names.standards.broken:
                words = f"There is no other record `{of}` to correct."
                _error(
                    names, "record-corrects", ident, place, words, "Name its file without .yaml."
                )
        elif of in found:
            words = f"`{of}` is corrected by `{found[of]}` already."
            _error(
                names,
                "record-corrects",
                ident,
                place,
                words,
                f"Correct `{found[of]}`.",
                (place.fixed(found[of]),),
            )
        else:
            found[of] = ident
    return _without_rings(names, records, found)


def _without_rings(
    names: Names, records: Mapping[str, MadeBatch], found: dict[str, str]
) -> dict[str, str]:
    """The corrections, where following them ends; records that correct each other all count."""
    for ident in list(found):
        seen = [ident]
        while seen[-1] in found and found[seen[-1]] not in seen:
            seen.append(found[seen[-1]])
        if found.get(seen[-1]) == ident:
            for one in seen:
                words = "These records correct each other. Which one holds?"
                place = records[one].place("corrects")
                _error(
                    names,
                    "record-corrects",
                    one,
                    place,
                    words,
                    "Delete `corrects` in the first of them.",
                )
                del found[one]
    return found


def _joined(names: Names, records: Mapping[str, MadeBatch]) -> dict[str, JoinedBatch]:
    """Each record with the batches its lines come of: those of the formula the line names, or, of
    a by-product, of the formula it came out of."""
    by_key: dict[BatchKey, list[str]] = {}
    for ident, record in records.items():
        by_key.setdefault((record.formula, same_lot(record.lot)), []).append(ident)
    formulas = {record.formula for record in records.values()}
    found: dict[str, JoinedBatch] = {}
    for ident, record in records.items():
        made_of: list[MadeOf] = []
        for used in record.used:
            here = used.item in formulas or used.item in names.standards.formulas
            batches: list[str] = []
            if here and used.lot is not None:
                own = by_key.get((used.item, same_lot(used.lot)), [])
                batches = own or by_key.get((_parent(names, used.item), same_lot(used.lot)), [])
            made_of.append(MadeOf(used, here, tuple(batches)))
        found[ident] = JoinedBatch(ident, record, tuple(made_of))
    return found


def _parent(names: Names, item: str) -> str:
    """The formula a by-product comes out of; empty for any other formula."""
    formula = names.standards.formulas.get(item)
    of = formula.by_product if formula is not None else None
    return of.formula if of is not None else ""


def _error(
    names: Names,
    code: str,
    ident: str,
    place: Place,
    words: str,
    help: str,
    write: tuple[str, ...] = (),
) -> None:
    names.error(code, place, words, help, f"{RECORD}{ident}", write)


def _twice(names: Names, records: Mapping[str, MadeBatch]) -> None:
    """Two records of one batch, neither of which corrects the other."""
    first: dict[BatchKey, str] = {}
    for ident, record in sorted(records.items(), key=lambda one: in_order(one[0])):
        other = first.setdefault((record.formula, same_lot(record.lot)), ident)
        if other != ident:
            words = f"Batch {record.lot} of {record.formula} is in `{other}` as well."
            help = f"Is it corrected? Write corrects: {other}, and `why`. Is it another batch? "
            help += "Give it another number."
            _error(names, "record-twice", ident, record.place("lot"), words, help)


def _later(names: Names, made: Mapping[str, JoinedBatch]) -> None:
    """A batch made of one that was made on a later day."""
    for batch in made.values():
        for number, part in enumerate(batch.made_of):
            later = [i for i in part.batches if made[i].record.day > batch.record.day]
            if later and len(later) == len(part.batches):
                day = date(made[later[0]].record.day)
                words = f"{part.used.item} {part.used.lot} was made on {day}, after this batch."
                place = batch.record.place("used", number, "lot")
                _error(
                    names, "record-of-later", batch.id, place, words, "Check the lot and the days."
                )


def _circles(names: Names, made: Mapping[str, JoinedBatch]) -> None:
    """Batches that would be made of each other."""
    graph = {i: {one for part in b.made_of for one in part.batches} for i, b in made.items()}
    while True:
        try:
            list(TopologicalSorter(graph).static_order())
            return
        except CycleError as error:
            ring = list(dict.fromkeys(str(one) for one in error.args[1]))
            for ident in ring:
                place = made[ident].record.key_place("used")
                words = f"These batches are made of each other: {' → '.join(ring)}."
                _error(names, "record-in-circle", ident, place, words, "Check their lots.")
                graph[ident] = graph[ident] - set(ring)


def _faults(
    names: Names,
    joined: Mapping[str, JoinedFormula],
    as_of: datetime.date,
    ident: str,
    record: MadeBatch,
) -> Iterator[Finding]:
    """What a record names that isn't there, and figures that can't be."""
    about = frozenset({f"{RECORD}{ident}"})
    if record.day > as_of:
        words = f"This batch is of {date(record.day)}. Today is {date(as_of)}."
        place = record.place("day")
        yield Finding("record-day", "error", words, place, "Check the day.", about=about)
    held = names.standards
    yield from _unknown(
        names,
        ident,
        "record-formula-unknown",
        "formula",
        record.formula,
        record.place("formula"),
        held.formulas,
    )
    known = {*held.formulas, *held.ingredients}
    for number, used in enumerate(record.used):
        place = record.place("used", number, "item")
        yield from _unknown(
            names, ident, "record-item-unknown", "ingredient or formula", used.item, place, known
        )
    formula = joined.get(record.formula)
    if formula is None:
        return
    current = formula.formula.revision
    if record.revision > current:
        words = f"{record.formula} has no revision {record.revision}. Its newest is {current}."
        place = record.place("revision")
        yield Finding(
            "record-revision",
            "error",
            words,
            place,
            "Check the batch sheet it was made by.",
            (place.fixed(str(current)),),
            about=about,
        )
    elif record.revision == current:
        yield from faults_of_steps(names, formula, ident, record)


def faults_of_steps(
    names: Names, formula: JoinedFormula, ident: str, record: MadeBatch
) -> Iterator[Finding]:
    """Steps that the formula doesn't have; weights that a step can't have made."""
    steps = {step.id: step for step in formula.steps}
    known = list(dict.fromkeys([*steps, "store"]))
    for step, place in _steps_named(record):
        yield from _unknown(names, ident, "record-step-unknown", "step", step, place, known)
    about = frozenset({f"{RECORD}{ident}"})
    for number, one in enumerate(record.weights):
        if one.step in steps and one.after.value > one.before.value and not _gains(steps[one.step]):
            words = f"`{one.step}` gains no weight. Here {one.before.text} became {one.after.text}."
            place = record.place("weights", number, "after")
            help = "Check the two weights."
            yield Finding("record-weights", "error", words, place, help, about=about)


def _gains(step: JoinedStep) -> bool:
    return step.yields is not None and step.yields.high > 1


def _steps_named(record: MadeBatch) -> Iterator[tuple[str, Place]]:
    """Every step a record names, and where."""
    for number, reading in enumerate(record.readings):
        yield reading.step, record.place("readings", number, "step")
    for number, weights in enumerate(record.weights):
        yield weights.step, record.place("weights", number, "step")
    for step in record.times:
        yield step, record.key_place("times", step)
    for number, one in enumerate(record.deviations):
        if one.step is not None:
            yield one.step, record.place("deviations", number, "step")


def _unknown(
    names: Names, ident: str, code: str, what: str, name: str, place: Place, known: Iterable[str]
) -> Iterator[Finding]:
    """The finding about a name that isn't there; none where it is."""
    if name in known:
        return
    before = len(names.findings)
    names.unknown(code, what, name, place, known, f"{RECORD}{ident}")
    found = names.findings[before:]
    del names.findings[before:]
    yield from found


def _outdated(
    joined: Mapping[str, JoinedFormula], ident: str, record: MadeBatch
) -> Iterator[Finding]:
    """A batch made by a revision that wasn't in force on its day."""
    formula = joined.get(record.formula)
    if formula is None or record.revision > formula.formula.revision:
        return
    current, since = formula.formula.revision, formula.formula.effective
    words = ""
    if record.revision < current and record.day >= since:
        words = (
            f"It was made by revision {record.revision}; {current} is in force since {date(since)}."
        )
    elif record.revision == current and record.day < since:
        words = f"It was made before revision {current} was in force, on {date(since)}."
    if words:
        place = record.place("revision")
        help = "Was it so? Record it with --earlier-revision, and say so under `deviations`. "
        help += "If not, write the right revision."
        yield Finding(
            "record-revision", "error", words, place, help, about=frozenset({f"{RECORD}{ident}"})
        )
