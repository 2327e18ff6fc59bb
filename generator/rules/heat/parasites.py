"""Fish served raw or undercooked: frozen long enough against parasites, or of a kind that has
none."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.temperature import Temperature
from generator.measures.words import listed
from generator.reference.rows import Row
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    both,
    cited,
    held,
)
from generator.rules.basics.limit import Hold, KeepingLimit, Verdict, figure_of
from generator.rules.basics.product import Component

SUPPLIER = "freeze"


def is_fish(house: House, component: Component) -> bool:
    """Whether the pack classes a component as fish: finfish, crustaceans and molluscs alike."""
    definition = house.pack.definitions.get(component.species or "")
    return definition is not None and definition.group_as == "fish"


def _raw_fish(house: House, components: tuple[Component, ...]) -> tuple[Component, ...]:
    return tuple(c for c in components if c.raw_animal and is_fish(house, c))


def _rows(house: House) -> list[tuple[str, Row]]:
    """The rows of freezing: a temperature and a time."""
    return [(i, r) for i, r in house.pack.rows_of("parasites") if r.value is not None and r.hold]


@dataclass(frozen=True)
class _Met:
    """A row of freezing that the steps meet; ``store`` is the step it is stored at, where the time
    counts there too."""

    row: Row
    store: JoinedStep | None = None


_WORK = frozenset({"excludes-air", "packs", "labels", "handles"})
"""What may be done between the freezing and the store, if it takes no time of its own."""
UNTIL_SOLID = "until-solid"
"""A row whose time counts once the fish is frozen solid."""


def _air(step: JoinedStep) -> Temperature | None:
    """How cold a step is said to be: `at`, and the air of its freezer; the warmer where both are
    stated."""
    stated = [t for t in (step.step.at, step.cold.air if step.cold else None) if t is not None]
    return max(stated) if stated else None


def _stored(formula: JoinedFormula, freeze: JoinedStep) -> JoinedStep | None:
    """The step the frozen food is stored at next: it has an air and a time, and does nothing else
    to the food. Packing and labelling that take no time of their own may stand between."""
    for step in formula.steps[freeze.number :]:
        if step.effects - _WORK - {"stores", "waits"} or step.parts:
            return None
        if _air(step) is not None and step.step.time is not None:
            return step
        if step.effects - _WORK or step.cold is not None or step.step.time is not None:
            return None
    return None


def _met(house: House, formula: JoinedFormula, freeze: JoinedStep) -> _Met | None:
    """The first row the steps' own facts meet: frozen so cold for so long, or stored so after it.

    Where fish is frozen until solid and then moved, the freezing step says `solid: yes`; its own
    time is what that took, and isn't counted.
    """
    at = _air(freeze)
    if at is None:
        return None
    time = freeze.step.time.seconds if freeze.step.time is not None else Fraction(0)
    store = _stored(formula, freeze)
    for _, row in _rows(house):
        assert row.value is not None and row.hold is not None
        if at > row.value:
            continue
        counted = Fraction(0) if freeze.step.solid and row.how == UNTIL_SOLID else time
        if row.store_at is None and counted >= row.hold.seconds:
            return _Met(row)
        if store is None or store.step.time is None:
            continue
        kept, stored = row.store_at or row.value, store.step.time.seconds
        if row.how != UNTIL_SOLID:
            stored += time
        elif not freeze.step.solid:
            continue
        if (_air(store) or kept) <= kept and stored >= row.hold.seconds:
            return _Met(row, store)
    return None


def freezing(context: StepContext) -> Outcome:
    """The limit of a step that freezes raw fish against parasites, and of the one it is stored at
    after it: Food Code 3-402.11(A)."""
    if not _raw_fish(context.house, context.before.components):
        return NOTHING
    if "freezes" not in context.step.effects:
        return _storing(context)
    rows = _rows(context.house)
    met = _met(context.house, context.formula, context.step)
    if not rows or (met is None and not _asked_for(context)):
        return NOTHING  # fish frozen for another reason
    row = met.row if met is not None else rows[0][1]
    limit, findings = _limit(context, row, met)
    return Outcome((limit,), findings, freed=met is not None)


def _asked_for(context: StepContext) -> bool:
    """Whether the freezing is to free fish served raw that no fact of its ingredient frees."""
    known = {row.applies for _, row in context.house.pack.rows_of("parasites")}
    fish = _raw_fish(context.house, context.before.components)
    unfreed = [c for c in fish if not (c.parasites in known and _fits(c.parasites, c))]
    return bool(unfreed) and bool(context.formula.formula.undercooked)


def _storing(context: StepContext) -> Outcome:
    """The limit of the step frozen fish is stored at, where a row counts its time."""
    for earlier in context.formula.steps[: context.step.number - 1]:
        if "freezes" not in earlier.effects:
            continue
        met = _met(context.house, context.formula, earlier)
        if met is not None and met.store == context.step:
            limit, findings = _limit(context, met.row, met)
            return Outcome((limit,), findings)
    return NOTHING


def _limit(
    context: StepContext, row: Row, met: _Met | None
) -> tuple[KeepingLimit, tuple[Finding, ...]]:
    """The limit at the step that freezes, or at the one that stores."""
    step = context.step
    storing = "freezes" not in step.effects
    apart = met is not None and met.store is not None
    moved = apart and not storing and row.how == UNTIL_SOLID
    assert row.value is not None and row.hold is not None
    frozen = figure_of(row.value, row.printed, "max", context.accuracy)
    stored = frozen
    if row.store_at is not None:
        stored = figure_of(row.store_at, row.store_printed, "max", context.accuracy)
    figure = stored if storing else frozen
    words = f"{both(figure.value, figure.shown_c, figure.shown_f)} or colder"
    if moved:
        rule = (
            f"{words} until solid; then stored at "
            f"{both(stored.value, stored.shown_c, stored.shown_f)} or "
            f"colder{held(row.hold.seconds)}"
        )
    else:
        words = rule = f"{words}{held(row.hold.seconds)}"
    source, at = context.source(row), _air(step)
    verdict = Verdict("meets", f"{at} meets {words}.") if met else Verdict()
    findings: tuple[Finding, ...] = ()
    if met and at is not None and figure.value < at + context.accuracy:
        typed = step.step.at is not None
        mends = (
            (f"at: {context.degrees(figure.read_at(context.unit))}".replace("\u00a0", " "),)
            if typed
            else ()
        )
        message = f"{step.verb}: {at} meets {words} only if the thermometer is exact."
        verdict = Verdict("close", message, mends)
        found = context.finding(
            "target-within-probe-error",
            "warning",
            message,
            f"It may be off by {context.accuracy}.",
            mends,
            step.step.place("at" if typed else "in"),
        )
        findings = (found,)
    note = _note(context, row)
    if apart and row.how != UNTIL_SOLID:
        note = f"The time of freezing and of storing counts together. {note}"
    basis = Basis((("In it", row.food),), f"{row.food}: {rule}", source.words)
    stated = step.step.time.seconds if step.step.time is not None and met else row.hold.seconds
    limit = KeepingLimit(
        **context.names("parasites"),
        hazard="parasites",
        bound="max",
        source=source,
        figure=figure,
        hold=Hold(row.hold.seconds if moved else max(stated, row.hold.seconds), row.hold.seconds),
        read=figure.asked(context.unit, at if met else None),
        because=tuple(
            dict.fromkeys(c.name for c in _raw_fish(context.house, context.before.components))
        ),
        group=row.food,
        verdict=verdict,
        basis=basis,
        note=note,
        probe=step.step.probe,
        if_missed=step.step.if_missed,
        stored=stored if moved else None,
    )
    return limit, findings


def _note(context: StepContext, row: Row) -> str:
    """The row's note, and what is to be written down and kept: Food Code 3-402.12(A)."""
    records = context.house.pack.row_for("parasites", "freezing-records")
    return " ".join(filter(None, [row.note, records[1].words if records else ""]))


def served_raw(context: EndContext) -> EndOutcome:
    """Refuse raw or undercooked fish that nothing frees of parasites.

    It is freed by a freezing step that meets a row, or by a fact of the ingredient (`parasites`):
    frozen by the supplier, or a kind the code lists as needing no freezing.
    """
    formula, house = context.formula.formula, context.house
    fish = _raw_fish(house, context.product.components) if formula.undercooked else ()
    if not fish:
        return EndOutcome()
    about = frozenset({context.formula.id})
    rows = house.pack.rows_of("parasites")
    known = {row.applies for _, row in rows}
    findings: list[Finding] = []
    for one in fish:
        by = one.parasites
        if one.freed or (by in known and _fits(by, one)):
            continue
        freezing_rows = [_cold(context, r) for _, r in rows if r.value and r.hold]
        if by and by in known:
            message = f"{one.name}: `{by}` doesn't fit its species, {one.species}."
        elif by:
            message = f"{one.name}: the rules held don't free it for being `{by}`."
        else:
            frozen = any("freezes" in s.effects for s in context.formula.steps)
            why = "the freezing isn't cold or long enough for it" if frozen else "nothing does"
            message = (
                f"{formula.name}: {one.name} is served raw or undercooked and must be "
                f"freed of parasites; {why}."
            )
        help = (
            f"Add a step that freezes it, `at` with `time`: {listed(freezing_rows, 'or')}. "
            "Or say under the ingredient's `parasites` who froze it, or why it needs no freezing."
            if freezing_rows
            else "Ask your regulatory authority. Until then this standard can't be approved."
        )
        findings.append(
            Finding(
                "parasites-not-frozen",
                "error",
                message,
                formula.place("undercooked"),
                help,
                source=cited(house, rows[0][1]) if rows else "",
                about=about,
            )
        )
    return EndOutcome((), tuple(findings))


def _cold(context: EndContext, row: Row) -> str:
    """A freezing row in words: at what temperature for how long."""
    assert row.value is not None and row.hold is not None
    accuracy = context.house.probe.accuracy
    figure = figure_of(row.value, row.printed, "max", accuracy)
    words = both(figure.value, figure.shown_c, figure.shown_f)
    if row.store_at is None:
        return f"{words}{held(row.hold.seconds)}"
    stored = figure_of(row.store_at, row.store_printed, "max", accuracy)
    kept = both(stored.value, stored.shown_c, stored.shown_f)
    return (
        f"{words} until solid (`solid: yes`) and then a step that stores it at "
        f"{kept}{held(row.hold.seconds)}"
    )


def _fits(by: str, one: Component) -> bool:
    """A fact that frees one class of fish only must fit the ingredient's species."""
    wanted = {"molluscan-shellfish": "mollusc", "tuna": "fish", "farmed": "fish", "roe": "fish"}
    return wanted.get(by, one.species) == one.species
