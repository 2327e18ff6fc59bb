"""Every list of the manual on one page: the way to a page where nothing can be searched by
typing."""

from __future__ import annotations

from generator.pages.navigation import REFERENCE
from generator.pages.page import Page, make_page
from generator.sheet.manual import Manual
from generator.views.uris import (
    ALLERGENS,
    CAUTIONS,
    CHANGED,
    CONVERSIONS,
    EQUIPMENT_INDEX,
    FIND,
    GLOSSARY,
    INGREDIENT_INDEX,
    PLAN_INDEX,
    PROCESS_INDEX,
    REGISTER,
    SOURCES,
    TAGS,
    Link,
    link,
    station_uri,
)

_LISTS = (
    (REGISTER, "Limits"),
    (ALLERGENS, "Allergens"),
    (CAUTIONS, "Cautions"),
    (CHANGED, "What changed"),
    (PROCESS_INDEX, "Processes"),
    (INGREDIENT_INDEX, "Ingredients"),
    (EQUIPMENT_INDEX, "Equipment"),
    (PLAN_INDEX, "Plans"),
    (CONVERSIONS, "Conversions"),
    (GLOSSARY, "Glossary"),
    (TAGS, "Tags"),
    (SOURCES, "Sources"),
)


def list_pages(manual: Manual) -> list[Page]:
    """The page of lists, which the search leads to without JavaScript."""
    there = {
        PROCESS_INDEX: {**manual.standards.processes, **manual.standards.routines},
        INGREDIENT_INDEX: manual.standards.ingredients,
        EQUIPMENT_INDEX: manual.standards.equipment,
        PLAN_INDEX: manual.plans,
        GLOSSARY: manual.library.glossary.terms,
    }
    items = [
        Link(station.name, link(FIND, station_uri(ident)))
        for ident, station in manual.house.stations.items()
    ]
    items += [Link(name, link(FIND, uri)) for uri, name in _LISTS if there.get(uri, True)]
    return [
        make_page(
            FIND,
            "Find",
            REFERENCE,
            "index.html",
            listed=False,
            items=items,
            about="Searching by typing needs JavaScript. Without it, look in one of these lists.",
        )
    ]
