"""The sheet: the computed standard, one immutable record per formula with its batch sizes.

Everything a person ever sees is drawn from it, so that a page, a JSON answer and a binder can't
disagree.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Place, Refused
from generator.measures.kilos import small_weight
from generator.measures.rounding import to_side, total
from generator.measures.words import counted, listed, plain
from generator.records.approval import Approval, Status, approval_of
from generator.records.formula import Size
from generator.records.ingredient import Allergen
from generator.resolve.joined import ConfirmedFact, House, JoinedFormula
from generator.scaling.batch import OnHand, Yields
from generator.scaling.loads import Loads
from generator.scaling.scales import (
    too_coarse_words,
)
from generator.sheet.batch_line import BatchLine as BatchLine
from generator.sheet.batch_line import as_needed as as_needed
from generator.sheet.batch_line import line_of_batch
from generator.sheet.cautioning import Notices, Raised
from generator.sheet.dosed import (
    cure_limit,
    weighed_short,
)
from generator.sheet.machine_loads import (
    assumed_findings,
    loads_of,
    with_a_size_that_does,
)
from generator.sheet.measured_sizes import as_weight
from generator.sheet.one_order import of_one_order
from generator.sheet.outputs import Output, factor_of, from_to_of, outputs_of, yields_of
from generator.sheet.size_words import in_pieces_if_any, size_label
from generator.sheet.station_scales import may_be_weighed, measured_wrong, scales_for
from generator.sheet.step_loads import StepLoads
from generator.sheet.takes import places_findings, weighed_for
from generator.sheet.walk import Walk


@dataclass(frozen=True)
class WeighedTogether:
    """Lines that are weighed together: for each load of one machine's ``run``, which may be the one
    that ``leads``, for whose loads most is weighed; or once, where there is none."""

    run: StepLoads | None
    lines: tuple[BatchLine, ...]
    leads: bool = False

    @property
    def loads(self) -> int:
        """How many times they are weighed."""
        return self.run.loads.count if self.run is not None else 1


@dataclass(frozen=True)
class Batch:
    """One batch size, worked out. ``loads`` are those of the machine at ``step``, for which most
    is weighed; other machines' are in ``step_loads``. ``outputs`` are what else comes out of it,
    ``from_to`` what can be served at least and at most, in grams; None where no yield varies;
    ``held_back`` are findings a scale's own slip may be the reason of, reported at the scale."""

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
    outputs: tuple[Output, ...] = ()
    from_to: tuple[Fraction, Fraction] | None = None
    step: str = ""
    held_back: tuple[Finding, ...] = ()

    def per_load(self) -> tuple[BatchLine, ...]:
        """The lines weighed once for each load."""
        if self.loads.count == 1:
            return self.whole_lines()
        return tuple(ln for ln in self.lines if ln.at == self.step and ln.loads > 1)

    def whole(self) -> tuple[BatchLine, ...]:
        """The lines weighed once for the whole batch, beside those weighed load by load."""
        return () if self.loads.count == 1 else self.whole_lines()

    def whole_lines(self) -> tuple[BatchLine, ...]:
        """The lines weighed once for the whole batch."""
        return tuple(ln for ln in self.lines if ln.loads == 1)

    def groups(self) -> tuple[WeighedTogether, ...]:
        """The lines as they are weighed, in the order of the steps that take them in: for the loads
        of one machine together, at the first of its lines; what is weighed once in between."""
        found: list[tuple[str, list[BatchLine]]] = []
        for line in sorted(self.lines, key=lambda ln: ln.step.number):
            at = line.at if line.loads > 1 else ""
            same = [lines for other, lines in (found if at else found[-1:]) if other == at]
            if same:
                same[0].append(line)
            else:
                found.append((at, [line]))
        runs = {one.step: one for one in self.step_loads}
        places = {id(line): place for place, line in enumerate(self.lines)}
        return tuple(
            WeighedTogether(
                runs.get(at),
                tuple(sorted(lines, key=lambda ln: places[id(ln)])),
                at == self.step and self.loads.count > 1,
            )
            for at, lines in found
        )

    def load_g(self) -> Fraction:
        """What one load weighs by its rounded lines, in grams."""
        return sum((ln.weighing.grams for ln in self.per_load()), Fraction(0))

    @property
    def machines(self) -> tuple[tuple[str, tuple[StepLoads, ...]], ...]:
        """Each machine's runs in the order of the work, by its id."""
        found: dict[str, list[StepLoads]] = {}
        for one in self.step_loads:
            found.setdefault(one.equipment, []).append(one)
        return tuple((ident, tuple(runs)) for ident, runs in found.items())


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
    raised: Raised
    findings: tuple[Finding, ...]
    confirmed: tuple[ConfirmedFact, ...] = ()

    @property
    def notices(self) -> Notices:
        """The cautions it raises."""
        return self.raised.notices

    @property
    def waits_for_scale(self) -> bool:
        """Whether it can't be weighed for all that is known, until a doubted scale is put
        right."""
        return any(f.is_error for batch in self.batches for f in batch.held_back)

    @property
    def name(self) -> str:
        return self.formula.formula.name

    @property
    def stations(self) -> str:
        """The names of the stations where it is made."""
        known = self.house.stations
        return listed([known[one].name for one in self.formula.formula.station])

    @property
    def status(self) -> Status:
        return self.approval.status


def make_sheet(house: House, walk: Walk, raised: Raised, as_of: datetime.date) -> Sheet:
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
        raised,
        (*walk.findings, *raised.findings, *findings, *places_findings(walk)),
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


def make_batch(house: House, walk: Walk, size: Size, on_hand: OnHand | None = None) -> Batch:
    """One batch size worked out: loads, weights on scales, yields.

    Raises Refused for a size the formula or a machine doesn't allow.
    """
    size = as_weight(walk, size)
    try:
        factor = on_hand.factor if on_hand else factor_of(walk, size.kind, size.value)
    except Refused as refused:
        raise with_a_size_that_does(house, walk, refused) from None
    of_one_order(walk, factor)
    size = in_pieces_if_any(size, factor, walk.figures)
    yields = yields_of(walk, factor)
    step_loads = loads_of(house, walk, factor, on_hand.stock if on_hand else None)
    at = {part: weighed_for(walk, part) for part in walk.formula.formula.parts}
    by_step = {one.step: one for one in step_loads}
    by_part = {part: by_step.get(step) for part, step in at.items()}
    lines = _lines(house, walk, factor, by_part)
    findings, held_back = _of_the_scales(house, walk, lines, size)
    batch = Batch(
        size,
        size_label(walk.formula, size),
        factor,
        lines,
        Loads(1, yields.total_g),
        "",
        "",
        step_loads,
        yields,
        on_hand,
        (*assumed_findings(walk, step_loads), *findings),
        outputs_of(walk, factor),
        from_to_of(walk, factor),
        held_back=tuple(held_back),
    )
    return _led_by(batch, by_step.get(lead_of(walk, at)))


def _led_by(batch: Batch, lead: StepLoads | None) -> Batch:
    """A batch with the machine for whose loads most is weighed."""
    if lead is None:
        return batch
    loads = lead.loads if lead.loads.alike else batch.loads
    return replace(
        batch, loads=loads, equipment=lead.equipment, equipment_name=lead.name, step=lead.step
    )


def _lines(
    house: House, walk: Walk, factor: Fraction, by_part: Mapping[str, StepLoads | None]
) -> tuple[BatchLine, ...]:
    """The lines on their scales, each for the loads of its part's machine where those are alike."""
    scales = scales_for(house, walk.formula)
    takes = {part: s.step for s in reversed(walk.steps) for part in s.step.parts}
    return tuple(
        line_of_batch(
            house, walk, line, takes[line.joined.part], factor, by_part[line.joined.part], scales
        )
        for line in walk.lines
    )


def lead_of(walk: Walk, at: Mapping[str, str]) -> str:
    """The step for whose loads most lines are weighed, then most grams: ``at`` says by part for
    which; empty for none."""
    found: dict[str, list[Fraction]] = {}
    for line in walk.lines:
        step = at[line.joined.part]
        if step:
            found.setdefault(step, []).append(line.grams)
    if len(found) < 2:
        return next(iter(found), "")
    return max(found, key=lambda step: (len(found[step]), total(found[step])))


def _of_the_scales(
    house: House, walk: Walk, lines: Iterable[BatchLine], size: Size
) -> tuple[list[Finding], list[Finding]]:
    """What is wrong with lines on the scales they are weighed on; and what a slip reported
    elsewhere may be the reason of: a scale's own, or a measure that weighs what no food weighs."""
    findings: list[Finding] = []
    held_back: list[Finding] = []
    for line in lines:
        wrong = [*_too_coarse(walk.formula, line, size), *_dose_findings(walk, line, size)]
        if not wrong:
            continue
        held = may_be_weighed(house, line.weighing.permitted * line.exact_g / line.loads)
        held = held or measured_wrong(line.line)
        (held_back if held else findings).extend(wrong)
    return findings, held_back


def _dose_findings(walk: Walk, line: BatchLine, size: Size) -> Iterator[Finding]:
    """A cure rounded down must still reach the least that is asked for."""
    limit = cure_limit(walk, line.line) if line.capped else None
    if limit is None:
        return
    scale = line.weighing.scale
    off = scale.uncertainty(line.weighing.count) * line.loads if scale else Fraction(0)
    what = f"{line.name}: in a batch of {size_label(walk.formula, size)}"
    place = line.line.joined.line.place("amount")
    found = weighed_short(limit, what, line.exact_g, line.weigh_g, off, place)
    if found is not None:
        yield replace(found, about=frozenset({walk.formula.id}))


def _too_coarse(formula: JoinedFormula, line: BatchLine, size: Size) -> list[Finding]:
    weighing = line.weighing
    about = frozenset({formula.id})
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
    place = line.line.joined.line.place("amount")
    label = size_label(formula, size)
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
