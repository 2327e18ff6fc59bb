"""A PDF as the typesetter writes it, taken apart (ISO 32000-1): objects in the clear, their places
in a plain table (7.5.4), one document element at the head of the structure (14.7), a stream's
length first in its dictionary, texts without brackets inside. Whatever isn't so is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator

_TRAILER = re.compile(
    rb"trailer\n<</Size (\d+)/Root (\d+) 0 R/Info (\d+) 0 R/ID\[\(([^()\\]+)\)\([^()\\]+\)\]>>\n"
    rb"startxref\n(\d+)\n%%EOF\s*\Z"
)
_CATALOG_KEYS = frozenset(
    b"/Pages /Metadata /Lang /StructTreeRoot /MarkInfo /ViewerPreferences /Outlines".split()
)
"""What a catalog may say. What it said else (names, actions, forms) would be lost in joining."""

_ROOT = re.compile(
    rb"<</Type/StructTreeRoot(?P<roles>/RoleMap<<[^<>]*>>)?/K\[(?P<document>\d+) 0 R\]"
    rb"/ParentTree<</Nums\[(?P<nums>[^]]*)\]>>(?:/IDTree<</Names\[(?P<names>[^]]*)\]>>)?"
    rb"/ParentTreeNextKey (?P<parents>\d+)>>"
)


class UnknownForm(RuntimeError):
    """The typesetter's file isn't of the form that is known; a fault of ours."""


class Part:
    """The file's objects by number, and which of them stand once in a document."""

    def __init__(self, pdf: bytes) -> None:
        """Raises UnknownForm."""
        found = _TRAILER.search(pdf)
        if found is None:
            raise UnknownForm("no trailer of the kind expected")
        size, self.catalog, self.info = (int(found[n]) for n in (1, 2, 3))
        self.known_as = found[4]
        self._pdf = pdf
        self._starts = _starts(pdf, int(found[5]), size)
        self.size = size
        catalog = self.body(self.catalog)
        if not frozenset(re.findall(rb"/[A-Z][A-Za-z]*", _outer(catalog))) <= _CATALOG_KEYS:
            raise UnknownForm("the catalog says more than is known")
        self.pages, self.root, self.metadata = (
            _reference(catalog, key) for key in (b"/Pages", b"/StructTreeRoot", b"/Metadata")
        )
        self.viewed = b"".join(
            re.findall(rb"/Lang\([^()]*\)|/(?:MarkInfo|ViewerPreferences)<<[^<>]*>>", catalog)
        )
        self.kids = _all(self.body(self.pages), b"/Kids")
        box = re.search(rb"/MediaBox\[0 0 [0-9.]+ ([0-9.]+)\]", self.body(self.kids[0]))
        if box is None:
            raise UnknownForm("a page without a size of its own")
        self.top = box[1]
        root = _ROOT.fullmatch(self.body(self.root))
        if root is None:
            raise UnknownForm("the structure's root is of another form")
        self.roles, self.names = root["roles"] or b"", root["names"] or b""
        self.nums, self.parents = root["nums"], int(root["parents"])
        self.document = int(root["document"])
        self.children = _all(self.body(self.document), b"/K")
        self.outlines = self.first_outline = self.last_outline = self.outline_count = 0
        if b"/Outlines" in catalog:
            self.outlines = _reference(catalog, b"/Outlines")
            outlines = self.body(self.outlines)
            self.first_outline = _reference(outlines, b"/First")
            self.last_outline = _reference(outlines, b"/Last")
            self.outline_count = int(re.findall(rb"/Count (\d+)", outlines)[0])

    def body(self, number: int) -> bytes:
        """What is between an object's head and its end."""
        start, end = self._starts[number], self._starts[-number]
        return self._pdf[start:end]

    def others(self) -> Iterator[int]:
        """The objects that aren't one for the whole document."""
        once = {self.catalog, self.info, self.metadata, self.pages, self.root, self.document}
        once.add(self.outlines)
        return (number for number in range(1, self.size) if number not in once)


def _starts(pdf: bytes, table: int, size: int) -> dict[int, int]:
    """Where the body of each object begins, and by the number below zero where it ends."""
    head = b"xref\n0 %d\n" % size
    if not pdf.startswith(head, table):
        raise UnknownForm("no table of the kind expected")
    lines, found, ends = table + len(head), {}, table
    places = [int(pdf[at : at + 10]) for at in range(lines, lines + 20 * size, 20)]
    for number in sorted(range(1, size), key=places.__getitem__, reverse=True):
        title = b"%d 0 obj\n" % number
        end = pdf.rfind(b"\nendobj\n", places[number], ends)
        if not pdf.startswith(title, places[number]) or end < 0:
            raise UnknownForm(f"object {number} isn't where the table says")
        found[number], found[-number] = places[number] + len(title), end
        ends = places[number]
    return found


def _outer(body: bytes) -> bytes:
    """A catalog's entries without the dictionaries in them."""
    return re.sub(rb"<<[^<>]*>>", b"", body.removeprefix(b"<</Type/Catalog").removesuffix(b">>"))


def _reference(body: bytes, key: bytes) -> int:
    found = re.search(key + rb" (\d+) 0 R", body)
    if found is None:
        raise UnknownForm(f"no {key.decode()}")
    return int(found[1])


def _all(body: bytes, key: bytes) -> list[int]:
    found = re.search(key + rb"\[((?:\d+ 0 R ?)+)\]", body)
    if found is None:
        raise UnknownForm(f"no list of {key.decode()}")
    return [int(one) for one in re.findall(rb"(\d+) 0 R", found[1])]
