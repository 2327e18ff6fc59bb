"""The binder's PDF by the structure PDF/UA-1 (ISO 14289-1) asks for, read back with pypdf; its page
labels, its links, its pages on both sides, its issue.

The typesetter checks ua-1 itself while it writes; no second checker of the whole standard is run.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pypdf
import pypdfium2
import pytest
from inked import letters
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

from generator.binder.documents import binder_document
from generator.binder.drawing import render
from generator.sheet.manual import Manual


@pytest.fixture(scope="module")
def document(demo: Manual) -> dict[str, Any]:
    return binder_document(demo, ["sweets"], {}, "https://manual.example.org/")


@pytest.fixture(scope="module")
def reader(document: dict[str, Any]) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(render(document, "a4")))


def walked(
    node: Any, above: tuple[str, ...] = ()
) -> Iterator[tuple[DictionaryObject, tuple[str, ...]]]:
    """Every structure element with the types of those above it, in reading order."""
    node = node.get_object() if isinstance(node, IndirectObject) else node
    if isinstance(node, ArrayObject):
        for one in node:
            yield from walked(one, above)
    elif isinstance(node, DictionaryObject) and "/S" in node:
        yield node, above
        yield from walked(node.get("/K", ArrayObject()), (*above, str(node["/S"])))
    elif isinstance(node, DictionaryObject) and node.get("/Type") == "/StructTreeRoot":
        yield from walked(node.get("/K", ArrayObject()), above)


@pytest.fixture(scope="module")
def elements(reader: pypdf.PdfReader) -> list[tuple[DictionaryObject, tuple[str, ...]]]:
    return list(walked(reader.trailer["/Root"]["/StructTreeRoot"]))  # type: ignore[index]


def test_the_catalog_has_what_a_reader_aloud_needs(reader: pypdf.PdfReader) -> None:
    """Clauses 7.1 (title shown, marked, none suspect), 7.2 (language)."""
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en" and root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert root["/MarkInfo"]["/Marked"] and str(root["/MarkInfo"]["/Suspects"]) == "False"
    assert reader.metadata is not None and reader.metadata.title
    for page in reader.pages:
        assert page["/Tabs"] == "/S" if "/Annots" in page else True
        assert "/StructParents" in page


def test_every_picture_has_words_in_its_place(
    elements: list[tuple[DictionaryObject, tuple[str, ...]]],
) -> None:
    """7.3: a figure has an alternative text."""
    figures = [node for node, _ in elements if node["/S"] == "/Figure"]
    assert figures and all(str(node.get("/Alt", "")) for node in figures)


def test_headings_go_down_one_level_at_a_time(
    elements: list[tuple[DictionaryObject, tuple[str, ...]]],
) -> None:
    """7.4.2: the first is H1, none is left out on the way down."""
    levels = [
        int(str(n["/S"])[2:])
        for n, _ in elements
        if str(n["/S"])[1:2] == "H" and str(n["/S"])[2:].isdigit()
    ]
    assert levels and levels[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))


def test_tables_have_heads_and_regular_rows(
    elements: list[tuple[DictionaryObject, tuple[str, ...]]],
) -> None:
    """7.5: heads in a table that has any; a cell is in a row, a row in a table."""
    kinds = Counter(str(node["/S"]) for node, _ in elements)
    assert kinds["/Table"] > 5 and kinds["/TH"] > 20
    for node, above in elements:
        kind = str(node["/S"])
        if kind in ("/TD", "/TH"):
            assert above[-1] == "/TR"
        if kind == "/TR":
            assert above[-1] in ("/Table", "/THead", "/TBody", "/TFoot")
        if kind == "/TH":
            assert "/A" in node, "a head says what it is of"


def test_links_are_tagged_and_have_words(
    reader: pypdf.PdfReader,
    elements: list[tuple[DictionaryObject, tuple[str, ...]]],
    document: dict[str, Any],
) -> None:
    """7.18.5: a link is in a Link element and has contents; the cover leads to each sheet."""
    notes = [a.get_object() for page in reader.pages for a in page.get("/Annots", ())]
    links = [node for node, _ in elements if node["/S"] == "/Link"]
    assert len(notes) >= len(document["sheets"]) - 1 and len(links) >= len(document["sheets"]) - 1
    assert all(str(note.get("/Contents", "")) and "/StructParent" in note for note in notes)


@pytest.mark.parametrize("duplex", [False, True])
def test_a_covers_lines_lead_to_the_first_page_of_their_sheets(
    document: dict[str, Any], duplex: bool
) -> None:
    """By what the page says at its foot, not by the count that put the link there."""
    several = {**document, "sheets": [*document["sheets"][:4], document["sheets"][-1]]}
    read = pypdf.PdfReader(io.BytesIO(render(several, "a4", duplex=duplex)))
    found = set()
    for note in (one.get_object() for one in read.pages[0]["/Annots"]):  # type: ignore[union-attr]
        page = read.get_page_number(note["/Dest"].get_object()[0].get_object())
        text = read.pages[page or 0].extract_text().replace("\u00a0", " ")
        found |= set(re.findall(r"Page 1 of \d+, sheet (\d+)", text))
    assert found == {sheet["number"] for sheet in several["sheets"][1:]}


def test_page_labels_follow_the_sheets_numbers(reader: pypdf.PdfReader) -> None:
    """ "4-2" is the second page of sheet 4, as its foot says."""
    assert len(reader.page_labels) == len(reader.pages)
    for page, label in zip(reader.pages, reader.page_labels, strict=True):
        text = page.extract_text().replace("\u00a0", " ")
        number, _, leaf = label.rpartition("-")
        foot = f"Page {leaf} of" if number == "cover" else f", sheet {number}"
        assert foot in text and f"Page {leaf} of" in text, label


def test_the_cover_counts_its_pages(reader: pypdf.PdfReader, document: dict[str, Any]) -> None:
    text = reader.pages[0].extract_text().replace("\u00a0", " ")
    assert f"{len(document['sheets']) - 1} sheets, {len(reader.pages) - 1} pages" in text


def test_on_both_sides_the_margin_changes_and_each_sheet_begins_on_a_front(
    document: dict[str, Any],
) -> None:
    part = {**document, "sheets": document["sheets"][:5]}
    drawn = render(part, "a4", duplex=True)
    lefts: dict[int, set[int]] = {0: set(), 1: set()}
    labels = pypdf.PdfReader(io.BytesIO(drawn)).page_labels
    with pypdfium2.PdfDocument(drawn) as opened:
        for index, (page, label) in enumerate(zip(opened, labels, strict=True)):
            assert not label.endswith("-1") or index % 2 == 0, label
            found = [box.left for box in letters(page) if box.text.strip()]
            assert bool(found) is (label != "blank")
            lefts[index % 2] |= {round(min(found))} if found else set()
    assert lefts == {0: {20}, 1: {10}}


def test_a_figure_below_zero_has_a_true_minus(demo: Manual) -> None:
    words = demo.house.kitchen.name
    sheet = binder_document(demo, ["counter"], {}, "")["sheets"][0]
    shown = {**sheet, "subtitle": ["Station binder", "keep at -18 °C"]}
    text = pypdf.PdfReader(io.BytesIO(render({"title": words, "sheets": [shown]}, "a4"))).pages[0]
    assert "\u221218" in text.extract_text()
