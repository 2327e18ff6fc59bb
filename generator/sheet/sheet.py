"""The sheet: the computed standard, one immutable record per formula with its batch sizes.

Everything a person ever sees is drawn from it, so that a page, a JSON answer and a binder can't
disagree.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Place, Refused
from generator.measures.kilos import kilos, kilos_figure, small_weight
from generator.measures.rounding import to_side
from generator.measures.words import NARROW, counted, counted_figure, plain
from generator.records.approval import Approval, Status, approval_of
from generator.records.formula import Size
from generator.records.ingredient import Allergen
from generator.resolve.joined import ConfirmedFact, House, JoinedFormula, JoinedStep
from generator.rules.basics.limit import DoseLimit
from generator.rules.basics.product import Component
from generator.rules.cures.dosing import MILLION
from generator.scaling.batch import OnHand, Yields, factor_for, yields_at
from generator.scaling.loads import Loads
from generator.scaling.scales import (
    STRICT,
    ScaleFacts,
    Weighing,
    choose,
    choose_above,
    choose_below,
    too_coarse_words,
)
from generator.scaling.weights import household
from generator.sheet.cautioning import Notices
from generator.sheet.machine_loads import StepLoads, assumed_findings, loads_of
from generator.sheet.station_scales import may_be_weighed, measured_wrong, scales_for
from generator.sheet.walk import Walk
from generator.sheet.weighing import WeighedLine


@dataclass(frozen=True)
class BatchLine:
    """One line of a batch, in grams.

    ``exact_g`` and ``weigh_g`` are for the whole batch, ``weighing`` is what the scale shows for
    one of ``loads`` equal loads; ``capped`` says that a legal maximum holds it. ``ready_g`` over
    ``purchased_g`` is the trim.
    """

    line: WeighedLine
    step: JoinedStep
    exact_g: Fraction
    weigh_g: Fraction
    loads: int
    weighing: Weighing
    count: Fraction | None
    household: str
    purchased_g: Fraction
    capped: bool = False

    @property
    def name(self) -> str:
        return self.line.joined.name

    @property
    def part(self) -> str:
        return self.line.joined.part


@dataclass(frozen=True)
class Batch:
    """One batch size, worked out; ``held_back`` are findings a scale's own slip may be the reason
    of, which is reported at the scale."""

    size: Size
    label: str
    factor: Fraction
    lines: tuple[BatchLine, ...]
    loads: Loads
    equipment: str
    equipment_name: str
    step_loads: tuple[StepLoads, ...]
    yields: Yields
    on_hand: OnHand | None
    findings: tuple[Finding, ...]
    held_back: tuple[Finding, ...] = ()

    def per_load(self) -> tuple[BatchLine, ...]:
        """The lines weighed once for each load."""
        return tuple(ln for ln in self.lines if ln.loads > 1 or self.loads.count == 1)

    def whole(self) -> tuple[BatchLine, ...]:
        """The lines weighed once for the whole batch, taken in after the loads come together."""
        return tuple(ln for ln in self.lines if not (ln.loads > 1 or self.loads.count == 1))

    def load_g(self) -> Fraction:
        """What one load weighs by its rounded lines, in grams."""
        return sum((ln.weighing.grams for ln in self.per_load()), Fraction(0))


@dataclass(frozen=True)
class Sheet:
    """The computed standard of one formula."""

    id: str
    house: House
    formula: JoinedFormula
    walk: Walk
    approval: Approval
    batches: tuple[Batch, ...]
    allergens: tuple[Allergen, ...]
    as_of: datetime.date
    notices: Notices
    findings: tuple[Finding, ...]
    confirmed: tuple[ConfirmedFact, ...] = ()

    @property
    def waits_for_scale(self) -> bool:
        """Whether it can't be weighed for all that is known, until a doubted scale is put
        right."""
        return any(f.is_error for batch in self.batches for f in batch.held_back)

    @property
    def name(self) -> str:
        return self.formula.formula.name

    @property
    def status(self) -> Status:
        return self.approval.status


def make_sheet(house: House, walk: Walk, notices: Notices, as_of: datetime.date) -> Sheet:
    """The sheet of a walked formula: its batch sizes, allergens and status on a day."""
    formula = walk.formula.formula
    batches: list[Batch] = []
    findings: list[Finding] = []
    for size in walk.formula.sizes:
        try:
            batch = make_batch(house, walk, size)
        except Refused as refused:
            findings.append(
                Finding(
                    refused.code,
                    "error",
                    f"{size_label(walk.formula, size)}: {refused.message}",
                    formula.place("batches"),
                    refused.help,
                    refused.write,
                    about=frozenset({walk.formula.id}),
                )
            )
            continue
        batches.append(batch)
    findings.extend(_reported_once(batches))
    return Sheet(
        walk.formula.id,
        house,
        walk.formula,
        walk,
        approval_of(formula, house.kitchen, as_of),
        tuple(batches),
        allergens_of(house, walk),
        as_of,
        notices,
        (*walk.findings, *notices.findings, *findings),
    )


def _reported_once(batches: list[Batch]) -> list[Finding]:
    """The findings of all batch sizes; a line too small for a scale is reported once, where it is
    worst."""
    reported: list[Finding] = []
    worst: dict[Place, tuple[Fraction, Finding]] = {}
    sizes: Counter[Place] = Counter()
    for batch in batches:
        shares = {ln.line.joined.line.place("amount"): ln.weighing.share for ln in batch.lines}
        for finding in batch.findings:
            if finding.code != "scale-too-coarse":
                reported.append(finding)
                continue
            place, share = finding.place, shares[finding.place]
            sizes[place] += 1
            if place not in worst or share > worst[place][0]:
                worst[place] = (share, finding)
    for place, (_, finding) in worst.items():
        others = counted(sizes[place] - 1, "other batch size")
        more = f" Too little in {others} as well." if sizes[place] > 1 else ""
        reported.append(replace(finding, help=finding.help + more))
    return reported


def allergens_of(house: House, walk: Walk) -> tuple[Allergen, ...]:
    """All allergens of the whole formula, sub-formulas included, in the order of the law's list."""
    order = list(house.allergens.named())
    found = {a for c in walk.end.components for a in c.allergens}
    return tuple(
        sorted(found, key=lambda a: (order.index(a.word) if a.word in order else 999, a.kind))
    )


def size_label(formula: JoinedFormula, size: Size) -> str:
    """A batch size as the kitchen says it: "8 rolls", "40 portions", "3 kg base"."""
    return NARROW.join(size_figure(formula, size))


def size_figure(formula: JoinedFormula, size: Size) -> tuple[str, str]:
    """The same as a figure and what it counts: ("8", "rolls"), ("3", "kg base")."""
    makes = formula.formula.makes
    if size.kind == "fills" and makes is not None:
        return counted_figure(size.value, makes.unit, makes.plural)
    if size.kind == "portions" and makes is not None and makes.portion_unit:
        return counted_figure(size.value, makes.portion_unit, makes.portion_units or None)
    if size.kind in ("fills", "portions"):
        return counted_figure(size.value, size.kind[:-1])
    number, unit = kilos_figure(size.value)
    return number, f"{unit} {size.kind}"


def make_batch(house: House, walk: Walk, size: Size, on_hand: OnHand | None = None) -> Batch:
    """One batch size worked out: loads, weights on scales, yields.

    Raises Refused for a size the formula or a machine doesn't allow.
    """
    factor = on_hand.factor if on_hand else factor_for(size.kind, size.value, walk.figures)
    yields = yields_at(factor, walk.figures)
    governing, step_loads = loads_of(walk, factor, yields)
    loads = governing.loads if governing else Loads(1, yields.total_g)
    upto = next((s.step.number for s in walk.steps if governing and s.step.id == governing.step), 0)
    scales = scales_for(house, walk.formula)
    lines: list[BatchLine] = []
    for line in walk.lines:
        step = next(s.step for s in walk.steps if line.joined.part in s.step.parts)
        count = loads.count if step.number <= upto else 1
        lines.append(_line(house, walk, line, step, factor, count, scales))
    findings, held_back = _of_the_scales(house, walk, lines, size)
    return Batch(
        size,
        size_label(walk.formula, size),
        factor,
        tuple(lines),
        loads,
        governing.equipment if governing else "",
        governing.name if governing else "",
        step_loads,
        yields,
        on_hand,
        (*assumed_findings(walk, step_loads), *findings),
        tuple(held_back),
    )


def _of_the_scales(
    house: House, walk: Walk, lines: list[BatchLine], size: Size
) -> tuple[list[Finding], list[Finding]]:
    """What is wrong with lines on the scales they are weighed on; and what a slip reported
    elsewhere may be the reason of: a scale's own, or a measure that weighs what no food weighs."""
    findings: list[Finding] = []
    held_back: list[Finding] = []
    for line in lines:
        held = may_be_weighed(house, line.weighing.permitted * line.exact_g / line.loads)
        held = held or measured_wrong(line.line)
        wrong = [*_too_coarse(walk.formula, line, size), *_dose_findings(walk, line, size)]
        (held_back if held else findings).extend(wrong)
    return findings, held_back


def _line(
    house: House,
    walk: Walk,
    line: WeighedLine,
    step: JoinedStep,
    factor: Fraction,
    count: int,
    scales: tuple[ScaleFacts, ...],
) -> BatchLine:
    exact = line.grams * factor
    limit, least = _cure_limit(walk, line), _least_of(walk, line)
    if least is not None:
        weighing = choose_above(exact / count, least * factor / count, line.permitted, scales)
    elif limit is None:
        weighing = choose(exact / count, line.permitted, scales)
        if weighing.needs is not None and as_needed(line):
            weighing = replace(weighing, permitted=Fraction(1), needs=None)
    else:
        most_g = _most_of_a_cure(limit, line, nitrite_in(walk, line), factor / count)
        weighing = choose_below(exact / count, most_g, min(line.permitted, STRICT), scales)
    amount = line.joined.line.amount
    facts = line.joined.ingredient
    grams_only = facts is not None and facts.function in ("cure", "gelling-agent")
    pieces, words = (
        (None, "")
        if grams_only
        else household(exact / count, amount, line.unit_weights, house.units)
    )
    trim = facts.trim if facts is not None and facts.trim else Fraction(0)
    return BatchLine(
        line,
        step,
        exact,
        weighing.grams * count,
        count,
        weighing,
        pieces,
        words,
        exact / (1 - trim),
        limit is not None,
    )


def as_needed(line: WeighedLine) -> bool:
    """Written as needed: the cook tastes, so a pinch of it asks for no finer scale. A spoon, a cup
    or a piece does: what it stands for is weighed, so that it is the same on Tuesday."""
    return line.joined.line.amount.kind == "as-needed"


def capped_dose(walk: Walk) -> DoseLimit | None:
    """The dose of a formula that has a legal maximum; None if it has none."""
    return next((dose for dose in _doses(walk) if dose.most_ppm is not None), None)


def _doses(walk: Walk) -> list[DoseLimit]:
    return [limit for limit in walk.limits if isinstance(limit, DoseLimit)]


def _cure_limit(walk: Walk, line: WeighedLine) -> DoseLimit | None:
    """The legal maximum a line is held to as a cure; None for anything else."""
    return capped_dose(walk) if nitrite_in(walk, line) else None


def nitrite_in(walk: Walk, line: WeighedLine) -> Fraction:
    """How much of a line is nitrite, as a share: of a cure, or of a cure mix or a brine made ahead;
    else 0."""
    facts = line.joined.ingredient
    if facts is not None:
        of_a_cure = facts.nitrite if facts.function == "cure" else None
        return of_a_cure or Fraction(0)
    came = _components_of(walk, line)
    grams = sum((c.grams for c in came), Fraction(0))
    nitrite = sum((c.grams * c.nitrite for c in came if c.cures), Fraction(0))
    return nitrite / grams if grams else Fraction(0)


def _components_of(walk: Walk, line: WeighedLine) -> list[Component]:
    """What a line of a made-ahead formula brings into the step that takes its part in."""
    part, item = line.joined.part, line.joined.item
    step = next((s for s in walk.steps if part in s.step.parts), None)
    if step is None:
        return []
    return [c for c in step.before.components if (c.part, c.came) == (part, item)]


def _least_of(walk: Walk, line: WeighedLine) -> Fraction | None:
    """The least grams of an accelerator at factor 1 that a dose of it asks for, the formula's
    others taken as written; None for anything else."""
    facts = line.joined.ingredient
    if facts is None or not facts.erythorbate:
        return None
    limit = next((dose for dose in _doses(walk) if dose.most_ppm is None), None)
    if limit is None:
        return None
    others = limit.ppm * limit.meat_share / MILLION - line.grams * facts.erythorbate
    return (limit.law_ppm * limit.meat_share / MILLION - others) / facts.erythorbate


def _most_of_a_cure(
    limit: DoseLimit, line: WeighedLine, nitrite: Fraction, share: Fraction
) -> Fraction:
    """The most a load may hold of a cure, in grams, the formula's other cures taken as dosed.
    ``nitrite`` is how much of it is nitrite, ``share`` the load's part of the formula as
    written."""
    others = limit.ppm * limit.meat_share / MILLION - line.grams * nitrite
    return (limit.law_ppm * limit.meat_share / MILLION - others) / nitrite * share


def _dose_findings(walk: Walk, line: BatchLine, size: Size) -> list[Finding]:
    """A cure rounded down must still reach the least that is asked for."""
    limit = _cure_limit(walk, line.line)
    if limit is None:
        return []
    weighed = line.weigh_g / line.exact_g * limit.final_ppm if line.exact_g else Fraction(0)
    least_ppm = limit.weighed_least_ppm
    if limit.least_ppm is not None and limit.final_ppm < limit.least_ppm:
        return []  # the dose itself is too low, whatever the scale
    if weighed > 0 and (least_ppm is None or weighed >= least_ppm):
        return []
    least = plain(least_ppm, 1) if least_ppm is not None else "0"
    return [
        Finding(
            "cure-scale-too-coarse",
            "error",
            f"{line.name}: in a batch of {size_label(walk.formula, size)} the scale's steps "
            "bring it down to "
            f"{plain(weighed, 1)} ppm of nitrite, below {least}.",
            line.line.joined.line.place("amount"),
            "Weigh it on a finer scale, or make a larger batch.",
            about=frozenset({walk.formula.id}),
        )
    ]


def _too_coarse(formula: JoinedFormula, line: BatchLine, size: Size) -> list[Finding]:
    weighing = line.weighing
    place = line.line.joined.line.place("amount")
    about = frozenset({formula.id})
    label = size_label(formula, size)
    if weighing.scale is None:
        return [
            Finding(
                "scale-missing",
                "error",
                "The kitchen has no scale to weigh with.",
                Place("standards/equipment"),
                "Enter one: kind: scale, division, accuracy, capacity.",
                about=about,
            )
        ]
    if weighing.needs is None or line.line.joined.line.amount.kind == "as-needed":
        return []
    exact = small_weight(line.exact_g / line.loads, 2)
    permitted = plain(weighing.permitted * 100)
    share = plain(to_side(weighing.share * 100, "up", Fraction(1, 10)), 1)
    where, larger = f"a batch of {label}", "make a larger batch, or "
    if line.loads > 1:  # a larger batch is more loads, each about as small
        where, larger = f"each of {line.loads} loads of {label}", "make "
    return [
        Finding(
            "scale-too-coarse",
            "warning",
            f"{line.name}: {exact} in {where} is too little for the {weighing.scale.name.lower()} "
            f"(±{share} %, permitted {permitted} %).",
            place,
            f"{too_coarse_words(weighing)} Or {larger}a premix.{_or_to_taste(line)}",
            about=about,
        )
    ]


def _or_to_taste(line: BatchLine) -> str:
    """The chef's own way out, for what nobody doses: salt, cure and what sets are never
    offered it."""
    facts = line.line.joined.ingredient
    if facts is None or facts.function:
        return ""
    return " Or, if the cook tastes it, write it `as needed` with its `usual` weight."


def loads_words(formula: JoinedFormula, loads: Loads) -> str:
    """A machine's loads in words: "2 loads of 5 rolls", "3 loads: 4, 3 and 3 rolls"."""
    makes = formula.formula.makes
    if loads.pieces and makes is not None:
        if len(set(loads.pieces)) == 1:
            each = counted(loads.pieces[0], makes.unit, makes.plural)
            return each if loads.count == 1 else f"{counted(loads.count, 'load')} of {each}"
        shares = ", ".join(str(p) for p in loads.pieces)
        return f"{counted(loads.count, 'load')}: {shares} {makes.plural}"
    if loads.count == 1:
        return kilos(loads.grams)
    return f"{counted(loads.count, 'load')} of {kilos(loads.grams)}"


def made_ahead(walks: Mapping[str, Walk], sheet: Sheet, batch: Batch) -> dict[str, Fraction]:
    """How much of each made-ahead formula a batch needs, in grams of its finished weight."""
    need: dict[str, Fraction] = {}
    for line in batch.lines:
        sub = line.line.joined.formula
        if sub is not None and sub in walks:
            need[sub] = need.get(sub, Fraction(0)) + line.exact_g
    return need
