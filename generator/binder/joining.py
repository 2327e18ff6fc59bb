"""One PDF of a document's parts, each drawn by itself: what the typesetter keeps of a part is gone
before the next one is drawn, and nothing of it is held but its bytes.

The parts' trees of pages and of structure, their outlines, parent trees and names of cells become
one (ISO 32000-1, 7.7.3, 14.7, 12.3.3); what isn't a stream goes into object streams (7.5.7): a
quarter of the size. A link with the address ``page:7`` leads to page 7 of the whole, in whichever
part that is.

A library that holds a file as objects takes more memory for it than the typesetter does: 5 kB for
each of the 24,000 elements that say aloud what is on 150 pages.
"""

from __future__ import annotations

import base64
import hashlib
import re
import zlib
from collections.abc import Iterable, Sequence
from itertools import accumulate

from generator.binder.drawn_part import Part, UnknownForm

_CATALOG, _PAGES, _ROOT, _DOCUMENT, _OUTLINES, _INFO, _METADATA, _FIRST_PAGE = range(1, 9)
_TOGETHER = 100
"""Objects in an object stream."""

_STREAM = b"<</Length "
_REFERENCE, _DIGITS = b" 0 R", b"0123456789"
_SAID, _BETWEEN = b"<</Type/StructElem", b"\0"
_PARENTS = re.compile(rb"(/StructParents?) (\d+)")
_OWN_NAME = re.compile(rb"/ID\((\w+)\)")
_NAMES = re.compile(rb"/Headers\[((?:\(\w+\))+)\]")
_LINK = re.compile(rb"/A<</Type/Action/S/URI/URI\(page:(\d+)\)>>|(?<=/Contents\()page:(?=\d+\))")


class _File:
    """A PDF with object streams and a stream of places (7.5.8), written as it comes."""

    def __init__(self, first_free: int) -> None:
        self.out = bytearray(b"%PDF-1.7\n%\x80\x80\x80\x80\n")
        self.free = first_free
        self._places: dict[int, tuple[int, int, int]] = {}
        self._waiting: dict[int, bytes] = {}

    def taken(self) -> int:
        """The next number that no object has."""
        self.free += 1
        return self.free - 1

    def write(self, number: int, body: bytes) -> None:
        """An object; a stream at once, others together with their neighbours."""
        if body.startswith(_STREAM):
            self._places[number] = (1, len(self.out), 0)
            self.out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
            return
        self._waiting[number] = body
        if len(self._waiting) == _TOGETHER:
            self.flush()

    def flush(self) -> None:
        """Write what waits for neighbours."""
        if self._waiting:
            self.together(list(self._waiting), list(self._waiting.values()))
            self._waiting.clear()

    def together(self, numbers: Sequence[int], bodies: Sequence[bytes]) -> None:
        """Objects that are no streams, as one stream."""
        stream = self.taken()
        self._places |= {number: (2, stream, place) for place, number in enumerate(numbers)}
        starts = accumulate((len(body) + 1 for body in bodies), initial=0)
        head = b" ".join(b"%d %d" % one for one in zip(numbers, starts, strict=False)) + b"\n"
        data = zlib.compress(head + b"\n".join(bodies))
        about = b"/Type/ObjStm/N %d/First %d" % (len(numbers), len(head))
        self.write(stream, _stream(data, about))

    def ended(self, identity: bytes) -> bytes:
        """The whole file."""
        self.flush()
        number, begins = self.taken(), len(self.out)
        self._places[number] = (1, begins, 0)
        rows = (self._places.get(n, (0, 0, 0)) for n in range(self.free))
        data = zlib.compress(
            b"".join(
                bytes((kind,)) + at.to_bytes(4) + place.to_bytes(2) for kind, at, place in rows
            )
        )
        about = b"/Type/XRef/Size %d/W[1 4 2]/Root %d 0 R/Info %d 0 R/ID[<%b><%b>]" % (
            *(self.free, _CATALOG, _INFO),
            *(identity.hex().encode(),) * 2,
        )
        self.out += b"%d 0 obj\n%b\nendobj\n" % (number, _stream(data, about))
        self.out += b"startxref\n%d\n%%%%EOF\n" % begins
        return bytes(self.out)


def _stream(data: bytes, about: bytes) -> bytes:
    length = b"%b%d%b/Filter/FlateDecode>>" % (_STREAM, len(data), about)
    return b"%b\nstream\n%b\nendstream" % (length, data)


class Joined:
    """A PDF that grows by a part at a time."""

    def __init__(self, pages: int) -> None:
        """``pages`` is how many the parts have together."""
        self._pages = pages
        self._file = _File(_FIRST_PAGE + pages)
        self._parts = self._drawn = self._parents = self._outlines = self._first_outline = 0
        self._children: list[bytes] = []
        self._nums: list[bytes] = []
        self._names: list[bytes] = []
        self._held: tuple[int, bytes] | None = None
        """The last line of the outline so far, which leads on to the next part's first."""

    def add(self, pdf: bytes) -> None:
        """The next part. Raises UnknownForm for a file that isn't as the typesetter writes it."""
        part = Part(pdf)
        new = self._numbers(part)
        if not self._parts:
            kept = (part.info, part.metadata)
            self._info, self._metadata = (part.body(number) for number in kept)
            self._viewed, self._roles, self._known_as = part.viewed, part.roles, part.known_as
            self._top = part.top
        self._tree(part, new)
        refs = {b"%d" % number: b"%d 0 R" % now for number, now in new.items()}
        before, after = self._held, None
        if part.outlines:
            self._lead_on(part, new[part.first_outline])
        said: list[int] = []
        for number in part.others():
            body = part.body(number)
            if body.startswith(_SAID):
                said.append(number)
                continue
            body = self._edited(body, refs)
            if number == part.first_outline and before is not None:
                body = _with(body, b"/Prev", before[0])
            if number == part.last_outline:
                after = (new[number], body)
                continue
            self._file.write(new[number], body)
        for at in range(0, len(said), _TOGETHER):
            self._say(part, said[at : at + _TOGETHER], new, refs)
        self._held = after or before
        self._parts += 1
        self._drawn += len(part.kids)
        self._parents += part.parents

    def _lead_on(self, part: Part, first: int) -> None:
        """The outline goes on from its last line so far to the part's first."""
        self._outlines += part.outline_count
        if self._held is None:
            self._first_outline = first
        else:
            number, body = self._held
            self._file.write(number, _with(body, b"/Next", first))

    def _numbers(self, part: Part) -> dict[int, int]:
        """The number in the whole of each object of the part."""
        new = {part.pages: _PAGES, part.root: _ROOT, part.document: _DOCUMENT}
        new |= {part.outlines: _OUTLINES} if part.outlines else {}
        new |= {kid: _FIRST_PAGE + self._drawn + at for at, kid in enumerate(part.kids)}
        for number in part.others():
            if number not in new:
                new[number] = self._file.taken()
        return new

    def _tree(self, part: Part, new: dict[int, int]) -> None:
        """What of the structure's root is the part's."""
        self._children += (b"%d 0 R" % new[child] for child in part.children)
        for key, number in re.findall(rb"(\d+) (\d+) 0 R", part.nums):
            self._nums.append(b"%d %d 0 R" % (int(key) + self._parents, new[int(number)]))
        for name, number in re.findall(rb"\((\w+)\) ?(\d+) 0 R", part.names):
            self._names.append(b"(%b)%d 0 R" % (self._name(name), new[int(number)]))

    def _edited(self, body: bytes, refs: dict[bytes, bytes]) -> bytes:
        """An object with its numbers in the whole; a stream's dictionary, never its data."""
        if body.startswith(_STREAM):
            head, mark, data = body.partition(b">>\nstream\n")
            if b"/StructP" in head:
                raise UnknownForm("a stream with content of its own in the structure")
            return _referring(head, refs) + mark + data
        changed = _referring(body, refs)
        if body.startswith((b"<</Type/Page/", b"<</Type/Annot/")):
            changed = _PARENTS.sub(
                lambda found: b"%b %d" % (found[1], int(found[2]) + self._parents), changed
            )
            return _LINK.sub(self._linked, changed)
        return changed

    def _say(
        self, part: Part, numbers: list[int], new: dict[int, int], refs: dict[bytes, bytes]
    ) -> None:
        """Elements of the structure, many at once: there are 150 on a page."""
        bodies = _BETWEEN.join(map(part.body, numbers))
        changed = _referring(bodies, refs)
        changed = _OWN_NAME.sub(lambda found: b"/ID(%b)" % self._name(found[1]), changed)
        changed = _NAMES.sub(lambda found: b"/Headers[%b]" % self._name(found[1]), changed)
        edited = changed.split(_BETWEEN)
        if len(edited) != len(numbers):
            raise UnknownForm("a text with a sign that no text has")
        self._file.together([new[number] for number in numbers], edited)

    def _name(self, names: bytes) -> bytes:
        """Names of cells, which another part's may have too: in the parts' order by their signs."""
        return re.sub(rb"\w+", lambda found: b"%04d%b" % (self._parts, found[0]), names)

    def _linked(self, found: re.Match[bytes]) -> bytes:
        if found[1] is None:
            return b"page "
        return b"/Dest[%d 0 R/XYZ 0 %b 0]" % (_FIRST_PAGE + int(found[1]) - 1, self._top)

    def whole(self, labels: Iterable[str]) -> bytes:
        """The file, with its page labels (12.4.2): texts of a page's index and its label."""
        if self._drawn != self._pages:
            raise UnknownForm("more or fewer pages were drawn than were laid out")
        write, outlines = self._file.write, b""
        if self._held is not None:
            write(*self._held)
            ends = (self._first_outline, self._held[0], self._outlines)
            write(_OUTLINES, b"<</Type/Outlines/First %d 0 R/Last %d 0 R/Count %d>>" % ends)
            outlines = b"/Outlines %d 0 R" % _OUTLINES
        kids = b" ".join(b"%d 0 R" % (_FIRST_PAGE + at) for at in range(self._pages))
        write(_PAGES, b"<</Type/Pages/Count %d/Kids[%b]>>" % (self._pages, kids))
        children = b" ".join(self._children)
        write(_DOCUMENT, b"<</Type/StructElem/S/Document/P %d 0 R/K[%b]>>" % (_ROOT, children))
        names = b"/IDTree<</Names[%b]>>" % b"".join(self._names) if self._names else b""
        tree = b"/K[%d 0 R]/ParentTree<</Nums[%b]>>" % (_DOCUMENT, b" ".join(self._nums))
        tree += b"%b/ParentTreeNextKey %d" % (names, self._parents)
        write(_ROOT, b"<</Type/StructTreeRoot%b%b>>" % (self._roles, tree))
        self._file.flush()
        identity = hashlib.sha256(self._file.out).digest()[:16]
        write(_INFO, self._info)
        write(_METADATA, self._described(base64.b64encode(identity)))
        trees = b"/Pages %d 0 R/Metadata %d 0 R/StructTreeRoot %d 0 R" % (_PAGES, _METADATA, _ROOT)
        named = b"/PageLabels<</Nums[%b]>>" % " ".join(labels).encode("ascii")
        write(_CATALOG, b"<</Type/Catalog%b%b%b%b>>" % (trees, outlines, self._viewed, named))
        return self._file.ended(identity)

    def _described(self, known_as: bytes) -> bytes:
        """The first part's description with the whole's pages and identity (XMP, in the clear)."""
        _, _, text = self._metadata.partition(b">>\nstream\n")
        text = text.removesuffix(b"\nendstream").replace(self._known_as, known_as)
        pages = b"<xmpTPg:NPages>%d<" % self._pages
        text, found = re.subn(rb"<xmpTPg:NPages>\d+<", pages, text)
        if not found:
            raise UnknownForm("the description counts no pages")
        about = b"%b%d/Type/Metadata/Subtype/XML>>" % (_STREAM, len(text))
        return b"%b\nstream\n%b\nendstream" % (about, text)


def _referring(body: bytes, refs: dict[bytes, bytes]) -> bytes:
    """What a dictionary or list refers to, by its new number; nothing in its texts."""
    first, *others = body.split(b"(")
    found = [_shifted(first, refs)]
    for one in others:
        text, end, rest = one.partition(b")")
        found += (b"(", text, end, _shifted(rest, refs))
    return b"".join(found)


def _shifted(body: bytes, refs: dict[bytes, bytes]) -> bytes:
    *pieces, last = body.split(_REFERENCE)
    found: list[bytes] = []
    for one in pieces:
        before = one.rstrip(_DIGITS)
        found += (before, refs[one[len(before) :]])
    return b"".join((*found, last))


def _with(body: bytes, key: bytes, number: int) -> bytes:
    """A dictionary with one more entry, which refers to an object."""
    return b"%b%b %d 0 R>>" % (body.removesuffix(b">>"), key, number)
