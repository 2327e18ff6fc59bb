"""What of a document is on which page, for the templates to draw.

A sheet gets ``leaves``, its sheets of paper, each a list of pages side by side (one, or the two
halves of a folded one), and ``pages``, how many pages it has. A page is ``{number, covers,
kindless, top, again, blocks}``: what its head says it covers, and whether without the kind of
sheet; whether the boxes under a first page's head or those in the head of the others are on it; its
blocks, each with the ``gap`` below it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from generator.binder.measuring import Ask, Measures, measured
from generator.binder.pagination import (
    Blocks,
    Packer,
    Room,
    fitted,
    gaps,
    halves,
    roomy,
    shorter,
    spreads,
)
from generator.binder.sheets import Record
from generator.measures.words import breakable, counted


def laid_out(document: Record, ask: Ask) -> Record:
    """A document with every sheet's pages. ``ask`` has the templates measure. Raises Refused for
    a block no page holds."""
    known = measured(document["sheets"], ask)
    lay = _folded if document.get("folded") else _plain
    sheets = []
    for sheet in document["sheets"]:
        leaves = lay(known, sheet)
        count = sum(map(len, leaves))
        found = {**sheet, "leaves": leaves, "pages": count}
        del found["blocks"]
        sheets.append(found)
    return {**document, "sheets": [_counted(sheet, sheets) for sheet in sheets]}


_Lay = Callable[[Measures, Blocks], list[list[Record]]]


def _packed(known: Measures, sheet: Record, blocks: Blocks, room: Room) -> list[Blocks]:
    packer = Packer(known.frame, sheet["control"]["id"], room)
    return packer.pages(fitted(blocks, room.first, known.frame))


def _fewest(known: Measures, blocks: Blocks, lay: _Lay) -> list[list[Record]]:
    """The sheets of paper of ``blocks``; with less between them, or something left out, where that
    takes one less."""
    best = lay(known, [known.sized(block) for block in blocks])
    if len(best) > 1:
        closer = replace(known, frame=known.frame.closer())
        for less in (blocks, *shorter(blocks)):
            some = [known.sized(block) for block in less]
            for by in (known, closer):
                fewer = lay(by, some)
                if len(fewer) < len(best):
                    best = fewer
    return best


def _plain(known: Measures, sheet: Record) -> list[list[Record]]:
    """A sheet's pages, each on a sheet of paper."""
    room = known.room(sheet)

    def lay(by: Measures, blocks: Blocks) -> list[list[Record]]:
        pages = _packed(by, sheet, blocks, room)
        return [[_page(by, sheet, one, i == 0)] for i, one in enumerate(pages)]

    return _numbered(_fewest(known, sheet["blocks"], lay))


def _folded(known: Measures, sheet: Record) -> list[list[Record]]:
    """Weigh left, cook and chill right, on as few sheets of folded paper as can be."""
    room = known.room(sheet)
    again = Room(room.other, room.other)

    def lay(by: Measures, blocks: Blocks) -> list[list[Record]]:
        weighed, cooked = halves(blocks)
        left = _packed(by, sheet, weighed, room) if weighed else []
        right = _packed(by, sheet, cooked, again) if cooked else []
        return spreads(
            [_page(by, sheet, one, i == 0) for i, one in enumerate(left)],
            [_page(by, sheet, one, False) for one in right],
        )

    return _numbered(_fewest(known, sheet["blocks"], lay))


def _page(known: Measures, sheet: Record, blocks: Blocks, first: bool) -> Record:
    """A page, not numbered yet."""
    again = not first and len(sheet["fields"]) > 1
    covers, kindless = "" if first else "continued", False
    if sheet["kind"] == "batch":
        covers, kindless = known.covers(sheet, blocks, again)
    room = known.room(sheet).first if first else known.room(sheet).other
    below_each = gaps(blocks, room, known.frame)
    blocks = roomy(blocks, below_each, room, known.frame)
    return {
        "covers": covers,
        "kindless": kindless,
        "top": first and bool(sheet["fields"]),
        "again": again,
        "blocks": [{**b, "gap": below} for b, below in zip(blocks, below_each, strict=True)],
    }


def _numbered(leaves: Sequence[Sequence[Record]]) -> list[list[Record]]:
    found: list[list[Record]] = []
    number = 0
    for leaf in leaves:
        found.append([])
        for page in leaf:
            number += 1
            found[-1].append({**page, "number": number})
    return found


def _counted(sheet: Record, sheets: Sequence[Record]) -> Record:
    """A sheet whose lists say how many pages the document's sheets have."""
    counts = {one["key"]: one["pages"] for one in sheets}
    if sheet["kind"] == "cover":
        sheet = {**sheet, "cover": {**sheet["cover"], "pages": _in_all(sheet, counts)}}
    forms = {b["form"] for leaf in sheet["leaves"] for page in leaf for b in page["blocks"]}
    if not forms & {"list", "changes"}:
        return sheet
    leaves = [
        [{**page, "blocks": [_listed(b, counts) for b in page["blocks"]]} for page in leaf]
        for leaf in sheet["leaves"]
    ]
    return {**sheet, "leaves": leaves}


def _listed(block: Record, counts: dict[str, int]) -> Record:
    """A list of sheets with their pages, where they are in the document."""
    if block["form"] not in ("list", "changes"):
        return block
    rows = []
    for row in block["rows"]:
        here = counts.get(row["key"])
        pages = "" if here is None else str(here)
        if pages and block["form"] == "changes":
            pages = _pages(here or 0)
        rows.append({**row, "pages": pages})
    return {**block, "rows": rows}


def _pages(count: int) -> str:
    return breakable(counted(count, "page"))


def _in_all(cover: Record, counts: dict[str, int]) -> str:
    """How many pages a cover's sheets have, where all of them are in this document."""
    keys = [
        row["key"]
        for leaf in cover["leaves"]
        for page in leaf
        for block in page["blocks"]
        if block["form"] == "list"
        for row in block["rows"]
    ]
    if not keys or not all(key in counts for key in keys):
        return ""
    return f", {_pages(sum(counts[key] for key in keys))}"
