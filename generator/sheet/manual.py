"""The one pipeline: a project's files in, every sheet and every finding out."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from generator.files.finding import BrokenData, Finding, Place, bounded, in_order
from generator.files.kept import NOTHING, Kept
from generator.files.progress import counted_off
from generator.intake.cards import once_a_card
from generator.intake.reading import EVERYTHING
from generator.intake.standards import Standards, read_standards
from generator.measures.marks import Writing, written_with
from generator.records.kitchen import today_at
from generator.records.label_law import LabelLaw
from generator.records.process import Step, StepChange
from generator.reference.library import Library
from generator.reference.shared_data import folder_for
from generator.resolve.by_products import once_said, with_by_products
from generator.resolve.equipment import CHECK_CODES
from generator.resolve.facts import filled_in, offer_allergens
from generator.resolve.join import Joined, join
from generator.resolve.joined import House, JoinedFormula, confirmed_in
from generator.resolve.made import History
from generator.resolve.pictures import pages_folder, picture_findings
from generator.resolve.plans import JoinedPlan
from generator.rules.routine.checks import CheckedRoutine
from generator.rules.store.shelf import Shelf, shelf_of
from generator.sheet.bounded import bound_findings
from generator.sheet.by_products import all_with_sizes, asked_for_too_much
from generator.sheet.cautioning import Raised, shared_machines
from generator.sheet.composed import Made, MadeBy
from generator.sheet.doughs import Dough, dough_of
from generator.sheet.heat_forecast import Forecast, Forecasts
from generator.sheet.heat_warning import slow_chills
from generator.sheet.history import YieldSeries, drift_findings, histories
from generator.sheet.house_limit_findings import house_limit_findings
from generator.sheet.identity import held_to_standards
from generator.sheet.inputs import Inputs, base_of, kept_library, reference_hash
from generator.sheet.keeping import Computing, Keeping
from generator.sheet.order import Order, needs_broken, order_of, shelf_doubts
from generator.sheet.record_doubts import Kitchen, record_doubts
from generator.sheet.routines import checked_routines
from generator.sheet.sheet import Sheet, make_sheet
from generator.sheet.shopping import pack_findings, shelf_findings
from generator.sheet.statement import Statements
from generator.sheet.walk import Walk, walk


@dataclass(frozen=True)
class Stopped:
    """A formula that could not be computed, and the findings that stop it."""

    id: str
    name: str
    file: str
    station: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, kw_only=True)
class _Checked:
    """What is known of a project on one day, computed or not: its findings, and the formulas they
    stop, by id; ``files`` were read."""

    project: Path
    as_of: datetime.date
    stopped: dict[str, Stopped]
    findings: tuple[Finding, ...]
    files: int

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that have to be fixed."""
        return tuple(f for f in self.findings if f.is_error)

    @property
    def is_empty(self) -> bool:
        """Whether there is no formula at all: of nothing no site is built."""
        return any(f.code == "formulas-missing" for f in self.findings)


@dataclass(frozen=True)
class Read:
    """What was read of a project, before anything is joined."""

    standards: Standards
    library: Library


@dataclass(frozen=True, kw_only=True)
class Broken(_Checked):
    """A project without a house to compute in: only findings, and what could be read; ``read`` is
    None where the reference data holds no units to read anything by."""

    read: Read | None

    @property
    def writing(self) -> Writing:
        """How its texts are written: the kitchen's way, or the usual one where none could be
        read."""
        return self.read.standards.writing if self.read is not None else Writing()


@dataclass(frozen=True, kw_only=True)
class Manual(_Checked):
    """Everything computed from one project on one day, in the house that was read; ``shelves`` are
    the own limits of every ingredient, by its id, ``routines`` the process specs that stand
    alone, ``plans`` what is served when, ``history`` the batches that were made,
    ``yields`` what they say of yields, by formula."""

    house: House
    standards: Standards
    library: Library
    sheets: dict[str, Sheet]
    walks: dict[str, Walk]
    shelves: dict[str, Shelf]
    routines: dict[str, CheckedRoutine]
    plans: dict[str, JoinedPlan]
    history: History
    yields: Mapping[str, tuple[YieldSeries, ...]]
    keeping: Keeping = field(default_factory=Keeping, repr=False)
    held_back: Mapping[str, Sheet] = field(default_factory=dict, repr=False)
    """The sheets of formulas that are stopped, as far as they could be computed."""

    @functools.cached_property
    def known(self) -> Mapping[str, Sheet]:
        """The sheets, and those that only a check of a thermometer or a scale holds back: what is
        in a formula, and how long it keeps, doesn't hang on one. For what was made already, never
        for what is to be made."""
        checked = {
            ident: sheet
            for ident, sheet in self.held_back.items()
            if all(f.code in CHECK_CODES for f in self.stopped[ident].findings)
        }
        return {**self.sheets, **checked}

    @functools.cached_property
    def variants(self) -> Mapping[str, tuple[str, ...]]:
        """By each formula's id those of its variants that have a sheet; of one without any,
        nothing."""
        found: dict[str, list[str]] = {}
        for ident, sheet in self.sheets.items():
            base = sheet.formula.formula.variant_of
            if base is not None:
                found.setdefault(base, []).append(ident)
        return {base: tuple(idents) for base, idents in found.items()}

    def shelves_of(self, sheets: Iterable[Sheet]) -> list[Shelf]:
        """The own limits of each ingredient that some sheets use, in the order of their ids."""
        used = {line.joined.item for sheet in sheets for line in sheet.walk.lines}
        return [self.shelves[item] for item in sorted(used & set(self.shelves))]

    @functools.cached_property
    def made(self) -> Mapping[str, Made]:
        """What every formula walked is made of, by its id: each worked out when first asked for."""
        return MadeBy(self.house, self.walks)

    @functools.cached_property
    def labelled(self) -> Mapping[str, Made]:
        """The same, with all that a label asks for."""
        return MadeBy(self.house, self.walks, labelled=True)

    @functools.cached_property
    def stated(self) -> Statements:
        """The ingredients of every formula walked, as the law of labels in force lists them."""
        return Statements(self.house, self.walks, self.label_law)

    @property
    def label_law(self) -> LabelLaw:
        """The law of labels that goes with the list of allergens in force."""
        return self.library.label_laws[self.house.allergens.label_law]

    @functools.cached_property
    def orders(self) -> Mapping[str, Order]:
        """What follows from each plan that is sound and whose formulas all have a sheet, by its id:
        worked out when first asked for."""
        return {
            ident: order_of(self, plan)
            for ident, plan in self.plans.items()
            if plan.sound and not needs_broken(self, plan)
        }

    @functools.cached_property
    def forecasts(self) -> Mapping[str, tuple[Forecast, ...]]:
        """How each formula's chills and cooks likely go, by its id: worked out when first asked
        for."""
        return Forecasts(self.house, self.sheets, self.made, self.standards.equipment)

    def dough(self, formula: str) -> Dough | None:
        """The dough a formula makes, by its id; None if it makes none."""
        return dough_of(self.house, self.walks[formula], self.walks, lambda: self.made)

    @property
    def writing(self) -> Writing:
        """How its texts are written."""
        return self.standards.writing


def make_manual(
    project: Path, as_of: datetime.date | None, history: bool = True, kept: Kept = NOTHING
) -> Manual | Broken:
    """Read, join, walk and compute a project on a day; without ``as_of`` on the kitchen's today.
    Bad input becomes findings; nothing is raised. Without ``history`` the records of batches stay
    unread. What is ``kept`` of earlier runs is used.

    Without a kitchen and its rule pack there is no house, and nothing can be computed: the result
    is ``Broken``.
    """
    folder = folder_for(project)
    try:
        reference = reference_hash(folder) if kept.keeps else ""
        library = kept_library(folder, kept, reference)
        standards = read_standards(project, folder, history, kept)
        if reference and reference_hash(folder) != reference:
            reference = ""  # it changed while it was read
    except BrokenData as broken:
        findings = tuple(bounded(broken.findings))
        day = as_of or today_at(None)
        return Broken(project=project, as_of=day, stopped={}, findings=findings, files=0, read=None)
    with written_with(standards.writing):
        day = as_of or today_at(standards.kitchen)
        return computed(project, day, Read(standards, library), Beside(kept, reference=reference))


@dataclass(frozen=True)
class Beside:
    """What a computing has beside what was read: what is kept, under the hash of the ``reference``
    data; where some formulas of a kitchen alone are computed, the standards ``whole``, the
    ``walks`` of the rest, and the ``base`` of all hashes."""

    kept: Kept
    reference: str = ""
    base: str = ""
    whole: Standards | None = None
    walks: Mapping[str, Walk] = field(default_factory=dict)


def computed(project: Path, as_of: datetime.date, read: Read, beside: Beside) -> Manual | Broken:
    """What comes of what was read, in the kitchen's decimal mark."""
    library, standards = read.library, read.standards
    standards = with_by_products(filled_in(standards, library), library.verbs)
    joined = join(standards, library, as_of, beside.whole)
    pictures = picture_findings(standards, pages_folder(project))
    declared_by = joined.house.allergens if joined.house is not None else None
    offered = offer_allergens(standards, library, standards.findings, declared_by)
    findings = [*library.findings, *offered, *pictures, *joined.findings]
    files = standards.files + library.files
    house = joined.house
    if house is None:
        ordered, stopped = _accounted(standards, {}, findings, housed=False)
        return Broken(
            project=project,
            as_of=as_of,
            stopped=stopped,
            findings=ordered,
            files=files,
            read=Read(standards, library),
        )
    base = beside.base or base_of(standards, library, as_of, beside.reference)
    inputs = Inputs(standards, joined.formulas, base)
    computing = Computing(beside.kept, house, standards, inputs)
    walks = _walked(house, joined, findings, computing)
    made = MadeBy(house, walks)  # what food is made of hangs on no limit
    walks, misnamed = held_to_standards(house, walks, made)
    findings.extend(misnamed)
    shared = shared_machines({**beside.walks, **walks}.values())
    sheets = _sheets(house, joined, walks, shared, computing)
    for sheet in sheets.values():
        findings.extend(sheet.findings)
    findings.extend(asked_for_too_much(walks))
    findings.extend(slow_chills(house, sheets, walks, standards.equipment))
    findings.extend(pack_findings(house, standards.ingredients))
    findings.extend(shelf_findings(house, standards, joined.plans))
    findings.extend(shelf_doubts(sheets, joined.plans))
    findings.extend(bound_findings(house, walks, made))
    yields = histories(joined.history, walks)
    findings.extend(drift_findings(yields))
    kitchen = Kitchen(house, standards, sheets, walks, joined.history)
    findings.extend(record_doubts(kitchen))
    findings = _stopped_at_the_scale(house, sheets, findings)
    shelves = {i: shelf_of(house, i, facts) for i, facts in standards.ingredients.items()}
    findings = house_limit_findings(house, standards, walks, shelves, findings)
    routines = checked_routines(house, standards, findings)
    ordered, stopped = _accounted(standards, sheets, findings, housed=True)
    return Manual(
        project=project,
        as_of=as_of,
        house=house,
        standards=standards,
        library=library,
        sheets={i: s for i, s in sheets.items() if i not in stopped},
        walks=walks,
        stopped=stopped,
        findings=ordered,
        files=files,
        shelves=shelves,
        routines=routines,
        plans=joined.plans,
        history=joined.history,
        yields=yields,
        keeping=computing.keeping(sheets),
        held_back={i: s for i, s in sheets.items() if i in stopped},
    )


def _walked(
    house: House, joined: Joined, findings: list[Finding], computing: Computing
) -> dict[str, Walk]:
    """The walk of every formula that can be weighed and that is made of such; what prevents others
    goes to ``findings``."""
    walks: dict[str, Walk] = {}
    misnamed = frozenset(i for f in joined.findings if f.code == "species-unknown" for i in f.about)
    for ident, formula in counted_off("Working out", joined.formulas.items()):
        if misnamed & formula.uses or not all(sub in walks for sub in formula.sub_formulas):
            continue  # a limit for a species nobody knows would only mislead
        result = computing.walk(formula, partial(walk, house, formula, walks))
        if isinstance(result, tuple):
            findings.extend(result)
        else:
            walks[ident] = result
    for formula in joined.salvaged.values():
        findings.extend(_of_the_rest(house, formula, walks))
    return all_with_sizes(walks)


def _stopped_at_the_scale(
    house: House, sheets: dict[str, Sheet], findings: list[Finding]
) -> list[Finding]:
    """The findings, where those of a doubted scale stop what can't be weighed without it: a cure
    that no other scale weighs."""
    waiting = frozenset(ident for ident, sheet in sheets.items() if sheet.waits_for_scale)
    doubted = {f"equipment:{ident}" for ident in house.doubted}
    if not waiting:
        return findings
    return [
        replace(f, severity="error", about=f.about | waiting) if f.about & doubted else f
        for f in findings
    ]


def _sheets(
    house: House,
    joined: Joined,
    walks: dict[str, Walk],
    shared: frozenset[str],
    computing: Computing,
) -> dict[str, Sheet]:
    """The sheet of every formula walked, with its cautions and what is confirmed of it; ``shared``
    are the machines shared by raw and ready food."""

    def sheet_of(walked: Walk) -> Sheet:
        sheet = make_sheet(house, walked, Raised(house, walked, shared), house.as_of)
        if computing.keeps:
            _ = sheet.notices  # kept with it
        return replace(sheet, confirmed=confirmed_in(walked.formula, joined.formulas))

    return {
        ident: computing.sheet(walked, shared, partial(sheet_of, walked))
        for ident, walked in counted_off("Making sheets", walks.items())
    }


def _accounted(
    standards: Standards, sheets: dict[str, Sheet], findings: list[Finding], housed: bool
) -> tuple[tuple[Finding, ...], dict[str, Stopped]]:
    """The findings in their order, as many as are reported, and the formulas they stop; one that
    stops without a word of its own gets an error."""
    findings = once_said(findings, standards.formulas)
    ordered = tuple(in_order(once_a_card(findings, standards.cards)))
    stopped = _stopped(standards, sheets, ordered, housed)
    silent = {i: one for i, one in stopped.items() if not one.findings}
    if silent:
        first = [one for i, one in silent.items() if not (_named(standards, i) - {i}) & set(silent)]
        ordered = tuple(in_order([*ordered, *map(_not_computed, first or silent.values())]))
        stopped = _stopped(standards, sheets, ordered, housed)
    return tuple(bounded(ordered)), stopped


_REPORTED_OF_A_PART = frozenset(
    {
        "target-below-limit",
        "target-above-limit",
        "target-within-probe-error",
        "keeps-beyond-law",
        "not-covered",
        "undercooked-refused",
        "undercooked-kept",
        "ounce-of-a-liquid",
        "unit-weight-missing",
    }
)


def _of_the_rest(house: House, formula: JoinedFormula, walks: dict[str, Walk]) -> list[Finding]:
    """What is wrong in the readable rest of a faulty formula, as far as the missing lines can't
    be the reason for it."""
    if not all(sub in walks for sub in formula.sub_formulas):
        return []
    result = walk(house, formula, walks)
    findings = result if isinstance(result, tuple) else result.findings
    return [f for f in findings if f.code in _REPORTED_OF_A_PART]


def _not_computed(stopped: Stopped) -> Finding:
    """An error on a formula that none of its own is known for: no standard vanishes in silence."""
    return Finding(
        "formula-not-computed",
        "error",
        f"{stopped.name} can't be computed, and no other finding says why.",
        Place(stopped.file),
        "Fix the other findings first; then look at its base, parts and process.",
        about=frozenset({stopped.id}),
    )


def _stopped(
    standards: Standards, sheets: dict[str, Sheet], findings: tuple[Finding, ...], housed: bool
) -> dict[str, Stopped]:
    """Formulas without a sheet, or with an error on them or on anything they are made of; each with
    the errors that stop it. Without a house (not ``housed``) every error stops them all."""
    by_id = _errors_by_id(findings, housed)
    hits: dict[str, dict[int, Finding]] = {}
    parts: dict[str, frozenset[str]] = {}
    for ident in standards.formula_files:
        sheet = sheets.get(ident)
        mine = sheet.formula.uses if sheet is not None else _named(standards, ident)
        hits[ident] = dict(hit for one in mine for hit in by_id.get(one, ()))
        parts[ident] = mine & standards.formula_files.keys() - {ident}
    _inherit(hits, parts)
    return {
        ident: _stop(standards, ident, tuple(found[n] for n in sorted(found)))
        for ident, found in hits.items()
        if found or ident not in sheets
    }


def _errors_by_id(
    findings: tuple[Finding, ...], housed: bool
) -> dict[str, list[tuple[int, Finding]]]:
    """The errors about each record, numbered in their order; without a house each is about
    everything."""
    found: dict[str, list[tuple[int, Finding]]] = {}
    for number, finding in enumerate(f for f in findings if f.is_error):
        for ident in finding.about if housed else {*finding.about, EVERYTHING}:
            found.setdefault(ident, []).append((number, finding))
    return found


def _inherit(hits: dict[str, dict[int, Finding]], parts: dict[str, frozenset[str]]) -> None:
    """What stops a formula stops every formula made of it."""
    made_into: dict[str, list[str]] = {}
    for ident, used in parts.items():
        for part in used:
            made_into.setdefault(part, []).append(ident)
    due = [ident for ident, found in hits.items() if found]
    while due:
        part = due.pop()
        for ident in made_into.get(part, ()):
            if not hits[part].keys() <= hits[ident].keys():
                hits[ident].update(hits[part])
                due.append(ident)


def _stop(standards: Standards, ident: str, findings: tuple[Finding, ...]) -> Stopped:
    record = standards.formulas.get(ident)
    station = record.home if record else standards.stations_named.get(ident, "")
    name, file = standards.names.get(ident, ident), standards.formula_files[ident]
    return Stopped(ident, name, file, station, tuple(bounded(findings)))


def _named(standards: Standards, ident: str) -> frozenset[str]:
    """What a formula that couldn't be joined depends on, as far as its record says."""
    record = standards.formulas.get(ident)
    if record is None:
        return frozenset({ident, EVERYTHING})
    uses = {ident, EVERYTHING, *(f"station:{s}" for s in record.station)}
    if record.by_product is not None:
        uses.add(record.by_product.formula)
    if record.process is not None:
        uses.add(f"process:{record.process}")
    uses |= {item for items in record.parts.values() for item in items}
    process = standards.processes.get(record.process or "")
    said: list[Step | StepChange] = [*record.steps, *record.changes.values()]
    said += process.steps if process is not None else ()
    for step in said:
        uses |= {f"equipment:{n}" for n in (step.with_, step.in_, step.vessel) if n}
    return frozenset(uses)
