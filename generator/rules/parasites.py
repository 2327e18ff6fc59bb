"""Fish served raw or undercooked: frozen long enough against parasites, or of a kind that has none."""

from __future__ import annotations

from generator.computed import Basis
from generator.finding import Finding
from generator.joined import House
from generator.measures.words import listed
from generator.product import Component
from generator.reference.rows import Row
from generator.rules.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    both,
    cited,
    held,
)
from generator.rules.limit import Limit, Verdict, figure_of

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


def _met(context: StepContext) -> Row | None:
    """The first row the step's own facts meet: frozen `at` so cold for so long a `time`.

    One step states one temperature, so it is both the freezing's and the storing's.
    """
    step = context.step.step
    if step.at is None or step.time is None:
        return None
    for _, row in _rows(context.house):
        assert row.value is not None and row.hold is not None
        if step.at <= row.value and step.time.seconds >= row.hold.seconds:
            return row
    return None


def freezing(context: StepContext) -> Outcome:
    """The limit of a step that freezes raw fish against parasites: Food Code 3-402.11(A)."""
    if "freezes" not in context.step.effects or not _raw_fish(
        context.house, context.before.components
    ):
        return NOTHING
    rows = _rows(context.house)
    row = _met(context)
    if not rows or (row is None and not context.formula.formula.undercooked):
        return NOTHING  # fish frozen for another reason
    shown = row or rows[0][1]
    assert shown.value is not None and shown.hold is not None
    figure = figure_of(shown.value, shown.printed, "max", context.accuracy)
    words = (
        f"{both(figure.value, figure.shown_c, figure.shown_f)} or colder{held(shown.hold.seconds)}"
    )
    source = context.source(shown)
    step = context.step
    verdict = Verdict("meets", f"{step.step.at} meets {words}.") if row else Verdict()
    findings: tuple[Finding, ...] = ()
    if row is not None and shown.value < (step.step.at or shown.value) + context.accuracy:
        mend = f"at: {context.degrees(figure.read_at(context.unit))}".replace("\u00a0", " ")
        message = f"{step.verb}: {step.step.at} meets {words} only if the thermometer is exact."
        verdict = Verdict("close", message, (mend,))
        found = context.finding(
            "target-within-probe-error", "warning", message, f"It may be off by {context.accuracy}.",
            (mend,), step.step.place("at"),
        )  # fmt: skip
        findings = (found,)
    basis = Basis((("In it", shown.food),), f"{shown.food}: {words}", source.words)
    stated = step.step.time.seconds if step.step.time is not None and row else shown.hold.seconds
    limit = Limit(
        f"{context.formula.id}/{step.id}/parasites", step.id, step.number, step.verb, "parasites", "max",
        source, figure, max(stated, shown.hold.seconds), shown.hold.seconds, (), None,
        figure.asked(context.unit, step.step.at if row else None), "", (),
        tuple(dict.fromkeys(c.name for c in _raw_fish(context.house, context.before.components))),
        shown.food, verdict, basis, note=_note(context, shown), probe=step.step.probe, if_missed=step.step.if_missed,
    )  # fmt: skip
    return Outcome((limit,), findings, freed=row is not None)


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
        freezing_rows = [
            _cold(context, r) for _, r in rows if r.value and r.hold and not r.store_at
        ]
        if by and by in known:
            message = f"{one.name}: `{by}` doesn't fit its species, {one.species}."
        elif by:
            message = f"{one.name}: the rules held don't free it for being `{by}`."
        else:
            frozen = any("freezes" in s.effects for s in context.formula.steps)
            why = "the freezing isn't cold or long enough for it" if frozen else "nothing does"
            message = f"{formula.name}: {one.name} is served raw or undercooked and must be freed of parasites; {why}."
        help = (
            f"Add a step that freezes it, `at` with `time`: {listed(freezing_rows, 'or')}. "
            "Or say under the ingredient's `parasites` who froze it, or why it needs no freezing."
            if freezing_rows
            else "Ask your regulatory authority. Until then this standard can't be approved."
        )
        findings.append(
            Finding(
                "parasites-not-frozen", "error", message, formula.place("undercooked"), help,
                source=cited(house, rows[0][1]) if rows else "", about=about,
            )
        )  # fmt: skip
    return EndOutcome((), tuple(findings))


def _cold(context: EndContext, row: Row) -> str:
    """A freezing row in words: at what temperature for how long."""
    assert row.value is not None and row.hold is not None
    figure = figure_of(row.value, row.printed, "max", context.house.probe.accuracy)
    return f"{both(figure.value, figure.shown_c, figure.shown_f)}{held(row.hold.seconds)}"


def _fits(by: str, one: Component) -> bool:
    """A fact that frees one class of fish only must fit the ingredient's species."""
    wanted = {"molluscan-shellfish": "mollusc", "tuna": "fish", "farmed": "fish", "roe": "fish"}
    return wanted.get(by, one.species) == one.species
