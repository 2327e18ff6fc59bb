"""A formula's lines in grams at factor 1, each with the way it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Refused
from generator.measures.amounts import PPM, Amount
from generator.measures.basis import Basis
from generator.measures.units import Units, load_units
from generator.measures.words import NARROW, plain
from generator.records.ingredient import Ingredient, UnitMass
from generator.reference.library import Library
from generator.resolve.joined import House, JoinedFormula, JoinedLine
from generator.scaling.scales import AS_NEEDED, ORDINARY, STRICT
from generator.scaling.weights import (
    BARE_PIECES,
    UnitWeight,
    Weighed,
    piece_of,
    read_unit_weights,
    to_grams,
)
from generator.sheet.percents import Key, Of, Worked, key_of, what_of, worked_out


@dataclass(frozen=True)
class WeighedLine:
    """A line in grams at factor 1, how the grams were found, and how finely it must be weighed."""

    joined: JoinedLine
    grams: Fraction
    weighed: Weighed
    unit_weights: tuple[UnitWeight, ...]
    permitted: Fraction
    basis: Basis


_Grams = Mapping[Key, Weighed]


def weigh_lines(
    house: House, formula: JoinedFormula, pieces: Mapping[str, tuple[UnitWeight, ...]]
) -> tuple[list[WeighedLine] | None, list[Finding]]:
    """Every line in grams at factor 1, or None with the findings that prevent it.

    ``pieces`` says for each made-ahead formula, by its id, what one of its pieces weighs.
    """
    findings: list[Finding] = []
    weights = {
        key_of(ln): pieces.get(ln.formula or "", ()) + unit_weights_of(house, ln.ingredient)
        for ln in formula.lines
    }
    grams = _weighed(house, formula, weights, findings)
    base = _base_in_percent(formula, findings)
    percents = _percents(formula, findings)
    if findings or not _has_a_base(formula):
        return None, findings
    known = {key: weighed.grams for key, weighed in grams.items()}
    found, problems = worked_out(percents, known, {} if base is None else {formula.base: base})
    stuck = [ln for ln in formula.lines if key_of(ln) in problems]
    findings += [_error(formula, ln, _unworked(ln, problems[key_of(ln)])) for ln in stuck]
    if findings:
        return None, findings
    return [
        _line(house, line, weights[key_of(line)], grams, percents, found) for line in formula.lines
    ], findings


def _has_a_base(formula: JoinedFormula) -> bool:
    """Whether a line of the base could be read: without one there is nothing to weigh by."""
    return any(key_of(line) in formula.base for line in formula.lines)


def _line(
    house: House,
    line: JoinedLine,
    weights: tuple[UnitWeight, ...],
    grams: _Grams,
    percents: Mapping[Key, tuple[Fraction, Of]],
    found: Mapping[Key, Worked],
) -> WeighedLine:
    """A line with its grams, weighed or worked out."""
    key = key_of(line)
    if key in found:
        weighed, basis = _of_percent(line, percents[key][1], found[key])
    else:
        weighed, basis = _as_it_is(house, line, grams[key])
    return WeighedLine(line, weighed.grams, weighed, weights, _permitted(line), basis)


def _weighed(
    house: House,
    formula: JoinedFormula,
    weights: Mapping[Key, tuple[UnitWeight, ...]],
    findings: list[Finding],
) -> dict[Key, Weighed]:
    """The grams of every line that is no percentage; a refused one goes to ``findings``."""
    grams: dict[Key, Weighed] = {}
    for line in formula.lines:
        if line.line.amount.kind != "percent":
            try:
                grams[key_of(line)] = _in_grams(house, line, weights[key_of(line)])
            except Refused as refused:
                findings.append(_error(formula, line, refused))
    return grams


def _percents(formula: JoinedFormula, findings: list[Finding]) -> dict[Key, tuple[Fraction, Of]]:
    """The share of every line in percent and what it is of; a refused one goes to ``findings``."""
    found: dict[Key, tuple[Fraction, Of]] = {}
    for line in formula.lines:
        if line.line.amount.kind == "percent":
            try:
                _ask_what_ppm_is_of(line)
                found[key_of(line)] = line.line.amount.value / 100, what_of(formula, line)
            except Refused as refused:
                findings.append(_error(formula, line, refused))
    return found


def _unworked(line: JoinedLine, why: str) -> Refused:
    code = "percent-of-what" if why.startswith("nothing") else "percents-over-whole"
    return Refused(
        code,
        f"{line.name}: {why}.",
        "Give one of its lines in weight."
        if code == "percent-of-what"
        else "Lower the percentages until they are under 100 % together, or write a weight.",
    )


def _error(formula: JoinedFormula, line: JoinedLine, refused: Refused) -> Finding:
    """What is wrong with a line's amount; a measure to write instead is on its line."""
    place = line.line.place("amount")
    write = tuple(w if w.startswith("weighs") else place.fixed(w) for w in refused.write)
    about = frozenset({formula.id})
    return Finding(refused.code, "error", refused.message, place, refused.help, write, about=about)


def _in_grams(house: House, line: JoinedLine, weights: tuple[UnitWeight, ...]) -> Weighed:
    """A line that is no percentage, in grams. Raises Refused."""
    amount, facts = line.line.amount, line.ingredient
    function = facts.function if facts is not None else None
    if amount.kind == "as-needed":
        return _usual(line, function)
    if amount.unit == "oz" and facts is not None and facts.form == "liquid":
        ounces = amount.value / house.units.by_name["oz"].factor
        raise Refused(
            "ounce-of-a-liquid",
            f"{line.name}: ounces by weight or by volume?",
            "Of a liquid, write fluid ounces or grams.",
            (f"{plain(ounces, 6, False)} fl oz", f"{plain(amount.value, 0, False)} g"),
        )
    if amount.unit == "fl oz" and facts is not None and _is_no_liquid(facts, weights):
        figure = plain(amount.value / house.units.by_name["fl oz"].factor, 6, False)
        measured = _by_the_measure(amount, weights, line.name)
        raise Refused(
            "ounce-of-a-solid",
            f"{line.name}: fluid ounces measure liquids. Did you mean {figure} oz, by weight?",
            "Write ounces by weight, or grams.",
            (f"{figure} oz", *measured),
        )
    if function in ("cure", "gelling-agent") and amount.kind != "mass":
        raise Refused(
            "grams-only",
            f"{line.name}: weighed in grams only, never measured.",
            "Write grams, or a percentage of the base.",
        )
    _ask_what_ice_weighs(house, line, weights)
    return to_grams(amount, weights, line.name, line.formula is not None, house.units)


def _ask_what_ice_weighs(house: House, line: JoinedLine, weights: tuple[UnitWeight, ...]) -> None:
    """Raises Refused for a measure of what only one solid piece was weighed of."""
    by_volume = line.line.amount.kind == "volume"
    if by_volume and only_in_one_piece(house.library, line.ingredient, weights):
        raise Refused(
            "unit-weight-missing",
            f"{line.name}: what does a measure of it weigh? Air lies between cubes, and between "
            "crushed pieces even more of it.",
            "Weigh it, and write grams. Or weigh a litre of it as you use it, and enter `l` under "
            "the ingredient's `weighs`, with its `source`.",
        )


def only_in_one_piece(
    library: Library, facts: Ingredient | None, weights: tuple[UnitWeight, ...]
) -> bool:
    """Whether the only measure of a food is that of one solid piece of it: ice."""
    stuff = library.foodstuffs.get(facts.foodstuff or "") if facts is not None else None
    if stuff is None or not stuff.facts.one_piece:
        return False
    return all(weight.source == stuff.source for weight in weights if weight.ml is not None)


LIGHTEST_LIQUID = Fraction(85, 100)
"""Grams a millilitre of a liquid weighs at least: oil 0.91. Flour, herbs and nuts weigh less."""


def _is_no_liquid(facts: Ingredient, weights: tuple[UnitWeight, ...]) -> bool:
    """Whether a food can't be poured by the fluid ounce: by its form, or by what a measure of it
    weighs. What isn't known may be."""
    if facts.form is not None:
        return facts.form != "liquid"
    measures = [w.grams / w.ml for w in weights if w.ml]
    return facts.function == "salt" or (bool(measures) and max(measures) < LIGHTEST_LIQUID)


def _by_the_measure(amount: Amount, weights: tuple[UnitWeight, ...], name: str) -> tuple[str, ...]:
    """What so much by volume weighs, in whole grams, if a measure of it is known."""
    try:
        return (f"{plain(to_grams(amount, weights, name).grams, 0, False)} g",)
    except Refused:
        return ()


def _usual(line: JoinedLine, function: str | None) -> Weighed:
    """What is usual of a line taken as needed. Raises Refused for a cure, and where it isn't
    said."""
    usual = line.line.usual
    if function == "cure":
        raise Refused(
            "grams-only",
            f"{line.name}: a cure is never `as needed`.",
            "Write grams, or a percentage of the base.",
        )
    if usual is None:
        raise Refused(
            "usual-missing",
            f"{line.name}: as needed, but how much is usual?",
            "Write it as {amount: as needed, usual: …} with the grams you use. Batch, allergens "
            "and label count them.",
        )
    return Weighed(usual.value, False, f"as needed, usually {usual.text}")


def _as_it_is(house: House, line: JoinedLine, weighed: Weighed) -> tuple[Weighed, Basis]:
    """The grams of a line that is no percentage, and how they were found."""
    if line.line.amount.kind == "as-needed":
        reported = (("Usual", line.line.usual.text),) if line.line.usual else ()
        rule = "the usual amount, scaled; the cook may take more or less"
        return weighed, Basis((_as_written(line), *reported), rule)
    unit = (("Unit weight", weighed.words),) if weighed.words else ()
    return weighed, Basis(
        (_as_written(line), *unit),
        "as written" if weighed.exact else "measure × unit weight",
        house.library.source_title(weighed.source) if weighed.source else "",
    )


def _as_written(line: JoinedLine) -> tuple[str, str]:
    amount = line.line.amount
    return "As written", amount.text or plain(amount.value)


def _of_percent(line: JoinedLine, of: Of, worked: Worked) -> tuple[Weighed, Basis]:
    """The grams of a percentage, and how they were found."""
    amount = line.line.amount
    figure, percent, _ = amount.text.partition("%")
    written = ("As written", f"{figure.strip()}{' %' if percent else ''} of the {of.words}")
    basis = Basis((written, ("Of", f"{plain(worked.of, 2)}{NARROW}g")), _rule(line, of))
    return Weighed(worked.grams, True), basis


def _rule(line: JoinedLine, of: Of) -> str:
    """How a percentage is worked out, in words."""
    if not line.line.amount.of:
        return "percent of base × base"
    if of.rest:
        return "percentage × the other lines, without this one"
    return "percentage × the whole" if key_of(line) in of.lines else "percentage × what it is of"


def _ask_what_ppm_is_of(line: JoinedLine) -> None:
    """Raises Refused for a cure in ppm: its maker's figure is of the mix, the law's of the nitrite
    in it."""
    amount, facts = line.line.amount, line.ingredient
    if amount.unit != PPM or facts is None or facts.function != "cure":
        return
    figure = f"{plain(amount.value * 10_000, 3)} ppm"
    of = f" of {amount.of.replace('-', ' ')}" if amount.of else ""
    help = f"Of the cure itself that is {plain(amount.value, 6, False)} %. Write a percentage."
    writes: tuple[str, ...] = ()
    if facts.nitrite:
        help = f"{help} The line below is for nitrite, by the cure's strength."
        writes = (f"{plain(amount.value / facts.nitrite, 6, False)} %{of}",)
    words = f"{line.name}: {figure} of nitrite, or {figure} of the cure itself?"
    raise Refused("cure-in-ppm", words, help, writes)


def _permitted(line: JoinedLine) -> Fraction:
    """How far off a line may be weighed, as a share of it."""
    if line.line.amount.kind == "as-needed":
        return AS_NEEDED
    facts = line.ingredient
    return STRICT if facts is not None and facts.function else ORDINARY


def _base_in_percent(formula: JoinedFormula, findings: list[Finding]) -> Fraction | None:
    """1000 g where the base itself is given in percent of itself; None where its lines weigh
    something. What is wrong with a base in percent goes to ``findings``."""
    base = [ln for ln in formula.lines if key_of(ln) in formula.base]
    percents = [ln for ln in base if ln.line.amount.kind == "percent" and not ln.line.amount.of]
    if not percents:
        return None
    refused = _not_100(percents, len(percents) < len(base))
    if refused is not None:
        findings.append(_error(formula, percents[0], refused))
        return None
    fixed = [ln for ln in formula.lines if ln.line.amount.kind != "percent"]
    findings += [_error(formula, line, _beside_percent(line)) for line in fixed]
    return None if fixed else Fraction(1000)


def _not_100(percents: list[JoinedLine], mixed: bool) -> Refused | None:
    """Why a base in percent isn't whole; ``mixed``: some of it is in weights."""
    total = sum((ln.line.amount.value for ln in percents), Fraction(0))
    if total == 100 and not mixed:
        return None
    words, other = f"The base adds up to {plain(total)} %, not 100 %.", ""
    if mixed:
        words = "Some of the base is in percent and some in weights."
        other = " Or put what is a percentage of the base into another part."
    return Refused(
        "base-not-100",
        words,
        f"Give the whole base in weights, or in percentages that add up to 100 %.{other}",
    )


def _beside_percent(line: JoinedLine) -> Refused:
    return Refused(
        "amount-beside-percent-base",
        f"{line.name}: a fixed amount with a base in percent has nothing to scale by.",
        "Write it as a percentage of the base.",
    )


def unit_weights_of(house: House, facts: Ingredient | None) -> tuple[UnitWeight, ...]:
    """An ingredient's own unit weights first, then those of its foodstuff that they don't replace:
    a volume weighed here goes for every volume, whatever its unit."""
    if facts is None:
        return ()
    return house.once("unit weights", facts, lambda: _unit_weights_of(house, facts))


def _unit_weights_of(house: House, facts: Ingredient) -> tuple[UnitWeight, ...]:
    found: tuple[UnitWeight, ...] = ()
    folder = house.library.folder

    def units_of(name: str) -> Units:
        return load_units(folder, name)

    if facts.weighs:
        read = read_unit_weights(facts.weighs, facts.source, None, house.units, units_of)
        found += tuple(map(_with_scatter, read, facts.weighs.values()))
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None:
        published = read_unit_weights(
            stuff.weighs, stuff.source, stuff.measures, house.units, units_of
        )
        measured = any(weight.ml is not None for weight in found)
        found += tuple(w for w in published if w.ml is None or w.detail or not measured)
    return found


def _with_scatter(weight: UnitWeight, typed: UnitMass) -> UnitWeight:
    """A unit weight with the lightest and the heaviest piece weighed, as far as they are stated."""
    low, high = typed.from_, typed.to
    return replace(weight, low=low.value if low else None, high=high.value if high else None)


def pours(line: WeighedLine) -> bool:
    """Whether a line is nothing in pieces: a liquid, or made ahead and not counted in pieces."""
    facts = line.joined.ingredient
    if facts is None:
        weight = piece_of(line.joined.line.amount.unit, line.unit_weights)
        return weight is None or not weight.whole
    return facts.form == "liquid"


def piece_words(line: WeighedLine) -> tuple[str, str]:
    """What one and more pieces of a counted line are called: leg, legs."""
    unit = line.joined.line.amount.unit
    if unit in BARE_PIECES:
        return "piece", "pieces"
    weight = piece_of(unit, line.unit_weights)
    return (weight.word if weight is not None else unit), unit


def salt_in(facts: Ingredient) -> Fraction:
    """Common salt in an ingredient, as a share of its weight: as stated (the least of a range, the
    strict side of a salt that is asked for), all of a `function: salt`, else 0."""
    if facts.salt is not None:
        return facts.salt
    if facts.composition is not None and facts.composition.salt is not None:
        return facts.composition.salt.low
    return Fraction(1) if facts.function == "salt" else Fraction(0)


def water_in(library: Library, facts: Ingredient, salt: Fraction) -> Fraction | None:
    """Water in an ingredient, as a share of its weight: its own composition's, else its
    foodstuff's; None where neither is known. Of a range the most, the strict side for salt in its
    water. Salt itself has none."""
    if facts.composition is not None:
        stated = facts.composition.water
    else:
        stuff = library.foodstuffs.get(facts.foodstuff or "")
        stated = stuff.composition.water if stuff is not None else None
    if stated is not None:
        return stated.high
    return Fraction(0) if salt == 1 else None
