"""A batch that is about to be recorded, among those that are: what is wrong with it, and the
history with it."""

from __future__ import annotations

from dataclasses import replace

from generator.files.finding import Finding
from generator.records.made import MadeBatch, same_lot
from generator.resolve.made import History, faults_of, faults_of_steps, join_history
from generator.resolve.names import Names
from generator.sheet.manual import Manual
from generator.sheet.record_doubts import EARLIER, Kitchen, doubts_about


def earlier_record(manual: Manual, record: MadeBatch) -> str | None:
    """The id of the record of the same batch that counts now; None for none."""
    key = (record.formula, same_lot(record.lot))
    return next((b.id for b in manual.history.batches.values() if b.key == key), None)


def _with(manual: Manual, ident: str, record: MadeBatch) -> Names:
    made = {**manual.standards.made, ident: record}
    return Names(replace(manual.standards, made=made), manual.library)


def history_with(manual: Manual, ident: str, record: MadeBatch) -> History:
    """The history with one more record, under its id."""
    formulas = {i: w.formula for i, w in manual.walks.items()}
    return join_history(_with(manual, ident, record), formulas, manual.as_of)


def faults_with(
    manual: Manual,
    ident: str,
    record: MadeBatch,
    earlier_revision: bool,
    then: Manual | None = None,
) -> list[Finding]:
    """What is wrong with one more record, held to what there is today, its steps to those of the
    revision it was made by, in the standards of ``then``. With ``earlier_revision`` a revision that
    wasn't in force on its day is none of it; one that doesn't exist is."""
    formulas = {i: w.formula for i, w in manual.walks.items()}
    names = _with(manual, ident, record)
    found = faults_of(names, formulas, manual.as_of, ident)
    if then is not None:
        found += faults_of_steps(names, then.walks[record.formula].formula, ident, record)
    formula = formulas.get(record.formula)
    exists = formula is not None and record.revision <= formula.formula.revision
    if earlier_revision and exists:
        found = [f for f in found if f.code != "record-revision"]
    return found


def doubts_with(
    manual: Manual, ident: str, history: History, then: Manual | None = None
) -> tuple[Finding, ...]:
    """What can hardly be so in the record ``ident`` of a history: it is kept, and this is said. A
    record of an earlier revision is held to its formula in the standards of ``then``."""
    sheets, walks = manual.sheets, manual.walks
    if then is not None:
        formula = history.batches[ident].record.formula
        sheets = {**sheets, formula: then.sheets[formula]}
        walks = {**walks, formula: then.walks[formula]}
    kitchen = Kitchen(manual.house, manual.standards, sheets, walks, history)
    return tuple(f for f in doubts_about(kitchen, ident) if f.code != EARLIER)
