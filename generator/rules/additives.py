"""Cures: a variance on file, and a dose within the law on the meat block.

Food Code 3-502.11 asks for the variance; 9 CFR 424.21(c) and 424.22(b) set the ingoing nitrite on
the green weight of meat and poultry. All nitrite sources are summed. Arithmetic in range is shown as
arithmetic, never as permission.
"""

from __future__ import annotations

from fractions import Fraction

from generator.computed import Basis
from generator.finding import Finding
from generator.joined import JoinedLine
from generator.measures.words import NARROW, date, listed, plain
from generator.product import Component, Product
from generator.reference.rows import Row
from generator.rules.context import NOTHING, Outcome, StepContext
from generator.rules.limit import Limit, Source, Verdict

_MEAT = ("meat", "poultry", "game", "wild-game", "ratite")
MILLION = 1_000_000


def meat_block(context: StepContext, product: Product) -> Fraction:
    """Green weight of meat and poultry in the product, in grams at factor 1, by species."""
    return sum((c.grams for c in product.components if _is_meat(context, c)), Fraction(0))


def _is_meat(context: StepContext, component: Component) -> bool:
    definition = context.house.pack.definitions.get(component.species or "")
    return definition is not None and definition.group_as in _MEAT


def additives(context: StepContext) -> Outcome:
    """The limit of a step that takes in a cure."""
    taken = [
        ln for ln in context.formula.lines
        if ln.part in context.step.parts and ln.ingredient and ln.ingredient.function == "cure"
    ]  # fmt: skip
    if not taken:
        return NOTHING
    place = taken[0].line.place("amount")
    facts = taken[0].ingredient
    assert facts is not None

    def refuse(code: str, message: str, help: str) -> Outcome:
        return Outcome(
            (_no_figure(context, message),),
            (context.finding(code, "error", message, help, place=place),),
        )

    strengthless = [ln.name for ln in taken if ln.ingredient and ln.ingredient.nitrite is None]
    if strengthless:
        return refuse(
            "cure-strength-missing", f"{strengthless[0]}: how much of it is nitrite?",
            "Add `nitrite` to the ingredient as its label says. Nothing is assumed; a cure of unknown "
            "strength can't be dosed.",
        )  # fmt: skip
    reason = _no_variance(context)
    if reason:
        return refuse("cure-without-variance", f"{context.formula.formula.name}: {reason}",
                      "Record it under `authorisations` in kitchen.yaml: for, authority, document, from, until.")  # fmt: skip
    row = _row(context)
    if row is None or row.ppm is None:
        return refuse("cure-not-covered", f"{taken[0].name}: no dose limit is held for curing this way.",
                      "Ask your regulatory authority. Until then this standard can't be approved.")  # fmt: skip
    cures = [c for c in context.before.components if c.function == "cure"]
    block = meat_block(context, context.before)
    if not block:
        return refuse("cure-not-covered", f"{taken[0].name}: there is no meat for it to cure at this step.",
                      "Take the cure in with the meat, or after it.")  # fmt: skip
    return _dosed(context, row, cures, block, taken[0])


def _no_variance(context: StepContext) -> str:
    kitchen, today = context.house.kitchen, context.house.as_of
    held = [a for a in kitchen.authorisations if a.for_ == "curing"]
    if not held:
        return "curing needs a variance, and none is on file."
    if not any(a.from_ <= today <= a.until for a in held):
        last = max(held, key=lambda a: a.until)
        return f"the variance for curing ({last.document}) isn't in force on {date(today)}."
    return ""


def _row(context: StepContext) -> Row | None:
    pack = context.house.additives
    if pack is None:
        return None
    meat = [c for c in context.before.raw_animals if _is_meat(context, c)]
    method = context.formula.formula.cured_as
    if any(c.form == "comminuted" for c in meat):  # the strictest, whatever it is called
        method = "comminuted"
    found = pack.row_for("additive", method or "")
    return found[1] if found else None


def _dosed(
    context: StepContext, row: Row, cures: list[Component], block: Fraction, taken: JoinedLine
) -> Outcome:
    assert row.ppm is not None and context.house.additives is not None
    nitrite = sum((c.grams * c.nitrite for c in cures), Fraction(0))
    ppm = nitrite / block * MILLION
    least = context.house.additives.row_for("additive", "kept-refrigerated")
    kept = context.formula.formula.keeps
    least_ppm = (
        least[1].ppm if least and kept is not None and kept.refrigerated is not None else None
    )
    # Meat taken in by later steps thins the dose: the most is held here, the least on all of it.
    later = Product(context.to_come)
    all_meat = block + meat_block(context, later)
    all_nitrite = nitrite + sum((c.grams * c.nitrite for c in later.components), Fraction(0))
    final_ppm = all_nitrite / all_meat * MILLION
    place = taken.line.place("amount")
    findings: list[Finding] = []
    share = nitrite / sum((c.grams for c in cures), Fraction(0))
    most_words = f"{plain(row.ppm)} ppm ({row.printed_ppm} as printed)"
    if ppm > row.ppm:
        percent = plain(row.ppm / MILLION / share * 100, 3)
        words = f"{taken.name}: {plain(ppm, 2)} ppm of nitrite is above the legal maximum, {most_words}."
        findings.append(
            context.finding("dose-above-maximum", "error", words,
                            f"At its strength, {percent} % of the meat is the most.",
                            place=place, source=row.clause)
        )  # fmt: skip
    elif least_ppm is not None and final_ppm < least_ppm:
        words = f"{taken.name}: {plain(final_ppm, 2)} ppm of nitrite is below the {plain(least_ppm)} ppm asked of cured food kept refrigerated."
        help = "Raise the dose."
        if all_meat > block:
            names = tuple(dict.fromkeys(c.name for c in later.components if _is_meat(context, c)))
            words = f"{words[:-1]}, once {listed(names)} is in."
            help = "Take the cure in with all of the meat, and raise the dose if need be."
        findings.append(context.finding("dose-below-minimum", "error", words, help, place=place))
    facts = context.house.additives.facts
    copies = tuple(context.house.library.source_title(key) for key in row.read_in)
    source = Source(
        row.document or facts.document, facts.edition, row.clause, copies, facts.checked_on
    )
    later_words = (
        (("With all meat", f"{plain(final_ppm, 2)}{NARROW}ppm once later steps add theirs"),)
        if all_meat > block
        else ()
    )
    basis = Basis(
        (
            ("Meat block", f"{plain(block, 2)}{NARROW}g green weight, by species"),
            ("Nitrite", f"{plain(nitrite, 4)}{NARROW}g in all cures of this formula"),
            ("Ingoing", f"nitrite ÷ meat block = {plain(ppm, 2)}{NARROW}ppm"),
            *later_words,
        ),
        f"{row.food}: at most {most_words}",
        f"{source.document}; arithmetic, never a permission",
    )  # fmt: skip
    words = f"{plain(ppm, 2)} ppm against at most {most_words}."
    step = context.step
    limit = Limit(
        f"{context.formula.id}/{step.id}/additive", step.id, step.number, step.verb, "additive", "max", source,
        verdict=Verdict("fails" if findings else "meets", words), basis=basis, ppm=ppm, most_ppm=row.ppm, least_ppm=least_ppm,
        because=tuple(dict.fromkeys(c.name for c in cures)), meat_share=block, final_ppm=final_ppm,
    )  # fmt: skip
    return Outcome((limit,), tuple(findings))


def _no_figure(context: StepContext, why: str) -> Limit:
    step, facts = context.step, context.house.pack.facts
    return Limit(
        f"{context.formula.id}/{step.id}/additive", step.id, step.number, step.verb, "additive", "max",
        Source(facts.document, facts.edition, "3-502.11", (), facts.checked_on), covered=False, note=why,
    )  # fmt: skip
