"""Where each ingredient, process, piece of equipment and caution is used in a manual.

Formulas that can't be computed are counted as well, without an amount, so that no list of uses is
shorter than it should be and none of it looks complete when it isn't.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from generator.records.equipment import Scale
from generator.records.formula import Line
from generator.reference.cautions import RANK
from generator.sheet.cautioning import ASK_FIRST, Notice
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet


@dataclass(frozen=True)
class Use:
    """One line a formula takes an ingredient in by.

    ``amount`` is as written, empty for a formula that isn't computed. ``through`` holds the ids of
    the made-ahead formulas between, the one the ingredient is written in last; ``part`` and
    ``amount`` are then those of the line that takes the first of them in.
    """

    formula: str
    part: str
    amount: str
    prepare: str = ""
    through: tuple[str, ...] = ()


@dataclass(frozen=True)
class StepUse:
    """One step of a computed formula that uses a piece of equipment or raises a caution."""

    formula: str
    number: int
    verb: str


def ingredient_uses(manual: Manual) -> dict[str, tuple[Use, ...]]:
    """The uses of every ingredient id: written in the formula itself first, then through others."""
    found: dict[str, list[Use]] = {}
    for sheet in manual.sheets.values():
        for line in sheet.formula.lines:
            if line.formula is None:
                use = Use(sheet.id, line.part, _written(line.line), line.line.prepare)
                found.setdefault(line.item, []).append(use)
    for ident in manual.stopped:
        record = manual.standards.formulas.get(ident)
        for part, items in record.parts.items() if record else ():
            for item in items:
                found.setdefault(item, []).append(Use(ident, part, ""))
    inside: dict[str, dict[str, tuple[str, ...]]] = {}
    for sheet in manual.sheets.values():
        for item, use in _nested(manual, sheet, inside):
            found.setdefault(item, []).append(use)
    return {item: tuple(uses) for item, uses in found.items()}


def _written(line: Line) -> str:
    usual = f", usually {line.usual.text}" if line.usual is not None else ""
    return line.amount.text + usual


def _nested(
    manual: Manual, sheet: Sheet, inside: dict[str, dict[str, tuple[str, ...]]]
) -> Iterator[tuple[str, Use]]:
    """What a formula takes in inside made-ahead formulas, however deep."""
    for line in sheet.formula.lines:
        if line.formula is None:
            continue
        for item, path in _inside(manual, line.formula, inside).items():
            yield item, Use(sheet.id, line.part, _written(line.line), line.line.prepare, path)


def _inside(
    manual: Manual, ident: str, known: dict[str, dict[str, tuple[str, ...]]]
) -> dict[str, tuple[str, ...]]:
    """The ingredients of a formula, each with the first way down to it; worked out once each."""
    if ident not in known:
        found: dict[str, tuple[str, ...]] = {}
        for line in manual.walks[ident].formula.lines:
            if line.formula is None:
                found.setdefault(line.item, (ident,))
            else:
                for item, path in _inside(manual, line.formula, known).items():
                    found.setdefault(item, (ident, *path))
        known[ident] = found
    return known[ident]


def unread_formulas(manual: Manual) -> tuple[str, ...]:
    """The names of formulas of which nobody can say what they hold: no list counts them."""
    known = manual.standards.formulas
    return tuple(s.name for s in manual.stopped.values() if s.id not in known)


def process_uses(manual: Manual) -> dict[str, tuple[str, ...]]:
    """The ids of the computed formulas that follow each process, in the order of the manual."""
    found: dict[str, list[str]] = {}
    for sheet in manual.sheets.values():
        if sheet.formula.formula.process is not None:
            found.setdefault(sheet.formula.formula.process, []).append(sheet.id)
    return {process: tuple(ids) for process, ids in found.items()}


def equipment_uses(manual: Manual) -> dict[str, tuple[StepUse, ...]]:
    """The steps each machine, vessel and cold place is used at."""
    found: dict[str, list[StepUse]] = {}
    # By place: a sheet may be kept from an earlier reading, and hold that one's records.
    vessels = {record.place(): ident for ident, record in manual.standards.equipment.items()}
    for sheet in manual.sheets.values():
        for step in sheet.formula.steps:
            use = StepUse(sheet.id, step.number, step.verb)
            names = [step.step.with_, step.step.in_]
            if step.vessel is not None and (step.step.vessel or "fills" in step.effects):
                names.append(vessels.get(step.vessel.place()))
            for name in dict.fromkeys(n for n in names if n):
                found.setdefault(name, []).append(use)
    return {name: tuple(uses) for name, uses in found.items()}


def scale_uses(manual: Manual) -> dict[str, tuple[str, ...]]:
    """The ids of the formulas of which some line, in some batch size, goes on each scale."""
    equipment = manual.standards.equipment
    found: dict[str, list[str]] = {i: [] for i, e in equipment.items() if isinstance(e, Scale)}
    for sheet in manual.sheets.values():
        lines = (line for batch in sheet.batches for line in batch.lines)
        scales = {line.weighing.scale.id for line in lines if line.weighing.scale is not None}
        for ident in found:
            if ident in scales:
                found[ident].append(sheet.id)
    return {ident: tuple(ids) for ident, ids in found.items()}


@dataclass(frozen=True)
class Raised:
    """A caution that appears in the manual: as a page shows it, and where; a step of number 0 is
    the formula's page as a whole. ``off`` are (formula, reason) where it is switched off."""

    id: str
    notice: Notice | None
    name: str
    at: tuple[StepUse, ...]
    off: tuple[tuple[str, str], ...] = ()


def _as_listed(notice: Notice | None) -> Notice | None:
    """A caution as a list of them shows it."""
    if notice is None:
        return None
    return replace(notice, words=notice.words.removeprefix(f"{ASK_FIRST} "), whole=True)


def cautions_raised(manual: Manual) -> tuple[Raised, ...]:
    """Every caution raised or switched off in a computed formula, gravest first."""
    notices: dict[str, Notice] = {}
    at: dict[str, list[StepUse]] = {}
    off: dict[str, list[tuple[str, str]]] = {}
    for sheet in manual.sheets.values():
        for notice in sheet.notices.all:
            notices[notice.id] = notice
        for notice in sheet.notices.page:
            at.setdefault(notice.id, []).append(StepUse(sheet.id, 0, ""))
        for walked in sheet.walk.steps:
            step = walked.step
            for notice in sheet.notices.by_step.get(step.number, ()):
                at.setdefault(notice.id, []).append(StepUse(sheet.id, step.number, step.verb))
        for ident, reason in sheet.formula.formula.cautions_off.items():
            off.setdefault(ident, []).append((sheet.id, reason))
    known = manual.library.cautions
    found = [
        Raised(
            ident,
            _as_listed(notices.get(ident)),
            known[ident].name,
            tuple(at.get(ident, ())),
            tuple(off.get(ident, ())),
        )
        for ident in known
        if ident in notices or ident in off
    ]
    return tuple(sorted(found, key=lambda r: (RANK.index(known[r.id].severity), r.name.lower())))
