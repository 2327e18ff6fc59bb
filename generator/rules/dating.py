"""Date marks: day 1 is the day the food first is ready to eat; the law caps the chef's figure."""

from __future__ import annotations

from fractions import Fraction

from generator.finding import Finding
from generator.measures.words import counted
from generator.records.formula import Keeps
from generator.rules.context import Dates, EndContext, EndOutcome, source_of

_DAY = Fraction(86400)


def _days(keeps: Keeps | None, which: str) -> int | None:
    time = getattr(keeps, which) if keeps else None
    return int(time.seconds // _DAY) if time else None


def dating(context: EndContext) -> EndOutcome:
    """How long it keeps. Food Code 3-501.17: 7 days at 41 °F with the day of preparation day 1.

    Only ready-to-eat food that needs temperature control is dated by law; anything else keeps the
    chef's figure.
    """
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    frozen = _days(keeps, "frozen")
    if context.not_tcs or not context.tcs:
        chef = _days(keeps, "dry") or _days(keeps, "refrigerated")
        words = context.not_tcs or "Nothing in it needs temperature control."
        return EndOutcome((), (), Dates("dry", chef, None, chef, frozen, (), words, None))
    chef = _days(keeps, "refrigerated")
    if context.product.hot and chef is None and frozen is None:
        words = "It is served hot; nothing of it is kept."
        return EndOutcome((), (), Dates("hot", None, None, None, None, (), words, None))
    findings: list[Finding] = []
    if keeps is not None and keeps.dry is not None:
        findings.append(
            Finding(
                "keeps-dry", "error", f"{formula.name} needs temperature control; it can't be kept dry.",
                keeps.place("dry"), "Write `refrigerated`, or say under `not_tcs` why it needs none.",
                about=frozenset({context.formula.id}),
            )
        )  # fmt: skip
    if not context.product.ready_to_eat:
        words = "It is not ready to eat; the code dates it only once it is."
        if formula.undercooked:
            words = "It is made to order and served at once; nothing of it is kept."
        return EndOutcome(
            (), tuple(findings), Dates("raw", chef, None, chef, frozen, (), words, None)
        )
    row = next(
        (
            r
            for _, r in context.house.pack.rows_of("date")
            if r.days is not None and r.day_one == "preparation"
        ),
        None,
    )
    if row is None or row.days is None:
        return EndOutcome((), tuple(findings))
    law = row.days
    if chef is not None and chef > law:
        assert keeps is not None
        place = keeps.place("refrigerated")
        mended = (
            place.text.replace(str(keeps.refrigerated.text), f"{law} days")
            if keeps.refrigerated
            else ""
        )
        findings.append(
            Finding(
                "keeps-beyond-law", "error",
                f"{formula.name} keeps {counted(chef, 'day')} by its formula; the code allows {law}.",
                place, "Day 1 is the day it is made.", (mended.strip(),) if mended else (),
                f"{context.house.pack.facts.document}, {row.clause}", frozenset({context.formula.id}),
            )
        )  # fmt: skip
    day = min(law, chef) if chef is not None else law
    who = "the chef's figure" if chef is not None and chef < law else "the code's"
    words = f"day {day}, {who}"
    dates = Dates(
        "refrigerated",
        day,
        law,
        chef,
        frozen,
        context.parts_to_date,
        words,
        source_of(context.house, row),
    )
    return EndOutcome((), tuple(findings), dates)
