"""The walk: a formula's steps in order, carrying the product's state and mass.

Everything here is at factor 1, the formula as written; limits don't change with batch size, and
masses scale in a straight line. Pure: no YAML, no file, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.finding import Finding
from generator.joined import House, JoinedFormula, JoinedStep
from generator.product import Component, CureFacts, Product
from generator.records.ingredient import Ingredient
from generator.rules.asked import ask_end, ask_step
from generator.rules.brining import after_taking_up
from generator.rules.context import DatedPart, Dates, EndContext, Outcome, StepContext
from generator.rules.dosing import takes_up
from generator.rules.enclosing import enclosed
from generator.rules.house_rule import Spoken
from generator.rules.limit import Limit
from generator.rules.on_file import with_document
from generator.rules.parasites import SUPPLIER
from generator.rules.part_cooking import PART_COOKS
from generator.rules.plants import marked as plants_marked
from generator.rules.plants import needs_as_it_comes, plant_of
from generator.rules.roast import in_pieces, stays_whole
from generator.rules.salting import Salting, salting
from generator.rules.shelf import day_one_of
from generator.rules.to_order import holds as made_to_order
from generator.rules.to_order import raw_egg
from generator.scaling.batch import Figures
from generator.scaling.volumes import room_of
from generator.scaling.weights import UnitWeight
from generator.weighing import WeighedLine, salt_in, water_in, weigh_lines

_BREAKS = frozenset({"cools", "freezes", "slices", "excludes-air", "hot-holds"})
_BREAKING_VERBS = frozenset(
    {"rest", "store", "proof", "cool", "divide", "unmould", "pack", "soak", "brine", "marinate"}
)
_DIVIDES = frozenset(
    {"cuts", "slices", "comminutes", "tenderises", "injects", "stuffs", "fills", "pools"}
)
_DIVIDING_VERBS = frozenset({"divide", "trim"})


@dataclass(frozen=True)
class WalkedStep:
    """A step with the product before and after it, and its limits."""

    step: JoinedStep
    before: Product
    after: Product
    limits: tuple[Limit, ...]


@dataclass(frozen=True)
class Walk:
    """A formula walked to its end. ``house_limits`` are the places of those that speak of it."""

    formula: JoinedFormula
    lines: tuple[WeighedLine, ...]
    steps: tuple[WalkedStep, ...]
    end: Product
    store: tuple[Limit, ...]
    dates: Dates | None
    figures: Figures
    tcs: bool
    findings: tuple[Finding, ...]
    house_limits: Spoken = frozenset()
    salting: Salting | None = None

    @property
    def undercooked(self) -> bool:
        """Served raw or undercooked on a guest's request, by the formula's own word."""
        return bool(self.formula.formula.undercooked)

    @property
    def limits(self) -> tuple[Limit, ...]:
        """All limits, in the order of the work."""
        return tuple(limit for step in self.steps for limit in step.limits) + self.store


def walk(
    house: House, formula: JoinedFormula, made: Mapping[str, Walk]
) -> Walk | tuple[Finding, ...]:
    """Walk one formula. ``made`` holds the walks of its sub-formulas.

    Returns the walk, or the findings that keep it from being computed.
    """
    lines, findings = weigh_lines(
        house, formula, {i: _pieces_of(made[i]) for i in formula.sub_formulas}
    )
    if lines is None:
        return tuple(findings)
    parts: dict[str, list[Component]] = {}
    to_order = made_to_order(formula)
    for line in lines:
        found = _components(house, line, made)
        if to_order and raw_egg(line.joined.ingredient):
            found = [replace(c, to_order=True) for c in found]
        parts.setdefault(line.joined.part, []).extend(found)
    due = _due(formula.steps)
    product = Product()
    walked: list[WalkedStep] = []
    filled: Fraction | None = None
    touched: Spoken = frozenset()
    hot_later = [_held_hot_next(formula.steps[i:]) for i in range(len(formula.steps))]
    for index, step in enumerate(formula.steps):
        taken = tuple(c for part in step.parts for c in parts.get(part, ()))
        before = plants_marked(_marked(product.take(taken), step), step.effects, house.pack)
        before = enclosed(in_pieces(before, step.effects), step, formula, house.pack)
        cools = _cools(before, formula.steps[index:])
        to_come = tuple(
            c for s in formula.steps[index + 1 :] for p in s.parts for c in parts.get(p, ())
        )
        context = StepContext(
            house, formula, step, before, due[index], hot_later[index], cools, to_come
        )
        outcomes, spoken = ask_step(context)
        touched |= spoken
        limits = tuple(
            with_document(house, formula, limit) for outcome in outcomes for limit in outcome.limits
        )
        findings += [f for outcome in outcomes for f in outcome.findings]
        after = _after(house, formula.id, before, step, outcomes, cools)
        if "fills" in step.effects and filled is None:
            filled = after.mass
        walked.append(WalkedStep(step, before, after, limits))
        product = after
    end = EndContext(
        house, formula, product, formula.formula.not_tcs, _to_date(house, lines, made, product)
    )
    endings, spoken = ask_end(end)
    findings += [f for outcome in endings for f in outcome.findings]
    store = tuple(limit for outcome in endings for limit in outcome.limits)
    dates = next((o.dates for o in endings if o.dates is not None), None)
    figures, more = _figures(formula, lines, filled, product.mass)
    findings += more
    return Walk(
        formula,
        tuple(lines),
        tuple(walked),
        product,
        store,
        dates,
        figures,
        end.tcs,
        tuple(findings),
        touched | spoken,
        salting(formula, ((s.step, s.after) for s in walked), product),
    )


def _marked(product: Product, step: JoinedStep) -> Product:
    for effect, form in (
        ("comminutes", "comminuted"),
        ("tenderises", "tenderised"),
        ("injects", "injected"),
    ):
        if effect in step.effects:
            product = product.with_form(form)
    if _cut_up(step):
        product = product.divided()
    return replace(product, stuffed=True) if "stuffs" in step.effects else product


def _cut_up(step: JoinedStep) -> bool:
    """Whether a step leaves no whole roast whole."""
    return bool(step.effects & _DIVIDES) or step.step.do in _DIVIDING_VERBS


def _after(
    house: House, formula: str, product: Product, step: JoinedStep, outcomes: list[Outcome], cools: bool
) -> Product:  # fmt: skip
    product = after_taking_up(house, product, step)
    if any(o.cooked for o in outcomes):
        product = product.heated()
    if any(o.roast for o in outcomes) and not _cut_up(step):
        product = product.roasted(formula)
    if any(o.freed for o in outcomes):
        product = product.freed()
    if any(o.seared for o in outcomes):
        product = product.seared()
    for outcome in outcomes:
        if outcome.air_days is not None:
            product = replace(product, air_days=outcome.air_days, air_row=outcome.air_row)
    sour = next((o.acidified for o in outcomes if o.acidified), "")
    if sour:
        product = replace(product, acidified=sour)
    if "reheats" in step.effects:
        product = product.reheated()
    if PART_COOKS in step.effects:
        product = product.part_heated()
    if step.effects & {"cooks", PART_COOKS, "reheats", "hot-holds"}:
        product = replace(product, hot=True, frozen=False)  # cooked from frozen, too
    if cools or "freezes" in step.effects:
        product = replace(product, hot=False)
    if "freezes" in step.effects:
        product = replace(product, frozen=True)
    if "thaws" in step.effects:
        product = replace(product, frozen=False).packed(no_air=False)
    if "time-controls" in step.effects:
        product = replace(product, by_time=True)
    if "excludes-air" in step.effects:
        product = product.packed(no_air=True)
    return product.lose(step.step.loses) if step.step.loses else product


def _cools(product: Product, steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the first of ``steps`` brings the food to cold: a cooling verb, or hot food put into a
    refrigerator or freezer that no later step cools."""
    step, later = steps[0], steps[1:]
    if "cools" in step.effects:
        return True
    cold = step.cold is not None or "freezes" in step.effects
    return cold and product.hot and not any("cools" in s.effects for s in later)


def _held_hot_next(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the food is held hot at one of ``steps`` before it is cooled again."""
    for step in steps:
        if "hot-holds" in step.effects:
            return True
        if step.effects & {"cools", "freezes"}:
            return False
    return False


def _due(steps: tuple[JoinedStep, ...]) -> list[bool]:
    """At which cooking steps raw food must be safe: those with a core or a surface target, and the last of each
    run of heating. Browning bones before they simmer is no limit; cooling ends a run."""
    result: list[bool] = []
    for index, step in enumerate(steps):
        if "cooks" not in step.effects:
            result.append(False)
            continue
        has_core = step.target is not None and step.target.kind in ("core", "surface")
        last = True
        for later in steps[index + 1 :]:
            if later.effects & _BREAKS or later.step.do in _BREAKING_VERBS:
                break
            if "cooks" in later.effects:
                last = False
                break
        result.append(has_core or last)
    return result


def _components(house: House, line: WeighedLine, made: Mapping[str, Walk]) -> list[Component]:
    joined = line.joined
    if joined.formula is not None:
        sub = made[joined.formula]
        total = sum((c.grams for c in sub.end.components), Fraction(0))
        ratio = line.grams / total if total else Fraction(0)
        through = sub.formula.formula.name
        cured = any(takes_up(house, c) for c in sub.end.components)
        return [
            replace(
                c,
                grams=c.grams * ratio,
                part=joined.part,
                through=c.through or through,
                stuffed=sub.end.stuffed and c.raw_animal,
                chilled=(c.heated or c.chilled) and sub.tcs and not sub.end.hot,
                packed=False,
                to_order=False,
                seared=False,
                roast="" if joined.line.prepare else c.roast,
                pieces=c.pieces or not stays_whole(joined.line),
                came=joined.item,
                spent=c.spent or cured,
                tcs=c.tcs or (c.cooked and sub.tcs),
            )
            for c in sub.end.components
        ]
    facts = joined.ingredient
    assert facts is not None
    plant = plant_of(joined.item, facts, house.library.plants)
    ready = facts.state == "ready-to-eat"
    salt = salt_in(facts)
    return [
        Component(
            joined.item,
            facts.name,
            line.grams,
            facts.species,
            facts.state,
            facts.form,
            facts.tcs or needs_as_it_comes(plant, house.pack),
            facts.allergens,
            organ=facts.organ or "",
            function=facts.function or "",
            nitrite=facts.nitrite or Fraction(0),
            cure=_cure_facts(facts),
            part=joined.part,
            salt=salt,
            water=water_in(house.library, facts, salt),
            room=room_of(line.unit_weights),
            parasites=_parasites(facts),
            plant=plant,
            cut=bool(joined.line.prepare),
            chilled=ready and facts.tcs and facts.arrives != "hot",
            packed=ready and facts.commercially_packed,
            no_air=facts.without_air and facts.arrives == "frozen",
            whole_muscle=facts.whole_muscle,
            whole=joined.line.whole,
            cured_roast=facts.cured_roast,
            pieces=not stays_whole(joined.line),
        )
    ]


def _pieces_of(made: Walk) -> tuple[UnitWeight, ...]:
    """What one finished piece of a made-ahead formula weighs, so that it can be counted."""
    figures, makes = made.figures, made.formula.formula.makes
    if makes is None or figures.fill is None or not figures.filled:
        return ()
    grams = figures.fill * figures.finished / figures.filled
    words = dict.fromkeys((makes.one, makes.plural, "each"))
    return tuple(UnitWeight(word, "", grams, None, "") for word in words)


def _cure_facts(facts: Ingredient) -> CureFacts:
    """What curing asks of an ingredient beside its nitrite."""
    nothing = Fraction(0)
    return CureFacts(
        facts.nitrite_from, facts.nitrate or nothing, facts.erythorbate or nothing, facts.skin or ""
    )


def _parasites(facts: Ingredient) -> str:
    """What frees an ingredient of parasites, as the packs name it."""
    if facts.parasites is None:
        return ""
    by = facts.parasites.freed_by
    return SUPPLIER if by == "supplier-freezing" else by


def _to_date(
    house: House, lines: list[WeighedLine], made: Mapping[str, Walk], product: Product
) -> tuple[DatedPart, ...]:
    """The parts whose own date counts: ready-to-eat and in need of temperature control, made ahead
    or bought. Pasteurised food counts unless it is cooked in this formula."""
    cooked = {c.item for c in product.components if c.cooked and not c.through}
    parts: list[DatedPart] = []
    for line in lines:
        item, name = line.joined.item, line.joined.name
        facts, sub = line.joined.ingredient, line.joined.formula
        if sub is not None:
            dates = made[sub].dates
            if dates is not None and dates.kind in ("refrigerated", "by-time"):
                parts.append(DatedPart(item, name, "made"))
        elif facts is not None and facts.tcs:
            how = day_one_of(house.pack, facts)
            if how is not None and not (facts.state == "pasteurised" and item in cooked):
                parts.append(DatedPart(item, name, how))
    return tuple(dict.fromkeys(parts))


def _figures(
    formula: JoinedFormula, lines: list[WeighedLine], filled: Fraction | None, finished: Fraction
) -> tuple[Figures, list[Finding]]:
    raw = sum((ln.grams for ln in lines), Fraction(0))
    base = sum(
        (ln.grams for ln in lines if (ln.joined.part, ln.joined.item) in formula.base), Fraction(0)
    )
    makes = formula.formula.makes
    if makes is None:
        return Figures(base, raw, filled, finished), []
    fill = makes.fill.value if makes.fill else None
    portion = makes.portion.value if makes.portion else None
    per_fill, sliced = makes.portions, Fraction(1)
    findings: list[Finding] = []
    if makes.slice is not None:
        ends = sum((s.step.ends.value for s in formula.steps if s.step.ends), Fraction(0))
        if makes.length is None or fill is None:
            findings.append(
                Finding("slice-needs-length", "error", "A slice needs the length and weight of one fill.",
                        makes.place("slice"), "Add `length` and `fill` under `makes`.",
                        about=frozenset({formula.id}))
            )  # fmt: skip
        else:
            usable = makes.length.value - 2 * ends
            per_fill = max(0, math.floor(usable / makes.slice.value))
            sliced = per_fill * makes.slice.value / makes.length.value
            if per_fill == 0:
                findings.append(
                    Finding("slice-too-thick", "error", "There is no whole slice between the ends.",
                            makes.place("slice"), "Check slice, length and ends.", about=frozenset({formula.id}))
                )  # fmt: skip
                sliced = Fraction(1)
    return Figures(base, raw, filled, finished, fill, portion, per_fill, sliced), findings
