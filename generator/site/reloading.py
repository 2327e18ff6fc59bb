"""Which open pages ``serve`` has the browser load again: those whose own words changed.

MkDocs asks every open page to load again after each build: a cook reading another formula would
lose the place for nothing. A page's words are compared without the stamps of the files round it,
which change with every word of the search. What can't be told of a page is left to MkDocs.
"""

from __future__ import annotations

import hashlib
import re
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any
from urllib.parse import unquote, urlsplit

_App = Callable[[dict[str, Any], Any], Iterable[bytes]]
_ASKED = re.compile(r"/livereload/([0-9]+)/([0-9]+)")
_STAMP = re.compile(r'\?[0-9a-f]{10}\b|\n?<p class="ks-paper"[^>]*><b></b> <span></span></p>')
"""What changes with other pages, or what nobody sees: stamps, and the hashes of the sheets of paper
that a page knows."""
_LONGEST_S = 60
"""How long an open page is kept waiting, as MkDocs does; then it asks again."""


class Reloading:
    """What each page said at the last build, and at which build it said something new.

    A build is known by the number MkDocs gives it (``_wanted_epoch``, in milliseconds); an open
    page asks whether there is one newer than its own.
    """

    def __init__(self) -> None:
        self._said: dict[str, bytes] = {}
        self._now: dict[str, bytes] = {}
        self._changed: dict[str, int] = {}
        self._first: dict[str, int] = {}
        self._server: Any = None

    def saw(self, url: str, html: str) -> str:
        """A page of the build under way: its address in the site, and its HTML, given back."""
        self._now[url] = _said(html)
        return html

    def first(self, url: str, html: str) -> None:
        """A page is written while the rest is still built: open pages that were loaded before now
        are loaded again at once."""
        self._said[url] = _said(html)
        with self._server._epoch_cond:
            self._first[url] = _now()
            self._server._epoch_cond.notify_all()

    def left(self, pages: Iterable[Any]) -> Iterator[str]:
        """The sources of those of some ``pages`` that were built before, and say now what they said
        then."""
        for page in pages:
            said = self._said.get(page.url)
            if said is not None:
                self._now[page.url] = said
                yield page.file.src_uri

    @property
    def answers(self) -> bool:
        """Whether open pages are answered here."""
        return self._server is not None

    def built(self, whole: bool) -> None:
        """The build is written. Pages that are new or say something else have changed, and those
        that are gone; where the manual isn't ``whole``, as no kitchen could be read, what an open
        page shows is better than nothing, and it stays."""
        epoch = getattr(self._server, "_wanted_epoch", 0)
        gone = self._said.keys() - self._now.keys() if whole else set()
        new = [url for url, said in self._now.items() if self._said.get(url) != said]
        self._changed.update(dict.fromkeys([*new, *gone], epoch))
        self._said = self._now if whole else {**self._said, **self._now}
        self._now = {}

    def answering(self, server: Any) -> _App:
        """The application of MkDocs's live-reload ``server``, with the question of an open page
        answered for that page alone."""
        app: _App = server.get_app()
        known = ("_wanted_epoch", "_visible_epoch", "_epoch_cond", "mount_path")
        if not all(hasattr(server, name) for name in known):
            return app  # another version: every page is loaded again
        self._server = server

        def answer(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
            asked = _ASKED.fullmatch(environ.get("PATH_INFO", ""))
            url = self._page(environ.get("HTTP_REFERER", ""))
            if asked is None or url is None:
                return app(environ, start_response)
            newest = self._waited(url, int(asked[1]), int(asked[2]))
            start_response("200 OK", [("Content-Type", "text/plain")])
            return [b"%d" % newest]

        return answer

    def _page(self, referer: str) -> str | None:
        """The page a question comes from, by its address in the site; None for one that no build
        wrote."""
        path, mount = unquote(urlsplit(referer).path), self._server.mount_path
        if not path.startswith(mount):
            return None
        url = path[len(mount) :].removesuffix("index.html")
        return url if url in self._said or url in self._changed else None

    def _waited(self, url: str, epoch: int, loaded: int) -> int:
        """The build at which a page changed since the one of ``epoch``, as soon as it can be seen;
        one more than ``epoch`` where it was written alone since it was ``loaded``; ``epoch``
        itself where it didn't change for a minute."""
        server = self._server
        seen: threading.Condition = server._epoch_cond

        def newer() -> int:
            if server._visible_epoch > epoch and self._changed.get(url, 0) > epoch:
                return int(server._visible_epoch)
            return epoch + 1 if self._first.get(url, 0) > loaded else 0

        with seen:
            return seen.wait_for(newer, _LONGEST_S) or epoch


def _said(html: str) -> bytes:
    """What a page says, as a hash."""
    return hashlib.sha256(_STAMP.sub("", html).encode("utf-8", "replace")).digest()


def _now() -> int:
    """The time as the builder writes it into a page that it serves."""
    return round(time.monotonic() * 1000)
