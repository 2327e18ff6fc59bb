"""The walk: a formula's steps in order, carrying the product's state and mass.

Everything here is at factor 1, the formula as written; limits don't change with batch size, and
masses scale in a straight line. Pure: no YAML, no file, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding
from generator.records.effects import HEATS, WAITS
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.asked import ask_end, ask_step
from generator.rules.basics.context import DatedPart, EndContext, Outcome, StepContext
from generator.rules.basics.course import Bounds, Course, Stay, stay_of, warms
from generator.rules.basics.course import after as course_after
from generator.rules.basics.fate import fate_of
from generator.rules.basics.house_rule import Spoken
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.basics.warmth import (
    as_warm,
    chilled_by,
    cools_at,
    heated_up_again,
    hot_by,
    needs_cold,
    thaws_at,
    with_parts,
)
from generator.rules.cold.holding import bounds_of
from generator.rules.cold.part_cooking import PART_COOKS
from generator.rules.cold.plants import marked as plants_marked
from generator.rules.cold.plants import sprouted
from generator.rules.cures.brining import after_taking_up
from generator.rules.cures.salting import salting
from generator.rules.heat.enclosing import enclosed
from generator.rules.heat.roast import in_pieces
from generator.rules.heat.to_order import holds as made_to_order
from generator.rules.heat.to_order import raw_egg
from generator.rules.packing.on_file import with_document
from generator.rules.store.shelf import day_one_of
from generator.scaling.batch import Figures
from generator.sheet.components import components_of, pieces_of
from generator.sheet.walked import Walk as Walk
from generator.sheet.walked import WalkedStep as WalkedStep
from generator.sheet.weighing import WeighedLine, weigh_lines

_BREAKS = WAITS | {
    "cools",
    "freezes",
    "slices",
    "divides",
    "packs",
    "hot-holds",
    "time-controls",
    "serves",
    "thaws",
}
"""What ends a run of heating."""
_DIVIDES = frozenset(
    {"cuts", "slices", "comminutes", "tenderises", "injects", "stuffs", "fills", "pools", "divides"}
)


def walk(
    house: House, formula: JoinedFormula, made: Mapping[str, Walk]
) -> Walk | tuple[Finding, ...]:
    """Walk one formula. ``made`` holds the walks of its sub-formulas.

    Returns the walk, or the findings that keep it from being computed.
    """
    lines, findings = weigh_lines(
        house, formula, {i: pieces_of(made[i]) for i in formula.sub_formulas}
    )
    if lines is None:
        return tuple(findings)
    parts: dict[str, list[Component]] = {}
    to_order = made_to_order(formula)
    for line in lines:
        found = components_of(house, line, made)
        if to_order and raw_egg(line.joined.ingredient):
            found = [replace(c, to_order=True) for c in found]
        parts.setdefault(line.joined.part, []).extend(found)
    due = _due(formula.steps, house.library.preparation.noted.seconds)
    product = Product()
    walked: list[WalkedStep] = []
    filled: Fraction | None = None
    touched: Spoken = frozenset()
    hot_later = [_held_hot_next(formula.steps[i:]) for i in range(len(formula.steps))]
    course, bounds, fate = Course(), bounds_of(house), fate_of(formula)
    aged = max((c.aged_s for found in parts.values() for c in found), default=Fraction(0))
    wet_s = Fraction(0)
    stood = max((c.stood_s for found in parts.values() for c in found), default=Fraction(0))
    for index, step in enumerate(formula.steps):
        taken = tuple(c for part in step.parts for c in parts.get(part, ()))
        opened = step.effects | {"cuts"} if _told_to_cut(house, step) else step.effects
        before = plants_marked(_marked(product.take(taken), step), opened, house)
        wet_s += _wet_and_warm(before, step, bounds)
        before = plants_marked(sprouted(before, wet_s, house), opened, house)
        before = enclosed(in_pieces(before, step.effects), step, formula, house.pack)
        course = with_parts(course, before, taken, step)
        before = replace(before, hot=before.hot or hot_by(course))
        stay = stay_of(step, course, before, bounds)
        if thaws_at(course, step, stay):
            step = replace(step, effects=step.effects | {"thaws"})
            stay = stay_of(step, course, before, bounds)
        cools = cools_at(before, stay, formula.steps[index:])
        to_come = tuple(
            c for s in formula.steps[index + 1 :] for p in s.parts for c in parts.get(p, ())
        )
        context = StepContext(
            house,
            formula,
            step,
            before,
            due[index],
            hot_later[index],
            cools,
            to_come,
            course,
            stay,
            needs_cold(formula, before, index),
            chilled_by(formula.steps[index + 1 :]),
            fate,
            stood,
        )
        outcomes, spoken = ask_step(context)
        touched |= spoken
        limits = tuple(
            with_document(house, formula, limit) for outcome in outcomes for limit in outcome.limits
        )
        findings += [f for outcome in outcomes for f in outcome.findings]
        after = _after(house, formula.id, before, step, outcomes, cools, bounds)
        if stay.during == "by plan" and not _cooked_from(formula.steps[index:]):
            after = after.made_ready()
        if "fills" in step.effects and filled is None:
            filled = after.mass
        stood += heated_up_again(before, course, step)
        needs = after.needs_cold if warms(step, bounds) else before.needs_cold
        course = course_after(course, step, stay, needs, cools)
        after = as_warm(after, course, step)
        aged += _kept(before, stay, step)
        walked.append(WalkedStep(step, before, after, limits, stay, course))
        product = after
    end = EndContext(
        house,
        formula,
        product,
        formula.formula.not_tcs.words if formula.formula.not_tcs is not None else "",
        _to_date(house, lines, made, product),
        course,
        fate,
        aged,
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
        course,
        aged,
        stood,
    )


def _kept(product: Product, stay: Stay, step: JoinedStep) -> Fraction:
    """The seconds a step keeps food that is ready to eat already, frozen food aside; as far as it
    says."""
    if not product.eaten_as_it_is or not product.needs_cold:
        return Fraction(0)
    if stay.during in ("frozen", "unchanged", "by plan"):
        return Fraction(0)
    stays = step.step.stays.seconds if step.step.stays is not None else Fraction(0)
    return (stay.seconds or Fraction(0)) + stays


def _cooked_from(steps: tuple[JoinedStep, ...]) -> bool:
    return any("cooks" in step.effects for step in steps)


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


def _wet_and_warm(product: Product, step: JoinedStep, bounds: Bounds) -> Fraction:
    """The seconds moist food stands at a step, neither in the cold nor in the heat."""
    time = step.step.time
    if time is None or not product.wet or step.cold is not None or warms(step, bounds):
        return Fraction(0)
    return time.seconds


def _told_to_cut(house: House, step: JoinedStep) -> bool:
    """Whether a word of what the cook is told to do says that something is cut."""
    return any(house.library.known_names.cuts(line) for line in step.step.how)


def _cut_up(step: JoinedStep) -> bool:
    """Whether a step leaves no whole roast whole."""
    return bool(step.effects & _DIVIDES)


def _after(
    house: House,
    formula: str,
    product: Product,
    step: JoinedStep,
    outcomes: list[Outcome],
    cools: bool,
    bounds: Bounds,
) -> Product:
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
    if warms(step, bounds) and not product.raw_animals:
        raw = any(c.state in RAW_STATES for c in product.components)
        product = replace(product, plants_heated=product.plants_heated or (raw and product.wet))
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


def _held_hot_next(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the food is held hot at one of ``steps`` before it is cooled again."""
    for step in steps:
        if "hot-holds" in step.effects:
            return True
        if step.effects & {"cools", "freezes"}:
            return False
    return False


def _due(steps: tuple[JoinedStep, ...], wait: Fraction) -> list[bool]:
    """At which cooking steps raw food must be safe: those with a core or a surface target, and the
    last of each run of heating. Browning bones before they simmer is no limit; the cold, whatever
    is done there, and more than ``wait`` seconds of other work end a run."""
    result: list[bool] = []
    for index, step in enumerate(steps):
        if "cooks" not in step.effects:
            result.append(False)
            continue
        has_core = step.target is not None and step.target.kind in ("core", "surface")
        last, waited = True, Fraction(0)
        for later in steps[index + 1 :]:
            if later.effects & _BREAKS or later.cold is not None:
                break
            if not later.effects & HEATS and later.step.time is not None:
                waited += later.step.time.seconds
            if waited > wait:
                break
            if "cooks" in later.effects:
                last = False
                break
        result.append(has_core or last)
    return result


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
                Finding(
                    "slice-needs-length",
                    "error",
                    "A slice needs the length and weight of one fill.",
                    makes.place("slice"),
                    "Add `length` and `fill` under `makes`.",
                    about=frozenset({formula.id}),
                )
            )
        else:
            usable = makes.length.value - 2 * ends
            per_fill = max(0, math.floor(usable / makes.slice.value))
            sliced = per_fill * makes.slice.value / makes.length.value
            if per_fill == 0:
                findings.append(
                    Finding(
                        "slice-too-thick",
                        "error",
                        "There is no whole slice between the ends.",
                        makes.place("slice"),
                        "Check slice, length and ends.",
                        about=frozenset({formula.id}),
                    )
                )
                sliced = Fraction(1)
    return Figures(base, raw, filled, finished, fill, portion, per_fill, sliced), findings
