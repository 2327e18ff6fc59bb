"""The house: kitchen, law, probe, scales, stations; and facts checked against the reference
data."""

from __future__ import annotations

import datetime
from fractions import Fraction

from generator.files.finding import Finding
from generator.intake.reading import EVERYTHING
from generator.measures.between import Between
from generator.measures.words import date, listed, plain, verb_for, with_verb
from generator.records.equipment import Scale, Thermometer
from generator.records.ingredient import Ingredient, UnitMass
from generator.records.kitchen import Kitchen
from generator.records.station import Station
from generator.reference.known_names import ANIMALS
from generator.reference.packs import Pack
from generator.reference.rows import AllergenList
from generator.resolve.allergens import check_allergens, list_of
from generator.resolve.contradictions import facts_of_names, known_species
from generator.resolve.facts import check_statements
from generator.resolve.house_limits import ends_soon
from generator.resolve.joined import House
from generator.resolve.law import check_probe, check_thermometers, pack_in_force
from generator.resolve.names import Names
from generator.resolve.scales import doubted_scales


def join_house(names: Names, as_of: datetime.date) -> House | None:
    """The kitchen joined with its law, probe, scales and stations; None where one of them can't be
    known."""
    kitchen = names.standards.kitchen
    if kitchen is None:
        return None
    pack = pack_in_force(names, as_of)
    probe = _probe(names, kitchen)
    if probe is None:
        return None
    _check_stations(names, kitchen)
    _authorisations(names, as_of)
    _check_labels(names, kitchen)
    _check_scale(names, kitchen, probe)
    declared = _declared_by(names, kitchen)
    if pack is None or declared is None:
        return None
    check_probe(names, pack, probe)
    check_thermometers(names, pack, probe)
    scales = tuple((i, e) for i, e in names.standards.equipment.items() if isinstance(e, Scale))
    return House(
        kitchen,
        names.standards.units,
        names.library,
        pack,
        probe,
        scales,
        doubted_scales(names),
        _stations(names, kitchen),
        as_of,
        declared,
        names.library.packs.get(pack.facts.additives or ""),
    )


def _stations(names: Names, kitchen: Kitchen) -> dict[str, Station]:
    """The stations in the kitchen's own order, then those it leaves out."""
    held = names.standards.stations
    ordered = [s for s in kitchen.stations if s in held]
    ordered += [s for s in held if s not in ordered]
    return {s: held[s] for s in ordered}


def _probe(names: Names, kitchen: Kitchen) -> Thermometer | None:
    """The kitchen's probe; None, with the finding, if it is no thermometer."""
    probe = names.standards.equipment.get(kitchen.probe)
    if isinstance(probe, Thermometer):
        return probe
    known = [i for i, e in names.standards.equipment.items() if isinstance(e, Thermometer)]
    place = kitchen.place("probe")
    names.unknown("probe-unknown", "thermometer", kitchen.probe, place, known, EVERYTHING)
    return None


def _check_stations(names: Names, kitchen: Kitchen) -> None:
    held = names.standards.stations
    for station in kitchen.stations:
        if station not in held:
            place = kitchen.place("stations")
            names.unknown("station-unknown", "station", station, place, held, EVERYTHING)


def _check_labels(names: Names, kitchen: Kitchen) -> None:
    """The labels stated lie on their sheet of paper."""
    for key, words in kitchen.labels.faults() if kitchen.labels is not None else ():
        names.error(
            "labels-off-paper",
            kitchen.place("labels", key),
            words,
            "Measure a sheet: labels, margins, gaps, all in mm.",
            "print-labels",
        )


def _check_scale(names: Names, kitchen: Kitchen, probe: Thermometer) -> None:
    """The probe reads the scale the kitchen works in."""
    if kitchen.temperature not in probe.reads:
        names.error(
            "probe-scale",
            kitchen.place("temperature"),
            f"{probe.name} doesn't read {kitchen.temperature}.",
            "Choose a scale the probe reads.",
            EVERYTHING,
        )


def _declared_by(names: Names, kitchen: Kitchen) -> AllergenList | None:
    """The list of allergens in force; a finding where the kitchen names one that isn't known."""
    declared = list_of(names)
    if kitchen.allergens is not None and declared is None:
        names.unknown(
            "allergen-list-unknown",
            "list of allergens",
            kitchen.allergens,
            kitchen.place("allergens"),
            names.library.allergens,
            EVERYTHING,
        )
    return declared


def _authorisations(names: Names, as_of: datetime.date) -> None:
    """What is on file must have a beginning before its end, and say when it has run out."""
    kitchen = names.standards.kitchen
    assert kitchen is not None
    for held in kitchen.authorisations:
        if held.from_ > held.until:
            names.error(
                "authorisation-dates",
                held.place("until"),
                f"{held.document} ends on {date(held.until)}, before it begins on "
                f"{date(held.from_)}.",
                "Check `from` and `until`.",
                EVERYTHING,
            )
        elif held.until < as_of:
            names.findings.append(
                Finding(
                    "authorisation-expired",
                    "warning",
                    f"{held.document} (`for: {held.for_}`) ended on {date(held.until)}.",
                    held.place("until"),
                    "Renew it with the authority. Enter the new dates.",
                )
            )
        else:
            soon = ends_soon(held.document, held.for_, held.until, as_of, held.place("until"))
            names.findings.extend([soon] if soon is not None else [])


def check_facts(names: Names, pack: Pack | None) -> None:
    """Facts that only make sense against the reference data. ``pack`` is the law in force, if it is
    known."""
    declared = list_of(names)
    for ident, ingredient in names.standards.ingredients.items():
        _check_species(names, ident, ingredient)
        _check_foodstuff(names, ident, ingredient)
        if ingredient.weighs and not ingredient.source:
            names.findings.append(
                Finding(
                    "source-missing",
                    "warning",
                    f"{ingredient.name}: where do its unit weights come from?",
                    ingredient.place("weighs"),
                    "Add `source`: a table, a label, or weighed here on a date.",
                    about=frozenset({ident}),
                )
            )
        if ingredient.nitrite is not None and ingredient.function != "cure":
            names.error(
                "cure-not-declared",
                ingredient.place("nitrite"),
                f"{with_verb(ingredient.name, 'has')} nitrite in it, but "
                f"{verb_for(ingredient.name, 'is not')} declared a cure.",
                "Add `function: cure`. Then its dose is counted and checked by the law.",
                ident,
                [ingredient.place("nitrite").fixed("function: cure")],
            )
        _composition(names, ident, ingredient)
        _arrival(names, ident, ingredient)
        _measures(names, ident, ingredient)
        check_allergens(names, ident, declared)
        check_statements(names, ident, declared, pack)


_COMPOSED = {"over": "composition-over-whole", "part": "composition-part-over"}


def _composition(names: Names, ident: str, ingredient: Ingredient) -> None:
    """What is stated of its composition can be so, agrees with its salt, and says something."""
    stated = ingredient.composition
    if stated is None:
        return
    if not stated.any_stated:
        names.error(
            "composition-empty",
            ingredient.key_place("composition"),
            f"{ingredient.name}: its composition states nothing.",
            "Write what you know of it, as in water: 62 %, or delete it. What you leave out counts "
            "as unknown.",
            ident,
        )
    for kind, key, words in stated.problems():
        names.error(
            _COMPOSED[kind],
            stated.place(key),
            f"{ingredient.name}: {words}.",
            "Check the figures and what each is a part of.",
            ident,
        )
    _two_salts(names, ident, ingredient, stated.salt)


def _two_salts(names: Names, ident: str, ingredient: Ingredient, stated: Between | None) -> None:
    """The salt of an ingredient, stated beside its composition and in it, is the same."""
    salt = ingredient.salt
    if salt is None or stated is None or stated.low <= salt <= stated.high:
        return
    assert ingredient.composition is not None
    names.error(
        "composition-part-over",
        ingredient.composition.place("salt"),
        f"{ingredient.name}: `salt` beside the composition says {plain(salt * 100)} %.",
        "Write its salt once.",
        ident,
    )


def _check_species(names: Names, ident: str, ingredient: Ingredient) -> None:
    """The species is stated, and one that is known."""
    species, known = ingredient.species, known_species(names.library)
    if species is None:
        names.findings.append(
            Finding(
                "fact-not-stated",
                "warning",
                f"{ingredient.name}: no species is stated. It counts as the strictest: poultry.",
                ingredient.place(),
                _which_species(names, ingredient),
                about=frozenset({ident}),
            )
        )
    elif species not in known:
        an_animals = any(t.facts.species for t in facts_of_names(names.library, ingredient))
        names.unknown(
            "species-unknown",
            "species",
            species,
            ingredient.place("species"),
            known - {"none"} if an_animals else known,
            ident,
        )


def _check_foodstuff(names: Names, ident: str, ingredient: Ingredient) -> None:
    known = names.library.foodstuffs
    if ingredient.foodstuff and ingredient.foodstuff not in known:
        place = ingredient.place("foodstuff")
        names.unknown(
            "foodstuff-unknown",
            "foodstuff",
            ingredient.foodstuff,
            place,
            known,
            ident,
            cutoff=0.75,
        )


def _which_species(names: Names, ingredient: Ingredient) -> str:
    """How to state the species: the one its name says first; none never for what is known as an
    animal's."""
    reported = [
        t.facts.species for t in facts_of_names(names.library, ingredient) if t.facts.species
    ]
    if not reported:
        return "Write `species: none`, or the animal it comes from."
    if reported[0] in ("game", "other"):
        return "Write the animal it comes from, or `species: wild-game`."
    if reported[0] in ANIMALS:
        return "Write the animal it comes from."
    return f"Write `species: {reported[0]}`."


def _arrival(names: Names, ident: str, ingredient: Ingredient) -> None:
    """Food that needs temperature control comes in under it, and only cooked food comes in hot."""
    if ingredient.sealed:
        _sealed(names, ident, ingredient)
        return
    if ingredient.tcs and ingredient.arrives == "ambient":
        place = ingredient.place("arrives")
        names.error(
            "arrives-warm",
            place,
            f"{with_verb(ingredient.name, 'needs')} temperature control, but "
            f"{verb_for(ingredient.name, 'comes')} in without it.",
            f"Write how it comes in. Or `sealed: yes` for a can or jar that needs the cold only "
            f"once it is opened. {_without_cold(ingredient)}",
            ident,
            [place.fixed(word) for word in ("cold", "frozen")],
        )
    raw_animal = ingredient.species != "none" and ingredient.state in (None, "raw")
    if ingredient.arrives == "hot" and raw_animal:
        names.error(
            "arrives-warm",
            ingredient.place("arrives"),
            f"{with_verb(ingredient.name, 'is')} raw, but {verb_for(ingredient.name, 'comes')} "
            "in hot.",
            "Only cooked food may come in hot. Check `state` and `arrives`.",
            ident,
        )


def _without_cold(ingredient: Ingredient) -> str:
    """How to say that food needs no cold; of an animal's food nobody believes it without a
    paper."""
    if ingredient.species in (None, "none") or ingredient.form == "dry":
        return "Or `tcs: no` if it needs none."
    return (
        "Or, if it needs none, `tcs: no` with the paper that shows it: `confirmed: {tcs: {reason: "
        "…, document: …}}`."
    )


def _sealed(names: Names, ident: str, ingredient: Ingredient) -> None:
    """A sealed can or jar needs no cold as it comes, is ready to eat, and needs the cold once
    opened."""
    wrong: list[tuple[str, str]] = []
    if ingredient.arrives != "ambient":
        how = ingredient.arrives or "chilled, since nothing else is stated"
        wrong.append(
            (f"it comes in {how}", "write `arrives: ambient` if it needs no cold as it comes")
        )
    if ingredient.state != "ready-to-eat":
        wrong.append(("it isn't stated to be ready to eat", "write `state: ready-to-eat` if it is"))
    if not ingredient.tcs:
        wrong.append(("`tcs: no` says that it never needs the cold", "delete `tcs: no`"))
    if wrong:
        fix = "; ".join(m for _, m in wrong)
        names.error(
            "sealed-misfit",
            ingredient.place("sealed"),
            f"{with_verb(ingredient.name, 'says')} `sealed: yes` (no cold until it is opened), but "
            f"{listed([w for w, _ in wrong])}.",
            f"{fix[0].upper()}{fix[1:]}. If not, delete `sealed`.",
            ident,
        )


HEAVIEST = Fraction(2)
LIGHTEST = Fraction(1, 100)
"""Grams a millilitre of food weighs at most and at least: salt is 1.2, puffed grain and dried herbs
0.03."""


def _measures(names: Names, ident: str, ingredient: Ingredient) -> None:
    """A spoon or a cup that weighs what no food weighs, and what is said of how pieces differ."""
    for word, weighed in (ingredient.weighs or {}).items():
        amount = weighed.mean
        _scatter(names, ident, ingredient, word, weighed)
        unit = names.standards.units.find(word.strip().lower())[0]
        if unit is None or unit.kind != "volume" or unit.missing or not unit.factor:
            continue
        density = amount.value / unit.factor
        if LIGHTEST <= density <= HEAVIEST:
            continue
        side = "heavier" if density > HEAVIEST else "lighter"
        names.findings.append(
            Finding(
                "weight-implausible",
                "warning",
                f"{ingredient.name}: {amount.text} to a {word} is {plain(density, 2)} g/ml, "
                f"{side} than any food.",
                ingredient.place("weighs", word),
                "Check the figure and its unit.",
                about=frozenset({ident}),
            )
        )


def _scatter(
    names: Names, ident: str, ingredient: Ingredient, word: str, weighed: UnitMass
) -> None:
    """The lightest and the heaviest piece lie on either side of the mean; a measure has none."""
    low, high = weighed.from_, weighed.to
    if low is None and high is None:
        return
    place = ingredient.place("weighs", word)
    unit = names.standards.units.find(word.strip().lower())[0]
    if unit is not None and unit.kind == "volume":
        names.error(
            "scatter-of-a-measure",
            place,
            f"{ingredient.name}: a {word} is a measure. Only pieces differ `from` and `to`.",
            "Write what the measure weighs, and nothing else.",
            ident,
        )
    elif low is None or high is None or not low.value <= weighed.value <= high.value:
        names.error(
            "scatter-order",
            place,
            f"{ingredient.name}: the lightest, the mean and the heaviest piece are not in order.",
            "Write all three, as in {mean: 280 g, from: 250 g, to: 320 g}.",
            ident,
        )
