"""The search: small, without figures, forgiving of a letter or two, usable by keys alone."""

from __future__ import annotations

import html
import json
import logging
import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from browsing import Server, served, settled, tab
from conftest import compute, edit

from generator.framing.searching import search_rows, written_entries
from generator.pages import make_pages
from generator.sheet.manual import Manual
from generator.site.settings import weight_of
from generator.views.uris import address


@pytest.fixture(scope="module")
def page(browser: Any, demo_site: Path) -> Iterator[Any]:
    """The home page with its search open."""
    with served(demo_site, still=True) as server, tab(browser) as opened:
        opened.goto(server.address)
        opened.locator("#ks-find").click()
        opened.wait_for_selector(".ks-search[open]")
        yield opened


def found(page: Any, typed: str) -> list[tuple[str, str]]:
    """The names and addresses found for what is typed."""
    page.locator(".ks-search input").fill(typed)
    settled(page)
    hits = page.evaluate(
        "[...document.querySelectorAll('#ks-hits a')].map(a => [a.firstChild.textContent, "
        "a.pathname + a.hash])"
    )
    return [(str(name), str(at)) for name, at in hits]


def rows(manual: Manual) -> list[list[Any]]:
    return search_rows(manual, make_pages(manual), ())


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("tureky", "turkey"),
        ("wieght", "weight"),
        ("precent", "percent"),
        ("turky", "turkey"),
        ("turkye", "turkey"),
        ("allergn", "allergen"),
        ("slicre", "slicer"),
        ("corriander", "coriander"),
        ("chikpea", "chickpea"),
    ],
)
def test_a_letter_or_two_wrong_finds_the_same(page: Any, wrong: str, right: str) -> None:
    expected = found(page, right)
    assert expected, right
    assert found(page, wrong) == expected


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("chives", "Turkey roll with chives and mustard"),
        ("contains milk", "contains milk"),
        ("chilled", "chilled"),
        ("garbanzo", "Chickpea"),
        ("slicer", "Slicer"),
        ("shell egg", "Egg, whole, fresh"),
        ("hearth bread", "Hearth bread"),
        ("variance", "Variance"),
        ("cilantro", "Coriander leaf"),
        ("sandwich roll", "Turkey roll with chives and mustard"),
        ("poach", "Turkey roll with chives and mustard"),
        ("split weighings", "How lines go on scales"),
        ("walk-in", "Walk-in"),
        ("TURK", "Brown turkey stock"),
        ("mustard turkey", "Turkey roll with chives and mustard"),
    ],
)
def test_what_is_typed_is_found(page: Any, typed: str, name: str) -> None:
    assert any(name.lower() in hit.lower() for hit, _ in found(page, typed)), found(page, typed)


@pytest.mark.parametrize("typed", ["allergen", "chill", "date", "probe", "reheat", "thaw"])
def test_what_check_may_find_comes_after_what_the_kitchen_has(page: Any, typed: str) -> None:
    """A cook who types what she works with gets food, equipment and pages before messages."""
    where = [at for _, at in found(page, typed)]
    messages = [n for n, at in enumerate(where) if "/guide/look-up/findings/" in at]
    others = [n for n in range(len(where)) if n not in messages]
    assert len(others) >= 5, where
    assert not messages or max(others) < min(messages), where


def test_a_finding_is_found_by_its_code(page: Any) -> None:
    """Only a whole name goes before the order of ranks."""
    name, at = found(page, "target-below-limit")[0]
    assert name == "target-below-limit"
    assert at.endswith("/guide/look-up/findings/#target-below-limit")


def test_every_hit_leads_to_a_place_that_is_there(page: Any, demo_site: Path) -> None:
    index = [
        row
        for path in (demo_site / "assets/find").glob("r*.js")
        for row in json.loads(path.read_text(encoding="utf-8").partition("=")[2])[0]
    ]
    assert len(index) > 150
    texts: dict[str, str] = {}
    for row in index:
        at, _, anchor = row[2].partition("#")
        file = demo_site / at / "index.html"
        text = texts.setdefault(at, html.unescape(file.read_text(encoding="utf-8")))
        assert not anchor or f'id="{anchor}"' in text, row


def test_a_figure_is_found_by_its_limit_with_all_its_words(demo: Manual) -> None:
    """A weight or a time isn't in the index; a limit is, whole, as its page shows it."""
    index = rows(demo)
    at = {address(page.uri): page.headings for page in make_pages(demo)}
    for row in index:
        if row[1] == "Step":
            headings = {f"#{h.id}": h for h in at[index[row[5][0]][2]]}
            shown = [f"{c.figure} {c.words}".strip() for c in headings[row[2]].chips]
            chips = list(dict.fromkeys(shown))
            assert row[0].removeprefix(headings[row[2]].title).lstrip(": ") == ", ".join(chips)
        else:
            words = row[4] if len(row) > 4 else ""
            assert not re.search(r"\d", words), row
            assert "°" not in "".join(str(part) for part in row[:5]), row
    limits = [limit for sheet in demo.sheets.values() for limit in sheet.walk.limits]
    assert sum(row[1] == "Step" and ":" in row[0] for row in index) > len(limits) / 2 > 20


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("fridge", "Walk-in"),
        ("defrost", "Thaw"),
        ("too warm", "Chill"),
        ("how long chill", "Chill"),
        ("how long does it keep", "Store and label"),
        ("who is allergic", "Allergens"),
        ("is it done", "core"),
        ("165", "76"),
        ("poach 75", "Poach"),
    ],
)
def test_a_cooks_own_words_find_what_she_looks_for(page: Any, typed: str, name: str) -> None:
    """Among the first ten, before any page of the guide."""
    hits = found(page, typed)[:10]
    assert any(name.lower() in hit.lower() for hit, _ in hits), hits


@pytest.mark.parametrize("typed", ["chill", "75", "probe", "turkey", "label"])
def test_the_guide_comes_last_and_apart(page: Any, typed: str) -> None:
    where = [at for _, at in found(page, typed)]
    guide = [n for n, at in enumerate(where) if "/guide/" in at]
    assert guide == list(range(len(where) - len(guide), len(where)))
    inside = page.locator('.ks-search [role="group"][aria-label="In the guide"] a').count()
    assert inside == len(guide)


def test_something_useful_stands_there_before_anything_is_typed(
    browser: Any, server: Server
) -> None:
    with tab(browser) as opened:
        for place in ("stove/barley-soup/", "cold-kitchen/green-dressing/"):
            opened.goto(server.address + place)
        opened.locator("#ks-find").click()
        opened.wait_for_selector(".ks-search[open]")
        settled(opened)
        groups = opened.evaluate(
            "[...document.querySelectorAll('#ks-hits [role=group]')].map(g => [g.ariaLabel, "
            "[...g.querySelectorAll('a')].map(a => a.firstChild.textContent)])"
        )
    names = dict(groups)
    assert names["Opened last"] == ["Green dressing", "Chicken and barley soup"]
    assert "Stove" in names["Stations"]


def test_an_ingredient_leads_to_its_formulas_by_every_name(kitchen: Path) -> None:
    edit(kitchen, "ingredients/all.yaml", "name: Cooked rice", "name: Coriander leaf")
    index = rows(compute(kitchen))
    number = next(
        n for n, row in enumerate(index) if row[0] == "Coriander leaf" and row[1] == "Ingredient"
    )
    assert "cilantro" in index[number][3]
    formulas = [row for row in index if row[1].startswith("Formula") and number in row[-1]]
    assert formulas, "a formula with it points to it"


def test_a_page_by_hand_is_found_by_its_headings_and_words() -> None:
    body = (
        '<h1 id="a">Guests</h1><p>Ask about nuts &amp; shellfish, 45 times.</p><h2 '
        'id="b">After &lt;9&gt;</h2><pre>hidden</pre>'
    )
    entries = written_entries("guests/", "Guests", body)
    assert [(e.title, e.at) for e in entries] == [("Guests", "guests/"), ("After <9>", "guests/#b")]
    assert entries[0].words == ("ask", "nuts", "shellfish", "times")
    assert "hidden" not in entries[1].words


def test_a_page_by_hand_says_how_late_it_comes() -> None:
    body = '<h1 id="a">Guests</h1><h2 id="b">After</h2>'
    rows = [entry.row() for entry in written_entries("guests/", "Guests", body, 0.1)]
    assert [row[-1] for row in rows] == [0.1, 0.1] and {len(row) for row in rows} == {7}
    usual = [entry.row() for entry in written_entries("guests/", "Guests", body)]
    assert {len(row) for row in usual} == {3}


@pytest.mark.parametrize(
    ("front", "weight", "warned"),
    [
        ({}, 1, False),
        ({"search": {"boost": 0.1}}, 0.1, False),
        ({"search": {"exclude": True}}, 1, False),
        ({"search": True}, 1, False),
        ({"search": {"boost": "high"}}, 1, True),
        ({"search": {"boost": 0}}, 1, True),
        ({"search": {"boost": -2}}, 1, True),
        ({"search": {"boost": True}}, 1, True),
        ({"search": {"boost": float("nan")}}, 1, True),
        ({"search": {"boost": float("inf")}}, 1, True),
    ],
)
def test_the_weight_a_page_asks_for(
    front: dict[str, Any], weight: float, warned: bool, caplog: pytest.LogCaptureFixture
) -> None:
    page = SimpleNamespace(meta=front, file=SimpleNamespace(src_uri="guests.md"))
    assert weight_of(page, logging.getLogger("weights")) == weight
    assert ("guests.md: search: boost:" in caplog.text) == warned


def test_by_keys_alone_and_nothing_is_fetched_until_it_is_asked_for(
    browser: Any, server: Server
) -> None:
    with tab(browser) as page:
        server.asked.clear()
        page.goto(server.address + "about/")
        page.wait_for_timeout(400)
        wanted = ("minisearch", "index.js", "find.js")
        assert not [a for a in server.asked if any(w in a for w in wanted)]
        page.locator("#ks-find").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector(".ks-search[open]")
        assert all(any(w in a for a in server.asked) for w in wanted)
        page.keyboard.type("turkey")
        settled(page)
        box = page.get_by_role("combobox", name="Search")
        assert box.get_attribute("aria-expanded") == "true"
        hits = page.locator(".ks-search").get_by_role("option")
        assert hits.count() > 3
        assert hits.nth(0).get_attribute("aria-selected") == "true"
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowUp")
        assert hits.nth(1).get_attribute("aria-selected") == "true"
        assert hits.nth(0).get_attribute("aria-selected") == "false"
        assert box.get_attribute("aria-activedescendant") == hits.nth(1).get_attribute("id")
        assert page.get_by_role("status").filter(has_text="found").count() == 1
        target = hits.nth(2).evaluate("a => a.href")
        page.keyboard.press("Escape")
        assert not page.locator(".ks-search").is_visible()
        assert page.evaluate("document.activeElement.id") == "ks-find", "back where one was"
        page.keyboard.press("Enter")
        page.wait_for_selector(".ks-search[open]")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.wait_for_url(target)


def test_rows_can_be_hit_with_a_glove(browser: Any, server: Server) -> None:
    with tab(browser, viewport={"width": 320, "height": 800}) as page:
        page.goto(server.address)
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        page.locator(".ks-search input").fill("turkey")
        settled(page)
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("innerWidth") == width
            sizes = page.evaluate(
                "[...document.querySelectorAll('#ks-hits a')].map(a => [a.offsetHeight, "
                "...[...a.children].map(c => parseFloat(getComputedStyle(c).fontSize))])"
            )
            assert min(height for height, *_ in sizes) >= 64
            assert min(size for _, *fonts in sizes for size in fonts) >= 16
            assert page.evaluate("document.querySelector('.ks-search').scrollWidth") <= width
        page.locator(".ks-search button").click()
        assert not page.locator(".ks-search").is_visible()


def test_without_a_script_it_leads_to_lists(browser: Any, server: Server) -> None:
    with tab(browser, java_script_enabled=False) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.locator("#ks-find").click()
        page.wait_for_url("**/reference/find/")
        assert "needs JavaScript" in page.locator("article").inner_text()
        page.get_by_role("link", name="Ingredients").click()
        page.wait_for_url("**/kitchen/ingredients/")


def test_nothing_found_says_so(page: Any) -> None:
    assert found(page, "qqqqxxxxzzz") == []
    assert "Nothing found" in page.locator(".ks-search [role=status]").inner_text()
    assert [at for _, at in found(page, "   ")][-7:] == [at for _, at in found(page, "")][-7:]
    assert page.locator(".ks-search [role=status]").inner_text() == ""


def test_back_closes_what_is_open_and_leads_back_from_a_hit(browser: Any, server: Server) -> None:
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + "about/")
        page.goto(server.address + "stove/")
        at = page.url
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        page.go_back()
        assert not page.locator(".ks-search").is_visible() and page.url == at
        page.locator("#ks-menu").click()
        page.wait_for_selector("#ks-nav.ks-open")
        page.go_back()
        assert page.locator("#ks-nav.ks-open").count() == 0 and page.url == at
        page.locator("#ks-find").click()
        page.locator(".ks-search input").fill("barley soup")
        page.locator("#ks-hits a").first.click()
        page.wait_for_url("**/stove/barley-soup/")
        page.go_back()
        page.wait_for_url(at)
        assert not page.locator(".ks-search").is_visible()
        page.go_back()
        page.wait_for_url("**/about/")


def test_a_hit_on_the_same_page_closes_the_search_and_goes_there(
    browser: Any, server: Server
) -> None:
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + "stove/barley-soup/")
        page.locator("#ks-find").click()
        page.locator(".ks-search input").fill("barley simmer")
        page.locator("#ks-hits a", has_text="Simmer: ").first.click()
        page.wait_for_function("() => location.hash.startsWith('#step-')")
        assert not page.locator(".ks-search").is_visible()
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        page.keyboard.press("Escape")
        page.wait_for_function("() => !document.querySelector('.ks-search').open")
