"""A large manual on a phone: every file weighed, a first visit, the lists on a small screen, without
a script and on paper. Every day a small one with the bounds as much lower, 1,000 formulas under
``slow``."""

from __future__ import annotations

import functools
import gzip
import json
import logging
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from browsing import Server, served, settled, tab, until_true
from conftest import AS_OF, missing_tool
from large_kitchens import large_kitchen
from pypdf import PdfReader
from test_accessibility import THIN, violations
from visits import packed, visit

from generator.framing import sharding
from generator.pages import parting
from generator.sheet.manual import make_manual
from generator.site.publish import build_site

CONSTANT = ("guide/", "reference/rules-", "reference/sources/", "reference/conversions/")
"""Pages that are as long whatever a kitchen makes."""


@dataclass(frozen=True)
class Weight:
    """A file of a site, how many bytes it has as it is and, where that is asked, gzipped."""

    path: Path
    name: str
    raw: int

    @functools.cached_property
    def packed(self) -> int:
        return len(gzip.compress(self.path.read_bytes(), 6))


def built(folder: Path, formulas: int) -> tuple[Path, int]:
    """A site of so many formulas, and how many pages it has."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    manual = make_manual(large_kitchen(folder / "kitchen", formulas), AS_OF)
    assert manual.errors == () and len(manual.sheets) == formulas
    return folder / "site", build_site(manual, folder / "site", strict=False)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """64 formulas, with bounds a fifth as high."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parting, "MOST_BODY", 20_000)
        patch.setattr(parting, "MOST_PART", 10_000)
        patch.setattr(sharding, "MOST_WHOLE", 4_000)
        return built(tmp_path_factory.mktemp("large"), 64)[0]


@pytest.fixture
def server_of_large(small: Path) -> Any:
    with served(small, still=True) as running:
        yield running


def weighed(site: Path) -> list[Weight]:
    return [
        Weight(path, path.relative_to(site).as_posix(), path.stat().st_size)
        for path in sorted(site.rglob("*"))
        if path.is_file()
    ]


def lists(site: Path, weights: list[Weight]) -> list[Weight]:
    """The pages that grow with a kitchen: all but formulas', and those of CONSTANT."""
    return [
        one
        for one in weights
        if one.name.endswith(".html")
        and not one.name.startswith(CONSTANT)
        and 'class="ks ks-formula"' not in (site / one.name).read_text(encoding="utf-8")
    ]


def hold(site: Path, raw: int, gz: int) -> list[Weight]:
    """No list is heavier, and no part of the index; what is fetched at once of it, and the list of
    what a phone saves, are small. Returns what was weighed."""
    weights = weighed(site)
    for one in lists(site, weights):
        assert one.raw <= raw and one.packed <= gz, one
    parts = [one for one in weights if one.name.startswith("assets/find/")]
    assert len(parts) > 10 and all(one.packed <= 8_000 for one in parts), max(
        parts, key=lambda p: p.packed
    )
    sizes = {one.name: one for one in weights}
    assert sizes["assets/index.js"].packed <= 8_000
    assert sizes["saved.json"].packed <= 100_000
    return weights


def test_no_list_is_longer_than_a_phone_takes(small: Path) -> None:
    hold(small, 65_000, 12_000)
    parts = [path for path in small.rglob("index.html") if "--" in path.parent.name]
    assert len(parts) > 40


@pytest.mark.parametrize(
    "path", ["", "control/allergens/", "control/allergens--1/", "control/limits--2/"]
)
def test_on_a_small_screen(browser: Any, server_of_large: Server, path: str) -> None:
    """Nothing wider than 320 px, and nothing axe finds."""
    try:
        axe = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
    except ModuleNotFoundError:
        missing_tool("axe-core (axe-playwright-python)")
    with tab(browser, viewport={"width": 320, "height": 640}) as page:
        page.goto(server_of_large.address + path)
        if not path:
            page.wait_for_selector(".ks-which:visible")
            heights = page.eval_on_selector_all(
                ".ks-which label", "all => all.map(one => one.offsetHeight)"
            )
            assert len(heights) == 8 - 1 and min(heights) >= 48, heights
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        assert page.evaluate(THIN) + violations(page, axe) == []


def test_without_a_script(browser: Any, server_of_large: Server) -> None:
    """From home to a formula by links alone, and from an allergen to those without it and back."""
    with tab(browser, java_script_enabled=False) as page:
        page.goto(server_of_large.address)
        page.locator(".ks-parts a", has_text="formulas").first.click()
        page.locator("main .ks-list a").first.click()
        assert page.locator(".ks-formula").count() == 1
        page.goto(server_of_large.address + "control/allergens/")
        fold = page.locator("section.ks-allergen details:has(.ks-parts)").first
        fold.locator("summary").click()
        fold.locator(".ks-parts a").first.click()
        assert page.locator("h1").inner_text().startswith("Not in these: ")
        assert "This is not the whole list." in page.locator("main").inner_text()
        page.locator(".ks-trail a").first.click()
        assert page.locator("h1").inner_text() == "Allergens"


def test_a_part_of_the_register_has_no_filter(browser: Any, server_of_large: Server) -> None:
    """A filter over one part would say how many limits there are, of those on the part alone."""
    with tab(browser) as page:
        for path in ("control/limits/", "control/limits--1/"):
            page.goto(server_of_large.address + path)
            page.wait_for_timeout(400)
            assert page.locator(".ks-filter").count() == 0


def test_a_print_of_a_part_says_that_it_is_one(
    browser: Any, server_of_large: Server, tmp_path: Path
) -> None:
    out = tmp_path / "print.pdf"
    with tab(browser) as page:
        page.goto(server_of_large.address + "control/allergens--1/")
        page.pdf(path=out, format="A4", prefer_css_page_size=True)
    words = " ".join(sheet.extract_text() for sheet in PdfReader(out).pages)
    assert "This is not the whole list." in " ".join(words.split())


def test_what_changed_is_compared_over_all_parts(browser: Any, server_of_large: Server) -> None:
    """A formula that is listed on a part counts as opened; without signal nothing is claimed."""
    with tab(browser) as page:
        page.goto(server_of_large.address + "stove/barley-soup/")
        until_true(page, "Object.keys(localStorage).some(key => key.startsWith('ks seen'))")
        page.goto(server_of_large.address + "control/changed/")
        assert page.locator(".ks-parts a").count() > 0
        page.wait_for_selector("text=This phone has opened 1 formula. Nothing in them has changed")
        page.route("**/assets/facts.js*", lambda route: route.abort())
        page.reload()
        page.wait_for_selector("text=Not compared: no signal.")


def test_a_station_is_found_and_opened_last(browser: Any, server_of_large: Server) -> None:
    """What the search shows before anything is typed, from an index in parts."""
    with tab(browser) as page:
        page.goto(server_of_large.address + "stove/barley-soup/")
        until_true(page, "!!localStorage.ksOpened")
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        settled(page)
        groups = page.eval_on_selector_all(
            "#ks-hits [role=group]",
            "all => all.map(g => [g.ariaLabel, g.querySelectorAll('a').length])",
        )
        assert groups == [["Opened last", 1], ["Stations", 7]]
        assert page.locator("#ks-hits a").first.inner_text().startswith("Chicken and barley soup")


@pytest.mark.slow
def test_1000_formulas(browser: Any, tmp_path: Path) -> None:
    """2,000 pages: every list within 150 kB and 20 kB gzipped, a first visit within 80 kB."""
    site, pages = built(tmp_path, 1000)
    assert pages >= 2000
    weights = hold(site, 150_000, 20_000)
    heavy = sorted(lists(site, weights), key=lambda one: -one.raw)[:5]
    saved = json.loads((site / "saved.json").read_text())
    files_of = sum(one.packed for one in weights if one.name in saved["files"])
    with packed(site) as address:
        made = visit(browser, address, "stove/barley-soup/", "#ks-find", slow=False)
    print(
        f"\n{pages} pages, {len(weights)} files, {sum(one.packed for one in weights) / 1e6:.1f} MB gz"
    )
    print(f"  heaviest lists: {[(one.name, one.raw, one.packed) for one in heavy]}")
    print(
        f"  saved with any station {files_of / 1e6:.2f} MB gz; first visit {made.total / 1000:.1f} kB"
    )
    assert made.total <= 80_000
