"""The page of an ingredient: its facts, what a measure of it weighs, where it is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from generator.indexes.uses import Use, ingredient_uses, unread_formulas
from generator.measures.marks import as_written
from generator.measures.rounding import significant
from generator.measures.words import NARROW, counted, plain
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page, page_kept
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import WordsRow
from generator.resolve.joined import House, confirmed_facts
from generator.rules.cold.plants import plant_of
from generator.sheet.manual import Manual
from generator.views.composition_view import shares_rows
from generator.views.shelf_view import shelf_view
from generator.views.table_rows import about_words, household_weights, measure_words
from generator.views.tables import Measure, measures_of
from generator.views.uris import INGREDIENT_INDEX, Link, formula_uri, ingredient_uri, link
from generator.views.weigh_view import part_name
from generator.views.yield_view import tests_words

_STATE = {"raw": "raw", "pasteurised": "pasteurised", "ready-to-eat": "ready to eat"}
_FUNCTION = {
    "salt": "salt: weighed to 0.5 %",
    "cure": "cure: weighed in grams only, to 0.5 %, and never more than the law allows",
    "gelling-agent": "gelling agent: weighed in grams only, to 0.5 %",
}


@dataclass(frozen=True)
class MeasureView:
    """What one measure weighs: "1 cup packed", "about 220 g", and the source's own figure."""

    measure: str
    about: str
    published: str


@dataclass(frozen=True)
class UseView:
    """One formula with the ingredient in it: the part, the amount as written, the way it comes
    in."""

    name: str
    href: str
    words: str
    stopped: bool


def ingredient_pages(manual: Manual) -> list[Page]:
    """The index of ingredients and a page for each."""
    if not manual.standards.ingredients:
        return []
    uses = ingredient_uses(manual)
    pages = [_index(manual, manual.house, uses)]
    unread = unread_formulas(manual)
    for ident, facts in manual.standards.ingredients.items():
        used = [_use(manual, ingredient_uri(ident), use) for use in uses.get(ident, ())]
        file = facts.place().file  # its name, too: the page leads to it
        digest = manual.standards.digests.get(file, "")
        about = ("ingredient", ident, file, digest, repr(used), repr(unread))
        key = manual.keeping.key_of_all(*about) if digest else ""
        made = partial(_page, manual, manual.house, ident, facts, used, unread)
        pages.append(manual.keeping.kept.of(key, made, lambda page: page.kept, page_kept))
    return pages


def contains_words(house: House, facts: Ingredient) -> str:
    """An ingredient's allergens in words, or the list's own words for none."""
    return ", ".join(str(a) for a in facts.allergens) or house.allergens.none


def _index(manual: Manual, house: House, uses: dict[str, tuple[Use, ...]]) -> Page:
    shelves: dict[str, list[Link]] = {}
    for ident, facts in sorted(
        manual.standards.ingredients.items(), key=lambda item: item[1].name.lower()
    ):
        shelf = facts.place().file.rsplit("/", 1)[-1].removesuffix(".yaml")
        count = len(dict.fromkeys(use.formula for use in uses.get(ident, ())))
        also = f"also {', '.join(facts.other_names)} · " if facts.other_names else ""
        contains = ", ".join(str(a) for a in facts.allergens)
        words = (
            f"{also}{f'contains {contains} · ' if contains else ''}in {counted(count, 'formula')}"
        )
        shelves.setdefault(shelf, []).append(
            Link(facts.name, link(INGREDIENT_INDEX, ingredient_uri(ident)), words)
        )
    groups = [
        (f"on-{i}", part_name(shelf), items)
        for i, (shelf, items) in enumerate(sorted(shelves.items()))
    ]
    return make_page(
        INGREDIENT_INDEX,
        "Ingredients",
        KITCHEN,
        "ingredients.html",
        keeping=manual.keeping,
        groups=groups,
        headings=tuple(Heading(ident, name) for ident, name, _ in groups),
        counted=counted(len(manual.standards.ingredients), "ingredient"),
    )


def _page(
    manual: Manual,
    house: House,
    ident: str,
    facts: Ingredient,
    uses: list[UseView],
    unread: tuple[str, ...],
) -> Page:
    uri = ingredient_uri(ident)
    weights = household_weights(house, facts)
    composition, source = _composition(house, facts)
    shelf = shelf_view(house, manual.shelves[ident])
    headings = [Heading(ident, name) for ident, name in shelf.headings]
    headings.append(Heading("used-in", "Used in"))
    if weights:
        headings.append(Heading("measures", "Measures"))
    if composition:
        headings.append(Heading("made-of", "Composition"))
    return make_page(
        uri,
        facts.name,
        KITCHEN,
        "ingredient.html",
        edit=facts.place().file,
        headings=tuple(headings),
        listed=False,
        ident=ident,
        also=", ".join(facts.other_names),
        contains=contains_words(house, facts),
        confirmed=[one.sentence for one in confirmed_facts(ident, facts)],
        facts=_facts(house, ident, facts),
        note=facts.note,
        shelf=shelf,
        uses=uses,
        unread=unread,
        measures=[_measure(m) for m in measures_of(house.units, weights)],
        measures_source="; ".join(dict.fromkeys(_title(house, w.source) for w in weights)),
        composition=composition,
        composition_source=source,
        index_href=link(uri, INGREDIENT_INDEX),
    )


_TCS = "needs time and temperature control for safety (TCS)"


def _facts(house: House, item: str, facts: Ingredient) -> list[tuple[str, str]]:
    """What is known of it, in words; what isn't stated is said to count as the strictest."""
    return [
        ("Species", _species(facts)),
        ("State", _state(facts)),
        *_form(facts),
        ("Storage", _storage(facts)),
        *_plant(house, item, facts),
        *_packed(facts),
        *_figures(facts),
    ]


def _species(facts: Ingredient) -> str:
    if not facts.species:
        return "not stated: counted as the strictest"
    by = "" if facts.states("species") else ", by its foodstuff"
    none = facts.species == "none"
    return ("none: no meat, poultry, fish or egg" if none else facts.species) + by


def _state(facts: Ingredient) -> str:
    if not facts.state:
        return "not stated: counted as raw"
    return _STATE[facts.state] + ("" if facts.states("state") else ", by its foodstuff")


def _form(facts: Ingredient) -> Iterator[tuple[str, str]]:
    """Whole or cut, and which organ; asked of what is of an animal."""
    if facts.form:
        yield "Form", facts.form
    elif facts.species != "none":
        yield "Form", "not stated"
    if facts.organ:
        yield "Organ", facts.organ


def _storage(facts: Ingredient) -> str:
    if facts.sealed:
        return f"sealed, needs no cold until it is opened; from then on it {_TCS}"
    if facts.tcs:
        return _TCS
    by = "" if facts.states("tcs") else ", by its foodstuff"
    return f"needs no time and temperature control as it arrives{by}"


def _plant(house: House, item: str, facts: Ingredient) -> Iterator[tuple[str, str]]:
    """The kind of plant food the pack in force counts it as."""
    plant = plant_of(item, facts, house.library.plants)
    if plant and house.pack.rows_of(WordsRow, "tcs"):
        by = "" if facts.states("plant") else ", by its name or foodstuff"
        yield "Counts as", f"{house.library.plants[plant].name}{by}"


def _packed(facts: Ingredient) -> Iterator[tuple[str, str]]:
    """Who made and packed it, where that lets a laxer row in; which law it has of its own."""
    if facts.tcs and facts.state in ("ready-to-eat", "pasteurised"):
        plant = facts.commercially_packed
        yield (
            "Made and packed",
            "by a food processing plant under inspection"
            if plant
            else "not stated: counted as by no plant",
        )
    if facts.own_law:
        yield "Its own law", facts.own_law
    if facts.approved_source:
        yield "Approved source", facts.approved_source


def _figures(facts: Ingredient) -> Iterator[tuple[str, str]]:
    """What it is in the food for, and its figures."""
    if facts.function:
        yield "Function", as_written(_FUNCTION[facts.function])
    if facts.nitrite is not None:
        yield "Cure strength", f"{plain(facts.nitrite * 100)}{NARROW}% sodium nitrite"
    if facts.trim_share:
        yield "Trim loss", f"{plain(facts.trim_share * 100, 2)}{NARROW}% of what is purchased"
    if facts.trimming is not None and facts.trimming.tests:
        yield "Trim tests", tests_words(facts.trimming)


def _title(house: House, source: str) -> str:
    return house.library.source_title(source) if source else "source not given"


def _measure(measure: Measure) -> MeasureView:
    published = f"{plain(measure.weight.grams)}{NARROW}g in the source"
    if measure.other_size and measure.weight.ml is not None:
        size = plain(significant(measure.weight.ml, 3))
        published += f", whose {measure.weight.word} holds about {size}{NARROW}ml"
    return MeasureView(measure_words(measure), about_words(measure), published)


def _composition(house: House, facts: Ingredient) -> tuple[list[tuple[str, str]], str]:
    """Its composition and where that comes from: the kitchen's own figures before a table's."""
    own = facts.composition
    if own is not None:
        return shares_rows(own), _title(house, own.source)
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    if stuff is None or not stuff.composition.any_stated:
        return [], ""
    number = f", food {stuff.usda}" if stuff.usda else ""
    return shares_rows(stuff.composition), f"{_title(house, stuff.source)}{number} ({stuff.name})"


def _use(manual: Manual, uri: str, use: Use) -> UseView:
    stopped = manual.stopped.get(use.formula)
    if stopped is not None:
        href = link(uri, formula_uri(stopped.station, stopped.id))
        return UseView(stopped.name, href, part_name(use.part), True)
    sheet = manual.sheets[use.formula]
    href = link(uri, formula_uri(sheet.formula.formula.home, sheet.id))
    if use.through:
        way = " in ".join(manual.walks[i].formula.formula.name for i in reversed(use.through))
        words = f"inside {way}, {use.amount} of it · {part_name(use.part)}"
    else:
        words = f"{use.amount}{f', {use.prepare}' if use.prepare else ''} · {part_name(use.part)}"
    return UseView(sheet.name, href, words, False)
