"""Food between cold and hot while it is worked on or waits: how long it may, and what has to be
said.

Food Code 3-501.16(A) excepts preparation and sets no figure for it; the figure here is a working
rule of ours, which a row of the pack in force replaces. Food that is out for guests isn't in
preparation: 3-501.19. Fermenting, drying and ageing to keep food need a variance: 3-502.11.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.about import to_offer
from generator.measures.basis import Basis
from generator.measures.words import breakable, duration, listed, verb_for, with_verb
from generator.records.effects import CHANGES, HEATS, HELD
from generator.reference.library import PREPARATION
from generator.reference.row_kinds import CoolRow, TimeControlRow, TimeRow
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import (
    NOTHING,
    Outcome,
    StepContext,
    authorisation_problem,
    cited,
)
from generator.rules.basics.course import Course, Spell, after
from generator.rules.basics.limit import InWords, Lasts, Source, TimeLimit, Verdict, figure_of
from generator.rules.basics.paper import asks_for_it, paper
from generator.rules.basics.product import Component
from generator.rules.cold.between_words import (
    CALLED,
    by_a_plan_before,
    do_otherwise,
    does_it,
    figures,
    held_in,
    it_is,
    names_of,
)
from generator.rules.cold.cultures import ferments_unsaid
from generator.rules.cold.guidance import advised_s, waited_past_it
from generator.rules.cold.holding import held_cold, held_hot
from generator.rules.cold.left_to_change import LEFT_TO_CHANGE
from generator.rules.cold.never_chilled import PLANS
from generator.rules.cold.on_the_way import on_the_way
from generator.rules.heat.reheating import reheat_target

OURS = "ours"
"""The standing of a limit that rests on a working rule of this manual."""
_QUARTER = Fraction(900)


@dataclass(frozen=True)
class Most:
    """How long food may be between in preparation, in seconds: from when it is noted, the most,
    whose rule."""

    noted: Fraction
    most: Fraction
    source: Source
    ours: bool
    why: str


def most_of(house: House) -> Most:
    """The figure in force: an adopted text's own, else the working rule."""
    return house.once("most between", house.pack, lambda: _most_in_force(house))


def _most_in_force(house: House) -> Most:
    rule = house.library.preparation
    for _, row in house.pack.rows_of(TimeRow, PREPARATION):
        if row.within is not None:
            facts = house.pack.facts
            source = Source(row.document or facts.document, facts.edition, row.clause, row.read_in)
            noted = min(rule.noted.seconds, row.within.seconds)
            return Most(noted, row.within.seconds, source, False, row.note)
    cold = held_cold(house)
    beside = cited(house, cold[1]) if cold is not None else house.pack.facts.document
    source = Source(rule.name, "", f"where {beside}, sets none", (), standing=OURS)
    return Most(rule.noted.seconds, rule.most.seconds, source, True, rule.why)


def between(context: StepContext) -> Outcome:
    """What is asked of a step in which food that needs the cold is neither cold nor hot."""
    step = context.step
    if "serves" in step.effects and (after := _work_after(context)) is not None:
        return _served_before(context, after)
    if not context.needs_cold:
        return NOTHING
    special = _left_over(context) or _hot_onto_raw(context) or _changed(context)
    if special is not None:
        return special
    if _displays(step):
        return _on_display(context)
    if context.stay.during != "between":
        return NOTHING
    if context.stay.seconds is None:
        return _asked(context) if _stands(step) else NOTHING
    return on_the_way(context, _timed(context))


def _stands(step: JoinedStep) -> bool:
    """Whether food stands at a step, so that its time or its place has to be said."""
    placed = step.step.at is not None and not step.waiting
    return placed or bool(step.effects & {"waits", "stores"})


def _displays(step: JoinedStep) -> bool:
    """Whether food is laid out at a step: on display, or served from for a time that is stated."""
    served_from = "serves" in step.effects and step.step.time is not None
    return served_from or "displays" in step.effects


def _work_after(context: StepContext) -> JoinedStep | None:
    """The first step with food in it behind this one."""
    later = context.formula.after(context.step.number)
    return next((s for s in later if "cleans" not in s.effects), None)


def _served_before(context: StepContext, later: JoinedStep) -> Outcome:
    """What is served is gone: a step that serves is the last one."""
    step = context.step
    finding = context.finding(
        "served-before-the-end",
        "error",
        f"{step.verb}: served food is gone, but {later.verb.lower()} comes after it.",
        "Put the serving step last. Tasting and passing on are work: `does: handles`.",
        place=step.step.place("do"),
    )
    return Outcome((), (finding,))


def _left_over(context: StepContext) -> Outcome | None:
    """Food of a formula that serves it, put into the cold here: what went to the guest is gone, and
    what didn't was put by before it was served."""
    step = context.step
    put_by = (
        step.effects & {"cools", "freezes", "stores", "packs-without-air"} or step.cold is not None
    )
    new = [c for c in context.before.components if c.served] if put_by else []
    if not new:
        return None
    earlier = context.formula.before(step.number)
    if any(s.effects & {"cools", "freezes", "stores"} or s.cold is not None for s in earlier):
        return None
    names = list(dict.fromkeys(c.through or c.name for c in new))
    finding = context.finding(
        "served-then-kept",
        "error",
        f"{step.verb}: {with_verb(names, 'is')} served to the guest by its own steps, but "
        f"{verb_for(names, 'is')} kept here.",
        "Throw away what was served. Was some of it not served? Take `serve` out of its process. "
        "Serve it in its own formula.",
        place=step.step.place("do"),
    )
    return Outcome((), (finding,))


def _hot_onto_raw(context: StepContext) -> Outcome | None:
    """Raw animal food put into something hot that doesn't cook it there, but waits or is put into
    the cold."""
    step, hot = context.step, context.before.hot
    new, old = _raw_and_hot(context)
    stands = step.effects & {"waits", "stores", "cools"} or step.cold is not None
    if not (hot and new and old and stands) or step.effects & HEATS:
        return None
    finding = context.finding(
        "raw-into-hot",
        "error",
        f"{step.verb}: {listed(list(dict.fromkeys(c.name for c in new)))} goes in raw while the "
        "food is still hot. That doesn't cook it.",
        "Chill the hot food first, with its own step before this one.",
        place=step.step.place("do"),
        source=held_in(context.house),
    )
    return Outcome((), (finding,))


def _raw_and_hot(context: StepContext) -> tuple[list[Component], list[Component]]:
    """The raw food of animals that goes in, and what it goes into."""
    taken = _raw_with_hot(context)
    new = [c for c in context.before.raw_animals if c.part in taken]
    return new, [c for c in context.before.components if c.part not in taken or c.comes == "hot"]


def _raw_with_hot(context: StepContext) -> set[str]:
    """The parts that may go in raw; where streams meet, whichever of them is hot, all raw ones."""
    if len(context.step.comes) > 1:
        return {c.part for c in context.before.raw_animals}
    return set(context.step.parts)


def _change(context: StepContext) -> str:
    """The effect by which a step changes food, "smokes" by a plan for it; "" where it doesn't."""
    changes = ("ferments", "dries", "ages", "sprouts")
    found = next((e for e in changes if e in context.step.effects & CHANGES), "")
    # without a variance for it, that is said of the smoking
    return found or ("smokes" if context.stay.during == "by plan" else "")


def _by_its_plan(context: StepContext, what: str) -> InWords:
    """The limit of food that a plan in force lets stand: the plan's own figures, in words."""
    house = context.house
    in_force = (a for a in house.kitchen.authorisations if a.in_force(house.as_of))
    held = next(a for a in in_force if a.for_ == what)
    words = (
        f"Time, temperature, pH and water activity by the plan: {held.document}, {held.authority}."
    )
    source = Source(held.document, "", held.authority, ())
    return InWords(
        **context.names(PREPARATION),
        hazard=PREPARATION,
        bound="max",
        source=source,
        group=names_of(context),
        basis=Basis((("In it", names_of(context)),), words, source.words),
        words=words,
    )


def _changed(context: StepContext) -> Outcome | None:
    """Fermented, dried, aged or sprouted between cold and hot: refused, unless a plan is on file.
    Dough that is baked afterwards rises, and isn't changed to keep it."""
    step = context.step
    change = _change(context)
    if not change:
        return ferments_unsaid(context)
    if context.stay.during == "cold":
        return None
    what, called, asked = PLANS.get(change, "smoke"), CALLED[change], paper(context.house)
    none = f"{called} food between cold and hot needs a {asked}. None is on file."
    why = authorisation_problem(context.house, what, none, f"the {asked} for {called}")
    if not why:
        return Outcome((_by_its_plan(context, what),))
    finding = context.finding(
        "kept-by-change",
        "error",
        f"{step.verb}: {why}",
        "Do it at the limit for cold holding or colder, with the refrigerator under `in`; or "
        f"record the {asked} under `authorisations` in kitchen.yaml, `for: {what}`.",
        place=step.step.place("do"),
        source=asks_for_it(context.house),
    )
    return Outcome((), (finding,))


def _on_display(context: StepContext) -> Outcome:
    """Out for guests or for sale: cold, hot, or by time as a control of its own; never in
    preparation."""
    if context.stay.during in ("cold", "hot", "frozen"):
        return NOTHING
    step = context.step
    finding = context.finding(
        "display-uncontrolled",
        "error",
        f"{step.verb}: hold food that is out for guests or for sale cold, hot, or by time. "
        "Nothing here says which.",
        "Write the refrigerator under `in`. Or make it a step `do: hold-hot`, or `do: "
        "hold-by-time` with `time` and the written `procedure`.",
        place=step.step.place("do"),
        source=_by_time(context.house),
    )
    return Outcome((), (finding,))


def _by_time(house: House) -> str:
    rows = house.pack.rows_of(TimeControlRow)
    return cited(house, rows[0][1]) if rows else ""


def _asked(context: StepContext) -> Outcome:
    """A step in which food waits, and nothing says how long or where."""
    step = context.step
    finding = context.finding(
        "wait-unknown",
        "error",
        f"{step.verb}: how long {does_it(context)} wait here, and where?",
        "This food needs the cold. Write `time`, or the refrigerator under `in`, or `at`, the "
        f"temperature of the place.{_own_verb(context)}",
        place=step.step.place("do"),
        source=held_in(context.house),
    )
    return Outcome((), (finding,))


def _own_verb(context: StepContext) -> str:
    if context.step.step.do in context.house.library.verbs:
        return ""
    return " Is it work on the food? Write `does: handles`."


def _timed(context: StepContext) -> Outcome:
    """Between for a time that is stated: noted from two hours in all, an error beyond the most. Hot
    food that is chilled afterwards is on its cooling clock, which asks for more."""
    spell = _after(context).spell
    if spell is None or (spell.hot and context.chilled_later and _has_clock(context.house)):
        return NOTHING
    limit = most_of(context.house)
    before, total = context.course.so_far, spell.seconds
    if total <= limit.most:
        return _in_time(context, limit, spell)
    if total < limit.noted or before > limit.most:
        return NOTHING
    return Outcome((_limit(context, limit, total),), (_too_long(context, limit, before, total),))


def _in_time(context: StepContext, limit: Most, spell: Spell) -> Outcome:
    """Between for no longer than the most: shown and noted at the step by whose end it is so long,
    and asked about where guidance on cooling is passed."""
    before, total = context.course.so_far, spell.seconds
    reached = before < limit.noted <= total
    shown = reached or bool(context.step.effects & LEFT_TO_CHANGE)
    limits = (_limit(context, limit, total),) if shown else ()
    slow = waited_past_it(context, before, total) if spell.hot else ()
    note = _noted(context, limit, total) if reached and not _rises(context) else ()
    return Outcome(limits, (*(slow or note), *_again(context, limit, total)))


def _rises(context: StepContext) -> bool:
    """Whether it is a dough that rises here and is baked: its time is what it is there for."""
    baked = any("bakes" in step.effects for step in context.formula.after(context.step.number))
    return "raises" in context.step.effects and baked


def _noted(context: StepContext, limit: Most, total: Fraction) -> tuple[Finding, ...]:
    """The note at the step by whose end food is between for as long as is noted, and may be."""
    whose = "by our working rule" if limit.ours else "the law allows"
    words = f"{it_is(context)} between {figures(context)} for {duration(total)} by then"
    found = context.finding(
        "between-noted",
        "note",
        f"{context.step.verb}: {words}; {duration(limit.most)} is the most {whose}.",
        "Less time is safer. In a refrigerator (`in`) it counts as cold.",
        place=context.time_place(),
        source=limit.source.words,
    )
    return (found,)


def _again(context: StepContext, limit: Most, total: Fraction) -> tuple[Finding, ...]:
    """Asked once where food was between, was heated up again, and is between for longer in
    all than once: a working rule of ours. Heat kills germs, but not every poison they left."""
    before = context.stood + context.course.so_far
    if not context.stood or not before <= limit.most < context.stood + total:
        return ()
    found = context.finding(
        "between-again",
        "warning",
        f"{context.step.verb}: {it_is(context)} between {figures(context)} again, "
        f"{duration(context.stood + total)} in all, with heating in between.",
        f"{duration(limit.most)} in all is our working rule. Heat kills germs, but not every "
        "poison they make. Shorten a step, or keep it cold (`in`).",
        place=context.time_place(),
    )
    return (found,)


def _after(context: StepContext) -> Course:
    return after(context.course, context.step, context.stay, True, context.cools)


def _has_clock(house: House) -> bool:
    found = house.pack.row_for(CoolRow, "cooked")
    return found is not None and bool(found[1].stages)


def _never_shown_hot(context: StepContext, total: Fraction) -> Finding | None:
    """The error of a step that cooks what is cooked already, for too long to count as between, and
    shows nowhere that it gets hot; None where the step isn't one or can't show it."""
    step, hot = context.step, held_hot(context.house)
    if "cooks" not in step.effects or step.target is not None:
        return None
    if hot is None or hot[1].value is None:
        return None
    if step.step.at is not None and step.step.at.coolest < hot[1].value:
        return None
    figure = figure_of(hot[1].value, hot[1].printed, "min", context.accuracy)
    target = reheat_target(context) or context.as_typed("core", figure.read_at(context.unit))
    lines, place = context.targets_with((target,))
    return context.finding(
        "target-missing",
        "error",
        f"{step.verb}: nothing shows that {names_of(context)} gets hot. Without a core target its "
        f"{duration(total)} count as out of the heat.",
        "It is cooked already, so no cooking limit says how hot it gets. Write the core target it "
        "is brought to.",
        lines,
        place,
        cited(context.house, hot[1]),
    )


def _too_long(context: StepContext, limit: Most, before: Fraction, total: Fraction) -> Finding:
    step = context.step
    shown = _never_shown_hot(context, total)
    if shown is not None:
        return shown
    left = _most_to_offer(context, limit) - before - _still_to_come(context)
    place = context.time_place()
    whose = "by our working rule" if limit.ours else "the law allows"
    write: tuple[str, ...] = ()
    if _is_of_use(left, context):
        write = (place.fixed(breakable(duration(to_offer(left), days=False))),)
    return context.finding(
        "between-too-long",
        "error",
        f"{step.verb}: {it_is(context)} between {figures(context)} for {duration(total)}"
        f"{f', the {duration(before)} before it counted' if before else ''}; "
        f"{duration(limit.most)} is the most {whose}.",
        do_otherwise(context),
        write,
        place,
        limit.source.words,
    )


def _most_to_offer(context: StepContext, limit: Most) -> Fraction:
    """The most seconds between that a fix may offer: the rule's, or what guidance on cooling
    advises for food that was hot, where that is less."""
    spell, advised = _after(context).spell, advised_s(context.house)
    hot = spell is not None and spell.hot
    return min(limit.most, advised) if hot and advised is not None else limit.most


def _is_of_use(left: Fraction, context: StepContext) -> bool:
    """Whether the time that is ``left`` is worth offering: not of a step that takes more than twice
    as long, nor where a plan may cover it."""
    time = context.step.step.time
    stated = time.longest if time is not None else Fraction(0)
    return left >= _QUARTER and stated <= 2 * left and not by_a_plan_before(context)


def _still_to_come(context: StepContext) -> Fraction:
    """The seconds the next steps take until the food is cold or hot: a time that is offered for
    this step leaves room for them."""
    total = Fraction(0)
    for step in context.formula.after(context.step.number):
        if _ends_here(context, step):
            break
        if step.cold is None and not step.effects & HEATS and step.step.time is not None:
            total += step.step.time.longest
    return total


def _ends_here(context: StepContext, step: JoinedStep) -> bool:
    """Whether a spell is over for good at a later step: in the cold for long enough, or with the
    guest; heated too, unless the food was ready to eat, whose spells are added up."""
    time = step.step.time
    if step.cold is not None:
        return time is None or time.longest >= most_of(context.house).most
    if step.effects & HEATS:
        return not context.before.ready_to_eat
    return bool(step.effects & _ENDS_IT)


_ENDS_IT = HELD | {"stores"}


def _limit(context: StepContext, limit: Most, total: Fraction) -> TimeLimit:
    step = context.step
    fits = total <= limit.most
    words = f"{duration(total)} by the end of this step; {duration(limit.most)} is the most."
    began = context.course.spell.began if context.course.spell is not None else step.number
    basis = Basis(
        (
            ("In it", names_of(context)),
            ("Between", f"{figures(context)}, since step {began}"),
            ("Not timed", listed(list(_not_timed(context))) or "nothing"),
        ),
        f"{duration(total)} between by the steps' own times; {duration(limit.most)} at most. "
        f"{limit.why}",
        limit.source.words,
    )
    return TimeLimit(
        **context.names(PREPARATION),
        hazard=PREPARATION,
        bound="max",
        source=limit.source,
        group="food out of the cold or the heat while it is prepared",
        because=(names_of(context),),
        verdict=Verdict("meets" if fits else "fails", words),
        basis=basis,
        lasts=Lasts(limit.most, "out of the cold, in all"),
        if_missed=step.step.if_missed,
    )


def _not_timed(context: StepContext) -> tuple[str, ...]:
    return context.course.spell.not_timed if context.course.spell is not None else ()
