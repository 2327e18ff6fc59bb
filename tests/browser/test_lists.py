"""The lists of the house on phone and desk: the register, the allergens, the stations."""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any

from browsing import Server, tab
from pypdf import PdfReader

from generator.sheet.manual import Manual

REGISTER = "control/limits/"


def shown_rows(page: Any) -> list[list[str]]:
    """The words of each row that shows: limit, name, where, rule, station."""
    rows: list[list[str]] = page.evaluate(
        "[...document.querySelectorAll('table.ks-reg tbody tr')].filter(tr => tr.offsetHeight)"
        ".map(tr => [...tr.cells].map(td => td.textContent.trim()))"
    )
    return rows


def test_the_register_shows_one_station_and_one_hazard(browser: Any, server: Server) -> None:
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + REGISTER)
        page.wait_for_selector(".ks-filter")
        everything = shown_rows(page)
        station, hazard = (page.locator(".ks-filter select").nth(n) for n in (0, 1))
        station.select_option("Stove")
        stove = shown_rows(page)
        assert stove == [row for row in everything if row[4] == "Stove"] and stove != everything
        hazard.select_option("Cook")
        cook = shown_rows(page)
        assert 0 < len(cook) < len(stove) and all(row in stove for row in cook)
        screens = page.evaluate(
            "document.querySelector('.ks-register #cook').closest('section')"
            ".offsetHeight / innerHeight"
        )
        assert screens <= 3
        assert page.get_by_role("status").filter(has_text=f"{len(cook)} shown").count() == 1
        station.select_option("")
        hazard.select_option("")
        assert shown_rows(page) == everything


def test_the_register_sorts_by_any_column(browser: Any, server: Server) -> None:
    with tab(browser, viewport={"width": 1280, "height": 800}) as page:
        page.goto(server.address + REGISTER)
        page.wait_for_selector(".ks-filter")
        page.locator(".ks-filter select").nth(1).select_option("Cook")
        names = [row[1] for row in shown_rows(page)]
        head = page.get_by_role("button", name="For").locator("visible=true")
        head.click()
        assert [row[1] for row in shown_rows(page)] == sorted(names, key=str.lower)
        head.click()
        assert [row[1] for row in shown_rows(page)] == sorted(names, key=str.lower, reverse=True)
        assert page.locator("th[aria-sort=descending]").count() == 1


def test_the_grid_says_of_each_formula_what_it_contains(demo: Manual, demo_site: Path) -> None:
    text = (demo_site / "control/allergens/index.html").read_text(encoding="utf-8")
    grid = text.split('<table class="ks-grid"')[1].split("</table>")[0]
    rows = [row for row in grid.split("<tr>") if 'scope="row"' in row]
    assert len(rows) == len(demo.sheets) + len(demo.stopped)
    for sheet in demo.sheets.values():
        row = next(r for r in rows if f"{sheet.name}</a>" in html.unescape(r))
        assert row.count('class="ks-has"') == len({a.word for a in sheet.allergens}), sheet.id


def test_nothing_is_wider_than_the_screen(browser: Any, server: Server) -> None:
    """The longest station; the lists are looked at with the other kinds of page."""
    with tab(browser, viewport={"width": 320, "height": 780}) as page:
        page.goto(server.address + "stove/")
        for width in (320, 360, 1280):
            page.set_viewport_size({"width": width, "height": 780})
            assert page.evaluate("innerWidth") == width
            assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_title_leads_home_and_a_limit_says_what_it_limits(browser: Any, server: Server) -> None:
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + "stove/")
        chips = [
            chip.replace("\u00a0", " ")
            for chip in page.locator(".ks-chips .ks-chip").all_inner_texts()
        ]
        assert any(chip.startswith("Simmer 95") for chip in chips), chips
        assert any(chip.startswith("Chill 20") and "4 °C" in chip for chip in chips), chips
        page.get_by_role("link", name="all stations").first.click()
        page.wait_for_url(server.address)


def test_a_browsers_print_says_on_each_page_what_it_is(
    browser: Any, server: Server, tmp_path: Path
) -> None:
    """Id, revision and page number on each page; the working stays in the manual."""
    out = tmp_path / "print.pdf"
    with tab(browser) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.pdf(path=out, format="A4", prefer_css_page_size=True)
    sheets = [" ".join(sheet.extract_text().split()) for sheet in PdfReader(out).pages]
    assert 1 < len(sheets) <= 6
    for number, words in enumerate(sheets, 1):
        assert "turkey-chive-roll · Current on" in words and "revision 4" in words
        assert "Printed copy" in words and f"{number} / {len(sheets)}" in words
    assert not any("Why 76" in words for words in sheets)
