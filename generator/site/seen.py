"""What each formula says, as a file beside its page: a phone keeps the one it read, and shows what
differs when the page has changed. Nothing is sent."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import partial

from generator.files.kept import NOTHING, Kept
from generator.measures.marks import written_with
from generator.measures.words import date
from generator.pages.changed import address_of
from generator.pages.escape import escape
from generator.pages.page import Body, Page
from generator.pages.parting import FEWEST_FORMULAS
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.facts import Facts
from generator.views.sheet_facts import facts_in

_ORDER = ("limits", "dates", "allergens", "vessel", "batch", "steps", "formula", "control")
_STAMP = 10


def seen_files(manual: Manual) -> dict[str, tuple[str, bytes]]:
    """For each formula's address (``stove/stock/``) its file of facts: where it is asked for, with
    the beginning of its SHA-256, and what is in it. In a large manual, a list of them all too."""
    with written_with(manual.writing):
        made = date(manual.as_of)
    found = {address_of(s): seen_file(manual, s, made) for s in manual.sheets.values()}
    rows = [[at, found[at][0], s.name] for s in manual.sheets.values() if (at := address_of(s))]
    data = f"ksFactsAll={json.dumps(rows)}\n".encode()
    if len(rows) > FEWEST_FORMULAS:
        found[_ALL] = (f"assets/facts.js?{hashlib.sha256(data).hexdigest()[:_STAMP]}", data)
    return found


def seen_file(manual: Manual, sheet: Sheet, made: str) -> tuple[str, bytes]:
    """A formula's file of facts of the day ``made``: where it is asked for, and what is in it."""
    at = address_of(sheet)
    rows = manual.keeping.part(sheet, "facts", partial(_of, manual, sheet))
    stamp = hashlib.sha256(json.dumps(rows).encode()).hexdigest()[:_STAMP]
    record = {"revision": sheet.formula.formula.revision, "day": made, "rows": rows}
    text = f"(self.ksFacts||={{}})[{json.dumps(at)}]={json.dumps(record)}\n"
    return f"assets/facts/{at.strip('/').replace('/', '.')}.js?{stamp}", text.encode()


def _of(manual: Manual, sheet: Sheet) -> list[list[str]]:
    return _rows(facts_in(manual, sheet))


def _rows(facts: Facts) -> list[list[str]]:
    """The facts in the order they are shown, limits first: group, size, name, words."""
    rows = [[group, size, name, words] for (group, size, name), words in facts.items()]
    return sorted(rows, key=lambda row: _ORDER.index(row[0]))


def with_seen(
    pages: list[Page], files: Mapping[str, tuple[str, bytes]], kept: Kept = NOTHING
) -> list[Page]:
    """The pages, each place that names a formula's address naming its file of facts too; each in
    its place in the list, not to have them twice."""
    marks = {
        str(escape(at)).encode(): f' data-facts="{escape(path)}"'.encode()
        for at, (path, _) in files.items()
    }
    news = _NEWS
    if _ALL in files:
        news += f' data-all="{escape(files[_ALL][0])}"'.encode()
    for at, page in enumerate(pages):
        pages[at] = _with_seen(page, marks, news, kept)
    return pages


_ALL = "all"
"""The list of them all, for the page of what changed where its own list may be in parts; no
formula's address is so."""
_NEWS = b'class="ks-news-all"'
_AT = re.compile(rb'data-at="([^"]*)"')


def _with_seen(page: Page, marks: Mapping[bytes, bytes], news: bytes, kept: Kept) -> Page:
    """A page, and the same one where it is the last build's and names what it named there."""
    body = page.body
    found = kept.remembered(("places", body.digest), lambda: tuple(_AT.findall(body.utf8)))
    has_news = kept.remembered(("news", body.digest), lambda: _NEWS in body.utf8)
    mine = tuple(marks.get(at, b"") for at in found)
    if not any(mine) and not has_news:
        return page
    about = ("seen", page, mine, news if has_news else b"")
    return kept.remembered(about, lambda: replace(page, body=Body(_marked(body.utf8, mine, news))))


def _marked(html: bytes, marks: Iterable[bytes], news: bytes) -> bytes:
    """A page's body, with the file of facts behind each address that has one."""
    first, *others = _AT.split(html)
    parts = zip(others[::2], marks, others[1::2], strict=True)
    found = [first, *(b'data-at="%b"%b%b' % part for part in parts)]
    return b"".join(found).replace(_NEWS, news)
