"""Long lists on parts of their own: every row is on one of them, no part reads as the whole, and
who is allergic finds the same formulas as on one page."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from posixpath import normpath

import pytest
from test_words import CATALOGUES, own_words
from translating import texts_of, translator

from generator.measures.marks import written_with
from generator.pages import PAGES, make_pages, parting
from generator.pages.page import Page
from generator.sheet.manual import Manual
from generator.views.uris import ALLERGENS, HOME, REGISTER

NAMES = re.compile("reference/(sources|glossary)")
"""Pages of titles, which keep their language."""
_ROW = re.compile(r"<li[ >].*?</li>|<tr>(?!<th scope=\"col\").*?</tr>")
_LINK = re.compile(r'href="([^"]+)"')
_NAME = re.compile(r"<b>(.*?)</b>|<th scope=\"row\"><a [^>]*>(.*?)</a>")


@pytest.fixture(scope="module")
def whole(demo: Manual) -> dict[str, Page]:
    return {page.uri: page for page in make_pages(demo)}


@pytest.fixture(scope="module")
def parts(demo: Manual) -> Iterator[dict[str, Page]]:
    """The demo's pages as if it were large: no page and no part above 4,000 characters."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parting, "FEWEST_FORMULAS", 1)
        patch.setattr(parting, "MOST_BODY", 4_000)
        patch.setattr(parting, "MOST_PART", 1_500)
        patch.setattr(parting, "_FEWEST_ROWS", 4)
        with written_with(demo.writing):
            made = [page for kind in PAGES for page in kind(demo)]
        yield {part.uri: part for page in made for part in parting.parted(page, len(demo.sheets))}


def of(parts: dict[str, Page], uri: str) -> list[Page]:
    """A page and its parts."""
    stem = uri.removesuffix(".md").removesuffix("/index")
    return [parts[uri], *(p for p in parts.values() if p.part and p.uri.startswith(f"{stem}--"))]


def text(markup: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", "", markup))


def plain_rows(page: Page) -> list[str]:
    return [row for row in _ROW.findall(page.html) if "ks-parts" not in row]


def test_a_small_manual_has_each_list_on_its_page(whole: dict[str, Page]) -> None:
    assert not [page.uri for page in whole.values() if page.part]
    assert not [page.uri for page in whole.values() if re.search("<!--(list|row)", page.html)]


def test_no_row_is_lost_or_twice(whole: dict[str, Page], parts: dict[str, Page]) -> None:
    """Of every page: its rows are those of the page and its parts together."""
    split = 0
    for uri, page in whole.items():
        if uri == HOME or 'ks-formula"' in page.html:
            continue
        both = of(parts, uri)
        split += len(both) - 1
        kept = [
            row
            for one in both
            for row in plain_rows(one)
            if not re.search(r'href="[^"]*--\d+/"', html.unescape(row))
        ]
        assert sorted(kept) == sorted(plain_rows(page)), uri
    assert split > 60


def test_the_numbers_add_up_and_no_part_reads_as_the_whole(parts: dict[str, Page]) -> None:
    for page in parts.values():
        for number, links in re.findall(
            r"(\d+) in \d+ parts:</p>\n<ul class=\"ks-list ks-parts\">\n(.*?)</ul>",
            page.html,
            re.DOTALL,
        ):
            counts = [int(n) for n in re.findall(r'ks-second">(\d+)</span>', links)]
            assert sum(counts) == int(number) and len(counts) >= 1
        if page.part:
            assert "This is not the whole list." in page.html
            said = re.search(r"Part (\d+) of (\d+): (\d+) of (\d+)", page.html)
            assert said and len(plain_rows(page)) == int(said[3]) <= int(said[4])
            assert page.listed is False


def test_every_link_leads_to_a_page(parts: dict[str, Page]) -> None:
    folders = {page.folder.rstrip("/") for page in parts.values()}
    for page in parts.values():
        for to in _LINK.findall(page.html):
            to = html.unescape(to).partition("#")[0]
            at = normpath(f"{page.folder}{to}").strip("./")
            assert at in folders or not to or "://" in to, (page.uri, to)


def test_who_is_allergic_finds_every_formula(demo: Manual, parts: dict[str, Page]) -> None:
    """By another way: from the sheets. With each allergen, and without it; each of them once."""
    both = of(parts, ALLERGENS)
    words = dict.fromkeys(a.word for sheet in demo.sheets.values() for a in sheet.allergens)
    compared = 0
    for word in words:
        for start, has in (("Contains ", True), ("Not in these: ", False)):
            title = f"{start}{word}"
            named = [
                text(next(filter(None, found)))
                for page in both
                if page.part
                and f"<h1 data-search-exclude>{html.escape(title)}" in html.unescape(page.html)
                for row in plain_rows(page)
                for found in _NAME.findall(row)[:1]
            ]
            expected = [
                sheet.name
                for sheet in demo.sheets.values()
                if (word in {a.word for a in sheet.allergens}) is has
            ]
            if named:
                compared += 1
                assert sorted(named) == sorted(expected), title
    assert compared >= 8


def test_the_register_goes_by_station(demo: Manual, parts: dict[str, Page]) -> None:
    """A part of the register has rows of one station alone, and says which."""
    names = set()
    for page in of(parts, REGISTER)[1:]:
        stations = set(re.findall(r'<td class="ks-reg-station">(.*?)</td>', page.html))
        assert len(stations) == 1, page.uri
        (station,) = stations
        assert f"<b>{station}" in page.html
        names.add(text(station))
    assert {station.name for station in demo.house.stations.values()} & names


def test_home_leads_to_a_stations_own_list(demo: Manual, parts: dict[str, Page]) -> None:
    found = re.findall(r'ks-parts"><li><a href="([^"]+)"><b>(\d+) formulas', parts[HOME].html)
    assert found
    for to, number in found:
        station = html.unescape(to).strip("/")
        made = [s for s in demo.sheets.values() if station in s.formula.formula.station]
        assert len(made) == int(number)


@pytest.mark.parametrize("code", CATALOGUES)
def test_every_text_of_a_part_has_words(code: str, demo: Manual, parts: dict[str, Page]) -> None:
    """As on all pages: what is ours can be read in each language."""
    told = translator(CATALOGUES[code], own_words(demo))
    lost = {
        words
        for page in parts.values()
        if (page.part or page.uri in (HOME, ALLERGENS, REGISTER)) and not NAMES.match(page.uri)
        for words in texts_of(page.html)
        if told(words) is None
    }
    assert lost == set()
