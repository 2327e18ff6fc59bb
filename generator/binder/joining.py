"""One PDF of a document's parts, each drawn by itself. pikepdf (qpdf) reads them, copies pages and
objects, and writes the whole with object streams (ISO 32000-1, 7.5.7): a third of the size.

Here is what it doesn't join: the structure with its parent tree and names (14.7.2, 14.7.4.4), the
outline (12.3.3), page labels (12.4.2), and links with the address ``page:7``, which lead to page 7
of the whole, in whichever part that is (12.3.2.2).
"""

from __future__ import annotations

import base64
import hashlib
import io
import tempfile
from collections.abc import Iterable
from typing import Any

import pikepdf
from pikepdf import AccessMode, Array, Dictionary, Name, ObjectStreamMode, String

from generator.binder.page_labels import Label

_LINK = "page:"
_PAGES = b"<xmpTPg:NPages>"
_CELLS = ("/TD", "/TH")


class UnknownForm(RuntimeError):
    """The typesetter's file isn't of the form that is known; a fault of ours."""


def joined(parts: list[bytes], pages: int, labels: Iterable[Label]) -> bytes:
    """The parts as one PDF of so many ``pages``. Each is taken from the list, and gone once it is
    copied. Raises UnknownForm."""
    identity = hashlib.sha256(parts[0])
    whole = _opened(parts.pop(0))
    while parts:
        identity.update(parts[0])
        _append(whole, _opened(parts.pop(0)))
    if len(whole.pages) != pages:
        raise UnknownForm("more or fewer pages were drawn than were laid out")
    _lead(whole)
    nums: list[Any] = []
    for one in labels:
        style = {"/S": Name.D} if one.counted else {}
        nums += (one.at, Dictionary({**style, "/P": String(one.words)}))
    whole.Root.PageLabels = Dictionary(Nums=Array(nums))
    _describe(whole, identity.digest()[:16])
    out = io.BytesIO()
    whole.save(
        out,
        object_stream_mode=ObjectStreamMode.generate,
        deterministic_id=True,
        fix_metadata_version=False,  # it is written as it was read
    )
    return out.getvalue()


def _opened(part: bytes) -> pikepdf.Pdf:
    """A part, read as a mapped file, in half the time that reading its bytes takes."""
    with tempfile.TemporaryFile() as file:
        file.write(part)
        file.flush()
        try:
            drawn = pikepdf.open(file, access_mode=AccessMode.mmap, attempt_recovery=False)
        except pikepdf.PdfError as error:
            raise UnknownForm("no PDF") from error
    root: Any = drawn.Root.get("/StructTreeRoot")
    if root is None or len(root.K) != 1 or root.K[0].S != "/Document":
        raise UnknownForm("the structure isn't one document")
    return drawn


def _append(whole: pikepdf.Pdf, drawn: pikepdf.Pdf) -> None:
    """Copy a part behind the whole."""
    root: Any = whole.Root.StructTreeRoot
    other: Any = drawn.Root.StructTreeRoot
    taken = int(root.ParentTreeNextKey)
    _renumber(drawn, taken)
    del other.K[0].P  # the root that isn't copied
    kept = Dictionary(K=other.K[0], Nums=other.ParentTree.Nums)
    if "/IDTree" in other:
        kept.Names = Array(_renamed(other.IDTree.Names, b"V%04d" % taken))
    if "/Outlines" in drawn.Root:
        kept.Outlines = drawn.Root.Outlines
    whole.pages.extend(drawn.pages)  # first, so that what refers to a page refers to its copy
    copied: Any = whole.copy_foreign(drawn.make_indirect(kept))
    for kid in copied.K.K:
        kid.P = root.K[0]
        root.K[0].K.append(kid)
    for at, one in enumerate(copied.Nums):
        root.ParentTree.Nums.append(one if at % 2 else int(one) + taken)
    root.ParentTreeNextKey = taken + int(other.ParentTreeNextKey)
    if "/Names" in copied:
        names = [*root.get("/IDTree", Dictionary(Names=[])).Names, *copied.Names]
        pairs = sorted(zip(names[::2], names[1::2], strict=True), key=lambda pair: bytes(pair[0]))
        root.IDTree = Dictionary(Names=Array([one for pair in pairs for one in pair]))
    if "/Outlines" in copied:
        _lead_on(whole, copied.Outlines)


def _renumber(drawn: pikepdf.Pdf, taken: int) -> None:
    """Move a part's keys of the parent tree behind those ``taken``: its pages' and its links'."""
    moved = 0
    for page in drawn.pages:
        links = [(note, "/StructParent") for note in page.obj.get("/Annots", ())]
        for one, key in ((page.obj, "/StructParents"), *links):
            if key in one:
                one[key] = int(one[key]) + taken
                moved += 1
    if moved != int(drawn.Root.StructTreeRoot.ParentTreeNextKey):
        raise UnknownForm("something else has content in the structure")


def _renamed(names: Any, before: bytes) -> list[Any]:
    """A part's names of cells, each with its cell. They get words ``before`` them that no other
    part's have, there and where a cell names its heads (14.8.5.7)."""
    tables: dict[tuple[int, int], Any] = {}
    found: list[Any] = []
    for head in list(names)[1::2]:
        head.ID = String(before + bytes(head.ID))
        found += (head.ID, head)
        table = head
        while table.S != "/Table":
            table = table.P
        tables[table.objgen] = table
    rows = list(tables.values())
    while rows:
        for one in rows.pop().K:
            if one.S not in _CELLS:
                rows.append(one)
                continue
            for about in one.get("/A", ()):
                if "/Headers" in about:
                    about.Headers = Array([String(before + bytes(h)) for h in about.Headers])
    return found


def _lead_on(whole: pikepdf.Pdf, added: Any) -> None:
    """The outline goes on from its last line to the first of another."""
    if "/Outlines" not in whole.Root:
        whole.Root.Outlines = added
        return
    outlines: Any = whole.Root.Outlines
    outlines.Last.Next, added.First.Prev = added.First, outlines.Last
    outlines.Last = added.Last
    outlines.Count = int(outlines.Count) + int(added.Count)
    line = added.First
    while line is not None:
        line.Parent = outlines
        line = line.get("/Next")


def _lead(whole: pikepdf.Pdf) -> None:
    """Have links with the number of a page lead to it."""
    for page in whole.pages:
        for note in page.obj.get("/Annots", ()):
            address = str(note.A.URI) if "/A" in note and "/URI" in note.A else ""
            if address.startswith(_LINK):
                number = address.removeprefix(_LINK)
                to: Any = whole.pages[int(number) - 1].obj
                note.Dest = Array([to, Name.XYZ, 0, to.MediaBox[3], 0])
                note.Contents = String(f"page {number}")
                del note.A


def _describe(whole: pikepdf.Pdf, identity: bytes) -> None:
    """Let the first part's description (XMP) count the whole's pages and have its identity."""
    described: Any = whole.Root.Metadata
    begin, _, rest = described.read_bytes().partition(_PAGES)
    _, end, rest = rest.partition(b"<")
    if not end:
        raise UnknownForm("the description counts no pages")
    words = b"%b%b%d<%b" % (begin, _PAGES, len(whole.pages), rest)
    known_as = bytes(whole.trailer.ID[0])
    described.write(words.replace(known_as, base64.b64encode(identity)))
    whole.trailer.ID = Array([String(identity)] * 2)
