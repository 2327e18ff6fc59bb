"""Page labels of a PDF that follow sheet numbers: a reader shows "4-2" for the second page of sheet
4, and goes there when it is typed (ISO 32000-1, 12.4.2). The typesetter knows counters alone."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_PLAIN = re.compile(r"[^A-Za-z0-9 .-]")


@dataclass(frozen=True)
class Leaves:
    """A sheet's pages in a document: what its labels begin with, and how many there are."""

    name: str
    pages: int


def begins(sheets: Sequence[Leaves], duplex: bool = False) -> list[int]:
    """The page each sheet begins on, counted from 1. With ``duplex`` each begins on a front."""
    found, at = [], 1
    for one in sheets:
        at += (at + 1) % 2 if duplex else 0
        found.append(at)
        at += one.pages
    return found


@dataclass(frozen=True)
class Label:
    """What the labels of the pages from ``at``, counted from 0, begin with. If they are ``counted``
    a number follows, from 1."""

    at: int
    words: str
    counted: bool = True


def labels(sheets: Sequence[Leaves], duplex: bool = False) -> Iterator[Label]:
    """The labels of all pages. With ``duplex`` the back left empty before a sheet is "blank"."""
    before = 1
    for one, at in zip(sheets, begins(sheets, duplex), strict=True):
        if at > before:
            yield Label(before - 1, "blank", counted=False)
        yield Label(at - 1, f"{_PLAIN.sub('', one.name)}-")
        before = at + one.pages
