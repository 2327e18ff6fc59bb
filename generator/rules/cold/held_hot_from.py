"""Food that is held hot and wasn't hot when it came: what holds food hot doesn't heat it."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
from generator.measures.words import duration, listed, verb_for, with_verb
from generator.records.effects import HEATS
from generator.reference.row_kinds import HoldRow, ReheatRow
from generator.rules.basics.context import StepContext, both, cited
from generator.rules.basics.limit import Figure
from generator.rules.basics.product import Component
from generator.rules.cold.wetted import pours_boiling


def not_hot(
    context: StepContext, row: HoldRow, figure: Figure, too_cold: bool
) -> tuple[Finding, ...]:
    """The errors of food that comes cold or no longer hot to a step that holds it at ``row``, whose
    figure is ``figure``; and of a place that doesn't hold it hot. ``too_cold``: the step's own
    target is said to be already."""
    found = (*_never_reheated(context), *_not_hot_any_more(context))
    if not found and not too_cold:
        found = _comes_cold(context, row, figure)
    return (
        *found,
        *_held_where(context, row, figure),
    )


def _never_reheated(context: StepContext) -> tuple[Finding, ...]:
    """Food that was cooked and cooled, held hot without a step that reheats it."""
    before = context.before
    cold = tuple(dict.fromkeys(c.through or c.name for c in before.components if c.chilled))
    if (
        before.cooked or any(c.heated and not c.through for c in before.components)
    ) and not before.hot:
        cold = (context.formula.formula.name,)
    if not cold:
        return ()
    rows = context.house.pack.rows_of(ReheatRow)
    return (
        context.finding(
            "reheat-missing",
            "error",
            f"{with_verb(cold, 'is')} cold before {context.step.verb.lower()}. No step reheats "
            f"{'it' if verb_for(cold, 'is') == 'is' else 'them'}.",
            "Add a step before it, as in `do: reheat`, with a core target.",
            place=context.step.step.place("do"),
            source=cited(context.house, rows[0][1]) if rows else "",
        ),
    )


def _not_hot_any_more(context: StepContext) -> tuple[Finding, ...]:
    """Food that was off the heat for so long that it is noted, and then is held hot without being
    reheated: a working rule of ours, since nobody knows that it is hot still."""
    rule, spell = context.house.library.preparation, context.course.spell
    if spell is None or not spell.hot or spell.seconds < rule.noted.seconds:
        return ()
    rows = context.house.pack.rows_of(ReheatRow)
    return (
        context.finding(
            "reheat-missing",
            "error",
            f"{context.step.verb}: it was off the heat for {duration(spell.seconds)}. No step "
            "reheats it.",
            "Hold it hot sooner. Or add a step before it, as in `do: reheat`, with a core "
            f"target. {duration(rule.noted.seconds)} is our working rule.",
            place=context.step.step.place("do"),
            source=cited(context.house, rows[0][1]) if rows else "",
        ),
    )


def _comes_cold(context: StepContext, row: HoldRow, figure: Figure) -> tuple[Finding, ...]:
    """Food whose last heating has a target below what it is to be held at, or that no step heats at
    all: what holds food hot doesn't heat it."""
    step = context.step
    if step.effects & HEATS or row.value is None:
        return ()
    how = _not_heated(context, row.value)
    if not how:
        return ()
    shown = both(row.value, figure.shown_c, figure.shown_f)
    return (
        context.finding(
            "reheat-missing",
            "error",
            f"{_names(context)} isn't hot when it comes to {step.verb.lower()}: {how}. The limit "
            f"is {shown}.",
            "What holds food hot doesn't heat it. Heat it before, with a core target of "
            f"{context.degrees(figure.read_at(context.unit))} or hotter.",
            place=step.step.place("do"),
            source=cited(context.house, row),
        ),
    )


def _not_heated(context: StepContext, least: Temperature) -> str:
    """Why the food isn't ``least`` or hotter, in words; empty if it may be."""
    before = context.formula.before(context.step.number)
    heated = next((s for s in reversed(before) if s.effects & HEATS), None)
    if heated is None:
        hot = _came_hot(context) or any(map(pours_boiling, (*before, context.step)))
        return "" if hot else "no step heats it"
    if heated.effects & {"cooks", "reheats"} or context.before.cooked:
        return ""  # judged by the rows of cooking and of reheating
    target = heated.target
    core = target.coolest if target is not None and target.kind == "core" else None
    return f"{heated.verb} brings it to {core}" if core is not None and core < least else ""


def _came_hot(context: StepContext) -> bool:
    """Whether something in it came hot, or was heated in another formula and may be hot still."""
    product = context.before
    return product.hot or any(c.comes == "hot" or _heated_there(c) for c in product.components)


def _heated_there(part: Component) -> bool:
    return bool(part.through) and (part.cooked or part.heated) and not part.chilled


def _names(context: StepContext) -> str:
    """What is in it and needs the cold or the heat."""
    return listed(list(dict.fromkeys(c.name for c in context.before.components if c.tcs)))


def _held_where(context: StepContext, row: HoldRow, figure: Figure) -> tuple[Finding, ...]:
    """Held hot in the cold, or at less than the limit."""
    step, at = context.step, context.step.step.at
    shown = both(figure.value, figure.shown_c, figure.shown_f)
    if step.cold is not None:
        words = f"{step.verb}: {step.cold.name} can't hold food hot. The limit is {shown}."
        place = step.step.place("in")
    elif at is not None and row.value is not None and at.coolest < row.value:
        words = f"{step.verb}: {at} doesn't hold it hot. The limit is {shown}."
        place = step.step.place("at")
    else:
        return ()
    help = "Name the machine that holds it hot under `with`, and the temperature under `target`."
    return (
        context.finding(
            "held-hot-where", "error", words, help, place=place, source=cited(context.house, row)
        ),
    )
