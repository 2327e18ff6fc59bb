"""Raw animal food cooked in two goes: heated in part, cooled at once, cooked through before it is
served.

Food Code 3-401.14. What comes out of the first heat is raw still; every rule for raw food holds.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.basis import Basis
from generator.measures.words import counted, duration
from generator.records.effects import WAITS
from generator.reference.row_kinds import DateRow, PartCookRow
from generator.resolve.joined import JoinedStep
from generator.resolve.ways import work_of
from generator.rules.basics.context import (
    DAY_S,
    NOTHING,
    Outcome,
    StepContext,
    authorisation_problem,
    chilled_to,
)
from generator.rules.basics.limit import Lasts, TimeLimit, Verdict
from generator.rules.basics.uncovered import not_covered
from generator.rules.cold.holding import held_hot
from generator.rules.heat.microwave import cooking_group
from generator.rules.heat.two_goes import PLAN, in_two_goes

PART_COOKS = "part-cooks"
GROUP = "non-continuous"
_HEATS = frozenset({"cooks", PART_COOKS, "reheats", "holds-hot", "holds-by-time"})
_MARKED = (
    "Chill it at once. It is still raw: mark it raw. Keep it apart from ready-to-eat food. Cook "
    "it through before it is served."
)


def part_cooking(context: StepContext) -> Outcome:
    """The limit of a first, partial heating, and all that must follow it."""
    step = context.step
    if PART_COOKS not in step.effects:
        return _unsaid(context) or _finished_by_microwave(context)
    rows = context.house.pack.rows_of(PartCookRow)
    row = rows[0][1] if rows else None
    if row is None:
        return not_covered(
            context,
            "part_cook",
            "The rules here say nothing about cooking raw animal food in two goes.",
        )
    source = f"{context.source(row).document}, {row.clause.removesuffix('(A)')}"
    findings = tuple(
        context.finding(code, "error", f"{step.verb}: {words}", help, place=place, source=source)
        for code, words, help, place in (
            *_wrong(context, row),
            *_written(context),
            *_followed(context),
            *_kept_raw(context),
        )
    )
    return Outcome((_limit(context, row),), findings)


Fault = tuple[str, str, str, Place]
"""A finding's code, words, help and place."""


def _wrong(context: StepContext, row: PartCookRow) -> list[Fault]:
    step, formula = context.step, context.formula.formula
    most, time, do = row.within.seconds, step.step.time, step.step.place("do")
    found: list[Fault] = []
    if not context.before.raw_animals:
        words = "there is no raw animal food in it."
        return [("part-cook-nothing-raw", words, "Name what you do, as in `do: boil`.", do)]
    if time is None:
        help = f"Write `time`, {duration(most)} at most."
        found.append(("part-cook-too-long", "for how long?", help, do))
    elif time.longest > most:
        words = f"{time} is longer than the {duration(most)} the rule allows."
        help = "Heat it for less, or cook it through at once."
        found.append(("part-cook-too-long", words, help, step.step.place("time")))
    if formula.undercooked:
        words = (
            "food cooked in two goes must be cooked through, never served undercooked on request."
        )
        help = "Delete `undercooked`, or cook it in one go."
        found.append(("part-cook-unfinished", words, help, formula.place("undercooked")))
    if formula.not_tcs:
        words = "raw animal food heated in part needs temperature control."
        found.append(("part-cook-unfinished", words, "Delete `not_tcs`.", formula.place("not_tcs")))
    return found


def _written(context: StepContext) -> list[Fault]:
    """The written procedure, and the approval the regulatory authority gave it beforehand."""
    do = context.step.step.place("do")
    found: list[Fault] = []
    if not context.step.step.procedure:
        words = "cooking raw animal food in two goes needs a written procedure."
        help = (
            "Write how you check and record it, what you do when a limit is missed, and how you "
            "mark the food and keep it apart. Keep it in the house. Name it under `procedure`."
        )
        found.append(("part-cook-not-approved", words, help, do))
    why = authorisation_problem(
        context.house,
        PLAN,
        "the regulatory authority must approve the written procedure first. No approval is on "
        "file.",
        "the approval of the procedure",
    )
    if why:
        help = f"Record it in kitchen.yaml under `authorisations`, `for: {PLAN}`."
        found.append(("part-cook-not-approved", why, help, do))
    return found


def _followed(context: StepContext) -> list[Fault]:
    """Cooled before any other heat, then cooked through in this formula."""
    if not context.before.raw_animals:
        return []
    cooled = False
    for later in context.formula.after(context.step.number):
        place = later.step.place("do")
        waits = not cooled and not _cools(later) and bool(later.effects & WAITS)
        if later.effects & _HEATS or "serves" in later.effects or waits:
            if not cooled:
                words = f"cool it at once, before {later.verb.lower()}."
                help = (
                    "Add a step before it that cools it, as in `do: chill` with `target: "
                    f"{chilled_to(context.house)}`."
                )
                return [("part-cook-unfinished", words, help, place)]
            if "cooks" in later.effects:
                return []
            words = f"cook it through before {later.verb.lower()}."
            help = "Before this step, add a step that cooks it, with a core target."
            return [("part-cook-unfinished", words, help, place)]
        cooled = cooled or _cools(later)
    what = "cooks it through" if cooled else "cools it, and none cooks it through"
    help = "Add `do: chill`, and then a step that cooks it to its core target."
    words = f"no later step {what}."
    return [("part-cook-unfinished", words, help, context.step.step.place("do"))]


def _kept_raw(context: StepContext) -> list[Fault]:
    """Kept part-cooked for longer than the law lets cooked food be kept: it sets no days for food
    that is raw still, and the days of cooked food are our working rule for it."""
    days = [r.days for _, r in context.house.pack.rows_of(DateRow) if r.day_one == "preparation"]
    most = min((Fraction(d) for d in days if d is not None), default=None)
    total = Fraction(0)
    for later in context.formula.after(context.step.number):
        if "cooks" in later.effects or most is None:
            break
        if later.cold is not None and later.cold.kind == "freezer":
            continue
        total += work_of(later)
        if total >= most * DAY_S:
            words = f"it is kept part-cooked for {duration(total)} until {later.verb.lower()} ends."
            help = (
                f"{counted(most, 'day')}, the day it is part-cooked counted, is our working rule: "
                "the most cooked food has. Cook it through sooner, or freeze it."
            )
            key = "time" if later.step.time is not None else "do"
            return [("part-cook-kept-long", words, help, later.step.place(key))]
    return []


def _cools(step: JoinedStep) -> bool:
    return step.cold is not None or bool(step.effects & {"cools", "freezes"})


def _unsaid(context: StepContext) -> Outcome | None:
    """Raw animal food that is heated at a step that doesn't cook it, and then waits or is put into
    the cold before one does: cooked in two goes, whatever it is called."""
    step = context.step
    raw = [c for c in context.before.raw_animals if not c.seared]
    if not raw or context.stay.during == "by plan" or not _heats_without_cooking(context):
        return None  # dried or smoked by a plan on file: the plan has its heat
    if _goes_on(context):
        return None
    rows = context.house.pack.rows_of(PartCookRow)
    finding = context.finding(
        "part-cook-unsaid",
        "error",
        f"{step.verb}: raw {raw[0].name} is heated here. No step cooks it before it waits or is "
        "chilled.",
        f"Scalded only, or cooked in part? {in_two_goes(context)} Else cook it through at once."
        if rows
        else "Cook it through at once.",
        place=step.step.place("do"),
        source=context.source(rows[0][1]).document + ", " + rows[0][1].clause if rows else "",
    )
    return Outcome((), (finding,))


def _goes_on(context: StepContext) -> bool:
    """Whether a step cooks it before it waits or is put into the cold; or a guest who asks for it
    so gets it at once."""
    for later in context.formula.after(context.step.number):
        if "cooks" in later.effects:
            return True
        if _cools(later) or later.effects & WAITS:
            return False
    return bool(context.formula.formula.undercooked)


def _heats_without_cooking(context: StepContext) -> bool:
    """Whether a step heats, by its verb or `at` a temperature at which food is held hot, and no
    rule of heat is its own."""
    step, at = context.step, context.step.step.at
    if step.effects & {"cooks", "reheats", "holds-hot"}:
        return False
    if "heats" in step.effects:
        return True
    hot = held_hot(context.house)
    least = hot[1].value if hot is not None else None
    return at is not None and least is not None and least <= at.warmest


def _finished_by_microwave(context: StepContext) -> Outcome:
    """3-401.14(D) names 3-401.11 for cooking it through, and no microwave oven."""
    before = [s for s in context.formula.upto(context.step.number) if PART_COOKS in s.effects]
    due = "cooks" in context.step.effects and context.due and context.before.raw_animals
    if not before or not due or cooking_group(context) is None:
        return NOTHING
    rows = context.house.pack.rows_of(PartCookRow)
    place = context.step.step.place("using")
    finding: Finding = context.finding(
        "part-cook-unfinished",
        "error",
        f"{context.step.verb}: food cooked in two goes can't be cooked through in a microwave "
        "oven.",
        "Name another machine under `with`.",
        place=place,
        source=f"{context.source(rows[0][1]).document}, {rows[0][1].clause}" if rows else "",
    )
    return Outcome((), (finding,))


def _limit(context: StepContext, row: PartCookRow) -> TimeLimit:
    step, source = context.step, context.source(row)
    most = row.within.seconds
    names = tuple(dict.fromkeys(c.name for c in context.before.raw_animals))
    time = step.step.time
    verdict = Verdict()
    if time is not None:
        fits = time.longest <= most
        words = f"{time} is {'within' if fits else 'longer than'} {duration(most)}."
        verdict = Verdict("meets" if fits else "fails", words)
    basis = Basis(
        (("In it", row.food), ("Procedure", step.step.procedure or "none named")),
        f"{row.food}: {duration(most)} at most",
        source.words,
    )
    return TimeLimit(
        **context.names("part_cook"),
        hazard="part_cook",
        bound="max",
        source=source,
        because=names,
        group=row.food,
        verdict=verdict,
        basis=basis,
        note=_MARKED,
        lasts=Lasts(most, "on the heat"),
        if_missed=step.step.if_missed,
    )
