"""Long lists on pages of their own: a page of a large manual stays small enough for a phone.

A template marks a list that may be long: ``<!--list NAME|-->`` before it, each row on a line or
behind ``<!--row-->``. Where the page is too long, the longest of its marked lists go to parts,
pages beside it, by station where the rows name one, else by name. In their place are links to every
part, with the number of rows in it, so that no part of a list reads as the whole of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from markupsafe import Markup

from generator.pages.escape import render
from generator.pages.page import Body, Page
from generator.views.uris import address, part_uri

MOST_BODY = 100_000
"""How long the body of a page may be before its lists go elsewhere, in characters."""
MOST_PART = 50_000
"""How long the rows of one part may be, in characters."""
FEWEST_FORMULAS = 60
"""A manual of fewer formulas has each of its lists on one page, however long."""
_FEWEST_ROWS = 10

_MARK = re.compile(r"<!--list (?P<name>[^|>]*)\|(?P<at>[^>]*)-->")
_ROW = "<!--row-->"
_TITLE = re.compile(r'<th scope="row"><a [^>]*>(.*?)</a>|<a [^>]*>(?:<b>)?(.*?)</|<b>(.*?)</b>')
_STATION = re.compile(r'<td class="ks-reg-station">(.*?)</td>')
_ROOT = re.compile(r'<div class="([^"]*)">')


@dataclass(frozen=True)
class _Listed:
    """A marked list of a page: from line ``start``, its mark, to line ``end``, behind its last
    row; ``around`` opens and closes the list, ``before`` and ``tail`` are what is on its first and
    last line beside it. ``at`` is a page that has the list whole, if there is one."""

    start: int
    end: int
    name: str
    at: str
    before: str
    around: str
    rows: tuple[str, ...]
    tail: str

    @property
    def size(self) -> int:
        """How long the rows are, in characters."""
        return sum(map(len, self.rows))


@dataclass(frozen=True)
class Part:
    """One part of a list: what it is of, the address from beside it, and its rows."""

    label: Markup
    href: str
    rows: tuple[Markup, ...]


def parted(page: Page, formulas: int) -> Iterator[Page]:
    """A page, and the parts of its lists if it is too long, in a manual of so many ``formulas``.

    The marks of lists are taken out.
    """
    if formulas <= FEWEST_FORMULAS:
        yield replace(page, body=Body.of(_MARK.sub("", page.html.replace(_ROW, ""))))
        return
    if is_plain(page.body):
        yield page
        return
    lines = page.html.replace(_ROW, "\n").split("\n")
    long = _too_long(lines)
    body: list[str] = []
    parts: list[Page] = []
    done = 0
    for one in long:
        body += lines[done : one.start]
        done = one.end
        if one.at:
            shown = render("elsewhere.html", href=Markup(one.at), number=len(one.rows))
            body += [one.before, shown, one.tail]
            continue
        made = _parts(page, one, len(parts))
        parts += made.pages
        body += [one.before, made.links, one.tail]
    body += lines[done:]
    kept = "\n".join(line for line in body if line)
    yield replace(page, body=Body.of(_MARK.sub("", kept)))
    yield from parts


def is_plain(body: Body) -> bool:
    """Whether a body holds no marked list and no line to leave out, and stays as it is."""
    data = body.utf8
    blank = data.startswith(b"\n") or data.endswith(b"\n") or b"\n\n" in data
    return not blank and b"<!--list " not in data and _ROW.encode() not in data


def _too_long(lines: Sequence[str]) -> list[_Listed]:
    """The lists to take from a page, in its order: the longest, until the rest is short enough."""
    size = sum(len(line) + 1 for line in lines)
    taken: list[_Listed] = []
    for one in sorted(_listed(lines), key=lambda one: -one.size):
        if size <= MOST_BODY or len(one.rows) < _FEWEST_ROWS:
            break
        taken.append(one)
        size -= one.size
    return sorted(taken, key=lambda one: one.start)


def _listed(lines: Sequence[str]) -> Iterator[_Listed]:
    """The marked lists of a page, a row a line."""
    for start, line in enumerate(lines):
        mark = _MARK.search(line)
        if mark is None:
            continue
        before, head = line[: mark.start()], line[mark.end() :]
        end = start + 1
        while lines[end].startswith(("<li", "<tr")):
            end += 1
        closed, sign, rest = lines[end].partition("</table>" if "<table" in head else "</ul>")
        around = f"{head}\n{closed}{sign}"
        rows = tuple(lines[start + 1 : end])
        yield _Listed(start, end + 1, mark["name"], mark["at"], before, around, rows, rest)


@dataclass(frozen=True)
class _Made:
    """The parts of one list, as pages, and the links to them."""

    pages: list[Page]
    links: str


def _parts(page: Page, one: _Listed, before: int) -> _Made:
    """The parts of a list; ``before`` are the page's parts before them."""
    slices = list(_slices(one.rows))
    uris = [part_uri(page.uri, before + number) for number in range(1, len(slices) + 1)]
    name = Markup(one.name)
    parts = [
        Part(label, f"../{address(uri).rstrip('/').rpartition('/')[2]}/", tuple(map(Markup, rows)))
        for uri, (label, rows) in zip(uris, slices, strict=True)
    ]
    opens, _, closes = one.around.partition("\n")
    root = _ROOT.match(page.html)
    about = {
        "name": name,
        "parts": parts,
        "number": len(one.rows),
        "back": f"../{address(page.uri).rstrip('/').rpartition('/')[2]}/",
        "whole": page.title,
        "opens": Markup(opens),
        "closes": Markup(closes),
        "root": Markup(root[1] if root else "ks"),
    }
    made = [
        Page(
            uri,
            f"{page.title}: {name.unescape()}, {at} / {len(parts)}",
            Body.of(render("part.html", at=at, **about)),
            page.section,
            page.edit,
            listed=False,
            part=True,
        )
        for at, uri in enumerate(uris, 1)
    ]
    return _Made(made, render("parts.html", **about))


def _slices(rows: Iterable[str]) -> Iterator[tuple[Markup, tuple[str, ...]]]:
    """The rows in parts, each short enough, with what is in it: a station, or the first name and
    the last."""
    rows = list(rows)
    if not all(_STATION.search(row) for row in rows):
        rows.sort(key=lambda row: _name(row).casefold())
        for some in _short_enough(rows):
            yield _from_to(some), some
        return
    rows.sort(key=_station)
    for station, own in groupby(rows, _station):
        slices = list(_short_enough(list(own)))
        for number, some in enumerate(slices, 1):
            more = f" ({number}/{len(slices)})" if len(slices) > 1 else ""
            yield Markup(f"<b>{station}{more}</b>"), some


def _short_enough(rows: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The rows in parts of about one length, none above MOST_PART unless one row is."""
    number = -(-sum(map(len, rows)) // MOST_PART)
    step = max(1, -(-len(rows) // number))
    return (tuple(rows[at : at + step]) for at in range(0, len(rows), step))


def _from_to(rows: Sequence[str]) -> Markup:
    first, last = (Markup(f"<b>{_name(row)}</b>") for row in (rows[0], rows[-1]))
    return first if first == last else first + " – " + last


def _name(row: str) -> str:
    """What a row is of, as HTML."""
    found = _TITLE.search(row)
    return (found[1] or found[2] or found[3] or "") if found else ""


def _station(row: str) -> str:
    found = _STATION.search(row)
    return found[1] if found else ""
