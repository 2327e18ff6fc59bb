"""The copy on a phone: everything without signal, never old as current, whole or not at all."""

from __future__ import annotations

import gzip
import json
import logging
import shutil
import socket
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from browsing import Server, copied, tab
from conftest import compute, edit, lay

from generator.site.publish import build_site

SITE = (
    "site_name: Saved · manual\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
    "plugins: [kitchen-manual]\n"
)
FORMULA = "range/pork-bake/"


def project(folder: Path) -> Path:
    kitchen = lay("base", folder)
    (kitchen / "pages").mkdir()
    (kitchen / "pages/about.md").write_text("# About\n\nWritten by hand.\n")
    (kitchen / "mkdocs.yml").write_text(SITE)
    return kitchen


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The clean kitchen published three times: as it is, with a hotter target, without copies."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    base = tmp_path_factory.mktemp("saving")
    kitchen = project(base / "kitchen")
    first = compute(kitchen)
    build_site(first, base / "first", strict=True)
    build_site(first, base / "ended", strict=True, offline=False)
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 79 °C")
    build_site(compute(kitchen), base / "hotter", strict=True)
    return {name: base / name for name in ("first", "hotter", "ended")}


@pytest.fixture
def live(sites: dict[str, Path], tmp_path: Path) -> Iterator[tuple[Server, Path]]:
    """A server whose folder can be published anew."""
    with copied(sites["first"], tmp_path / "live") as live:
        yield live


def publish(folder: Path, site: Path) -> None:
    shutil.rmtree(folder)
    shutil.copytree(site, folder)


def revision(site: Path) -> str:
    return str(json.loads((site / "saved.json").read_text())["revision"])


def save(page: Any, server: Server) -> None:
    page.goto(server.address)
    page.locator("#ks-save").click()
    page.wait_for_selector("text=Saved: revision", timeout=20_000)


def caches(page: Any) -> list[str]:
    return [str(name) for name in page.evaluate("caches.keys()")]


def until(page: Any, condition: str) -> None:
    """Wait for a promise of true; Playwright's own waiting takes the promise itself for true."""
    for _ in range(200):
        try:
            if page.evaluate(condition):
                return
        except Exception as error:  # the page was loaded anew while it was asked
            if "navigation" not in str(error):
                raise
        page.wait_for_timeout(100)
    raise AssertionError(condition)


def in_spanish(page: Any, address: str) -> None:
    """A page read in another language, and in the kitchen's own again."""
    page.evaluate("localStorage.ksWords = 'es'")
    page.goto(address)
    page.wait_for_function("() => document.documentElement.lang === 'es'")
    page.evaluate("delete localStorage.ksWords")


def test_the_list_holds_every_file_and_its_hash(sites: dict[str, Path]) -> None:
    site = sites["first"]
    saved = json.loads((site / "saved.json").read_text())
    files = {p.relative_to(site).as_posix() for p in site.rglob("*") if p.is_file()}
    apart = {"sw.js", "saved.json", "revision.json", "sitemap.xml", "sitemap.xml.gz"}
    assert set(saved["files"]) == {f for f in files - apart if not f.startswith(".")}
    for name, digest in saved["files"].items():
        assert sha256((site / name).read_bytes()).hexdigest()[:32] == digest
    assert json.loads((site / "revision.json").read_text()) == {"revision": saved["revision"]}
    assert saved["zone"] and "<!--kb-->" not in (site / "index.html").read_text()


def test_the_same_standards_make_the_same_revision(sites: dict[str, Path], tmp_path: Path) -> None:
    kitchen = project(tmp_path / "kitchen")
    build_site(compute(kitchen), tmp_path / "again", strict=True)
    assert revision(tmp_path / "again") == revision(sites["first"]) != revision(sites["hotter"])


def test_a_first_visit_asks_for_nothing_of_it(browser: Any, live: tuple[Server, Path]) -> None:
    server, _ = live
    with tab(browser) as page:
        page.goto(server.address + FORMULA)
        page.wait_for_timeout(500)
        assert not [a for a in server.asked if "saved" in a or "sw.js" in a]
        assert len([a for a in server.asked if "revision" in a]) == 1, "which revision is published"


OPENED = ("", FORMULA, "range/", "control/limits/", "about/")
"""What is opened every day of a saved copy; of all the rest it is asked whether it is there."""
THERE = """pages => Promise.all(pages.map(at => fetch(at).then(async r => {
    const text = await r.text();
    return r.ok && text.length > 1000 ? [at, [...new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)))]
        .map(n => n.toString(16).padStart(2, '0')).join('').slice(0, 32)] : [at, ''];
}))).then(Object.fromEntries)"""


def in_the_kitchens_time(page: Any, folder: Path) -> None:
    zone = json.loads((folder / "saved.json").read_text())["zone"]
    line = page.locator(".ks-saved").inner_text()
    now = page.evaluate(
        "zone => [0, 60000].map(ms => new Intl.DateTimeFormat('en-GB', {timeZone: zone, "
        "hour: '2-digit', "
        "minute: '2-digit'}).format(Date.now() - ms))",
        zone,
    )
    assert any(f"checked {time}" in line for time in now), (line, now)


@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_all_of_it_opens_without_a_server(
    browser: Any, live: tuple[Server, Path], sites: dict[str, Path], every: bool
) -> None:
    """Saved, the server stopped: every page of the manual, its look, the search, a batch size; on a
    phone of another zone the time is the kitchen's; an answer that is slow gives way to the copy."""
    server, folder = live
    with tab(browser, timezone_id="Asia/Tokyo") as page:
        save(page, server)
        server.stop()
        page.goto(server.address + FORMULA)
        in_the_kitchens_time(page, folder)
        saved = json.loads((folder / "saved.json").read_text())["files"]
        pages = {p.removesuffix("index.html"): p for p in saved if p.endswith("index.html")}
        assert len(pages) > 20 and set(OPENED) < set(pages)
        for path in pages if every else OPENED:
            page.goto(server.address + path)
            line = page.locator(".ks-saved").inner_text()
            assert f"Saved copy · revision {revision(folder)[:8]} · checked " in line, path
            assert (
                page.evaluate("getComputedStyle(document.querySelector('.ks-saved')).paddingLeft")
                == "16px"
            )
        page.goto(server.address)
        there = page.evaluate(THERE, list(pages))
        assert there == {at: saved[file] for at, file in pages.items()}
        page.goto(server.address + FORMULA)
        weigh = page.locator(".ks-gives").inner_text()
        page.locator("label[for=s1]").click()
        assert page.locator(".ks-gives").inner_text() != weigh
        page.locator("#ks-find").click()
        page.locator(".ks-search input").fill("prok")
        page.keyboard.press("Enter")
        page.wait_for_url("**/pork**")
        assert "Saved copy" in page.locator("body").inner_text()
        in_spanish(page, server.address + FORMULA)
        page.goto(server.address + "nowhere/")
        assert "There is no such page" in page.locator("body").inner_text()
        with socket.create_server(("127.0.0.1", server.port)):  # takes calls, answers none
            page.goto(server.address + FORMULA, timeout=8000)
            assert "Saved copy" in page.locator(".ks-saved").inner_text()


def test_a_changed_limit_is_said_on_a_page_left_open_and_shows_on_the_next_visit(
    browser: Any, live: tuple[Server, Path], sites: dict[str, Path]
) -> None:
    server, folder = live
    with tab(browser) as page:
        save(page, server)
        page.goto(server.address + FORMULA)
        assert "72" in page.locator(".ks-limit").first.inner_text()
        assert page.locator(".ks-saved").count() == 0, "what comes from the server is no copy"
        page.wait_for_timeout(500)
        publish(folder, sites["hotter"])
        assert not page.locator(".ks-changed").is_visible()
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        page.wait_for_selector(".ks-changed:visible")
        assert "has changed since you opened this page" in page.locator(".ks-changed").inner_text()
        page.goto(server.address + FORMULA)
        assert "79" in page.locator(".ks-limit").first.inner_text()
        until(
            page,
            f"caches.keys().then(all => all.join().includes('{revision(folder)}') && "
            "all.length === 2)",
        )
        assert not [name for name in caches(page) if revision(sites["first"]) in name]
        server.stop()
        page.goto(server.address + FORMULA)
        assert "79" in page.locator(".ks-limit").first.inner_text()
        assert revision(folder)[:8] in page.locator(".ks-saved").inner_text()


def test_half_a_download_keeps_the_old_one_and_says_so(
    browser: Any, live: tuple[Server, Path], sites: dict[str, Path]
) -> None:
    server, folder = live
    with tab(browser) as page:
        save(page, server)
        publish(folder, sites["hotter"])
        server.broken = ["range/"]
        page.goto(server.address + "about/")
        until(page, f"caches.keys().then(all => all.join().includes('{revision(folder)}'))")
        page.wait_for_timeout(1000)
        server.stop()
        page.goto(server.address + FORMULA)
        line = page.locator(".ks-saved").inner_text()
        assert revision(sites["first"])[:8] in line and "A newer revision is published" in line
        assert "72" in page.locator(".ks-limit").first.inner_text()
        again = Server(folder, server.port)
        page.goto(server.address + "about/")
        until(page, "caches.keys().then(all => all.length === 2)")
        again.stop()
        page.goto(server.address + FORMULA)
        line = page.locator(".ks-saved").inner_text()
        assert revision(folder)[:8] in line and "newer" not in line


def test_a_file_that_is_not_as_published_is_never_saved(
    browser: Any, live: tuple[Server, Path]
) -> None:
    """As when somebody else's page answers: a login, a proxy, half an upload."""
    server, folder = live
    (folder / "about/index.html").write_text("<p>Log in first</p>")
    with tab(browser) as page:
        page.goto(server.address)
        page.locator("#ks-save").click()
        page.wait_for_selector("text=Not saved: about/index.html")
        server.stop()
        with pytest.raises(Exception, match="ERR_"):
            page.goto(server.address + FORMULA)


def test_a_page_left_open_learns_it_without_a_saved_copy_and_keeps_saying_so(
    browser: Any, live: tuple[Server, Path], sites: dict[str, Path]
) -> None:
    server, folder = live
    with tab(browser) as page:
        page.goto(server.address + "about/")
        page.wait_for_timeout(500)
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        page.wait_for_timeout(300)
        assert not page.locator(".ks-changed").is_visible()
        publish(folder, sites["hotter"])
        for _ in range(2):
            page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
            page.wait_for_selector(".ks-changed:visible")
        page.reload()
        page.wait_for_timeout(300)
        assert not page.locator(".ks-changed").is_visible(), "this is the new one"


def test_the_copy_is_removed_on_request(browser: Any, live: tuple[Server, Path]) -> None:
    server, _ = live
    with tab(browser) as page:
        save(page, server)
        page.locator("#ks-remove").click()
        page.wait_for_selector("#ks-save:visible")
        assert caches(page) == [] or not [n for n in caches(page) if "state" not in n]
        server.stop()
        with pytest.raises(Exception, match="ERR_"):
            page.goto(server.address + FORMULA)


def test_the_end_of_copies(browser: Any, live: tuple[Server, Path], sites: dict[str, Path]) -> None:
    """Published without copies: a phone that saved one deletes it on its next visit."""
    server, folder = live
    assert not (sites["ended"] / "saved.json").exists()
    with tab(browser) as page:
        save(page, server)
        publish(folder, sites["ended"])
        page.goto(server.address + FORMULA)
        until(page, "navigator.serviceWorker.getRegistrations().then(all => !all.length)")
        until(page, "caches.keys().then(all => !all.length)")
        assert page.locator(".ks-saved").count() == 0
        page.goto(server.address)
        page.wait_for_timeout(300)
        assert not page.locator(".ks-phone").is_visible()


def test_from_a_folder_pages_work_and_say_so(browser: Any, sites: dict[str, Path]) -> None:
    """As from a USB stick: no server, no worker."""
    with tab(browser) as page:
        faults: list[str] = []
        page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
        page.goto((sites["first"] / "index.html").as_uri())
        assert "Opened from a folder" in page.locator(".ks-phone").inner_text()
        assert not page.locator("#ks-save").is_visible()
        page.locator("#ks-find").click()
        page.locator(".ks-search input").fill("bake")
        page.keyboard.press("Enter")
        page.wait_for_url("**/pork-bake/index.html")
        page.locator("#ks-menu").click()
        page.locator("#ks-nav a", has_text="Home").click()
        page.wait_for_url("**/first/index.html")
        in_spanish(page, page.url)
        assert faults == []


def test_the_demo_is_small_enough_to_keep(demo_site: Path) -> None:
    """At most 2 MB gzipped, counted file by file."""
    files = json.loads((demo_site / "saved.json").read_text())["files"]
    size = sum(len(gzip.compress((demo_site / f).read_bytes(), 6)) for f in files)
    assert 100_000 < size <= 2_000_000
