"""What changed since this phone last opened a formula, and the page of revisions."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from browsing import served, tab
from conftest import BASE, compute, edit, lay

from generator.sheet.manual import Manual
from generator.site.publish import build_site
from generator.site.seen import seen_files

KEPT = "() => JSON.parse(localStorage[Object.keys(localStorage).find(k => k.startsWith('ks seen'))] || 'null')"


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str, str]:
    """A kitchen's site before and after a target and a weight were changed; the formula's address
    and name."""
    folder = tmp_path_factory.mktemp("two")
    project = lay("base", folder / "kitchen")
    (project / "mkdocs.yml").write_text((BASE / "mkdocs.yml").read_text(encoding="utf-8"))
    (project / "pages").mkdir()
    (project / "pages" / "about.md").write_text("# About\n")
    before = compute(project)
    assert isinstance(before, Manual)
    build_site(before, folder / "before", strict=False)
    ident, sheet = next(
        (i, s) for i, s in before.sheets.items() if s.formula.process.name == "Baked mixture"
    )
    at = f"{sheet.formula.formula.home}/{ident}/"
    edit(project, "processes/baked.yaml", "to 4 °C", "to 3 °C")
    edit(project, "processes/baked.yaml", "loses: 10 %", "loses: 11 %")
    after = compute(project)
    assert isinstance(after, Manual)
    build_site(after, folder / "after", strict=False)
    return folder / "before", folder / "after", at, sheet.name


def test_a_formula_shows_what_changed_since_this_phone_opened_it(
    browser: Any, two: tuple[Path, Path, str, str]
) -> None:
    """Nothing the first time; then old → new, limits first, until it is put away."""
    before, after, at, name = two
    with served(before) as server, tab(browser) as page:
        server.within = ""
        page.goto(server.address + at)
        page.wait_for_function("() => Object.keys(localStorage).some(k => k.startsWith('ks seen'))")
        assert page.locator(".ks-news").count() == 0
        old = page.evaluate(KEPT)
        server.RequestHandlerClass.keywords["directory"] = str(after)  # type: ignore[attr-defined]
        page.goto(server.address + at)
        page.wait_for_selector(".ks-news")
        told = page.locator(".ks-news").inner_text().replace("\u00a0", " ")
        assert "4 °C within 6 h" in told and "3 °C within 6 h" in told
        first = page.locator(".ks-news li").first.inner_text()
        assert first.startswith("Limit"), first
        assert page.evaluate(KEPT) == old, "not read yet"
        page.goto(server.address + "control/changed/")
        page.wait_for_selector(".ks-news")
        assert name in page.locator(".ks-news").inner_text()
        page.goto(server.address + at)
        page.wait_for_selector(".ks-news")
        page.get_by_role("button", name="Read: put away").click()
        assert page.locator(".ks-news").count() == 0
        page.reload()
        page.wait_for_timeout(1200)
        assert page.locator(".ks-news").count() == 0
        page.goto(server.address + "control/changed/")
        page.wait_for_selector("text=Nothing in them has changed since.")


def test_a_full_phone_says_that_it_shows_it_again(
    browser: Any, two: tuple[Path, Path, str, str]
) -> None:
    before, after, at, _ = two
    with served(before) as server, tab(browser) as page:
        page.goto(server.address + at)
        page.wait_for_function("() => Object.keys(localStorage).some(k => k.startsWith('ks seen'))")
        server.RequestHandlerClass.keywords["directory"] = str(after)  # type: ignore[attr-defined]
        page.goto(server.address + at)
        page.wait_for_selector(".ks-news")
        page.evaluate(
            "() => Object.defineProperty(window, 'localStorage', {value: new Proxy({}, {set() { throw new Error('full'); }})})"
        )
        page.get_by_role("button", name="Read: put away").click()
        assert "This phone is full" in page.locator(".ks-news").inner_text()


def test_the_facts_of_a_formula_are_those_of_changes(demo: Manual) -> None:
    """Each formula has its file, limits first; its address changes with what it says alone."""
    files = seen_files(demo)
    assert len(files) == len(demo.sheets)
    for at, (path, data) in files.items():
        record = json.loads(data.decode().partition("=")[2].partition("=")[2])
        groups = [row[0] for row in record["rows"]]
        assert groups == sorted(
            groups,
            key=(
                "limits",
                "dates",
                "allergens",
                "vessel",
                "batch",
                "steps",
                "formula",
                "control",
            ).index,
        )
        assert path.startswith("assets/facts/") and at.strip("/").replace("/", ".") in path
