"""Tags: every word formulas are looked up by, and the formulas under each.

A page of our own, not the site builder's: the exported tree has it too, with any builder.
"""

from __future__ import annotations

from collections.abc import Sized
from dataclasses import dataclass

from generator.indexes.tagging import GROUPS, NOT_COMPUTED, Group, Tag, tagged, tags_of
from generator.measures.words import counted
from generator.pages.navigation import REFERENCE
from generator.pages.page import Heading, Page, make_page
from generator.records.fields import as_id
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.uris import TAGS, Link, formula_uri, link, process_uri

MOST_PROCESSES = 60
"""With more, a process's formulas are listed on its own page, not among the tags."""
_NAMES: dict[Group, str] = {
    "station": "Station",
    "process": "Process",
    "allergen": "Allergens",
    "method": "How it is made",
    "status": "Status",
}


@dataclass(frozen=True)
class TagView:
    """One tag with its formulas."""

    id: str
    word: str
    count: str
    formulas: tuple[Link, ...]


def tag_anchor(tag: Tag) -> str:
    """Where a tag is on the page of tags."""
    return f"{tag.group}-{as_id(tag.key) or 'none'}"


def many_processes(manual: Manual) -> bool:
    """Are there so many processes that each one's formulas are on its own page alone?"""
    return len(manual.standards.processes) > MOST_PROCESSES


def tag_links(start: str, manual: Manual, sheet: Sheet) -> tuple[Link, ...]:
    """A formula's tags, each leading to the others under it."""
    page, many = link(start, TAGS), many_processes(manual)
    return tuple(
        Link(
            tag.word,
            link(start, process_uri(tag.key))
            if many and tag.group == "process"
            else f"{page}#{tag_anchor(tag)}",
        )
        for tag in tags_of(sheet)
    )


def tag_pages(manual: Manual) -> list[Page]:
    """The index of tags, one page."""
    groups: list[tuple[str, str, list[TagView], list[Link]]] = []
    by_tag = tagged(manual)
    for group in GROUPS:
        if group == "process" and many_processes(manual):
            own = [
                _process(tag, formulas) for tag, formulas in by_tag.items() if tag.group == group
            ]
            groups.append((f"by-{group}-", _NAMES[group], [], own))
            continue
        views = [
            TagView(
                tag_anchor(tag),
                tag.word,
                counted(len(formulas), "formula"),
                tuple(_link(manual, tag, ident) for ident in formulas),
            )
            for tag, formulas in by_tag.items()
            if tag.group == group
        ]
        if views:
            groups.append((f"by-{group}-", _NAMES[group], views, []))
    return [
        make_page(
            TAGS,
            "Tags",
            REFERENCE,
            "tags.html",
            keeping=manual.keeping,
            groups=groups,
            headings=tuple(Heading(ident, name) for ident, name, _, _ in groups),
            counted=counted(sum(len(views) + len(own) for _, _, views, own in groups), "tag"),
        )
    ]


def _process(tag: Tag, formulas: Sized) -> Link:
    return Link(tag.word, link(TAGS, process_uri(tag.key)), counted(len(formulas), "formula"))


def _link(manual: Manual, tag: Tag, ident: str) -> Link:
    if tag == NOT_COMPUTED:
        stopped = manual.stopped[ident]
        return Link(stopped.name, link(TAGS, formula_uri(stopped.station, ident)))
    sheet = manual.sheets[ident]
    kinds = [a.kind for a in sheet.allergens if tag.group == "allergen" and a.word == tag.key]
    uri = formula_uri(sheet.formula.formula.home, ident)
    return Link(sheet.name, link(TAGS, uri), ", ".join(kind for kind in kinds if kind))
