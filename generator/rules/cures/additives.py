"""Cures: a variance on file, and a dose within the law on the meat block.

Food Code 3-502.11 asks for the variance; 9 CFR 424.21(c) and 424.22(b) set the ingoing nitrite on
the green weight of meat and poultry. All nitrite sources are summed. Arithmetic in range is shown
as arithmetic, never as permission.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.basis import Basis
from generator.measures.rounding import Side, to_side
from generator.measures.words import NARROW, listed, plain
from generator.reference.row_kinds import AdditiveRow
from generator.resolve.joined import JoinedLine
from generator.rules.basics.context import NOTHING, Outcome, StepContext
from generator.rules.basics.limit import Bound, DoseLimit, NotCovered, Source, Verdict
from generator.rules.basics.product import Component
from generator.rules.cures.cure_mix import as_weighed, mixes
from generator.rules.cures.cured_as import WET, dose_of, row_of, skin_factor
from generator.rules.cures.curing import (
    Refusal,
    made_ahead,
    may_cure,
)
from generator.rules.cures.dosing import (
    Dose,
    as_ion,
    green_weight,
    is_meat,
)

_OFF = Fraction(1, 200)
"""What a cure's weighing may be off (rule 5 of weighing): where the most and the least of a dose
are one figure, a dose that falls short by no more than this is that dose."""
_CENTIGRAM = Fraction(1, 100)


def additives(context: StepContext) -> Outcome:
    """The limits of a step that takes in a cure, or that brings pickle and meat together."""
    taken = _cures(context, (context.step.number,))
    wet = context.formula.formula.cured_as in WET
    if wet:
        upto = tuple(range(1, context.step.number + 1))
        all_taken, meets = _cures(context, upto), taken or _takes_meat(context)
        to_come = green_weight(context.house, context.to_come)
        here = green_weight(context.house, context.before.components)
        if not all_taken or not meets or (not here and to_come):
            return NOTHING
        taken = all_taken
    if not taken:
        return NOTHING
    place = taken[0].line.place("amount")
    try:
        may_cure(context, taken)
        if made_ahead(context, taken[0]):
            return NOTHING
        row = row_of(context, taken[0])
        dose = dose_of(context, row, taken[0])
    except Refusal as no:
        return Outcome(
            (_no_figure(context, no.message),),
            (context.finding(no.code, "error", no.message, no.help, place=no.place or place),),
        )
    first = _dosed(context, row, dose, taken[0])
    second = _accelerator(context, row, dose, place)
    return Outcome(first.limits + second.limits, first.findings + second.findings)


def _may_cure(line: JoinedLine) -> bool:
    """Whether a line is a cure, or of a formula made ahead, which may bring one."""
    return line.ingredient is None or line.ingredient.function == "cure"


def _cures(context: StepContext, numbers: tuple[int, ...]) -> list[JoinedLine]:
    """The cures among the lines that some steps take in, in the order they are written: cures
    themselves, and formulas made ahead that bring one, as a cure mix or a brine of the house's
    own."""
    lines = list(filter(_may_cure, context.formula.lines))
    if not lines:
        return []
    parts = {p for s in context.formula.steps if s.number in numbers for p in s.parts}
    brought = {(c.part, c.came) for c in context.before.components if c.cures}
    return [
        ln
        for ln in lines
        if ln.part in parts and (ln.ingredient is not None or (ln.part, ln.item) in brought)
    ]


def _takes_meat(context: StepContext) -> bool:
    return any(
        is_meat(context.house, c) for c in context.before.components if c.part in context.step.parts
    )


def _least(context: StepContext, row: AdditiveRow) -> tuple[Fraction, str] | None:
    """The least dose asked for, and of what: of bacon whose dose is set, of cured food kept
    cold."""
    assert row.ppm is not None
    keeps, pack = context.formula.formula.keeps, context.house.additives
    if row.exact:
        return row.ppm, f"set for {row.food.removeprefix('nitrite in ')}"
    gone = not context.fate.kept  # served at once: nobody keeps it cold
    elsewhere = keeps is not None and keeps.cold is None
    if gone or elsewhere or pack is None:
        return None
    found = pack.row_for(AdditiveRow, "kept-refrigerated")
    if found is None or found[1].ppm is None:
        return None
    return found[1].ppm, "required for cured food kept refrigerated"


@dataclass(frozen=True)
class _Ingoing:
    """The nitrite taken in here: its cures, its grams and ppm; ``final_ppm`` once the meat of later
    steps, ``later`` grams of it, is in."""

    cures: list[Component]
    grams: Fraction
    ppm: Fraction
    later: Fraction
    final_ppm: Fraction


def _ingoing(context: StepContext, dose: Dose) -> _Ingoing:
    """Meat taken in by later steps thins the dose: the most is held here, the least on all of
    it."""
    cures = [c for c in context.before.components if c.nitrite]
    nitrite = sum((c.grams * c.nitrite for c in cures), Fraction(0))
    later = green_weight(context.house, context.to_come)
    in_all = nitrite + sum((c.grams * c.nitrite for c in context.to_come), Fraction(0))
    final = in_all / (dose.on + later) * 1_000_000
    return _Ingoing(cures, nitrite, dose.ppm(nitrite), later, final)


def _dosed(context: StepContext, row: AdditiveRow, dose: Dose, taken: JoinedLine) -> Outcome:
    assert row.ppm is not None
    ingoing = _ingoing(context, dose)
    least = _least(context, row)
    most_words = _most_words(row)
    findings: tuple[Finding, ...] = ()
    if ingoing.ppm > row.ppm:
        findings = (_above(context, row, dose, ingoing, taken),)
    elif least is not None and ingoing.final_ppm < least[0] * (1 - _OFF if row.exact else 1):
        findings = (_below(context, row, dose, ingoing, taken, least),)
    source = _source(context, row)
    basis = Basis(
        _ingoing_words(context, row, dose, ingoing),
        f"{row.food}: {_bounds(row)} {most_words}",
        f"{source.document}; arithmetic, never a permission",
    )
    least_ppm = least[0] if least is not None else None
    weighed_least = least_ppm
    if least_ppm is not None and least_ppm >= row.ppm:
        weighed_least = least_ppm * (1 - _OFF)
    limit = _limit(
        context,
        "additive",
        "max",
        source,
        basis,
        ingoing.ppm,
        ingoing.cures,
        Verdict(
            "fails" if findings else "meets",
            f"{plain(ingoing.ppm, 2)} ppm against {_bounds(row)} {most_words}.",
        ),
        row.ppm,
        least_ppm,
        dose.on,
        ingoing.final_ppm,
        weighed_least,
        "nitrite",
    )
    return Outcome((limit,), findings)


def _most_words(row: AdditiveRow) -> str:
    assert row.ppm is not None
    return f"{plain(row.ppm)} ppm ({row.printed_ppm} as printed)"


def _above(
    context: StepContext, row: AdditiveRow, dose: Dose, ingoing: _Ingoing, taken: JoinedLine
) -> Finding:
    """The error of a dose above the legal maximum."""
    assert row.ppm is not None
    words = (
        f"{taken.name}: {plain(ingoing.ppm, 2)} ppm of nitrite is above the legal maximum, "
        f"{_most_words(row)}."
    )
    reach = _at_strength(context, row, dose, ingoing.cures, row.ppm, "down")
    help = f"{reach} is the most.{_on_its_line(row, taken, row.ppm / ingoing.ppm, reach, 'down')}"
    place = taken.line.place("amount")
    return context.finding(
        "dose-above-maximum", "error", words, help, place=place, source=row.clause
    )


def _below(
    context: StepContext,
    row: AdditiveRow,
    dose: Dose,
    ingoing: _Ingoing,
    taken: JoinedLine,
    least: tuple[Fraction, str],
) -> Finding:
    """The error of a dose below the least, and of what it is the least."""
    asked, of = least
    words = (
        f"{taken.name}: {plain(ingoing.final_ppm, 2)} ppm of nitrite is below the "
        f"{plain(asked)} ppm {of}."
    )
    side: Side = "down" if row.exact else "up"
    reach = _at_strength(context, row, dose, ingoing.cures, asked, side)
    help = f"{reach} {'comes to it' if row.exact else 'is the least'}."
    if ingoing.ppm:
        help += _on_its_line(row, taken, asked / ingoing.ppm, reach, side)
    if ingoing.later:
        to_come = [c.name for c in context.to_come if is_meat(context.house, c)]
        words = f"{words[:-1]}, once {listed(tuple(dict.fromkeys(to_come)))} is in."
        help = "Add the cure with all of the meat. Raise the dose if needed."
    place = taken.line.place("amount")
    return context.finding("dose-below-minimum", "error", words, help, place=place)


def _ingoing_words(
    context: StepContext, row: AdditiveRow, dose: Dose, ingoing: _Ingoing
) -> tuple[tuple[str, str], ...]:
    """From what the dose follows: the meat block, the cures, the sum."""
    green = green_weight(context.house, context.before.components)
    later = f"{plain(ingoing.final_ppm, 2)}{NARROW}ppm after later steps add theirs"
    return (
        ("Meat block", f"{plain(green, 2)}{NARROW}g green weight, by species"),
        *_skin_words(context, row),
        *dose.inputs,
        *mixes(context, ingoing.cures),
        ("Nitrite", f"{plain(ingoing.grams, 4)}{NARROW}g in all cures of this formula"),
        ("Ingoing", f"{dose.rule} = {plain(ingoing.ppm, 2)}{NARROW}ppm"),
        *((("With all meat", later),) if ingoing.later else ()),
        *_ion_words(ingoing.cures, ingoing.ppm),
    )


def _at_strength(
    context: StepContext,
    row: AdditiveRow,
    dose: Dose,
    cures: list[Component],
    ppm: Fraction,
    side: Side,
) -> str:
    """How much of the cures comes to ``ppm``, as a chef types it: of the meat as it is weighed, its
    skin with it, or in this pickle."""
    cured = as_weighed(context, cures)
    share = sum((c.grams * c.nitrite for c in cures), Fraction(0)) / cured
    if row.applies in WET:
        grams = to_side(dose.grams_at(ppm, share, cured), side, _CENTIGRAM)
        return f"At its strength, {plain(grams, 2)} g with the rest of this pickle"
    cured_of_it = dose.on / green_weight(context.house, context.before.components)
    percent = to_side(ppm / 1_000_000 / share * cured_of_it * 100, side, Fraction(1, 1000))
    return f"At its strength, {plain(percent, 3)} % of the meat"


def _on_its_line(
    row: AdditiveRow, taken: JoinedLine, times: Fraction, reach: str, side: Side
) -> str:
    """What its line says for that, so many ``times`` what it says now, where it is a percentage of
    something else than the meat that is dosed; empty where it is the same figure."""
    amount = taken.line.amount
    if row.applies in WET or amount.kind != "percent":
        return ""
    typed = f"{plain(to_side(amount.value * times, side, Fraction(1, 1000)), 3)} %"
    return "" if f" {typed} " in reach else f" On this line that is {typed}."


def _bounds(row: AdditiveRow) -> str:
    return "set at" if row.exact else "at most"


def _skin_words(context: StepContext, row: AdditiveRow) -> tuple[tuple[str, str], ...]:
    skin = skin_factor(context, row)
    meat = [c for c in context.before.components if is_meat(context.house, c)]
    if skin == 1 or all(c.cure.skin == "taken-off" for c in meat):
        return ()
    stated = all(c.cure.skin for c in meat)
    why = "skin left on" if stated else "skin not stated, so it counts as left on"
    return (("Skin", f"{why}: green weight × {plain(skin)}"),)


def _ion_words(cures: list[Component], ppm: Fraction) -> tuple[tuple[str, str], ...]:
    """The same dose as nitrite ion, for who reads European figures; only of the sodium salt."""
    if any(c.cure.nitrite_from != "sodium-nitrite" for c in cures):
        return ()
    return (
        (
            "As nitrite ion",
            f"about {plain(as_ion(ppm), 0)}{NARROW}ppm; arithmetic only, the limit counts the salt",
        ),
    )


def _accelerator(context: StepContext, row: AdditiveRow, dose: Dose, place: Place) -> Outcome:
    """How much erythorbate or ascorbate there must be in pumped bacon, or may be in what else is
    cured."""
    pack = context.house.additives
    found = pack.row_for(AdditiveRow, f"{row.applies}-accelerator") if pack is not None else None
    if found is None or found[1].ppm is None:
        return NOTHING
    held = [c for c in context.before.components if c.cure.erythorbate]
    if found[1].bound == "max":
        return _most_of_it(context, found[1], dose, held) if held else NOTHING
    return _least_of_it(context, found[1], dose, held, place)


def _grams_of_it(held: list[Component]) -> Fraction:
    """The grams of erythorbate or ascorbate in some components."""
    return sum((c.grams * c.cure.erythorbate for c in held), Fraction(0))


def _sum_of_it(dose: Dose, grams: Fraction, ppm: Fraction) -> tuple[tuple[str, str], ...]:
    """From what the dose of an accelerator follows."""
    rule = dose.rule.replace("nitrite", "erythorbate")
    return (
        *dose.inputs,
        ("Erythorbate", f"{plain(grams, 4)}{NARROW}g of erythorbate or ascorbate"),
        ("Ingoing", f"{rule} = {plain(ppm, 2)}{NARROW}ppm"),
    )


def _most_of_it(
    context: StepContext, most: AdditiveRow, dose: Dose, held: list[Component]
) -> Outcome:
    """The most of an accelerator, and the error of more: 9 CFR 424.21(c)."""
    assert most.ppm is not None
    grams = _grams_of_it(held)
    ppm, place = dose.ppm(grams), _line_of(context, held[0])
    findings: tuple[Finding, ...] = ()
    against = f"{plain(ppm, 2)} ppm against at most {plain(most.ppm, 2)} ppm."
    if ppm > most.ppm:
        words = (
            f"{context.formula.formula.name}: {plain(ppm, 2)} ppm of erythorbate or ascorbate is "
            f"above the legal maximum, {plain(most.ppm, 2)} ppm."
        )
        pure = to_side(grams * most.ppm / ppm, "down", _CENTIGRAM)
        help = f"{plain(pure, 2)} g of it, pure, is the most here."
        findings = (
            context.finding(
                "dose-above-maximum", "error", words, help, place=place, source=most.clause
            ),
        )
    return Outcome((_limit_of_it(context, most, dose, held, against, bool(findings)),), findings)


def _line_of(context: StepContext, held: Component) -> Place:
    """Where the amount of an accelerator is written."""
    lines = (ln for ln in context.formula.lines if (ln.part, ln.item) == (held.part, held.item))
    line = next(lines, None)
    return line.line.place("amount") if line is not None else context.step.step.place("do")


def _least_of_it(
    context: StepContext, least: AdditiveRow, dose: Dose, held: list[Component], place: Place
) -> Outcome:
    """The least erythorbate or ascorbate in pumped bacon."""
    assert least.ppm is not None
    grams = _grams_of_it(held)
    ppm = dose.ppm(grams)
    findings: tuple[Finding, ...] = ()
    if ppm < least.ppm:
        name = context.formula.formula.name
        words = (
            f"{name}: {plain(ppm, 2)} ppm of erythorbate or ascorbate. Pumped bacon needs "
            f"{plain(least.ppm)}."
        )
        now = sum((c.grams for c in held), Fraction(0))
        strength = grams / now if now else Fraction(1)
        pure = dose.grams_at(least.ppm, strength, now) * strength
        help = (
            f"{plain(to_side(pure, 'up', _CENTIGRAM), 2)} g of it, pure, with the rest of this "
            "pickle is the least. Write its percent of the ingredient under `erythorbate`."
        )
        findings = (
            context.finding(
                "accelerator-too-little", "error", words, help, place=place, source=least.clause
            ),
        )
    against = f"{plain(ppm, 2)} ppm against at least {plain(least.ppm)} ppm."
    return Outcome((_limit_of_it(context, least, dose, held, against, bool(findings)),), findings)


def _limit_of_it(
    context: StepContext,
    row: AdditiveRow,
    dose: Dose,
    held: list[Component],
    against: str,
    fails: bool,
) -> DoseLimit:
    """The limit of an accelerator, the most or the least as its row says: ``against`` is what it
    comes to beside it, ``fails`` whether that is outside."""
    assert row.ppm is not None
    grams = _grams_of_it(held)
    ppm, most = dose.ppm(grams), row.bound == "max"
    source = _source(context, row)
    basis = Basis(
        _sum_of_it(dose, grams, ppm),
        f"{row.food}: at {'most' if most else 'least'} {plain(row.ppm, 2)} ppm",
        f"{source.document}; arithmetic, never a permission",
    )
    return _limit(
        context,
        "accelerator",
        "max" if most else "min",
        source,
        basis,
        ppm,
        held,
        Verdict("fails" if fails else "meets", against),
        row.ppm if most else None,
        None if most else row.ppm,
        dose.on,
        ppm,
        None if most else row.ppm,
        "erythorbate or ascorbate",
    )


def _limit(
    context: StepContext,
    kind: str,
    bound: Bound,
    source: Source,
    basis: Basis,
    ppm: Fraction,
    because: list[Component],
    verdict: Verdict,
    most: Fraction | None,
    least: Fraction | None,
    on: Fraction,
    final: Fraction,
    weighed_least: Fraction | None,
    substance: str,
) -> DoseLimit:
    return DoseLimit(
        **context.names(kind),
        hazard="additive",
        bound=bound,
        source=source,
        verdict=verdict,
        basis=basis,
        ppm=ppm,
        most_ppm=most,
        least_ppm=least,
        because=tuple(dict.fromkeys(c.name for c in because)),
        meat_share=on,
        final_ppm=final,
        weighed_least_ppm=weighed_least,
        substance=substance,
    )


def _source(context: StepContext, row: AdditiveRow) -> Source:
    assert context.house.additives is not None
    facts = context.house.additives.facts
    copies = tuple(context.house.library.source_title(key) for key in row.read_in)
    return Source(
        row.document or facts.document,
        facts.edition,
        row.clause,
        copies,
        facts.checked_on,
        row.standing,
    )


def _no_figure(context: StepContext, why: str) -> NotCovered:
    facts = context.house.pack.facts
    return NotCovered(
        **context.names("additive"),
        hazard="additive",
        bound="max",
        source=Source(facts.document, facts.edition, "3-502.11", (), facts.checked_on),
        why=why,
    )
