"""The sources: every document the numbers rest on, when it was read, and which pages rest on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from generator.indexes.sourcing import Rest, SourceUse, sources_used
from generator.measures.words import counted
from generator.pages.navigation import REFERENCE
from generator.pages.pack import day, packs_in_force
from generator.pages.page import Heading, Page, make_page
from generator.sheet.manual import Manual
from generator.views.uris import (
    ALLERGENS,
    CAUTIONS,
    CONVERSIONS,
    EQUIPMENT_INDEX,
    GLOSSARY,
    SOURCES,
    Link,
    formula_uri,
    ingredient_uri,
    link,
    pack_uri,
)

_KINDS = (
    ("law", "Law"),
    ("model-code", "Model codes"),
    ("standard", "Standards"),
    ("guidance", "Guidance"),
    ("data", "Data"),
    ("paper", "Papers"),
    ("", "Other"),
)
_PAGES = {
    "cautions": ("Cautions", CAUTIONS),
    "allergens": ("Allergens", ALLERGENS),
    "conversions": ("Conversions", CONVERSIONS),
    "glossary": ("Glossary", GLOSSARY),
    "equipment": ("Equipment", EQUIPMENT_INDEX),
}
_MOST_WORDS = 12
_COPIES = {
    "code": "The enacting body's own text.",
    "agency": "An authority's own publication.",
    "adopting-state": "The text of a state that adopts the model code.",
    "secondary": "A secondary copy: neither the code's own text nor an authority's. Check it "
    "against them.",
    "none": "No copy of its own was read.",
}


@dataclass(frozen=True)
class SourceView:
    """One source: ``reported`` are publisher, edition and day read, ``rows`` address and note,
    ``rests`` the pages that rest on it."""

    id: str
    title: str
    reported: str
    rows: tuple[tuple[str, str], ...]
    rests: tuple[Link, ...]
    counted: str


@dataclass(frozen=True)
class KindView:
    """The sources of one kind."""

    id: str
    name: str
    sources: tuple[SourceView, ...]


def source_pages(manual: Manual) -> list[Page]:
    """The sources, one page."""
    house = manual.house
    uses = sources_used(manual)
    groups = list(_groups(manual, uses))
    return [
        make_page(
            SOURCES,
            "Sources",
            REFERENCE,
            "sources.html",
            keeping=manual.keeping,
            groups=groups,
            headings=tuple(Heading(g.id, g.name) for g in groups),
            counted=counted(len(uses), "source"),
            packs=[
                Link(
                    p.facts.name,
                    link(SOURCES, pack_uri(p.id)),
                    _pack_words(p.facts.edition, p.facts.checked_on),
                )
                for p in packs_in_force(house)
            ],
            document=house.pack.facts.document,
            adopted=house.kitchen.code.adopted_by,
        )
    ]


def _groups(manual: Manual, uses: Sequence[SourceUse]) -> Iterator[KindView]:
    """The sources kind by kind, what no kind is known of under the last; then the kitchen's own."""
    known = {kind for kind, _ in _KINDS}
    by_kind: dict[str, list[SourceView]] = {}
    own: list[SourceView] = []
    for number, use in enumerate(uses):
        if use.record is None:
            own.append(_view(manual, use, f"own-{number}-"))
        else:
            kind = use.record.kind if use.record.kind in known else ""
            by_kind.setdefault(kind, []).append(_view(manual, use))
    for kind, name in _KINDS:
        if kind in by_kind:
            yield KindView(f"kind-{kind or 'other'}-", name, tuple(by_kind[kind]))
    if own:
        yield KindView("kind-own-", "The kitchen's own", tuple(own))


def _pack_words(edition: str, checked_on: str) -> str:
    return f"edition {edition}, checked on {day(checked_on)}"


def _view(manual: Manual, use: SourceUse, ident: str = "") -> SourceView:
    rows: list[tuple[str, str]] = []
    reported: list[str] = []
    if use.record is not None:
        record = use.record
        rows = [("Address", record.url), ("Copy", _COPIES[record.read_as]), ("Note", record.note)]
        edition = f"edition {record.year}" if record.year else ""
        read = f"read on {day(record.read_on)}" if record.read_on else "not read at first hand"
        reported = [words for words in (record.publisher, edition, read) if words]
    rests = _rests(manual, use)
    return SourceView(
        ident or use.key,
        use.record.named if use.record else use.text,
        " · ".join(reported),
        tuple((n, words) for n, words in rows if words),
        rests,
        counted(len(rests), "page"),
    )


def _rests(manual: Manual, use: SourceUse) -> tuple[Link, ...]:
    """The pages that rest on a source, each with what it takes from it."""
    by_page: dict[tuple[str, str], list[str]] = {}
    for rest in use.rests:
        by_page.setdefault((rest.kind, rest.id), []).append(rest.what)
    links: list[Link] = []
    for (kind, ident), words in by_page.items():
        name, uri = _page(manual, Rest(kind, ident, ""))  # type: ignore[arg-type]
        more = f" and {len(words) - _MOST_WORDS} more" if len(words) > _MOST_WORDS else ""
        links.append(Link(name, link(SOURCES, uri), ", ".join(words[:_MOST_WORDS]) + more))
    return tuple(links)


def _page(manual: Manual, rest: Rest) -> tuple[str, str]:
    if rest.kind == "formula":
        sheet = manual.sheets[rest.id]
        return sheet.name, formula_uri(sheet.formula.formula.home, rest.id)
    if rest.kind == "ingredient":
        return manual.standards.ingredients[rest.id].name, ingredient_uri(rest.id)
    if rest.kind == "pack":
        return manual.library.packs[rest.id].facts.name, pack_uri(rest.id)
    return _PAGES[rest.kind]
