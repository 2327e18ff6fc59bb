"""Date marks: day 1 is the day the food first is ready to eat; the law caps the chef's figure."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.measures.words import counted, duration
from generator.records.formula import Keeps
from generator.rules.basics.context import (
    DAY_S,
    Dates,
    DayOne,
    EndContext,
    EndOutcome,
    cited,
    source_of,
)
from generator.rules.basics.fate import chilled_on_the_way, work_of
from generator.rules.basics.uncovered import never_covered
from generator.rules.cold.plants import why_cold
from generator.rules.packing.reduced_oxygen import ends_at_the_makers_date

ASKED_BEYOND = 10
"""Where the law sets no days, a longer life in the cold is asked about: no limit, a question."""


def _days(keeps: Keeps | None, which: str) -> int | None:
    time = getattr(keeps, which) if keeps else None
    return int(time.seconds // DAY_S) if time else None


def dating(context: EndContext) -> EndOutcome:
    """How long it keeps. Food Code 3-501.17: 7 days at 41 °F with the day of preparation day 1.

    Only ready-to-eat food that needs temperature control is dated by law; anything else keeps the
    chef's figure.
    """
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    frozen = _days(keeps, "frozen")
    if context.not_tcs or not context.tcs:
        chef = _days(keeps, "dry") or _days(keeps, "refrigerated")
        words = (
            context.not_tcs
            or context.product.acidified
            or "Nothing in it needs temperature control."
        )
        return EndOutcome((), (), Dates("dry", chef, None, chef, frozen, (), words, None))
    chef = _days(keeps, "refrigerated")
    dry = keeps is not None and keeps.dry is not None
    kept_before = _kept_on_the_way(context)
    if context.product.hot and not kept_before and chef is None and frozen is None and not dry:
        words = "It is served hot; nothing of it is kept."
        return EndOutcome((), (), Dates("hot", None, None, None, None, (), words, None))
    if context.product.by_time and not kept_before and keeps is None:
        words = "It is served or discarded when its time is over; nothing of it is kept."
        return EndOutcome((), (), Dates("by-time", None, None, None, None, (), words, None))
    findings: list[Finding] = []
    if keeps is not None and dry:
        because = why_cold(context.product, context.house.pack)
        findings.append(
            Finding(
                "keeps-dry",
                "error",
                f"{formula.name} needs temperature control; it can't be kept dry.",
                keeps.place("dry"),
                f"{because + '. ' if because else ''}Write `refrigerated`, or say under "
                "`not_tcs` why it needs none.",
                about=frozenset({context.formula.id}),
            )
        )
    if not context.product.eaten_as_it_is:
        return _raw(context, chef, frozen, findings)
    row = next(
        (
            r
            for _, r in context.house.pack.rows_of("date")
            if r.days is not None and r.day_one == "preparation"
        ),
        None,
    )
    if row is None or row.days is None:
        return _chefs_own(context, chef, frozen, findings)
    law: int = row.days
    from_day: DayOne = "made"
    packed = context.house.pack.row_for("date", "reduced-oxygen")
    most = context.product.air_days
    fewer = "date" in context.house.pack.ours and most is not None and row.days < most
    if most is not None and packed is not None and not fewer:  # the kitchen's own fewer days stand
        law, from_day, row = most, "packed", packed[1]
    ours = "date" in context.house.pack.ours and from_day == "made"
    if chef is not None and chef > law:
        where, whose = cited(context.house, row), "the house limit" if ours else "the code"
        findings.append(
            _beyond(context, chef, law, f"Day 1 is the day it is {from_day}.", where, whose)
        )
    findings += _too_old(context, law)
    day = min(law, chef) if chef is not None else law
    codes = "the house limit's" if ours else "the code's"
    who = "the chef's figure" if chef is not None and chef < law else codes
    if from_day == "packed":
        who += ", from the day it is packed without air"
    colder = context.product.air_row
    moved = colder.then_days if colder is not None else None
    if moved is not None:
        who += f", and {counted(moved, 'day')} at most once it is taken out of the colder place"
    makers = from_day == "packed" and ends_at_the_makers_date(context.house, context.formula)
    if makers:
        who += ", or the maker’s sell-by or use-by date if that is sooner"
    source = source_of(context.house, row)
    dates = Dates(
        "refrigerated",
        day,
        law,
        chef,
        frozen,
        context.parts_to_date,
        f"day {day}, {who}",
        source,
        moved_days=moved,
        marked_after_s=row.after.seconds if row.after is not None else None,
        day_one=from_day,
        makers_date=makers,
    )
    return EndOutcome((), tuple(findings), dates)


def _kept_on_the_way(context: EndContext) -> bool:
    """Whether its own steps put it by before it is served hot or held by time: heated, cooled and
    hot again, stored, or a day and more in the cold once it is ready to eat."""
    steps = work_of(context.formula)
    stored = any("stores" in step.effects for step in steps[:-1])
    return stored or chilled_on_the_way(context.formula) or context.aged_s >= DAY_S


def _too_old(context: EndContext, law: int) -> list[Finding]:
    """An error where the steps themselves, and those of what was made ahead, keep food that is
    ready to eat to the end of its days or past it: 3-501.17(A), 3-501.18. Day 1 is the day it is
    ready to eat, so ``law`` days are over once as many times 24 hours have passed."""
    if context.aged_s < law * DAY_S:
        return []
    formula = context.formula.formula
    return [
        Finding(
            "kept-too-long",
            "error",
            f"{formula.name}: its steps keep it for {duration(context.aged_s)} once it is "
            f"ready to eat; it has {counted(law, 'day')}.",
            formula.key_place("name"),
            "Keep it for less, freeze it, or make the part that is kept so long later.",
            about=frozenset({context.formula.id}),
        )
    ]


def _beyond(
    context: EndContext, chef: int, law: int, help: str, source: str, who: str = "the code"
) -> Finding:
    formula = context.formula.formula
    keeps = formula.keeps
    assert keeps is not None and keeps.refrigerated is not None
    place = keeps.place("refrigerated")
    mended = place.text.replace(str(keeps.refrigerated.text), f"{law} days").strip()
    return Finding(
        "keeps-beyond-law",
        "error",
        f"{formula.name} keeps {counted(chef, 'day')} by its formula; {who} allows {law}.",
        place,
        help,
        (mended,),
        source,
        frozenset({context.formula.id}),
    )


def _raw(
    context: EndContext, chef: int | None, frozen: int | None, findings: list[Finding]
) -> EndOutcome:
    """Not ready to eat: undated by the code, but capped once it is packed without air."""
    law = context.product.air_days
    words = "It is not ready to eat; the code dates it only once it is."
    if context.formula.formula.undercooked:
        words = "It is made to order and served at once; nothing of it is kept."
    if law is None:
        dates = Dates("raw", chef, None, chef, frozen, (), words, None)
        return EndOutcome((), tuple(findings), dates)
    if chef is not None and chef > law:
        findings.append(_beyond(context, chef, law, "Day 1 is the day it is packed.", ""))
    day = min(law, chef) if chef is not None else law
    words = f"Packed without air, it keeps {counted(law, 'day')} from packing at most."
    makers = ends_at_the_makers_date(context.house, context.formula)
    if makers:
        words += " The maker’s sell-by or use-by date counts if it is sooner."
    dates = Dates("raw", day, law, chef, frozen, (), words, None, makers_date=makers)
    return EndOutcome((), tuple(findings), dates)


def _chefs_own(
    context: EndContext, chef: int | None, frozen: int | None, findings: list[Finding]
) -> EndOutcome:
    """Ready-to-eat food where the law leaves the shelf life to the business: its words, the chef's
    figure, and never one of ours."""
    rows = [r for _, r in context.house.pack.rows_of("date") if r.words]
    if not rows:
        why = "The rules held say nothing of how long it keeps."
        missing = never_covered(context, "date", "store", "Store", why)
        return EndOutcome(missing.limits, (*findings, *missing.findings))
    row, formula = rows[0], context.formula.formula
    product = context.product
    kept = not (product.hot or product.frozen or formula.undercooked)
    if chef is None and kept:
        findings.append(
            Finding(
                "keeps-missing",
                "error",
                f"{formula.name}: how long does it keep? The law here sets no days.",
                formula.key_place("name"),
                "Write the shelf life you can answer for, day 1 being the day it is made.",
                ("keeps: {refrigerated: 3 days}",) if formula.keeps is None else (),
                f"{source_of(context.house, row).document}, {row.clause}",
                frozenset({context.formula.id}),
            )
        )
    most = context.product.air_days
    if chef is not None and most is not None and chef > most:
        help = "Day 1 is the day it is packed without air."
        findings.append(
            _beyond(context, chef, most, help, "", "the guidance on packing without air")
        )
    keeps = formula.keeps
    asked = context.product.air_days is None  # packed without air it has days of its own
    if asked and chef is not None and chef > ASKED_BEYOND and keeps is not None and not keeps.study:
        findings.append(
            Finding(
                "keeps-unproven",
                "warning",
                f"{formula.name} keeps {counted(chef, 'day')} by its formula. The law here "
                "sets no days; what shows it?",
                keeps.place("refrigerated"),
                "Name the shelf-life study or the reason under `keeps: {study: …}`, or keep it "
                "shorter.",
                source=f"{source_of(context.house, row).document}, {row.clause}",
                about=frozenset({context.formula.id}),
            )
        )
    words = f"day {chef}, the chef's figure" if chef is not None else row.words
    if keeps is not None and keeps.study:
        words += f"; {keeps.study}"
    dates = Dates(
        "refrigerated",
        chef,
        None,
        chef,
        frozen,
        context.parts_to_date,
        words,
        source_of(context.house, row),
        row.words,
    )
    return EndOutcome((), tuple(findings), dates)
