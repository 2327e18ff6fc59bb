"""The page of a process spec: its steps, who follows it, and which limits they get at each step."""

from __future__ import annotations

from generator.indexes.uses import process_uses
from generator.measures.words import counted
from generator.pages.navigation import KITCHEN
from generator.pages.page import Heading, Page, make_page
from generator.pages.routine import routine_items
from generator.records.process import Process
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.process_view import parts_words, steps_of
from generator.views.uris import (
    PROCESS_INDEX,
    Link,
    formula_uri,
    link,
    process_uri,
)


def process_pages(manual: Manual) -> list[Page]:
    """The index of processes and a page for each."""
    if not manual.standards.processes and not manual.standards.routines:
        return []
    used = process_uses(manual)
    pages = [_index(manual, used)]
    for ident, process in manual.standards.processes.items():
        sheets = [manual.sheets[i] for i in used.get(ident, ())]
        pages.append(_page(manual, ident, process, sheets))
    return pages


def _index(manual: Manual, used: dict[str, tuple[str, ...]]) -> Page:
    items = [
        Link(
            process.name,
            link(PROCESS_INDEX, process_uri(ident)),
            f"{counted(len(process.steps), 'step')} · "
            f"{counted(len(used.get(ident, ())), 'formula')}",
        )
        for ident, process in sorted(
            manual.standards.processes.items(), key=lambda item: item[1].name.lower()
        )
    ]
    return make_page(
        PROCESS_INDEX,
        "Processes",
        KITCHEN,
        "index.html",
        items=items,
        about="The steps that formulas share, in the order they are done.",
        alone=routine_items(manual, PROCESS_INDEX),
    )


def _page(manual: Manual, ident: str, process: Process, sheets: list[Sheet]) -> Page:
    uri = process_uri(ident)
    steps = steps_of(manual, process, sheets, uri)
    formulas = [
        Link(s.name, link(uri, formula_uri(s.formula.formula.home, s.id)), s.stations)
        for s in sheets
    ]
    stopped = [
        Link(s.name, link(uri, formula_uri(s.station, s.id)))
        for s in manual.stopped.values()
        if _follows(manual, s.id, ident)
    ]
    headings = (
        *(Heading(f"step-{s.number}", s.verb, str(s.number)) for s in steps),
        Heading("used-by", "Formulas"),
    )
    return make_page(
        uri,
        process.name,
        KITCHEN,
        "process.html",
        keeping=manual.keeping,
        edit=f"standards/processes/{ident}.yaml",
        listed=False,
        headings=headings,
        ident=ident,
        steps=steps,
        needs=parts_words(process.parts),
        note=process.note,
        formulas=formulas,
        stopped=stopped,
        index_href=link(uri, PROCESS_INDEX),
        document=manual.house.pack.facts.document,
        adopted=manual.house.kitchen.code.adopted_by,
    )


def _follows(manual: Manual, formula: str, process: str) -> bool:
    record = manual.standards.formulas.get(formula)
    return record is not None and record.process == process
