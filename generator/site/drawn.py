"""Pages of ours as the builder takes them: HTML already, so that no Markdown is read. A converter a
page would take a third of a build."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from functools import cached_property
from typing import Any

from generator.pages.escape import escape
from generator.pages.page import Page


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


def as_it_is(page: Any, known: Page | None) -> Any:
    """MkDocs's ``page``; where it is one of ours (``known``), it gives our title and no words of
    its own, without reading or converting anything: ``on_page_content`` gives it the body."""
    if known is None:
        return page

    def read_source(config: Any) -> None:
        page.markdown, page.meta = "", {"title": str(escape(known.title))}

    def render(config: Any, files: Any) -> None:
        page.content, page.toc = "", []

    page.read_source, page.render = read_source, render
    return page
