"""A page that the next test gets has nothing of the one before."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browsing import Server, served, tab

PAGE = (
    "<!doctype html><html lang=en><title>Page</title><link rel=stylesheet href=/look.css>"
    "<link rel=icon href=data:,><p>Words</p><script src=/one.js></script><script src=/two.js></script>"
)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A site of two pages: how much there is on a page is not the point."""
    site = tmp_path / "site"
    for name, text in (
        ("index.html", PAGE),
        ("about/index.html", PAGE),
        ("look.css", "p { color: red } p:hover { color: blue }"),
        ("one.js", "fetch('/revision.json')"),
        ("two.js", "self.loaded = true"),
        ("revision.json", '{"revision": "1"}'),
    ):
        (site / name).parent.mkdir(parents=True, exist_ok=True)
        (site / name).write_text(text, encoding="utf-8")
    return site


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


def test_it_keeps_nothing_and_looks_as_asked(browser: Any, small: Path) -> None:
    heard: list[str] = []
    with served(small) as server, tab(browser) as first:
        first.goto(server.address)
        fresh = first.evaluate(KEPT)
        first.evaluate(KEEP)
        first.set_viewport_size({"width": 700, "height": 500})
        first.emulate_media(media="print", color_scheme="dark", forced_colors="active")
        first.mouse.move(300, 300)
        first.on("request", lambda request: heard.append(request.url))
        assert first.evaluate(KEPT) != fresh
    with served(small) as server, tab(browser, reduced_motion="reduce") as second:
        assert second is first
        second.goto(server.address)
        assert second.evaluate(KEPT) == fresh
        assert second.evaluate(LOOKS) == [390, False, False, True, False, 0]
    with served(small) as server, tab(browser) as third:
        third.goto(server.address)
        assert third is first and third.evaluate(LOOKS)[3] is False
    assert heard == []


def test_what_it_did_last_is_no_fault_of_the_next(browser: Any, small: Path) -> None:
    heard: list[str] = []
    with served(small) as server, tab(browser, strict=True) as page:
        page.goto(server.address)
        page.evaluate(
            "() => { setTimeout(() => { console.error('late'); fetch('/late'); throw Error('late'); }, 300); }"
        )
    with served(small) as server, tab(browser, strict=True) as page:
        page.on("request", lambda request: heard.append(request.url))
        page.wait_for_timeout(500)
        page.goto(server.address)
        assert all(url.startswith(server.address) for url in heard) and len(heard) > 1


def test_what_was_done_to_its_profile_is_undone(browser: Any, small: Path) -> None:
    """A route, a script before those of any page, no signal, what devtools were asked."""
    states = "() => [window.one, navigator.onLine, navigator.userAgent]"
    heard: list[str] = []
    asked = "async () => (await fetch('revision.json')).status"
    with served(small) as server, tab(browser, strict=True) as first:
        first.goto(server.address)
        fresh = first.evaluate(states)
    with served(small) as server, tab(browser) as second:
        assert second is first
        second.add_init_script("window.one = 1")
        second.add_init_script("window.one++")
        second.devtools().send("Emulation.setUserAgentOverride", {"userAgent": "another"})
        second.route("**/revision.json", lambda route: route.fulfill(status=404))
        second.goto(server.address)
        second.goto(server.address + "about/")
        assert second.evaluate(states) == [2, True, "another"]
        second.goto(server.address)
        assert second.evaluate(asked) == 404
        beside = second.beside()
        beside.add_init_script("window.one = 5")
        beside.goto(server.address)
        assert beside.evaluate(states)[0] == 5
        second.offline(True)
        assert second.evaluate(states)[1] is False
    with served(small) as server, tab(browser, strict=True) as third:
        assert third is first
        third.on("request", lambda request: heard.append(request.url))
        third.goto(server.address)
        assert third.evaluate(states) == fresh and fresh[:2] == [None, True]
        assert third.evaluate(asked) == 200 and len(heard) > 3
        other = third.beside()
        other.goto(server.address)
        assert other.evaluate(states) == fresh


TIME = "() => [new Date().toISOString().slice(0, 16), Boolean(Date.isFake), window.rang || 0]"


def reloaded(page: Any) -> None:
    """Time that has gone by is kept over a reload and beside, as on a page of its own."""
    page.clock.fast_forward(1_800_000)
    page.reload()
    assert page.evaluate(TIME) == ["2026-11-25T12:30", True, 0]
    beside = page.beside()
    beside.goto(page.url)
    assert beside.evaluate(TIME) == ["2026-11-25T12:30", True, 0]


def test_one_with_a_clock_goes_to_the_next_with_a_clock(browser: Any, small: Path) -> None:
    """What its clock was made to do is over: it goes on from the new time and rings no more; no test
    without a clock gets it."""
    noon = "2026-11-25T12:00:00Z"
    first: Any = None
    for way in (
        lambda page: page.clock.run_for(60_000),
        lambda page: page.clock.pause_at("2026-11-25T16:00:00Z"),
        lambda page: page.clock.set_fixed_time("2027-01-01"),
        lambda page: page.beside().clock.fast_forward(3_600_000),
        reloaded,
    ):
        with served(small) as server, tab(browser, at=noon, timezone_id="Asia/Tokyo") as page:
            assert page is first or not first
            first = page
            page.goto(server.address + "about/")
            time, fake, rang = page.evaluate(TIME)  # before this one rings: a machine may be slow
            assert (time, fake, rang) == ("2026-11-25T12:00", True, 0)
            page.evaluate(
                "() => { setInterval(() => { window.rang = (window.rang || 0) + 1; }, 50); }"
            )
            page.wait_for_timeout(150)
            assert page.evaluate(TIME)[2] > 0, "it goes on by itself"
            way(page)
    with served(small) as server, tab(browser, timezone_id="Asia/Tokyo") as plain:
        plain.goto(server.address + "about/")
        assert plain is not first and plain.evaluate(TIME)[1] is False


def test_one_that_was_changed_for_good_is_not_handed_on(browser: Any) -> None:
    ways = (
        lambda page: page.context.set_default_timeout(20_000),
        lambda page: page.set_extra_http_headers({"a": "b"}),
        lambda page: page.beside().expose_function("one", lambda: 1),
    )
    with tab(browser) as first:
        for change in ways:
            first.used_up = False
            change(first)
            assert first.used_up
    assert first.is_closed()
    with tab(browser) as second:
        second.undo.append(lambda: 1 / 0)
    assert second.is_closed()


def test_nor_is_one_whose_test_failed_or_whose_server_runs(browser: Any, small: Path) -> None:
    with served(small) as server:
        nor_is_one(browser, server)


def nor_is_one(browser: Any, server: Server) -> None:
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
