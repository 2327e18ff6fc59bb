"""Page labels of a PDF that follow sheet numbers: a reader shows "4-2" for the second page of sheet
4, and goes there when it is typed (ISO 32000-1, 12.4.2, page labels; 7.5.6, incremental updates).

The typesetter knows counters alone, so the labels are added behind its file: a new catalog, its
entry of the cross-reference table, and a trailer that names the one before.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

_TRAILER = re.compile(rb"trailer\n<<(.*?)>>\nstartxref\n(\d+)\n%%EOF\s*\Z", re.DOTALL)
_ROOT = re.compile(rb"/Root (\d+) 0 R")
_PLAIN = re.compile(r"[^A-Za-z0-9 .-]")


@dataclass(frozen=True)
class Leaves:
    """A sheet's pages in a document: what its labels begin with, and how many there are."""

    name: str
    pages: int


def labelled(pdf: bytes, sheets: Iterable[Leaves], duplex: bool = False) -> bytes:
    """The PDF with a label on each page. With ``duplex`` each sheet begins on a front, and the back
    left empty before it has the label "blank"."""
    found = _TRAILER.search(pdf)
    root = _ROOT.search(found[1]) if found else None
    if found is None or root is None:
        raise RuntimeError("the typesetter's file has no trailer of the kind expected")
    number = int(root[1])
    catalog = re.search(rb"\n%d 0 obj\n<<(.*?)>>\nendobj" % number, pdf, re.DOTALL)
    if catalog is None:
        raise RuntimeError("the typesetter's file has no catalog in the clear")
    nums = " ".join(_ranges(sheets, duplex)).encode("ascii")
    body = b"%d 0 obj\n<<%s/PageLabels<</Nums[%s]>>>>\nendobj\n" % (number, catalog[1], nums)
    start = len(pdf) if pdf.endswith(b"\n") else len(pdf) + 1
    table = start + len(body)
    return b"".join(
        (
            pdf if pdf.endswith(b"\n") else pdf + b"\n",
            body,
            b"xref\n%d 1\n%010d 00000 n \n" % (number, start),
            b"trailer\n<<%s/Prev %s>>\nstartxref\n%d\n%%%%EOF" % (found[1], found[2], table),
        )
    )


def _ranges(sheets: Iterable[Leaves], duplex: bool) -> Iterator[str]:
    """From which page, counted from 0, which labels are."""
    at = 0
    for one in sheets:
        if duplex and at % 2:
            yield f"{at} <</P(blank)>>"
            at += 1
        name = _PLAIN.sub("", one.name)
        yield f"{at} <</S/D/P({name}-)>>"
        at += one.pages
