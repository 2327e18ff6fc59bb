"""A page: where it goes, its title, its Markdown text, and where "edit" leads."""

from __future__ import annotations

import json
import pickle
import re
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from generator.files.kept import NOTHING, hash_of
from generator.pages.escape import escape, render
from generator.sheet.keeping import Keeping
from generator.views.limit_view import Chip
from generator.views.uris import address

_IDS = re.compile(r'\sid="([^"]+)"')


def _chip(chip: Chip) -> str:
    """A chip's figure, with its other scale for the page's key, and its words."""
    other = f' data-alt="{escape(chip.other)}"' if chip.other else ""
    return f"<b{other}>{escape(chip.figure)}</b> {escape(chip.words)}"


@dataclass(frozen=True)
class Heading:
    """A heading of a page for its list of contents: ``chips`` are limits shown beside it, ``also``
    other figures that it is found by."""

    id: str
    title: str
    number: str = ""
    chips: tuple[Chip, ...] = ()
    also: tuple[str, ...] = ()

    @property
    def html(self) -> str:
        """The line as HTML, for a builder that prints it raw."""
        chips = "".join(f' <span class="ks-chip">{_chip(chip)}</span>' for chip in self.chips)
        number = f'<span class="ks-toc-no">{escape(self.number)}</span> '
        return f"{number}<span>{escape(self.title)}{chips}</span>"


LISTED = Heading("", "", "", (Chip("", ""),)).html
"""A line of the list of contents with all it may hold: a page is drawn with that, too."""


@dataclass(frozen=True)
class Body:
    """A page's HTML, one block, as UTF-8: a text of Python's with one sign beyond Latin-1 in it
    takes two bytes for each sign, and a large manual has thousands of pages at once."""

    utf8: bytes

    @classmethod
    def of(cls, html: str) -> Body:
        """The body of this HTML."""
        return cls(html.encode())

    @property
    def html(self) -> str:
        """As a text."""
        return self.utf8.decode()

    @cached_property
    def digest(self) -> str:
        """What tells it from any other."""
        return hash_of(self.utf8)


@dataclass(frozen=True)
class Page:
    """One generated page.

    ``title`` and ``headings`` are plain text: whoever prints them escapes them. ``edit`` is the
    YAML file behind the page. ``listed`` says whether the navigation names it; what is reached from
    an index needn't be. ``part`` is true of a part of another page's lists: no search leads there.
    """

    uri: str
    title: str
    body: Body
    section: str
    edit: str | None = None
    headings: tuple[Heading, ...] = ()
    listed: bool = True
    part: bool = False

    @property
    def html(self) -> str:
        """Its body as a text."""
        return self.body.html

    @property
    def folder(self) -> str:
        """The folder of the site it becomes."""
        return address(self.uri)

    @property
    def ids(self) -> set[str]:
        """What a link may point to on the page."""
        return set(_IDS.findall(self.html))

    @property
    def text(self) -> str:
        """The page as Markdown: front matter and the body as one raw HTML block."""
        front = "---\ntitle: " + json.dumps(str(escape(self.title)), ensure_ascii=False) + "\n---\n"
        return f"{front}\n{self.html}\n"

    @property
    def kept(self) -> bytes:
        """The page as bytes, for :func:`page_kept`."""
        headings = [
            [h.id, h.title, h.number, [[c.figure, c.words, c.other] for c in h.chips], h.also]
            for h in self.headings
        ]
        rest = [self.uri, self.title, self.section, self.edit, headings, self.listed, self.part]
        head = json.dumps(rest).encode()
        return head + b"\n" + self.body.utf8


def page_kept(data: bytes) -> Page:
    """The page of its bytes (``Page.kept``). Raises ValueError for others."""
    head, _, html = data.partition(b"\n")
    try:
        uri, title, section, edit, headings, listed, part = json.loads(head)
        found = tuple(
            Heading(ident, name, number, tuple(Chip(*chip) for chip in chips), tuple(also))
            for ident, name, number, chips, also in headings
        )
    except TypeError as error:
        raise ValueError(str(error)) from None
    html.decode()  # a ValueError for what is no text
    return Page(uri, title, Body(html), section, edit, found, listed, part)


def make_page(
    uri: str,
    title: str,
    section: str,
    template: str,
    *,
    edit: str | None = None,
    headings: tuple[Heading, ...] = (),
    listed: bool = True,
    keeping: Keeping | None = None,
    **values: Any,
) -> Page:
    """A page from a template. ``values`` are what the template shows; with ``keeping`` a page of
    the same values, in the same kitchen, is drawn once."""

    def drawn() -> bytes:
        return render(template, title=title, **values).encode()

    kept = keeping.kept if keeping is not None else NOTHING
    key = _key_of_values(keeping, template, title, values) if keeping and kept.keeps else ""
    body = kept.of(key, drawn, bytes, bytes)
    return Page(uri, title, Body(body), section, edit, headings, listed)


def _key_of_values(keeping: Keeping, template: str, *shown: Any) -> str:
    """The key of a body by all that its template shows; empty where that can't be written down.
    What is written alike is alike: texts that are shared otherwise give another key, no more."""
    try:
        data = pickle.dumps(shown, pickle.HIGHEST_PROTOCOL)
    except (pickle.PickleError, AttributeError, TypeError, RecursionError):
        return ""
    return keeping.key_of_all("body", template, hash_of(data))
