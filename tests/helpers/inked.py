"""Where things stand on a printed page, read with pdfium: a page takes a hundredth of the time that
one taken apart letter by letter in Python takes."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pypdfium2
from pypdfium2 import raw

MM = 72 / 25.4


@dataclass(frozen=True)
class Box:
    """A letter or a drawn path: its edges in millimetres from the page's left and top."""

    left: float
    top: float
    right: float
    bottom: float
    text: str = ""
    size: float = 0
    """Of its type, in points."""
    upright: bool = True


def letters(page: Any) -> list[Box]:
    """Every letter, each as wide as it advances and as high as its font."""
    text = page.get_textpage()
    height = page.get_height()
    matrix = raw.FS_MATRIX()
    found = []
    for index in range(text.count_chars()):
        left, bottom, right, top = text.get_charbox(index, loose=True)
        raw.FPDFText_GetMatrix(text, index, matrix)
        size = raw.FPDFText_GetFontSize(text, index)
        sign = chr(raw.FPDFText_GetUnicode(text, index))
        edges = (left / MM, (height - top) / MM, right / MM, (height - bottom) / MM)
        found.append(Box(*edges, sign, size, matrix.a > 0.5))
    return found


def paths(page: Any) -> list[Box]:
    """Every line and every other drawn path, by the points it goes through; a picture, and what is
    drawn as one, is one too."""
    height = page.get_height()
    found = []
    for thing in page.get_objects(max_depth=1):
        if thing.type == raw.FPDF_PAGEOBJ_TEXT:
            continue
        if thing.type == raw.FPDF_PAGEOBJ_PATH:
            xs, ys = zip(*_points(thing), strict=True)
        else:
            left, bottom, right, top = thing.get_bounds()
            xs, ys = (left, right), (bottom, top)
        edges = (min(xs) / MM, (height - max(ys)) / MM, max(xs) / MM, (height - min(ys)) / MM)
        found.append(Box(*edges))
    return found


def _points(path: Any) -> Iterator[tuple[float, float]]:
    matrix: pypdfium2.PdfMatrix = path.get_matrix()
    x, y = ctypes.c_float(), ctypes.c_float()
    for index in range(raw.FPDFPath_CountSegments(path)):
        segment = raw.FPDFPath_GetPathSegment(path, index)
        assert raw.FPDFPathSegment_GetPoint(segment, x, y)
        yield matrix.on_point(x.value, y.value)


def words(boxes: list[Box], by_size: bool = False) -> list[Box]:
    """The words that letters make, parted by blanks and by line ends, which are none of them; where
    asked, by another size of type, too."""
    found: list[list[Box]] = [[]]
    for box in boxes:
        last = found[-1]
        if last and (not box.text.strip() or (by_size and round(box.size) != round(last[-1].size))):
            found.append([])
        if box.text.strip():
            found[-1].append(box)
    return [
        Box(
            min(b.left for b in word),
            min(b.top for b in word),
            max(b.right for b in word),
            max(b.bottom for b in word),
            "".join(b.text for b in word),
            word[0].size,
            all(b.upright for b in word),
        )
        for word in found
        if word
    ]
