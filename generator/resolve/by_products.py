"""By-products: an output that is kept becomes a formula of its own, as if it were written out with
the steps up to the one that leaves it, so that no rule has to know of by-products."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Mapping as MappingOf
from dataclasses import dataclass, field, replace
from typing import Any

from generator.files.finding import Finding, Place
from generator.files.source_text import Mapping
from generator.intake.standards import Standards
from generator.records.by_product import ByProduct
from generator.records.fields import MOST_ID
from generator.records.formula import ByProductOf, Formula
from generator.records.process import Left, Process, Step
from generator.reference.rows import Verb
from generator.resolve.makes import worded
from generator.resolve.one_choice import completed, does, with_base

_OWN = (
    *("keeps", "not_tcs", "without_air", "cooked_later", "cautions_off", "looks_right"),
    *("looks_wrong", "picture", "other_names", "note", "makes"),
)
"""What a by-product says itself; what the formula says of its own food isn't meant for it."""
_NOT_ITS_OWN: dict[str, Any] = {
    "process": None,
    "changes": {},
    "endings": {},
    "by_products": {},
    "dough": None,
    "eaten_frozen": False,
    "to_order": False,
    "undercooked": "",
    "quid": (),
}
_BY_STEP = ("targets", "times", "yield_tests", "house_limits")
"""What a formula says by the ids of its steps."""


@dataclass(frozen=True)
class _Output:
    """An output of a formula: its name, what the step says of it, the steps as the formula changes
    them, and the number of the one that leaves it."""

    formula: str
    record: Formula
    name: str
    left: Left
    steps: tuple[Step, ...]
    number: int

    @property
    def ident(self) -> str:
        """The id of the by-product."""
        return f"{self.formula}-{self.name}"

    @property
    def place(self) -> Place:
        """Where the output's name is written."""
        return self.steps[self.number - 1].key_place("leaves", self.name)


def with_by_products(standards: Standards, verbs: MappingOf[str, Verb]) -> Standards:
    """The standards with a formula for every output that `by_products` describes, or that a
    formula's line takes."""
    made = _Made(standards, verbs, _taken(standards))
    waiting = dict(standards.formulas)
    while waiting:
        ident, formula = waiting.popitem()
        waiting |= made.of(ident, formula)
    whole = _with(standards, made.found, made.said) if made.found or made.said else standards
    whole = replace(whole, broken=whole.broken | made.unsound) if made.unsound else whole
    return _waiting_for_the_unread(whole, made.taken)


@dataclass
class _Made:
    """The by-products made so far, what was said of them, and the ids of those that can't be."""

    standards: Standards
    verbs: MappingOf[str, Verb]
    taken: frozenset[str]
    found: dict[str, Formula] = field(default_factory=dict)
    said: list[Finding] = field(default_factory=list)
    unsound: set[str] = field(default_factory=set)

    def of(self, ident: str, formula: Formula) -> dict[str, Formula]:
        """Those of one formula."""
        outputs = {one.name: one for one in _outputs(self.standards, ident, formula, self.verbs)}
        misnamed = list(_unknown(self.standards, ident, formula, outputs))
        self.said += misnamed
        new: dict[str, Formula] = {}
        for one in outputs.values():
            described = one.name in formula.by_products
            if not (described or one.ident in self.taken):
                continue
            wrong = list(_wrong(self.standards, self.found, one))
            self.said += wrong
            if wrong or (misnamed and not described):
                self.unsound.add(one.ident)
            elif one.ident not in self.standards.names:
                new[one.ident] = _record(one, self.verbs)
        self.found |= new
        return new


def _with(standards: Standards, found: dict[str, Formula], said: list[Finding]) -> Standards:
    files = {i: standards.formula_files[_first(found, i)] for i in found}
    return replace(
        standards,
        formulas={**standards.formulas, **found},
        formula_files={**standards.formula_files, **files},
        names={**standards.names, **{i: one.name for i, one in found.items()}},
        findings=(*standards.findings, *said),
    )


def _first(found: MappingOf[str, Formula], ident: str) -> str:
    """The formula that is written in a file, of which a by-product is one, at whatever remove."""
    while ident in found:
        of = found[ident].by_product
        assert of is not None
        ident = of.formula
    return ident


def _taken(standards: Standards) -> frozenset[str]:
    """Whatever some formula's line names."""
    records = (*standards.formulas.values(), *standards.salvaged.values())
    return frozenset(i for record in records for items in record.parts.values() for i in items)


def _waiting_for_the_unread(standards: Standards, taken: frozenset[str]) -> Standards:
    """Names that may be by-products of a formula that can't be read are no unknown names."""
    lost = standards.formula_files.keys() - standards.formulas.keys()
    lost |= {
        i
        for i, one in standards.formulas.items()
        if one.process is not None and one.process not in standards.processes
    }
    known = {*standards.formulas, *standards.ingredients, *standards.formula_files}
    unknown = taken - known
    of = {one: {i for i in unknown if i.startswith(f"{one}-")} for one in lost}
    meant = frozenset().union(*of.values())
    if not meant:
        return standards
    findings = tuple(
        replace(f, about=f.about.union(*(of.get(ident, ()) for ident in f.about)))
        for f in standards.findings
    )
    return replace(standards, broken=standards.broken | meant, findings=findings)


def _outputs(
    standards: Standards, ident: str, formula: Formula, verbs: MappingOf[str, Verb]
) -> Iterator[_Output]:
    """What a formula's steps leave behind, each by a name."""
    process = _process(standards, formula)
    if process is None or not any(step.leaves for step in process.steps):
        return
    whole = completed(process, with_base(worded(formula)), standards.equipment, verbs)
    steps = tuple(
        step.changed_by(formula.changes[i]) if i in formula.changes else step
        for step, i in zip(whole.steps, whole.step_ids(), strict=True)
    )
    for number, step in enumerate(steps, 1):
        for name, left in step.leaves.items():
            if formula.by_product is None or number > formula.by_product.step:
                yield _Output(ident, formula, name, left, steps, number)


def _process(standards: Standards, formula: Formula) -> Process | None:
    """The steps of a formula: its own, its process's, or those with an ending's behind them."""
    shared = standards.processes.get(formula.process or "")
    if formula.process is None:
        return Process(name=formula.name, steps=formula.steps) if formula.steps else None
    if shared is not None and formula.ending is not None and formula.ending.on_process:
        return shared.model_copy(update={"steps": (*shared.steps, *formula.steps)})
    return shared if not formula.steps else None


def _unknown(
    standards: Standards, ident: str, formula: Formula, outputs: MappingOf[str, _Output]
) -> Iterator[Finding]:
    """An error for each by-product that no step leaves behind. Of a card's endings it may be one
    alone that leaves it."""
    if _process(standards, formula) is None or formula.ending is not None:
        return
    known = ", ".join(outputs)
    for name in formula.by_products.keys() - outputs.keys():
        yield Finding(
            "by-product-unknown",
            "error",
            f"No step leaves `{name}` behind.",
            formula.key_place("by_products", name),
            f"Known here: {known}."
            if known
            else f"Write at the step that leaves it: `leaves: {{{name}: {{share: 40 %, then: "
            "kept}}`.",
            about=frozenset({ident, *(one.ident for one in outputs.values())}),
        )


def _wrong(standards: Standards, found: MappingOf[str, Formula], one: _Output) -> Iterator[Finding]:
    """What keeps an output from being a formula of its own."""
    said = one.name in one.record.by_products
    place = one.record.key_place("by_products", one.name) if said else one.place
    about = frozenset({one.formula, one.ident})
    if one.left.then != "kept":
        yield Finding(
            "by-product-not-kept",
            "error",
            f"`{one.name}` is {one.left.then.replace('-', ' ')} at step {one.number}. "
            + ("It has `by_products`." if said else f"Another formula takes `{one.ident}`."),
            one.left.place("then"),
            f"Write `then: kept` there, as in `{one.name}: {{share: 40 %, then: kept}}`."
            + ("" if said else " Or don't take it."),
            (one.left.place("then").fixed("kept"),) if one.left.states("then") else (),
            about=about,
        )
    if len(one.ident) > MOST_ID:
        message = f"`{one.ident}` is over {MOST_ID} letters long. An id must be shorter."
        help = "Shorten the output's name, or the name of the file."
        yield Finding("id-form", "error", message, place, help, about=about)
    if said and (one.ident in found or _held(standards, one.ident)):
        message = f"This by-product is called `{one.ident}`. So is another record."
        help = "An id may be used once only. Rename one of them."
        yield Finding("id-twice", "error", message, place, help, about=about)
    yield from _without_base(one, place)


def _held(standards: Standards, ident: str) -> bool:
    return ident in standards.formula_files or ident in standards.ingredients


def _without_base(one: _Output, place: Place) -> Iterator[Finding]:
    """An error where what counts as 100 % goes in after the output is left: its percentages would
    be of something else."""
    record = with_base(worded(one.record))
    kept = _parts(one, _feeding(one.steps[: one.number]))
    lines = [line for part in kept for line in record.parts.get(part, {}).values()]
    gone = [
        base
        for base in record.base
        if base not in kept and not any(base in record.parts[part] for part in kept)
    ]
    if gone and any(line.amount.kind == "percent" for line in lines):
        yield Finding(
            "by-product-without-base",
            "error",
            f"`{one.name}` is left behind before `{gone[0]}` goes in. Its parts are percentages of "
            "that.",
            place,
            "Write the lines of its parts as weights, or make what gives it a formula of its own.",
            about=frozenset({one.formula, one.ident}),
        )


def _feeding(steps: tuple[Step, ...]) -> tuple[int, ...]:
    """The numbers of the steps through which the food of the last of them came."""
    given: dict[str, int] = {}
    from_: dict[int, set[int]] = {}
    under_way = 0
    for number, step in enumerate(steps, 1):
        named = {given[name] for name in (*step.work_on, *step.add) if name in given}
        from_[number] = named | ({under_way} if under_way and not step.work_on else set())
        under_way = number
        given |= {name: number for name in (step.gives, *step.leaves) if name is not None}
    found, due = set(), [len(steps)]
    while due:
        number = due.pop()
        found.add(number)
        due += from_[number] - found
    return tuple(sorted(found))


def _parts(one: _Output, numbers: Iterable[int]) -> tuple[str, ...]:
    """The parts that go in at some steps, in the formula's order."""
    steps = [one.steps[number - 1] for number in numbers]
    named = {name for step in steps for name in (*step.add, *step.work_on)}
    return tuple(part for part in one.record.parts if part in named)


def _record(one: _Output, verbs: MappingOf[str, Verb]) -> Formula:
    """The formula that an output is."""
    own = one.record.by_products.get(one.name) or ByProduct()
    numbers = _feeding(one.steps[: one.number])
    parts = _parts(one, numbers)
    steps = _steps(one, own, numbers)
    update: dict[str, Any] = {
        **_NOT_ITS_OWN,
        **{key: getattr(own, key) for key in _OWN},
        "name": own.name or f"{one.record.name}, {one.name.replace('-', ' ')}",
        "station": own.station or one.record.station,
        "batches": own.batches or (),
        "steps": steps,
        "parts": {part: one.record.parts[part] for part in parts},
        "base": _base(one.record, parts),
    }
    update |= _said_of(one.record, {step.id or step.do for step in steps})
    if not any(does(step, "acidifies", verbs) for step in steps):
        update["acidified"] = None
    record = one.record.model_copy(update=update)
    record.set_typed(_typed(one, own), own.place() if own.as_typed is not None else one.place)
    record.set_by_product(ByProductOf(one.formula, one.record.name, one.name, len(numbers)))
    return record


def _typed(one: _Output, own: ByProduct) -> Mapping:
    """What is typed of a by-product: what its formula says of both, and what it says itself."""
    shared, typed = one.record.as_typed, Mapping(one.place)
    for source, leaves_out in ((shared, {*_OWN, *_NOT_ITS_OWN, "batches"}), (own.as_typed, set())):
        for key, value in (source or {}).items():
            if key not in leaves_out and source is not None:
                typed[key], typed.keys_at[key] = value, source.keys_at[key]
    return typed


def _said_of(record: Formula, steps: set[str]) -> dict[str, Any]:
    """What a formula says by the ids of some steps."""
    return {
        key: {i: value for i, value in getattr(record, key).items() if i in steps}
        for key in _BY_STEP
    }


def _base(record: Formula, parts: tuple[str, ...]) -> tuple[str, ...]:
    """What counts as 100 %, as far as it goes in; else all of it."""
    base = tuple(
        one
        for one in with_base(worded(record)).base
        if one in parts or any(one in record.parts[part] for part in parts)
    )
    return base or parts


def _steps(one: _Output, own: ByProduct, numbers: tuple[int, ...]) -> tuple[Step, ...]:
    """The steps up to the one that leaves it, and its own. What that step gives goes its own
    way."""
    shared = [one.steps[number - 1] for number in numbers]
    last = shared[-1]
    left = one.left.model_copy(update={"then": "used-again"})
    update: dict[str, Any] = {"leaves": {**last.leaves, one.name: left}}
    if own.steps:
        update["gives"] = last.gives or one.formula
    shared[-1] = last.model_copy(update=update)
    onward = list(own.steps)
    if onward and not onward[0].work_on:
        onward[0] = onward[0].model_copy(update={"work_on": (one.name,)})
    return (*shared, *onward)


def once_said(findings: Iterable[Finding], formulas: MappingOf[str, Formula]) -> list[Finding]:
    """The findings without those of a by-product that its formula has at the same place."""
    found = list(findings)
    of = {
        ident: record.by_product.formula
        for ident, record in formulas.items()
        if record.by_product is not None
    }
    said = {(f.code, f.place, ident) for f in found for ident in f.about}
    return [f for f in found if not _echoes(f, of, said)]


def _echoes(finding: Finding, of: MappingOf[str, str], said: set[tuple[str, Place, str]]) -> bool:
    if not finding.about or not finding.about <= of.keys():
        return False
    return all((finding.code, finding.place, of[ident]) in said for ident in finding.about)
