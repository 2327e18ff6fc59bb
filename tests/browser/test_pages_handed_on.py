"""A page that the next test gets has nothing of the one before."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browsing import Server, served, tab

KEEP = """async () => {
    localStorage.one = sessionStorage.one = '1';
    await new Promise(good => { indexedDB.open('one').onsuccess = good; });
    await caches.open('one');
}"""
KEPT = """async () => [localStorage.length, sessionStorage.length,
    (await indexedDB.databases()).length, (await caches.keys()).length, document.cookie.length]"""
LOOKS = """() => [innerWidth, matchMedia('print').matches, matchMedia('(prefers-color-scheme: dark)').matches,
    matchMedia('(prefers-reduced-motion: reduce)').matches, matchMedia('(forced-colors: active)').matches,
    document.querySelectorAll(':hover').length]"""


def test_it_keeps_nothing_and_looks_as_asked(browser: Any, demo_site: Path) -> None:
    heard: list[str] = []
    with served(demo_site) as server, tab(browser) as first:
        first.goto(server.address)
        fresh = first.evaluate(KEPT)
        first.evaluate(KEEP)
        first.set_viewport_size({"width": 700, "height": 500})
        first.emulate_media(media="print", color_scheme="dark", forced_colors="active")
        first.mouse.move(300, 300)
        first.on("request", lambda request: heard.append(request.url))
        assert first.evaluate(KEPT) != fresh
    with served(demo_site) as server, tab(browser, reduced_motion="reduce") as second:
        assert second is first
        second.goto(server.address)
        assert second.evaluate(KEPT) == fresh
        assert second.evaluate(LOOKS) == [390, False, False, True, False, 0]
    with served(demo_site) as server, tab(browser) as third:
        third.goto(server.address)
        assert third is first and third.evaluate(LOOKS)[3] is False
    assert heard == []


def test_what_it_did_last_is_no_fault_of_the_next(browser: Any, demo_site: Path) -> None:
    heard: list[str] = []
    with served(demo_site) as server, tab(browser, strict=True) as page:
        page.goto(server.address)
        page.evaluate(
            "() => { setTimeout(() => { console.error('late'); fetch('/late'); throw Error('late'); }, 300); }"
        )
    with served(demo_site) as server, tab(browser, strict=True) as page:
        page.on("request", lambda request: heard.append(request.url))
        page.wait_for_timeout(500)
        page.goto(server.address)
        assert all(url.startswith(server.address) for url in heard) and len(heard) > 1


def test_one_that_was_changed_for_good_is_not_handed_on(browser: Any) -> None:
    ways = (
        lambda page: page.route("**/nothing", lambda route: route.abort()),
        lambda page: page.add_init_script("0"),
        lambda page: page.clock.install(),
        lambda page: page.context.set_offline(True),
        lambda page: page.beside().clock.install(),
    )
    for change in ways:
        with tab(browser, timezone_id="Asia/Tokyo") as first:
            change(first)
        assert first.is_closed()


def test_nor_is_one_whose_test_failed_or_whose_server_runs(browser: Any, server: Server) -> None:
    with pytest.raises(ZeroDivisionError), tab(browser) as first:
        first.goto(server.address)
        _ = 1 / 0
    assert first.is_closed()
    with tab(browser) as second:
        second.goto(server.address)
        second.evaluate(KEEP)
    with tab(browser) as third:
        third.goto(server.address)
        assert third is not second and third.evaluate(KEPT)[:4] == [0, 0, 0, 0]
