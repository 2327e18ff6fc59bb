"""The pages of the manual, free of any site builder. PAGES lists the kinds; adding one is a
line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import assert_never

from generator.files.kept import hash_of
from generator.measures.marks import written_with
from generator.pages.allergens import allergen_pages
from generator.pages.cautions import caution_pages
from generator.pages.changed import changed_pages
from generator.pages.conversions import conversion_pages
from generator.pages.equipment import equipment_pages
from generator.pages.finding import finding_pages, stopped_pages
from generator.pages.formula import formula_pages
from generator.pages.glossary import glossary_pages
from generator.pages.ingredient import ingredient_pages
from generator.pages.limit_register import register_pages
from generator.pages.listing import home_pages, station_pages
from generator.pages.lists import list_pages
from generator.pages.pack import pack_pages
from generator.pages.page import Page, page_kept
from generator.pages.parting import FEWEST_FORMULAS, is_plain, parted
from generator.pages.plan import plan_pages
from generator.pages.process import process_pages
from generator.pages.routine import routine_pages
from generator.pages.sources import source_pages
from generator.pages.tags import tag_pages
from generator.sheet.manual import Broken, Manual

STATIC = Path(__file__).resolve().parent / "static"
ASSETS = ("manual.css", "manual.js", "bench.js", "paper.js")
"""The look and the scripts of every page, in STATIC."""
ON_DEMAND = (
    "batch.js",
    "size.js",
    "store.js",
    "strip.js",
    "hand.js",
    "reading.js",
    "handover.js",
    "qr.js",
    "next.js",
    "dough.js",
    "register.js",
    "stays.js",
    "changed.js",
)
"""Scripts that a page fetches when they are asked for: any size, a batch kept on the phone, its
readings, a hand-over, one thing a screen, the water of a dough; the register's; that figures stay;
what changed."""

PAGES: tuple[Callable[[Manual], list[Page]], ...] = (
    home_pages,
    station_pages,
    formula_pages,
    stopped_pages,
    register_pages,
    allergen_pages,
    caution_pages,
    changed_pages,
    finding_pages,
    process_pages,
    routine_pages,
    ingredient_pages,
    equipment_pages,
    plan_pages,
    conversion_pages,
    glossary_pages,
    pack_pages,
    source_pages,
    tag_pages,
    list_pages,
)

OF_A_BROKEN: tuple[Callable[[Broken], list[Page]], ...] = (stopped_pages, finding_pages)
"""What there is to show where nothing can be computed."""


def make_pages(found: Manual | Broken) -> list[Page]:
    """Every page of a manual, in the order of PAGES, in the kitchen's decimal mark; where it is
    broken, the pages of its findings."""
    with written_with(found.writing):
        match found:
            case Manual():
                made = (page for kind in PAGES for page in kind(found))
                return [page for one in made for page in _parted(found, one)]
            case Broken():
                return [page for kind in OF_A_BROKEN for page in kind(found)]
            case _:
                assert_never(found)


def _parted(manual: Manual, page: Page) -> list[Page]:
    """A page and the parts of its lists: of one that is long, parted once."""
    number = len(manual.sheets) + len(manual.stopped)
    keeping, body = manual.keeping, page.body
    if number <= FEWEST_FORMULAS:
        return list(parted(page, number))
    if keeping.remembered(("plain", body.digest), lambda: is_plain(body)):
        return [page]
    key = keeping.key_of_all("parts", str(number), hash_of(page.kept))
    return keeping.kept.of(key, lambda: list(parted(page, number)), _written, _read)


def _written(pages: list[Page]) -> bytes:
    return json.dumps([page.kept.decode() for page in pages]).encode()


def _read(data: bytes) -> list[Page]:
    return [page_kept(one.encode()) for one in json.loads(data)]
