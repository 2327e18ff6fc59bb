"""A formula's lines in grams at factor 1, each with the way it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.files.finding import Finding, Refused
from generator.measures.basis import Basis
from generator.measures.units import Units, load_units
from generator.measures.words import NARROW, plain
from generator.records.ingredient import Ingredient
from generator.reference.library import Library
from generator.resolve.joined import House, JoinedFormula, JoinedLine
from generator.scaling.scales import AS_NEEDED, ORDINARY, STRICT
from generator.scaling.weights import UnitWeight, Weighed, read_unit_weights, to_grams


@dataclass(frozen=True)
class WeighedLine:
    """A line in grams at factor 1, how the grams were found, and how finely it must be weighed."""

    joined: JoinedLine
    grams: Fraction
    weighed: Weighed
    unit_weights: tuple[UnitWeight, ...]
    permitted: Fraction
    basis: Basis


def weigh_lines(
    house: House, formula: JoinedFormula, pieces: Mapping[str, tuple[UnitWeight, ...]]
) -> tuple[list[WeighedLine] | None, list[Finding]]:
    """Every line in grams at factor 1, or None with the findings that prevent it.

    ``pieces`` says for each made-ahead formula, by its id, what one of its pieces weighs.
    """
    findings: list[Finding] = []
    weights = {
        (ln.part, ln.item): pieces.get(ln.formula or "", ()) + unit_weights_of(house, ln.ingredient)
        for ln in formula.lines
    }
    grams: dict[tuple[str, str], Weighed] = {}

    def error(
        line: JoinedLine, code: str, message: str, help: str, write: tuple[str, ...] = ()
    ) -> None:
        place = line.line.place("amount")
        findings.append(
            Finding(code, "error", message, place, help, write, about=frozenset({formula.id}))
        )

    for line in formula.lines:
        amount = line.line.amount
        if amount.kind == "percent":
            continue
        facts = line.ingredient
        if amount.kind == "as-needed":
            usual = line.line.usual
            if facts is not None and facts.function == "cure":
                error(
                    line,
                    "grams-only",
                    f"{line.name}: a cure is never `as needed`.",
                    "Write grams, or a percentage of the base.",
                )
            elif usual is None:
                error(
                    line,
                    "usual-missing",
                    f"{line.name}: as needed, and how much is usual?",
                    "Write it as {amount: as needed, usual: …} with the grams you use; batch, "
                    "allergens and "
                    "label count them.",
                )
            else:
                grams[(line.part, line.item)] = Weighed(
                    usual.value, False, f"as needed, usually {usual.text}"
                )
            continue
        if amount.unit == "oz" and facts is not None and facts.form == "liquid":
            error(
                line,
                "ounce-of-a-liquid",
                f"{line.name}: ounces by weight or by volume?",
                "Of a liquid, write fluid ounces or grams.",
                (
                    f"{line.item}: {plain(amount.value / house.units.by_name['oz'].factor)} fl oz",
                    f"{line.item}: {plain(amount.value, 0)} g",
                ),
            )
            continue
        if (
            facts is not None
            and facts.function in ("cure", "gelling-agent")
            and amount.kind != "mass"
        ):
            error(
                line,
                "grams-only",
                f"{line.name}: weighed in grams only, never measured.",
                "Write grams, or a percentage of the base.",
            )
            continue
        try:
            grams[(line.part, line.item)] = to_grams(
                amount, weights[(line.part, line.item)], line.name, line.formula is not None
            )
        except Refused as refused:
            place = line.line.place("amount")  # a measure to write instead, on its line
            write = tuple(w if w.startswith("weighs") else place.mended(w) for w in refused.write)
            error(line, refused.code, refused.message, refused.help, write)
    base = _base_grams(formula, grams, findings)
    if base is None or any(f.is_error for f in findings):
        return None, findings
    result: list[WeighedLine] = []
    for line in formula.lines:
        key = (line.part, line.item)
        amount = line.line.amount
        if amount.kind == "percent":
            whole, of = base, _base_words(formula)
            if amount.of:
                whole = sum(
                    (w.grams for (part, _), w in grams.items() if part == amount.of), Fraction(0)
                )
                of = amount.of.replace("-", " ")
                if not whole:
                    error(
                        line,
                        "percent-of-what",
                        f"{line.name}: `{amount.of}` is no part weighed in this formula.",
                        "A bare percentage is of the base; any other names a part given in "
                        "weights.",
                    )
                    continue
            weighed = Weighed(whole * amount.value / 100, True)
            inputs = (
                ("As written", f"{amount.text} of the {of}"),
                ("Of", f"{plain(whole, 2)}{NARROW}g"),
            )
            basis = Basis(inputs, "percent of base × base")
        else:
            weighed = grams[key]
            written = ("As written", amount.text or plain(amount.value))
            basis = Basis(
                (written, ("Unit weight", weighed.words)) if weighed.words else (written,),
                "as written" if weighed.exact else "measure × unit weight",
                house.library.source_title(weighed.source) if weighed.source else "",
            )
            if amount.kind == "as-needed":
                told = (("Usual", line.line.usual.text),) if line.line.usual else ()
                basis = Basis(
                    (written, *told), "the usual amount, scaled; the cook may take more or less"
                )
        facts = line.ingredient
        permitted = STRICT if facts is not None and facts.function else ORDINARY
        if amount.kind == "as-needed":
            permitted = AS_NEEDED
        result.append(WeighedLine(line, weighed.grams, weighed, weights[key], permitted, basis))
    return (None if any(f.is_error for f in findings) else result), findings


def _base_words(formula: JoinedFormula) -> str:
    return ", ".join(name.replace("-", " ") for name in formula.formula.base)


def _base_grams(
    formula: JoinedFormula, grams: dict[tuple[str, str], Weighed], findings: list[Finding]
) -> Fraction | None:
    """The base in grams; 1000 g where the base itself is given in percent."""
    base = [ln for ln in formula.lines if (ln.part, ln.item) in formula.base]
    percents = [ln for ln in base if ln.line.amount.kind == "percent"]
    about = frozenset({formula.id})
    if not percents:
        if len([ln for ln in base if (ln.part, ln.item) in grams]) < len(base):
            return None
        return sum((grams[(ln.part, ln.item)].grams for ln in base), Fraction(0)) or None
    total = sum((ln.line.amount.value for ln in percents), Fraction(0))
    if len(percents) < len(base) or total != 100:
        words, other = f"The base adds up to {plain(total)} %, not 100 %.", ""
        if len(percents) < len(base):
            words = "Some of the base is in percent and some in weights."
            other = " Or put what is a percentage of the base into another part."
        findings.append(
            Finding(
                "base-not-100",
                "error",
                words,
                percents[0].line.place("amount"),
                f"Give the whole base in weights, or in percentages that add up to 100 %.{other}",
                about=about,
            )
        )
        return None
    fixed = [ln for ln in formula.lines if ln.line.amount.kind != "percent"]
    for line in fixed:
        findings.append(
            Finding(
                "amount-beside-percent-base",
                "error",
                f"{line.name}: a fixed amount beside a base in percent has nothing to scale by.",
                line.line.place("amount"),
                "Write it as a percentage of the base.",
                about=about,
            )
        )
    return None if fixed else Fraction(1000)


def unit_weights_of(house: House, facts: Ingredient | None) -> tuple[UnitWeight, ...]:
    """An ingredient's own unit weights first, then those of its foodstuff."""
    if facts is None:
        return ()
    found: tuple[UnitWeight, ...] = ()
    folder = house.library.folder

    def units_of(name: str) -> Units:
        return load_units(folder, name)

    if facts.weighs:
        found += read_unit_weights(facts.weighs, facts.source, None, house.units, units_of)
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None:
        found += read_unit_weights(
            stuff.weighs, stuff.source, stuff.measures, house.units, units_of
        )
    return found


def salt_in(facts: Ingredient) -> Fraction:
    """Common salt in an ingredient, as a share of its weight: as stated, all of a `function: salt`,
    else 0."""
    if facts.salt is not None:
        return facts.salt
    return Fraction(1) if facts.function == "salt" else Fraction(0)


def water_in(library: Library, facts: Ingredient, salt: Fraction) -> Fraction | None:
    """Water in an ingredient, as a share of its weight: its own composition's, else its
    foodstuff's; None where neither is known. Salt itself has none."""
    if facts.composition is not None:
        return facts.composition.water
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    written = stuff.composition.get("water") if stuff is not None else None
    if written is not None:
        return Fraction(written.removesuffix("%").strip()) / 100
    return Fraction(0) if salt == 1 else None
