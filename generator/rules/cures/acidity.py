"""Acidified food: its pH is measured and recorded in each batch, and never computed.

Food Code 3-502.11(C)(2) asks for a variance to make food need no temperature control by an acid;
the tables of 1-201.10(B) say at which pH and water activity it needs none.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.words import listed, plain
from generator.records.formula import Acidified
from generator.reference.row_kinds import AcidityRow
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    authorisation_problem,
)
from generator.rules.basics.limit import Acidity, AcidityLimit, Source, Status, Verdict
from generator.rules.basics.paper import asks_for_it, paper
from generator.rules.basics.uncovered import not_covered, without_its_step

ACIDIFIES = "acidifies"
_ANY = Fraction(100)
"""Above every pH: the rank of a row that asks for none."""


_NOT_PACKED = (
    " It counts as packed after heating only if a step packs or fills it after the step that "
    "cooks it."
)


def acidity(context: StepContext) -> Outcome:
    """The limit of a step that acidifies: the pH its meter must read, on a variance."""
    if ACIDIFIES not in context.step.effects:
        return NOTHING
    facts = context.formula.formula.acidified
    if facts is None:
        return not_covered(
            context,
            "acidity",
            "The formula doesn't say which pH it must reach.",
            "Write it under `acidified`, with its `ph`, `meter` and `record`. Only for taste? "
            "Call the step `mix`.",
        )
    reason = _no_variance(context)
    if reason:
        refused = not_covered(
            context,
            "acidity",
            reason,
            "Record it under `authorisations` in kitchen.yaml: for, authority, document, from, "
            "until.",
        )
        place = context.formula.formula.key_place("acidified")
        finding = context.finding(
            "acidified-without-variance",
            "error",
            f"{context.formula.formula.name}: {reason}",
            "Record it under `authorisations` in kitchen.yaml: for, authority, document, from, "
            "until.",
            place=place,
            source=asks_for_it(context.house, "3-502.11(C)(2)"),
        )
        return Outcome(refused.limits, (finding,))
    raw = listed(list(dict.fromkeys(c.name for c in context.before.raw_animals)))
    if raw:
        return not_covered(
            context, "acidity", f"Raw animal food still needs temperature control: {raw}."
        )
    row = _row(context, facts)
    if row is None:
        return not_covered(context, "acidity", "The rules here set no pH for food like this.")
    return _held(context, facts, row)


def _no_variance(context: StepContext) -> str:
    asked = paper(context.house)
    none = f"food that an acid frees from temperature control needs a {asked}. None is on file."
    return authorisation_problem(context.house, "acidify", none, f"the {asked} for acidifying")


def _row(context: StepContext, facts: Acidified) -> AcidityRow | None:
    """The row of the food's table for its water activity: of those it meets, the one with the
    highest pH."""
    cooked = context.before.cooked and not context.before.mixed
    packed = facts.packed_after_heating and cooked and _packs(context)
    table = "heated-then-packed" if packed else "not-packed"
    fitting = [
        row
        for _, row in context.house.pack.rows_of(AcidityRow)
        if row.applies == table and dry_enough(row, facts.water_activity)
    ]
    return max(fitting, key=lambda row: _ph_of(row) or _ANY, default=None)


def _packs(context: StepContext) -> bool:
    """Whether a step after the last heating before this one closes it in its pack."""
    steps = context.formula.steps
    heated = max((s.number for s in steps if "cooks" in s.effects), default=0)
    return any(
        s.effects & {"packs", "fills", "packs-without-air"} for s in context.formula.after(heated)
    )


def dry_enough(row: AcidityRow, water_activity: Fraction | None) -> bool:
    """Whether food of a water activity is as dry as a row asks; one not stated isn't."""
    if row.aw_most is None and row.aw_below is None:
        return True
    if water_activity is None:
        return False
    if row.aw_most is not None:
        return water_activity <= row.aw_most
    return row.aw_below is not None and water_activity < row.aw_below


def _ph_of(row: AcidityRow) -> Fraction | None:
    """The row's pH; None where it asks for none."""
    return row.most if row.most is not None else row.below


def _held(context: StepContext, facts: Acidified, row: AcidityRow) -> Outcome:
    law, below = _ph_of(row), row.below is not None
    reach = law - facts.meter if law is not None else facts.ph
    asked = facts.ph < reach or (facts.ph == reach and not below)
    figure = Acidity(law, below, facts.ph if asked else reach, below and not asked)
    source = context.source(row)
    findings: tuple[Finding, ...] = ()
    status: Status = "meets"
    if law is not None and (facts.ph > law or (below and facts.ph == law)):
        findings, status = (_above(context, facts, row, figure),), "fails"
    elif not asked:
        findings, status = (_close(context, facts, figure),), "close"
    limit = AcidityLimit(
        **context.names("acidity"),
        hazard="acidity",
        bound="max",
        source=source,
        group=row.food,
        ph=figure,
        basis=_basis(facts, row, figure, source),
        probe=context.step.step.probe,
        if_missed=context.step.step.if_missed,
        verdict=Verdict(status, f"pH {plain(facts.ph)} required."),
        note=f"Write it in the {facts.record}. Until the meter reads it, hold the food hot or "
        "cold like other food.",
    )
    why = (
        f"Acidified to {figure.read_words()} on the meter, by a {paper(context.house)}. It needs "
        "no temperature control."
    )
    return Outcome((limit,), findings, acidified="" if status == "fails" else why)


def _basis(facts: Acidified, row: AcidityRow, figure: Acidity, source: Source) -> Basis:
    """From what the limit follows: the food, how dry it is, the meter, the record."""
    water = plain(facts.water_activity) if facts.water_activity is not None else "not stated"
    return Basis(
        (
            ("In it", row.food),
            ("Water activity", water),
            ("Meter", f"reads to ±{plain(facts.meter)}"),
            ("Record", facts.record),
        ),
        f"{row.food}: {figure.law_words()} needs no time and temperature control",
        f"{source.words}; measured in each batch, never calculated",
    )


def _above(context: StepContext, facts: Acidified, row: AcidityRow, figure: Acidity) -> Finding:
    """The error of a pH above the limit."""
    source = context.source(row)
    unpacked = facts.packed_after_heating and row.applies == "not-packed"
    return context.finding(
        "ph-above-limit",
        "error",
        f"{context.formula.formula.name}: pH {plain(facts.ph)} is above the limit, "
        f"{figure.law_words()}.",
        "Write a lower pH, or the measured `water_activity` if it is low. Or have a laboratory "
        "assess the product." + (_NOT_PACKED if unpacked else ""),
        place=facts.place("ph"),
        source=f"{source.document}, {row.clause}",
    )


def _close(context: StepContext, facts: Acidified, figure: Acidity) -> Finding:
    """The warning of a pH that meets the limit only if the meter is exact."""
    return context.finding(
        "ph-within-meter-error",
        "warning",
        f"{context.formula.formula.name}: pH {plain(facts.ph)} meets {figure.law_words()} only if "
        "the meter is exact.",
        f"It may be off by {plain(facts.meter)}. The page requires {figure.read_words()}.",
        place=facts.place("ph"),
    )


def never_acidified(context: EndContext) -> EndOutcome:
    """Said to be acidified, and no step does it: the limits are not lifted, and the chef is
    reported."""
    return without_its_step(
        context,
        "acidified",
        ACIDIFIES,
        "acidify-missing",
        "says it is acidified, but no step acidifies it",
        "Add a step to its process, as in `do: acidify`, with the part that holds the acid. Does a "
        "step of it get sour by itself? Write `does: acidifies` there.",
    )
