"""Conversions of this kitchen: its units, its spoons and cups, temperatures, what measures
weigh."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.measures.marks import as_written
from generator.measures.words import NARROW, listed, plain
from generator.pages.navigation import REFERENCE
from generator.pages.page import Heading, Page, make_page
from generator.resolve.joined import House
from generator.sheet.manual import Manual
from generator.views.limit_view import other_scale
from generator.views.table_rows import (
    RowView,
    about_words,
    equal_row,
    household_weights,
    measure_words,
    oven_row,
)
from generator.views.tables import (
    LimitDegrees,
    length_table,
    limit_table,
    mass_table,
    measures_of,
    oven_table,
    spoon_table,
)
from generator.views.uris import CONVERSIONS, ingredient_uri, link

_SETS = {
    "us": "US customary",
    "metric": "metric",
    "imperial": "British imperial",
    "australian": "Australian",
}


@dataclass(frozen=True)
class TableView:
    """One table with its heading, a sentence before it and its sources."""

    id: str
    name: str
    about: str
    rows: tuple[RowView, ...]
    source: str = ""


@dataclass(frozen=True)
class WeightView:
    """What the measures of one ingredient weigh."""

    name: str
    href: str
    rows: tuple[RowView, ...]
    source: str


def conversion_pages(manual: Manual) -> list[Page]:
    """The conversions, one page for the house."""
    house = manual.house
    tables = [table for table in _tables(manual, house) if table.rows]
    weights = _weights(manual, house)
    headings = [Heading(table.id, table.name) for table in tables]
    if weights:
        headings.append(Heading("of-ingredients", "Measures in grams"))
    return [
        make_page(
            CONVERSIONS,
            "Conversions",
            REFERENCE,
            "conversions.html",
            headings=tuple(headings),
            tables=tables,
            weights=weights,
            measures=_SETS.get(house.kitchen.cup, house.kitchen.cup),
        )
    ]


def _tables(manual: Manual, house: House) -> Iterable[TableView]:
    units = house.units
    for ident, name, about, rows in (
        (
            "spoons",
            "Spoons and cups",
            "This kitchen's own. A cup of another country holds more or less.",
            spoon_table(units),
        ),
        ("mass", "Weight", "", mass_table(units)),
        ("length", "Length", "", length_table(units)),
    ):
        titles = [
            house.library.source_title(key) for key in dict.fromkeys(r.source for r in rows) if key
        ]
        yield TableView(ident, name, about, tuple(equal_row(r) for r in rows), listed(titles))
    yield TableView(
        "limit-degrees",
        "Temperatures of limits",
        "The code's own figure first. In the other scale it is rounded to the strict side, "
        "never to the "
        "nearest. What the probe must read is stricter still: see the register of limits.",
        tuple(_limit(r) for r in limit_table(manual)),
        as_written("NIST SP 811, B.8: °C = (°F − 32) / 1.8"),
    )
    own = house.kitchen.temperature
    for unit in (other_scale(own), own):
        yield TableView(
            f"oven-{unit.lower()}",
            f"Oven and water in {unit}",
            "For setting a dial, rounded to the nearest degree. Never for a critical limit.",
            tuple(oven_row(r) for r in oven_table(manual, unit)),
            as_written("NIST SP 811, B.8: °F = 1.8 × °C + 32"),
        )


def _limit(row: LimitDegrees) -> RowView:
    side = "least" if row.bound == "min" else "most"
    rounded = "up" if row.bound == "min" else "down"
    sign = row.other
    shown = f"{plain(row.shown)}{NARROW}{sign}"
    if row.shown == row.exact:
        return RowView(f"at {side} {row.value}", shown, "exact")
    return RowView(
        f"at {side} {row.value}",
        shown,
        f"rounded {rounded} from {plain(row.exact, 2)}{NARROW}{sign}",
    )


def _weights(manual: Manual, house: House) -> list[WeightView]:
    found: list[WeightView] = []
    ingredients = manual.standards.ingredients.items()
    for ident, facts in sorted(ingredients, key=lambda item: item[1].name.lower()):
        weights = household_weights(house, facts)
        if weights:
            rows = tuple(
                RowView(measure_words(w), about_words(w), "")
                for w in measures_of(house.units, weights)
            )
            sources = dict.fromkeys(
                house.library.source_title(w.source) for w in weights if w.source
            )
            href = link(CONVERSIONS, ingredient_uri(ident))
            found.append(
                WeightView(facts.name, href, rows, listed(list(sources)) or "source not given")
            )
    return found
