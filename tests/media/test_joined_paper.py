"""A binder drawn in parts and joined is the binder drawn at once: pages, words, structure, links, outline,
labels (ISO 32000-1, 12.3.3, 12.4.2, 14.7). Read back with pypdf and pdfium, which know nothing of the parts."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import pypdf
import pypdfium2
import pytest

from generator.binder import drawing
from generator.binder.documents import binder_document
from generator.binder.drawing import render
from generator.binder.joining import UnknownForm, joined
from generator.sheet.manual import Manual

FEW = 3
"""Pages of a part in these tests, so that there are many parts."""


@pytest.fixture(scope="module")
def document(demo: Manual) -> dict[str, Any]:
    """Two stations' covers and a few sheets of each: seven sheets of one to three pages."""
    found = binder_document(demo, ["sweets", "counter"], {}, "https://manual.example.org/")
    of = {kind: [s for s in found["sheets"] if s["kind"] == kind] for kind in ("cover", "batch")}
    first = [s for s in of["batch"] if s["key"].startswith("sweets/")][:3]
    sheets = [of["cover"][0], *first, of["cover"][1], *of["batch"][-1:], found["sheets"][-1]]
    return {**found, "sheets": sheets}


def drawn(document: dict[str, Any], pages: int, duplex: bool = False) -> bytes:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawing, "_TOGETHER", pages)
        return render(document, "a4", duplex=duplex)


@pytest.fixture(scope="module")
def both(document: dict[str, Any]) -> tuple[bytes, bytes]:
    """Drawn at once and in parts."""
    return drawn(document, 1000), drawn(document, FEW)


def opened(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf), strict=True)


def assert_alike(whole_pdf: bytes, parts_pdf: bytes) -> None:
    with pypdfium2.PdfDocument(whole_pdf) as whole, pypdfium2.PdfDocument(parts_pdf) as parts:
        assert len(whole) == len(parts) > 2 * FEW
        for one, other in zip(whole, parts, strict=True):
            assert one.get_size() == other.get_size()
            found = [p.render(scale=0.6, grayscale=True).to_numpy() for p in (one, other)]
            assert (found[0] == found[1]).all()


def test_pages_are_the_same_to_a_dot(both: tuple[bytes, bytes]) -> None:
    assert_alike(*both)


def test_so_they_are_for_both_sides_of_the_paper(document: dict[str, Any]) -> None:
    """A part of an odd number of pages ends with an empty back, so that the next sheet begins on a front."""
    found = [drawn(document, pages, duplex=True) for pages in (1000, 1)]
    assert_alike(*found)
    labels = [opened(pdf).page_labels for pdf in found]
    assert labels[0] == labels[1] and "blank" in labels[1]


def said(node: Any, pages: dict[int, int], depth: int = 0) -> Iterator[tuple[Any, ...]]:
    """Every element of the structure in order: how deep, what it is, its words, its page, what is in it. Names of
    cells as the words of the cells they name would be the same in no two files, so they aren't said."""
    here, node = node.idnum, node.get_object()
    page = pages[node.raw_get("/Pg").idnum] if "/Pg" in node else None
    kids = node.get("/K", [])
    kids = kids if isinstance(kids, list) else [kids]
    marks = [int(k) for k in kids if isinstance(k, int)]
    about = re.sub(r"U\d+x", "x", re.sub(r"'/Headers': \[.*?\]", "", str(node.get("/A"))))
    yield depth, node["/S"], node.get("/Alt"), node.get("/T"), page, marks, about
    for kid in kids:
        one = kid.get_object()
        if isinstance(one, dict) and "/S" in one:
            assert one.raw_get("/P").idnum == here
            yield from said(kid, pages, depth + 1)


def structure(reader: pypdf.PdfReader) -> list[tuple[Any, ...]]:
    pages = {page.indirect_reference.idnum: at for at, page in enumerate(reader.pages)}  # type: ignore[union-attr]
    root: Any = reader.trailer["/Root"]
    (top,) = root["/StructTreeRoot"]["/K"]
    return list(said(top, pages))


def test_the_structure_is_one_document_and_the_same(both: tuple[bytes, bytes]) -> None:
    one, other = (structure(opened(pdf)) for pdf in both)
    assert one[0][1] == "/Document" and sum(found[1] == "/Document" for found in other) == 1
    assert len(one) > 500 and one == other


def test_what_is_on_a_page_knows_its_element(both: tuple[bytes, bytes]) -> None:
    """14.7.4.4: the parent tree has for each mark of a page the element that holds it."""
    reader = opened(both[1])
    tree: Any = reader.trailer["/Root"]["/StructTreeRoot"]  # type: ignore[index]
    nums = tree["/ParentTree"]["/Nums"]
    keys = [int(key) for key in nums[::2]]
    assert keys == list(range(len(keys))) and tree["/ParentTreeNextKey"] == len(keys)
    found = {int(key): value.get_object() for key, value in zip(nums[::2], nums[1::2], strict=True)}
    for page in reader.pages:
        for mark, element in enumerate(found[page["/StructParents"]]):
            node = element.get_object()
            assert mark in [k for k in node["/K"] if isinstance(k, int)]
            assert node["/Pg"].get_object() == page
        for note in page.get("/Annots", ()):
            element = found[note.get_object()["/StructParent"]]
            assert element["/S"] == "/Link"
            assert any(
                isinstance(k, dict) and k["/Obj"] == note.get_object() for k in element["/K"]
            )


def test_a_cells_heads_are_those_of_its_table(both: tuple[bytes, bytes]) -> None:
    """A name means one head in the whole, that of the cell's own table, and the tree of names finds it."""
    root: Any = opened(both[1]).trailer["/Root"]
    tree = root["/StructTreeRoot"]
    names = tree["/IDTree"]["/Names"]
    given = [str(name) for name in names[::2]]
    assert given == sorted(set(given))
    heads = {str(n): e.get_object() for n, e in zip(names[::2], names[1::2], strict=True)}
    assert all(str(head["/ID"]) == name for name, head in heads.items())

    def table_of(node: Any) -> Any:
        while node["/S"] != "/Table":
            node = node["/P"].get_object()
        return node

    @lru_cache
    def top_of(name: str) -> int:
        return id(table_of(heads[name]))

    def cells(node: Any) -> Iterator[Any]:
        node = node.get_object()
        if not isinstance(node, dict) or "/S" not in node:
            return
        if node["/S"] == "/TD":
            yield node
        for kid in node.get("/K", ()):
            if not isinstance(kid, int):
                yield from cells(kid)

    asked = 0
    for cell in cells(tree["/K"][0]):
        for about in cell.get("/A", ()):
            for name in about.get("/Headers", ()):
                asked += 1
                assert top_of(str(name)) == id(table_of(cell))
    assert asked > 50


def test_links_labels_and_outline_are_the_same(both: tuple[bytes, bytes]) -> None:
    def facts(pdf: bytes) -> list[Any]:
        reader = opened(pdf)
        links = [
            (
                at,
                str(note["/Contents"]),
                reader.get_page_number(note["/Dest"][0].get_object()),
                note["/Rect"],
            )
            for at, page in enumerate(reader.pages)
            for note in (one.get_object() for one in page.get("/Annots", ()))
        ]
        assert links and all(words == f"page {to + 1}" for _, words, to, _ in links)

        def lines(items: Any, depth: int = 0) -> Iterator[tuple[int, str, int | None]]:
            for one in items:
                if isinstance(one, list):
                    yield from lines(one, depth + 1)
                else:
                    yield depth, str(one["/Title"]), reader.get_destination_page_number(one)

        outline = list(lines(reader.outline))
        root: Any = reader.trailer["/Root"]
        top = [title for depth, title, _ in outline if depth == 0]
        backward, one = [], root["/Outlines"]["/Last"]
        while one is not None:
            backward.append(str(one["/Title"]))
            one = one.get("/Prev")
        assert backward == top[::-1] and root["/Outlines"]["/Count"] == len(top)
        rest = {k: str(root[k]) for k in ("/Lang", "/MarkInfo", "/ViewerPreferences")}
        return [links, reader.page_labels, outline, rest, reader.metadata]

    assert facts(both[0]) == facts(both[1])


def test_the_description_counts_all_pages_and_names_this_file(both: tuple[bytes, bytes]) -> None:
    ids = set()
    for pdf in both:
        reader = opened(pdf)
        root: Any = reader.trailer["/Root"]
        words = root["/Metadata"].get_object().get_data().decode()
        assert f"<xmpTPg:NPages>{len(reader.pages)}<" in words
        assert "<pdfuaid:part>1</pdfuaid:part>" in words
        ids.add(re.search("<xmpMM:InstanceID>(.*?)<", words)[1])  # type: ignore[index]
    assert len(ids) == 2


def test_a_text_that_looks_like_a_reference_stays(document: dict[str, Any]) -> None:
    sheet = next(s for s in document["sheets"] if s["kind"] == "batch")
    odd = "Stock 12 0 R (St. 4) /StructParents 3 page:7"
    sheets = [{**sheet, "key": f"{n}", "title": odd} for n in range(3)]
    reader = opened(drawn({"title": odd, "sheets": sheets}, 1))
    assert reader.metadata is not None and reader.metadata.title == odd
    assert [str(o["/Title"]) for o in reader.outline if not isinstance(o, list)] == [odd] * 3
    assert {t for _, s, _, t, *_ in structure(reader) if s == "/H1"} == {odd}


def test_a_file_of_another_form_is_refused(document: dict[str, Any]) -> None:
    one = drawn({**document, "sheets": document["sheets"][:1]}, FEW)
    blank = io.BytesIO()
    writer = pypdf.PdfWriter()
    writer.add_blank_page(200, 200)
    writer.write(blank)
    for parts in ([one[: len(one) // 2]], [blank.getvalue()]):
        with pytest.raises(UnknownForm):
            joined(parts, 1, ())
    with pytest.raises(UnknownForm, match="more or fewer"):
        joined([one], 99, ())
