"""Which formula contains which allergen, in words: by formula and by allergen.

The list is the one the kitchen declares by. An allergen on it that no ingredient of a computed
formula declares is not in it, since every ingredient must declare. A word of another list is
reported where it is declared, and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.words import counted
from generator.pages.navigation import CONTROL
from generator.pages.page import Heading, Page, make_page
from generator.sheet.cautioning import Notice
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.status_view import status_of
from generator.views.uris import ALLERGENS, HOME, Link, formula_uri, link


@dataclass(frozen=True)
class FormulaRow:
    """One formula with its allergens in words; ``status`` is empty for a current one. ``grid`` has
    a word for each allergen of the page: which kind it contains, ``yes``, nothing if it is without
    it, ``ask`` where nobody need have declared it."""

    name: str
    href: str
    station: str
    contains: str
    status: str
    grid: tuple[str, ...]


@dataclass(frozen=True)
class AllergenRow:
    """One allergen: the formulas with it (and of which kind), those without it, those unknown.

    ``listed`` is false for a word that is not on the kitchen's list: ``without`` is then empty,
    because who keeps to that list need not have declared it.
    """

    id: str
    name: str
    listed: bool
    containing: tuple[Link, ...]
    without: tuple[Link, ...]


def allergen_pages(manual: Manual) -> list[Page]:
    """The allergen page, one for the house."""
    house = manual.house
    sheets = sorted(manual.sheets.values(), key=lambda s: s.name.lower())
    stopped = [
        Link(s.name, link(ALLERGENS, formula_uri(s.station, s.id)), "ask")
        for s in sorted(manual.stopped.values(), key=lambda s: s.name.lower())
    ]
    none = house.allergens.none
    rows = allergen_rows(manual, sheets)
    return [
        make_page(
            ALLERGENS,
            "Allergens",
            CONTROL,
            "allergens.html",
            keeping=manual.keeping,
            headings=(
                Heading("by-formula", "By formula"),
                *(Heading(r.id, r.name[0].upper() + r.name[1:]) for r in rows),
            ),
            formulas=[_formula(s, none, rows) for s in sheets],
            stopped=stopped,
            rows=rows,
            list_name=house.allergens.name,
            notices=_notices(sheets),
            counted=counted(len(sheets) + len(stopped), "formula"),
            source=house.library.source_title(house.allergens.source),
            document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
            home_href=link(ALLERGENS, HOME),
        )
    ]


def _href(sheet: Sheet) -> str:
    return link(ALLERGENS, formula_uri(sheet.formula.formula.home, sheet.id))


def _in_words(sheet: Sheet, row: AllergenRow) -> str:
    """How the grid says whether a formula contains an allergen."""
    found = [a for a in sheet.allergens if a.word == row.name]
    if not found:
        return "" if row.listed else "ask"
    return ", ".join(a.kind for a in found if a.kind) or "yes"


def _formula(sheet: Sheet, none: str, rows: list[AllergenRow]) -> FormulaRow:
    status = status_of(sheet)
    return FormulaRow(
        sheet.name,
        _href(sheet),
        sheet.stations,
        ", ".join(str(a) for a in sheet.allergens) or none,
        status.word if status.reversed else "",
        tuple(_in_words(sheet, row) for row in rows),
    )


def allergen_rows(manual: Manual, sheets: list[Sheet]) -> list[AllergenRow]:
    """The allergens of the kitchen's list in its order, then any other that is declared."""
    listed = list(manual.house.allergens.named())
    declared = dict.fromkeys(a.word for sheet in sheets for a in sheet.allergens)
    words = dict.fromkeys((*listed, *declared))
    return [
        _allergen_row(f"allergen-{number}", word, word in listed, sheets)
        for number, word in enumerate(words)
    ]


def _allergen_row(ident: str, word: str, is_listed: bool, sheets: list[Sheet]) -> AllergenRow:
    """Which formulas contain an allergen; which are without it, where it ``is_listed`` and so is
    declared of every ingredient."""
    containing, without = [], []
    for sheet in sheets:
        kinds = [a.kind for a in sheet.allergens if a.word == word]
        if kinds:
            words = ", ".join(kind for kind in kinds if kind)
            containing.append(Link(sheet.name, _href(sheet), words))
        elif is_listed:
            without.append(Link(sheet.name, _href(sheet)))
    return AllergenRow(ident, word, is_listed, tuple(containing), tuple(without))


def _notices(sheets: list[Sheet]) -> tuple[Notice, ...]:
    """The cautions that allergens raise on these formulas, once each."""
    found: dict[str, Notice] = {}
    for sheet in sheets:
        for notice in sheet.notices.page:
            caution = sheet.house.library.cautions[notice.id]
            if caution.when.allergens:
                found[notice.id] = notice
    return tuple(found.values())
