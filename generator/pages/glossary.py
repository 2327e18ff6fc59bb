"""The glossary: terms of the trade, and other names of the same food."""

from __future__ import annotations

from dataclasses import dataclass

from generator.measures.words import counted
from generator.pages.navigation import REFERENCE
from generator.pages.page import Heading, Page, make_page
from generator.reference.glossary import Term
from generator.reference.library import Library
from generator.sheet.manual import Manual
from generator.views.uris import GLOSSARY, SOURCES, link


@dataclass(frozen=True)
class TermView:
    """One term with what else it is called, its meaning and where that comes from."""

    id: str
    term: str
    also: str
    means: str
    matters: str
    source: str
    href: str


def glossary_pages(manual: Manual) -> list[Page]:
    """The glossary, one page."""
    library = manual.library
    if not library.glossary.terms:
        return []
    letters: dict[str, list[TermView]] = {}
    for ident, term in sorted(library.glossary.terms.items(), key=lambda i: i[1].term.lower()):
        letters.setdefault(term.term[0].upper(), []).append(_view(library, ident, term))
    others = [
        (o.name, ", ".join(o.also), o.note)
        for o in sorted(library.glossary.other_names.values(), key=lambda o: o.name.lower())
    ]
    headings = [Heading(f"letter-{i}", letter) for i, letter in enumerate(letters)]
    if others:
        headings.append(Heading("other-names", "Other names"))
    return [
        make_page(
            GLOSSARY,
            "Glossary",
            REFERENCE,
            "glossary.html",
            headings=tuple(headings),
            letters=[
                (f"letter-{i}", letter, terms) for i, (letter, terms) in enumerate(letters.items())
            ],
            others=others,
            counted=counted(len(library.glossary.terms), "term"),
            document=manual.house.pack.facts.document,
        )
    ]


def _view(library: Library, ident: str, term: Term) -> TermView:
    source, href = "", ""
    if term.source:
        source = library.source_title(term.source)
        href = f"{link(GLOSSARY, SOURCES)}#{term.source}"
    clause = f"{term.clause}; read in " if term.clause and source else term.clause
    return TermView(
        ident,
        term.term,
        ", ".join(term.also),
        term.means,
        term.matters,
        f"{clause}{source}" or "Trade usage",
        href,
    )
