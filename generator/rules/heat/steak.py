"""Beef steak cooked on its surface: undercooked inside, and served without the advisory.

Food Code 3-401.11(C), with 3-201.11(E) for what the steak has to be: whole-muscle, intact beef,
labelled so by its plant or shown to be so by another record, and cut so that it stays intact. Germs
are on the outside of such a piece. A step says so by its target, `surface 63 °C`; whatever speaks
against it leaves the cooking limit of its core.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.words import listed, with_verb
from generator.reference.row_kinds import CookRow
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.basics.limit import HeatingLimit, Hold, Option, Verdict, figure_of
from generator.rules.basics.product import Component
from generator.rules.heat.cook_rows import assess, row_words, within_probe_error
from generator.rules.heat.microwave import in_microwave

STEAK = "steak"
"""The row for a steak cooked on its surface."""
ON_ITS_SURFACE = "surface"
"""Where such a target is measured."""
_KEPT = frozenset(
    {
        "cools",
        "freezes",
        "thaws",
        "holds-hot",
        "holds-by-time",
        "packs-without-air",
        "reheats",
        "part-cooks",
    }
)
_CUT = frozenset({"cuts", "comminutes", "tenderises", "injects", "stuffs", "soaks", "brines"})
_BOTH_SIDES = "The surface: the top and the bottom of the thinnest and the thickest steak."
_MISSED = (
    "Colder than {below} on a side? Turn it. Cook that side until both sides read it and no raw "
    "colour is left outside."
)


def on_its_surface(context: StepContext) -> Outcome | None:
    """The limit of a step that cooks a steak on its surface, or nothing for one that cooks it on
    once it was; None where its core has to be cooked."""
    target = context.step.target
    if target is None and context.before.only_seared:
        return NOTHING
    if not asked(context) or next(problems(context), None) is not None:
        return None
    found = _row(context)
    assert found is not None and target is not None and target.coolest is not None
    ident, row = found
    figure = figure_of(row.value, row.printed, "min", context.accuracy)
    option = Option(ident, figure, None, row.clause, "")
    met, clear = assess((option,), target.coolest, None, context.accuracy.celsius)
    fix = context.as_typed(ON_ITS_SURFACE, figure.read_at(context.unit))
    if met is None:
        words = (
            f"The {context.step.verb.lower()} target, {target.text}, is below the limit "
            f"for the surface of a steak: {row_words(option)}."
        )
        failed = context.finding(
            "target-below-limit",
            "error",
            words,
            f"With your probe (±{context.accuracy}) both sides must read more.",
            context.fixed(fix),
            source=cited(context.house, row),
        )
        return Outcome((_limit(context, option, row, Verdict("fails", words, (fix,))),), (failed,))
    close: tuple[Finding, ...] = ()
    verdict = Verdict("meets", f"{target.text} meets {row_words(option)} on this probe.")
    if not clear:
        words = (
            f"{context.step.verb}: the target, {target.text}, meets the limit "
            f"{row_words(option)} only if the probe is exact."
        )
        warned = within_probe_error(context, option, words)
        close = (replace(warned, write=context.fixed(fix)),)
        verdict = Verdict("close", words, (fix,))
    return Outcome((_limit(context, option, row, verdict),), close, seared=True)


def asked(context: StepContext) -> bool:
    """Whether a step's target is measured on the surface."""
    target = context.step.target
    return target is not None and target.kind == ON_ITS_SURFACE


def why_its_core(context: StepContext) -> str:
    """Why a surface target doesn't do, as a sentence; empty where none was asked for."""
    reasons = list(problems(context)) if asked(context) else []
    if not reasons:
        return ""
    return f" The surface alone isn't enough here: {listed(list(dict.fromkeys(reasons)))}."


def problems(context: StepContext) -> Iterator[str]:
    """All that speaks against cooking the food on its surface only."""
    if _row(context) is None:
        yield "the rules here say nothing about it"
        return
    if "cook" in context.house.pack.ours:
        yield "a house limit requires its core"
    if context.house.kitchen.serves == "highly-susceptible":
        yield "a highly susceptible population is served"
    if context.before.stuffed:
        yield "it is stuffed"
    for component in context.before.raw_animals:
        yield from _of_one(component)
    yield from _before(context)
    yield from _afterwards(context)


def _of_one(c: Component) -> Iterator[str]:
    if c.through:
        yield f"{with_verb(c.name, 'was')} made ready in another formula"
    if c.species != "beef":
        yield f"{with_verb(c.name, 'is not')} beef"
    elif c.form != "intact":
        yield (
            f"{with_verb(c.name, 'is not')} intact"
            if c.form
            else f"{with_verb(c.name, 'is not')} stated to be intact"
        )
    elif not c.whole_muscle:
        yield (
            f"{with_verb(c.name, 'is not')} stated to be whole-muscle, intact beef (`whole_muscle`)"
        )
    if c.cut:
        yield (
            f"{with_verb(c.name, 'is')} cut up by its line (`prepare`). The ingredient must be "
            "the steak itself"
        )


def _before(context: StepContext) -> Iterator[str]:
    """What was done to the meat on its way here. The definition's own words weren't read; what
    brings the outside of the meat into it, or may, counts against it."""
    parts = {c.part for c in context.before.raw_animals}
    inside = False
    for step in context.formula.upto(context.step.number):
        inside = inside or bool(parts & set(step.parts))
        if inside and (step.effects & _CUT or step.step.pump or step.step.pick_up):
            yield f"it was changed on the way ({step.verb.lower()})"
    if in_microwave(context.step):
        yield "by microwave every part of it has a limit"


def _afterwards(context: StepContext) -> Iterator[str]:
    """It goes to the guest: nothing keeps it, and the last step serves it."""
    if context.formula.formula.keeps is not None:
        yield "the formula keeps some of it"
    steps = [s for s in context.formula.after(context.step.number) if "cleans" not in s.effects]
    for step in steps:
        if step.effects & _KEPT or step.cold is not None or step.effects & {"stores", "displays"}:
            yield f"it is held or kept afterwards ({step.verb.lower()})"
    if not steps or "serves" not in steps[-1].effects:
        yield "the last step isn't `serve`"


def _row(context: StepContext) -> tuple[str, CookRow] | None:
    return context.house.pack.row_for(CookRow, STEAK)


def _limit(context: StepContext, option: Option, row: CookRow, verdict: Verdict) -> HeatingLimit:
    step, target, figure = context.step, context.step.target, option.figure
    assert target is not None
    raw = context.before.raw_animals
    names = tuple(dict.fromkeys(c.name for c in raw))
    records = list(dict.fromkeys(f"{c.name}: {c.whole_muscle.rstrip('.')}" for c in raw))
    source = context.source(row)
    inputs = (
        ("In it", row.food),
        ("Known by", "; ".join(records)),
        (
            "Probe",
            f"reads to ±{context.accuracy}, so it must show "
            f"{context.degrees(figure.read_at(context.unit))}",
        ),
    )
    met = verdict.status in ("meets", "close")
    hold = target.hold.shortest if met and target.hold else None
    return HeatingLimit(
        **context.names("cook"),
        hazard="cook",
        bound="min",
        source=source,
        figure=figure,
        hold=Hold(hold, None) if hold is not None else None,
        read=figure.asked(context.unit, target.coolest if met else None),
        target=target.text,
        options=(option,),
        because=names,
        group=row.food,
        verdict=verdict,
        basis=Basis(inputs, f"{row.food}: {row_words(option)} on both sides", source.words),
        note=row.words,
        measured=row.measured,
        probe=step.step.probe or _BOTH_SIDES,
        if_missed=step.step.if_missed or _MISSED,
    )
