"""A large manual saved by station: what is saved opens, what isn't says so, and a second save fetches
only what changed."""

from __future__ import annotations

import json
import logging
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import Server, copied, tab
from conftest import compute, edit, lay

from generator.framing import saving
from generator.site.publish import build_site

SITE = (
    "site_name: Saved · manual\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
    "plugins: [kitchen-manual]\n"
)
HERE, ELSEWHERE = "range/pork-bake/", "pass/rice-salad/"


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The clean kitchen as if it were large, as it is and with a hotter target."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    base = tmp_path_factory.mktemp("by-station")
    kitchen = lay("base", base / "kitchen")
    (kitchen / "pages").mkdir()
    (kitchen / "mkdocs.yml").write_text(SITE)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(saving, "FEWEST_FORMULAS", 1)
        build_site(compute(kitchen), base / "first", strict=True)
        edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 79 °C")
        build_site(compute(kitchen), base / "hotter", strict=True)
    return {name: base / name for name in ("first", "hotter")}


@pytest.fixture
def live(sites: dict[str, Path], tmp_path: Path) -> Iterator[tuple[Server, Path]]:
    with copied(sites["first"], tmp_path / "live") as live:
        yield live


def listed(site: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((site / "saved.json").read_text())
    return found


def every(site: Path) -> dict[str, str]:
    """Every file with its hash, whatever it is saved with."""
    saved = listed(site)
    return {**saved["files"], **{k: v for g in saved["groups"] for k, v in g["files"].items()}}


def pick(page: Any, server: Server, *stations: str) -> None:
    page.goto(server.address)
    page.wait_for_selector("#ks-save:visible")
    for tick in page.locator(".ks-which input").all():
        tick.set_checked(tick.get_attribute("value") in stations)


def save(page: Any) -> None:
    page.locator("#ks-save").click()
    page.wait_for_selector("p:has-text('Saved: revision'):visible", timeout=20_000)


def size(page: Any) -> int:
    return int(re.findall(r"\((\d+) kB\)", page.locator("#ks-save").inner_text())[0])


def asked(server: Server) -> set[str]:
    return {path.partition("?")[0].removeprefix("/") for path in server.asked}


def test_each_file_is_in_one_group(sites: dict[str, Path]) -> None:
    saved, site = listed(sites["first"]), sites["first"]
    names = [*saved["files"], *(name for g in saved["groups"] for name in g["files"])]
    apart = {"sw.js", "saved.json", "revision.json"}
    there = {p.relative_to(site).as_posix() for p in site.rglob("*") if p.is_file()}
    kept = {n for n in there - apart if not n.startswith((".", "sitemap"))}
    assert len(names) == len(set(names)) and set(names) == kept
    own = next(g["files"] for g in saved["groups"] if g["of"] == ["range"])
    assert {f"{HERE}index.html", "range/index.html", "assets/facts/range.pork-bake.js"} <= set(own)
    assert {"index.html", "control/allergens/index.html", "404.html"} <= set(saved["files"])


def test_a_station_alone(browser: Any, live: tuple[Server, Path]) -> None:
    """Its size said before; its pages, the lists and the search open; another's page says that it
    isn't here, and nothing calls the copy whole."""
    server, _ = live
    with tab(browser) as page:
        page.goto(server.address)
        page.wait_for_selector("#ks-save:visible")
        whole = size(page)
        pick(page, server, "range")
        assert 0 < size(page) < whole
        save(page)
        said = page.locator(".ks-phone [role=status]").inner_text()
        assert "Only these stations, and what all share: " in said and "Every page" not in said
        got = asked(server)
        assert HERE in got and ELSEWHERE not in got
        server.stop()
        for path in (HERE, "range/", "", "control/allergens/"):
            page.goto(server.address + path)
            assert "Saved copy" in page.locator(".ks-saved").inner_text(), path
            assert "isn't saved" not in page.locator("main").inner_text()
        page.goto(server.address + ELSEWHERE)
        words = page.locator("main").inner_text()
        assert "This page isn't saved on this phone" in words and "no such page" in words
        page.goto(server.address + HERE)
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")


def test_what_is_made_with_it_is_saved_with_it(demo: Any) -> None:
    """A dish's station has the pages of all that is made ahead for it."""
    of = saving.station_pages_of(demo)
    for sheet in demo.sheets.values():
        for ident in sheet.formula.sub_formulas:
            made = demo.sheets[ident].formula.formula
            assert set(sheet.formula.formula.station) <= of[f"{made.home}/{ident}/"], ident


def test_a_second_save_fetches_only_what_changed(
    browser: Any, live: tuple[Server, Path], sites: dict[str, Path]
) -> None:
    server, folder = live
    before, after = every(sites["first"]), every(sites["hotter"])
    changed = {name for name, digest in after.items() if before.get(name) != digest}
    assert f"{HERE}index.html" in changed and f"{ELSEWHERE}index.html" not in changed
    assert len(changed) < len(after) / 4, sorted(changed)
    with tab(browser) as page:
        pick(page, server, *listed(sites["first"])["stations"])
        save(page)
        shutil.rmtree(folder)
        shutil.copytree(sites["hotter"], folder)
        server.asked.clear()
        page.evaluate(
            "navigator.serviceWorker.ready.then(({active}) => new Promise(good => {"
            "const way = new MessageChannel();"
            "way.port1.onmessage = ({data}) => data.of || good();"
            "active.postMessage({save: undefined}, [way.port2]);}))"
        )
        folders = {name.removesuffix("index.html") for name in changed}
        assert asked(server) - {"saved.json", "revision.json"} == folders


def test_a_save_cut_short_is_not_called_saved(browser: Any, live: tuple[Server, Path]) -> None:
    """The signal goes half way: the page offers to save again, nothing opens; what came stays."""
    server, _ = live
    with tab(browser) as page:
        server.broken = ["kitchen/", "reference/"]
        pick(page, server, "range")
        page.locator("#ks-save").click()
        page.wait_for_selector("text=Not saved: ")
        page.reload()
        page.wait_for_selector("#ks-save:visible")
        assert "Saved: revision" not in page.locator(".ks-phone").inner_text()
        server.broken = []
        server.asked.clear()
        pick(page, server, "range")
        save(page)
        assert HERE not in asked(server), "what came before came once"


def test_a_narrower_choice_takes_away_the_rest(browser: Any, live: tuple[Server, Path]) -> None:
    server, folder = live
    with tab(browser) as page:
        pick(page, server, *listed(folder)["stations"])
        save(page)
        assert (
            "Every page and the search open without signal."
            in page.locator(".ks-phone").inner_text()
        )
        pick(page, server, "pass")
        page.locator("#ks-save").click()
        page.wait_for_selector("p:has-text('Only these stations'):visible")
        page.reload()
        page.wait_for_selector("p:has-text('Only these stations'):visible")
        ticked = [t.is_checked() for t in page.locator(".ks-which input").all()]
        assert ticked.count(True) == 1
        server.stop()
        page.goto(server.address + ELSEWHERE)
        assert "Saved copy" in page.locator(".ks-saved").inner_text()
        assert "isn't saved" not in page.locator("main").inner_text()
        page.goto(server.address + HERE)
        assert "This page isn't saved on this phone" in page.locator("main").inner_text()


def test_two_pages_save_at_once(browser: Any, live: tuple[Server, Path]) -> None:
    """One behind the other: the later choice is what is saved, and both pages say so."""
    server, _ = live
    with tab(browser) as page:
        pick(page, server, "range")
        save(page)
        other = page.beside()
        pick(other, server, "pass")
        pick(page, server, "range")
        page.locator("#ks-save").click()
        other.locator("#ks-save").click()
        both = (page, other)
        for one in both:
            one.wait_for_selector("p:has-text('Only these stations'):visible", timeout=20_000)
        for _ in range(100):
            said = [one.locator(".ks-is-list").inner_text() for one in both]
            if said[0] == said[1] != "":
                break
            page.wait_for_timeout(200)
        assert said[0] == said[1] != "", said
        name = "Pass" if "Pass" in said[0] else "Range"
        server.stop()
        page.goto(server.address + (ELSEWHERE if name == "Pass" else HERE))
        assert "isn't saved" not in page.locator("main").inner_text()
        page.goto(server.address + (HERE if name == "Pass" else ELSEWHERE))
        assert "This page isn't saved on this phone" in page.locator("main").inner_text()
