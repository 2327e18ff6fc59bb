"""What the builder doesn't have to convert: pages of ours, which are HTML already, and pages
written by hand that are as they were when they were converted before."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from generator.files.kept import Kept, hash_of
from generator.pages.escape import escape
from generator.pages.page import Page
from generator.site.layouts import settings_of
from generator.site.served import Served, ours_alone


class Anchors(AbstractSet[str]):
    """What a link may point to on a page, looked for when a link points to it."""

    def __init__(self, page: Page) -> None:
        self._page = page

    @cached_property
    def _ids(self) -> set[str]:
        return self._page.ids

    def __contains__(self, anchor: object) -> bool:
        return anchor in self._ids

    def __iter__(self) -> Iterator[str]:
        return iter(self._ids)

    def __len__(self) -> int:
        return len(self._ids)


PURE = frozenset(
    (
        "toc",
        "tables",
        "fenced_code",
        "abbr",
        "admonition",
        "attr_list",
        "def_list",
        "footnotes",
        "md_in_html",
        "nl2br",
        "sane_lists",
        "smarty",
    )
)
"""Extensions of Python-Markdown that make HTML of a page's text and their settings alone."""


@dataclass(frozen=True)
class Line:
    """A line of "On this page" as a template asks for it."""

    title: str
    id: str
    level: int
    children: tuple[Line, ...]

    @property
    def url(self) -> str:
        """Where it leads."""
        return f"#{self.id}"


def filled(page: Any, known: Page) -> None:
    """The builder's ``page`` gets the list of contents of one of ours, and knows its body."""
    page.present_anchor_ids = Anchors(known)
    page.toc = [Line(h.html, h.id, 2, ()) for h in known.headings]
    page.body = known.body


def text_of(page: Page) -> Any:
    """A page's text, made when the builder asks for it; as a rule it never does."""
    return _AsAsked(page)


class _AsAsked:
    """Stands for a text or bytes: MkDocs asks either to be the other."""

    def __init__(self, page: Page) -> None:
        self._page = page

    def encode(self, *how: str, **named: str) -> bytes:
        """As UTF-8."""
        return self._page.text.encode()

    def decode(self, *how: str, **named: str) -> str:
        """As a text."""
        return self._page.text


class _Heard(logging.Handler):
    """Whether the builder had anything to say."""

    said = False

    def emit(self, record: logging.LogRecord) -> None:
        self.said = True


class ByHand:
    """Pages written by hand, each converted once for the same text, settings and files to link to.
    What the builder said of a page, as of a link that leads nowhere, it has to say again."""

    def __init__(self, kept: Kept, config: Any, files: Iterable[Any]) -> None:
        self._kept = kept
        self._files = {file.src_uri: file for file in files}
        found = sorted(self._files.items())
        uris = (f"{uri}={file.url}={file.inclusion}" for uri, file in found)
        self._base = hash_of("by hand", settings_of(config), *uris)

    def converted_once(self, page: Any) -> None:
        """Have MkDocs's ``page`` take its HTML from what is kept, or keep it."""
        true = page.render

        def render(config: Any, files: Any) -> None:
            key = hash_of(self._base, page.file.src_uri, page.markdown)
            heard = _Heard()

            def made() -> dict[str, Any]:
                log = logging.getLogger("mkdocs")
                log.addHandler(heard)
                try:
                    true(config, files)
                finally:
                    log.removeHandler(heard)
                return {} if heard.said else self._said(page)

            said = self._kept.of(key, made, _written, _read)
            if said:
                self._put(page, said)
            elif not heard.said:
                true(config, files)  # what was said of it is said again

        page.render = render

    def _said(self, page: Any) -> dict[str, Any]:
        """What a converted page holds, as JSON takes it."""
        links = page.links_to_anchors
        return {
            "content": page.content,
            "toc": [_line(one) for one in page.toc],
            "title": page._title_from_render,
            "ids": sorted(page.present_anchor_ids),
            "links": links and {file.src_uri: found for file, found in links.items()},
        }

    def _put(self, page: Any, said: dict[str, Any]) -> None:
        page.content = said["content"]
        page.toc = [_line_of(one) for one in said["toc"]]
        page._title_from_render = said["title"]
        page.present_anchor_ids = set(said["ids"])
        links = said["links"]
        page.links_to_anchors = links and {self._files[uri]: at for uri, at in links.items()}


def _line(one: Any) -> list[Any]:
    return [one.title, one.id, one.level, [_line(inner) for inner in one.children]]


def _line_of(said: list[Any]) -> Line:
    title, ident, level, children = said
    return Line(title, ident, level, tuple(map(_line_of, children)))


def _written(said: dict[str, Any]) -> bytes:
    return json.dumps(said).encode()


def _read(data: bytes) -> dict[str, Any]:
    said = json.loads(data)
    if not isinstance(said, dict):
        raise ValueError("no converted page")
    return said


class Drawn:
    """How the pages of one build get their HTML: ``pages`` are ours, by their address. Unless
    ``at_once`` each has it while it is laid out alone: thousands take much room."""

    def __init__(self, pages: Mapping[str, Page], kept: Kept, at_once: bool) -> None:
        self._pages, self._kept, self._at_once = pages, kept, at_once
        self._by_hand: ByHand | None = None

    def content(self, page: Any, known: Page) -> str:
        """What MkDocs's ``page`` holds of ours before it is laid out."""
        filled(page, known)
        return known.html if self._at_once else ""

    def begins(self, page: Any) -> None:
        """A page is about to be laid out."""
        if not self._at_once and page.file.src_uri in self._pages:
            page.content = page.body.html

    def ended(self, page: Any) -> None:
        """It is."""
        if not self._at_once and page.file.src_uri in self._pages:
            page.content = ""

    def taken(self, page: Any, config: Any, files: Iterable[Any]) -> Any:
        """MkDocs's ``page``, before it is read."""
        known = self._pages.get(page.file.src_uri)
        if known is not None:
            _as_it_is(page, known)
        elif (
            self._kept.keeps and ours_alone(config) and PURE.issuperset(config.markdown_extensions)
        ):
            self._by_hand = self._by_hand or ByHand(self._kept, config, files)
            self._by_hand.converted_once(page)
        return page


class LaysOneByOne:
    """Events of the builder round each page it lays out."""

    drawn: Drawn
    served: Served
    serving: bool

    def on_page_context(self, context: Any, *, page: Any, config: Any, nav: Any) -> Any:
        """A page is about to be laid out."""
        self.drawn.begins(page)
        return context

    def on_post_page(self, output: str, *, page: Any, config: Any) -> str:
        """It is, as ``output``."""
        self.drawn.ended(page)
        return self.served.reloading.saw(page.url, output) if self.serving else output


def _as_it_is(page: Any, known: Page) -> None:
    """Have MkDocs's ``page`` give the title of ours and no words of its own, without reading or
    converting anything: ``on_page_content`` gives it the body. A converter a page would take a
    third of a build."""

    def read_source(config: Any) -> None:
        page.markdown, page.meta = "", {"title": str(escape(known.title))}

    def render(config: Any, files: Any) -> None:
        page.content, page.toc = "", []

    page.read_source, page.render = read_source, render
