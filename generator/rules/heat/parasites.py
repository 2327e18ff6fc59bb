"""Fish served raw or undercooked: frozen long enough against parasites, or of a kind that has
none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, listed, verb_for, with_verb
from generator.reference.row_kinds import ParasitesRow, WordsRow
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
from generator.rules.basics.limit import Figure, Hold, KeepingLimit, Verdict, figure_of
from generator.rules.basics.product import RAW_STATES, Component

SUPPLIER = "freeze"
SHELLFISH = "molluscan-shellfish"


def is_fish(house: House, component: Component) -> bool:
    """Whether the pack classes a component as fish: finfish, crustaceans and molluscs alike."""
    return house.pack.class_of(component.species) == "fish"


def _raw_fish(house: House, components: tuple[Component, ...]) -> tuple[Component, ...]:
    fish = (c for c in components if is_fish(house, c))
    return tuple(c for c in fish if c.raw_animal or _ready_by_a_plan(c))


def _ready_by_a_plan(component: Component) -> bool:
    """Whether it came raw and was never cooked: fermented, dried or smoked by a plan it counts as
    ready to eat, and parasites live on in it all the same."""
    facts = component.facts
    return facts is not None and facts.state in RAW_STATES and not component.cooked


def _rows(house: House) -> list[tuple[str, ParasitesRow]]:
    """The rows of freezing: a temperature and a time."""
    return [(i, r) for i, r in house.pack.rows_of(ParasitesRow) if r.value is not None and r.hold]


@dataclass(frozen=True)
class _Met:
    """A row of freezing that the steps meet; ``store`` is the step it is stored at, where the time
    counts there too."""

    row: ParasitesRow
    store: JoinedStep | None = None


_WORK = frozenset({"packs-without-air", "packs", "labels", "handles"})
"""What may be done between the freezing and the store, if it takes no time of its own."""
UNTIL_SOLID = "until-solid"
"""A row whose time counts once the fish is frozen solid."""


def _air(step: JoinedStep) -> Temperature | None:
    """How cold a step is said to be: `at`, and the air of its freezer; the warmer where both are
    stated."""
    at = step.step.at.warmest if step.step.at is not None else None
    stated = [t for t in (at, step.cold.air.warmest if step.cold else None) if t is not None]
    return max(stated) if stated else None


def _stored(formula: JoinedFormula, freeze: JoinedStep) -> JoinedStep | None:
    """The step the frozen food is stored at next: it has an air and a time, and does nothing else
    to the food. Packing and labelling that take no time of their own may be between."""
    for step in formula.after(freeze.number):
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
    store = _stored(formula, freeze)
    for _, row in _rows(house):
        met = _meets(row, at, freeze, store)
        if met is not None:
            return met
    return None


def _meets(
    row: ParasitesRow, at: Temperature, freeze: JoinedStep, store: JoinedStep | None
) -> _Met | None:
    """Whether one row is met by freezing so cold, ``at``, or by the store that follows it."""
    assert row.value is not None and row.hold is not None
    if at > row.value:
        return None
    time = freeze.step.time.shortest if freeze.step.time is not None else Fraction(0)
    solid = row.how == UNTIL_SOLID
    counts = Fraction(0) if solid and _time_until_solid(freeze) else time
    if row.store_at is None and row.hold.seconds <= counts:
        return _Met(row)
    if solid:
        time = Fraction(0)  # it counts once the fish is frozen solid
        if not freeze.step.solid:
            return None
    return _Met(row, store) if store is not None and _stored_for(row, store, time) else None


def _time_until_solid(freeze: JoinedStep) -> bool:
    """Whether the time of a step that freezes isn't that of food frozen solid: it says that it
    lasts until then, or that the food isn't solid."""
    return bool(freeze.step.solid) or denies_solid(freeze)


def denies_solid(freeze: JoinedStep) -> bool:
    """Whether a step that freezes says itself that the food isn't frozen solid (`solid: no`): its
    time is all it spends there, not the time it was solid."""
    return not freeze.step.solid and "solid" in freeze.step.model_fields_set


def _stored_for(row: ParasitesRow, store: JoinedStep, before: Fraction) -> bool:
    """Whether a store is as cold as the row asks and as long, the seconds ``before`` it that count
    with it."""
    assert row.value is not None and row.hold is not None
    if store.step.time is None:
        return False
    kept = row.store_at or row.value
    return (_air(store) or kept) <= kept and before + store.step.time.shortest >= row.hold.seconds


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
    fish = _raw_fish(context.house, context.before.components)
    unfreed = [c for c in fish if not _freed_by_fact(context.house, c)]
    by_plan = any(not c.raw_animal for c in unfreed)
    return bool(unfreed) and (by_plan or bool(context.formula.formula.undercooked))


def _storing(context: StepContext) -> Outcome:
    """The limit of the step frozen fish is stored at, where a row counts its time."""
    for earlier in context.formula.before(context.step.number):
        if "freezes" not in earlier.effects:
            continue
        met = _met(context.house, context.formula, earlier)
        if met is not None and met.store is not None and met.store.number == context.step.number:
            limit, findings = _limit(context, met.row, met)
            return Outcome((limit,), findings)
    return NOTHING


def _limit(
    context: StepContext, row: ParasitesRow, met: _Met | None
) -> tuple[KeepingLimit, tuple[Finding, ...]]:
    """The limit at the step that freezes, or at the one that stores."""
    step = context.step
    storing = "freezes" not in step.effects
    apart = met is not None and met.store is not None
    moved = apart and not storing and row.how == UNTIL_SOLID
    assert row.value is not None and row.hold is not None
    frozen = figure_of(row.value, row.printed, "max", context.accuracy)
    stored = _stored_at(context, row, frozen)
    figure = stored if storing else frozen
    time = held(row.hold.seconds)
    words = f"{_shown(figure)} or colder"
    rule = f"{words} until solid; then stored at {_shown(stored)} or colder{time}"
    if not moved:
        words = rule = f"{words}{time}"
    source, at = context.source(row), _air(step) if met else None
    verdict, findings = _judged(context, at, figure, words) if met else (Verdict(), ())
    limit = KeepingLimit(
        **context.names("parasites"),
        hazard="parasites",
        bound="max",
        source=source,
        figure=figure,
        hold=_time_asked(step, row.hold.seconds, met if not moved else None),
        read=figure.asked(context.unit, at),
        because=_fish_named(context),
        group=row.food,
        verdict=verdict,
        basis=Basis((("In it", row.food),), f"{row.food}: {rule}", source.words),
        note=_note(context, row, together=apart and row.how != UNTIL_SOLID),
        probe=step.step.probe,
        if_missed=step.step.if_missed,
        stored=stored if moved else None,
    )
    return limit, findings


def _stored_at(context: StepContext, row: ParasitesRow, frozen: Figure) -> Figure:
    """How cold it is stored: as cold as it was frozen, where the row says nothing else."""
    if row.store_at is None:
        return frozen
    return figure_of(row.store_at, row.store_printed, "max", context.accuracy)


def _fish_named(context: StepContext) -> tuple[str, ...]:
    fish = _raw_fish(context.house, context.before.components)
    return tuple(dict.fromkeys(c.name for c in fish))


def _shown(figure: Figure) -> str:
    return both(figure.value, figure.shown_c, figure.shown_f)


def _time_asked(step: JoinedStep, hold_s: Fraction, met: _Met | None) -> Hold:
    """The time asked for: the step's own where it meets a row, the row's at least."""
    if met is None or step.step.time is None:
        return Hold(hold_s, hold_s)
    return Hold(max(step.step.time.shortest, hold_s), hold_s)


def _judged(
    context: StepContext, at: Temperature | None, figure: Figure, words: str
) -> tuple[Verdict, tuple[Finding, ...]]:
    """The verdict on a row that is met, and the warning if only a true reading meets it."""
    if at is None or figure.value >= at + context.accuracy:
        return Verdict("meets", f"{at} meets {words}."), ()
    step = context.step
    typed = step.step.at is not None
    fixes: tuple[str, ...] = ()
    if typed:
        read = context.degrees(figure.read_at(context.unit))
        fixes = (breakable(f"at: {read}"),)
    message = f"{step.verb}: {at} meets {words} only if the thermometer is exact."
    found = context.finding(
        "target-within-probe-error",
        "warning",
        message,
        f"It may be off by {context.accuracy}.",
        fixes,
        step.step.place("at" if typed else "in"),
    )
    return Verdict("close", message, fixes), (found,)


def _note(context: StepContext, row: ParasitesRow, *, together: bool) -> str:
    """The row's note, and what is to be written down and kept: Food Code 3-402.12(A). Above it,
    where the times of freezing and storing count ``together``, that they do."""
    records = context.house.pack.row_for(ParasitesRow, "freezing-records")
    note = " ".join(filter(None, [row.note, records[1].words if records else ""]))
    return f"The times of freezing and storing count together. {note}" if together else note


def served_raw(context: EndContext) -> EndOutcome:
    """Refuse raw or undercooked fish that nothing frees of parasites.

    It is freed by a freezing step that meets a row, by a fact of the ingredient (`parasites`):
    frozen by the supplier, or a kind the code lists as needing no freezing; or by the names of
    oysters, clams, mussels and scallops, which need no paper of it.
    """
    formula, house = context.formula.formula, context.house
    raw = _raw_fish(house, context.product.components)
    fish = tuple(c for c in raw if formula.undercooked or not c.raw_animal or _eaten(context, c))
    known = {row.applies for _, row in house.pack.rows_of(ParasitesRow)}
    findings = [
        _not_freed(context, one, one.parasites in known)
        for one in fish
        if not (one.freed or _freed_by_fact(house, one))
    ]
    return EndOutcome((), tuple(findings))


def served_once_freed(house: House, one: Component) -> bool:
    """Whether the law asks of raw fish only that it is freed of parasites, and of no guest's
    request: it has rows of freezing and none of a request. Only finfish, and not for the frail, of
    whom it says nothing."""
    asks = house.pack.rows_of(WordsRow, "undercook")
    frail = house.kitchen.serves == "highly-susceptible"
    return one.species == "fish" and bool(_rows(house)) and not asks and not frail


def _eaten(context: EndContext, one: Component) -> bool:
    """Whether raw fish is eaten as it is, where that needs no request."""
    return context.fate.eaten and served_once_freed(context.house, one)


def _not_freed(context: EndContext, one: Component, known: bool) -> Finding:
    """The error of a fish that nothing frees; ``known``: the rules know the fact stated of it."""
    formula, house = context.formula.formula, context.house
    rows = house.pack.rows_of(ParasitesRow)
    freezing_rows = [_cold(context, r) for _, r in rows if r.value and r.hold]
    help = "Ask your regulatory authority. Until then this standard can't be approved."
    if freezing_rows:
        other = any(r.value is None and r.applies != "freezing-records" for _, r in rows)
        kinds = ", or why it needs no freezing" if other else ""
        help = (
            f"Add a step that freezes it, `at` with `time`: {listed(freezing_rows, 'or')}. Or "
            f"write under the ingredient's `parasites` who froze it{kinds}."
        )
    return Finding(
        "parasites-not-frozen",
        "error",
        _parasites_problem(context, one, known),
        formula.place("undercooked") if formula.undercooked else formula.key_place("name"),
        help,
        source=cited(house, rows[0][1]) if rows else "",
        about=frozenset({context.formula.id}),
    )


def _parasites_problem(context: EndContext, one: Component, known: bool) -> str:
    by = one.parasites
    if by and known:
        return f"{one.name}: `{by}` doesn't fit its species, {one.species}."
    if by:
        said = "supplier-freezing" if by == SUPPLIER else by
        return f"{one.name}: the rules here don't free it by `{said}`."
    frozen = [s for s in _way_of(context, one) if "freezes" in s.effects]
    why = "the freezing isn't cold or long enough for it" if frozen else "nothing does"
    if any(map(denies_solid, frozen)):
        why += ": by `solid: no` its time begins before the fish is frozen solid"
    eaten = "served raw or undercooked" if one.raw_animal else "kept by a plan and never cooked"
    they = "it" if verb_for(one.name, "is") == "is" else "they"
    return (
        f"{context.formula.formula.name}: {with_verb(one.name, 'is')} {eaten}, so {they} must be "
        f"freed of parasites, but {why}."
    )


def _way_of(context: EndContext, one: Component) -> Iterable[JoinedStep]:
    """The steps a component goes through: what is frozen beside it frees it of nothing."""
    steps = context.formula.steps
    first = next((s.number for s in steps if one.part in s.parts), None)
    return steps if first is None else context.formula.since(first)


def _cold(context: EndContext, row: ParasitesRow) -> str:
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


def _freed_by_fact(house: House, one: Component) -> bool:
    """Whether the ingredient's own facts free it where the rules in force list them: what is stated
    under `parasites`, or its names, if nothing is stated there: molluscan shellfish live in the
    cold, and none is frozen for it (3-402.11(B))."""
    known = {row.applies for _, row in house.pack.rows_of(ParasitesRow)}
    by = one.parasites or (SHELLFISH if is_shellfish(house, one) else "")
    return by in known and _fits(by, one)


def is_shellfish(house: House, one: Component) -> bool:
    """Whether a mollusc is an oyster, a clam, a mussel or a scallop by all that its names say, none
    of them squid or another mollusc."""
    if one.species != "mollusc":
        return False
    known = house.library.known_names.foods_in(one.names)
    return known & {"shellfish", "mollusc"} == {"shellfish"}


def _fits(by: str, one: Component) -> bool:
    """A fact that frees one class of fish only must fit the ingredient's species."""
    wanted = {SHELLFISH: "mollusc", "tuna": "fish", "farmed": "fish", "roe": "fish"}
    return wanted.get(by, one.species) == one.species
