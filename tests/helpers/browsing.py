"""A built site on a server of its own, and the system's Chromium to look at it."""

from __future__ import annotations

import functools
import http.server
import os
import re
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from conftest import missing_tool

CHROMIUM = (
    None  # .ci/run: the distribution's own Python runs all but what a browser does
    if os.environ.get("NO_BROWSER") == "1"
    else shutil.which("chromium") or shutil.which("chromium-browser")
)
_LEANER = Path(__file__).with_name("chromium.sh")
LAUNCHED = os.fspath(_LEANER) if CHROMIUM and os.access(_LEANER, os.X_OK) else CHROMIUM
"""What is started for it: the same without what a window's address bar would start."""
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
KINDS = (
    "",
    "cold-kitchen/",
    "cold-kitchen/turkey-chive-roll/",
    "control/limits/",
    "control/allergens/",
    "control/cautions/",
    "kitchen/processes/",
    "processes/poached-roll/",
    "processes/sanitiser-bucket/",
    "kitchen/ingredients/",
    "ingredients/egg-whole/",
    "kitchen/equipment/",
    "kitchen/plans/",
    "plans/first-week/",
    "reference/conversions/",
    "reference/glossary/",
    "reference/sources/",
    "reference/tags/",
    "reference/find/",
    "reference/rules-us-food-code-2022/",
    "about/",
    "guide/",
    "guide/learn/1-kitchen/",
    "guide/look-up/amounts/",
    "404.html",
)
"""One page of each kind in the demo."""


_STAMPED = re.compile(r"\?[0-9a-f]{10}$")
"""The address of a file that is named by its content."""


class _Handler(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        pass

    def end_headers(self) -> None:
        # No-cache is what the guide asks of a host.
        stays = self.server.still and _STAMPED.search(self.path)  # type: ignore[attr-defined]
        self.send_header("Cache-Control", "max-age=3600, immutable" if stays else "no-cache")
        super().end_headers()

    def do_GET(self) -> None:
        server = self.server
        assert isinstance(server, Server)
        server.asked.append(self.path)
        del self.headers["If-Modified-Since"]  # two sites of one second are two sites
        self.path = self.path.removeprefix(server.within)
        if any(part in self.path for part in server.broken):
            self.send_error(503)
            return
        super().do_GET()


_RUNNING: set[str] = {"file:"}
"""The addresses of the servers that run, and that of files, which is always the same."""
_USED: set[int] = set()
"""The ports of all servers of this process: a page that is handed on may have something of each."""


class Server(http.server.ThreadingHTTPServer):
    """Serves ``folder``; ``broken`` are parts of addresses it has no answer for.

    ``within`` is where the site's own ``site_url`` puts it, which its page for a missing page
    names. ``still``: a browser may keep the files that are named by their content, which are two
    fifths of what it costs to open a page again; not where it is asked what a saved copy holds.
    """

    within = "/heron-mill"
    still = False

    daemon_threads = True

    def __init__(self, folder: Path, port: int = 0) -> None:
        while True:
            handler = functools.partial(_Handler, directory=str(folder))
            super().__init__(("127.0.0.1", port), handler)
            if port or self.server_address[1] not in _USED:
                break
            self.server_close()
        self.broken: list[str] = []
        self.asked: list[str] = []
        self.port = int(self.server_address[1])
        self.address = f"http://127.0.0.1:{self.port}/"
        _USED.add(self.port)
        _RUNNING.add(self.address)
        threading.Thread(target=self.serve_forever, args=(0.02,), daemon=True).start()

    def stop(self) -> None:
        _RUNNING.discard(self.address)
        self.shutdown()
        self.server_close()


@contextmanager
def served(folder: Path, still: bool = False) -> Iterator[Server]:
    server = Server(folder)
    server.still = still
    try:
        yield server
    finally:
        server.stop()


@contextmanager
def copied(site: Path, folder: Path) -> Iterator[tuple[Server, Path]]:
    """A server of a copy of a built ``site``, whose ``folder`` can be published anew."""
    shutil.copytree(site, folder)
    with served(folder) as server:
        yield server, folder


@contextmanager
def chromium() -> Iterator[Any]:
    """The system's Chromium; the test is skipped without it, or fails where nothing may be
    skipped."""
    if CHROMIUM is None:
        missing_tool("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing_tool("playwright")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=LAUNCHED, args=FLAGS)
        yield running
        running.close()


@contextmanager
def engine_of(browser: Any, script: str) -> Iterator[Any]:
    """A blank page with one script alone."""
    with tab(browser) as page:
        page.goto("about:blank")  # what was on it before it was handed on is gone
        page.add_script_tag(content=script)
        yield page


_ON_THE_PAGE = ("viewport", "color_scheme", "reduced_motion", "forced_colors")
"""What of a page can be set anew; all else is its context's."""
_STAYS = (
    *("context", "add_locator_handler", "close", "expose_binding", "expose_function"),
    *("route_from_har", "route_web_socket", "set_default_navigation_timeout"),
    *("set_default_timeout", "set_extra_http_headers"),
)
"""What a test may do to a page that the next test would find: who asks for one of these has used
the page up. Devtools, a route, an init script and no signal are undone; a clock stays, and the page
goes to the next test that sets one."""


@functools.cache
def _page_class() -> type[Any]:
    """A page that may be handed on, and knows what was done to it."""
    from playwright.sync_api import Page

    class HandedOn(Page):
        first: Any
        """The page of its profile that is handed on; itself, or the one it was opened beside."""
        used_up: bool
        opened: bool
        """Whether the test has opened a page."""
        looks: dict[str, str] | None
        """Bright or dark and the like, as set last; None where a test has set something."""
        listening: list[tuple[str, Any]]
        seen: set[str]
        """The servers whose pages it, or a page beside it, has shown."""
        clocked: bool
        """Whether its profile has a clock that a test set, which it keeps."""
        undo: list[Any]
        """What takes back what the test did to its profile."""

        def __getattribute__(self, name: str) -> Any:
            if name in _STAYS:
                self.first.used_up = True
            elif name == "clock":
                self.first.clocked = True
            return super().__getattribute__(name)

        def devtools(self) -> Any:
            """The browser's own tools for this page, till the test ends."""
            session = super().context.new_cdp_session(self)
            self.first.undo.append(session.detach)
            return session

        def offline(self, without: bool) -> None:
            """Without signal, or with it again."""
            self.first.undo.append(lambda: super(HandedOn, self).context.set_offline(False))
            super().context.set_offline(without)

        def route(self, *asked: Any, **options: Any) -> None:
            self.first.undo.append(lambda: self.unroute_all(behavior="ignoreErrors"))
            super().route(*asked, **options)

        def add_init_script(self, script: str) -> None:  # type: ignore[override]
            """Run a script before those of each page that is opened here: Playwright's own can't be
            taken back in each version that may be installed."""
            session = self.devtools()
            session.send("Page.enable")
            session.send("Page.addScriptToEvaluateOnNewDocument", {"source": script})

        def on(self, event: Any, f: Any) -> None:
            """Hear of what happens from the test's first page on: not of what the one before did
            last."""

            def hear(what: Any) -> None:
                if self.opened:
                    f(what)

            self.listening.append((event, hear))
            super().on(event, hear)

        def kept_on(self, event: Any, f: Any) -> None:
            """Hear of what happens in every test."""
            super().on(event, f)

        def emulate_media(self, **looks: Any) -> None:
            self.looks = None
            super().emulate_media(**looks)

        def set_viewport_size(self, viewport_size: Any) -> None:
            """Another size: one that it has already costs as much as one that it hasn't."""
            if self.viewport_size != viewport_size:
                super().set_viewport_size(viewport_size)

        def beside(self) -> Any:
            """Another page of the same profile, which ends with the test."""
            return _as_handed_on(super().context.new_page(), self.first)

    return HandedOn


def _as_handed_on(page: Any, first: Any = None) -> Any:
    page.__class__ = _page_class()
    page.first = first or page
    page.clocked = False
    page.seen = page.first.seen if first else set()
    page.kept_on("framenavigated", lambda frame: page.seen.add(_server_of(frame.url)))
    return _unused(page)


def _server_of(url: str) -> str:
    """A server's address as ``Server`` writes it, of one of its pages'."""
    scheme, _, host, *_ = [*url.split("/"), "", ""]
    return f"{scheme}//{host}/" if host else scheme


def _unused(page: Any) -> Any:
    """The page as one that no test has used."""
    page.used_up, page.opened, page.listening, page.undo = False, False, [], []
    page.once("framenavigated", lambda _: setattr(page, "opened", True))
    return page


_MOST_IDLE = 3


def _let_go(page: Any, context: Any) -> bool:
    """Whether what a test did was undone, and the page let go of what it showed: one that is on its
    way to a server that has stopped would end there in the next test."""
    try:
        for undo in page.undo:
            undo()
        for other in context.pages:
            if other is not page:
                other.close()
        for event, f in page.listening:
            page.remove_listener(event, f)
        page.goto("about:blank")
        page.mouse.move(-9, -9)  # on nothing
        if page.clocked:
            page.clock.resume()
    except Exception:  # whatever it was about to do: the page isn't handed on
        return False
    return True


class _Idle:
    """Pages of a browser that wait for the next test. A profile's first page costs a second: the
    window it opens starts an address bar of its own, twice what a short test takes. What a page
    keeps hangs on its server, and each test has one of its own, so nothing is cleared: a page that
    has shown one that still runs is not handed on."""

    def __init__(self) -> None:
        self._of: dict[tuple[Any, ...], list[Any]] = {}

    def take(self, browser: Any, options: dict[str, Any]) -> Any:
        at = options.get("at")
        own = {n: value for n, value in options.items() if n not in (*_ON_THE_PAGE, "at")}
        looks = {name: options.get(name, "null") for name in _ON_THE_PAGE[1:]}
        key = (id(browser), repr(sorted(own.items())))
        idle = self._of.setdefault((*key, at is not None), [])
        page = next((one for one in reversed(idle) if not one.seen & _RUNNING), None)
        if page:
            idle.remove(page)
            page.seen.clear()
            _unused(page)
        else:
            context = browser.new_context(viewport=options["viewport"], **own)
            page = _as_handed_on(context.new_page())
            page.key, page.looks = key, dict.fromkeys(looks, "null")
        page.set_viewport_size(options["viewport"])
        if page.looks != looks:
            page.emulate_media(media="null", **looks)
            page.looks = looks
        if at is not None:
            page.clock.install(time=at)
        return page

    def give_back(self, page: Any, whole: bool) -> None:
        """Keep a page, unless something was done to it that stays or went wrong."""
        used_up = page.used_up or not whole or page.is_closed()
        context = page.context  # to ask for it uses a page up
        if used_up or not _let_go(page, context):
            context.close()
            return
        idle = self._of.setdefault((*page.key, page.clocked), [])
        idle.append(page)
        if len(idle) > _MOST_IDLE:
            idle.pop(0).context.close()


_idle = _Idle()


@contextmanager
def tab(
    browser: Any, *, strict: bool = False, faults_of: str = "", **options: Any
) -> Iterator[Any]:
    """A page as in a profile of its own, on a phone; what goes wrong on it fails the test, but a
    fault the test makes (``faults_of``), and with ``strict`` whatever the console calls an error.
    ``options`` are the profile's, and what the phone's clock is set to (``at``)."""
    page = _idle.take(browser, {"viewport": {"width": 390, "height": 844}, **options})
    faults: list[str] = []

    def said(message: Any) -> None:
        if "Content Security" in message.text or (strict and message.type == "error"):
            faults.append(message.text)

    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", said)
    whole = False
    try:
        yield page
        whole = True
    finally:
        _idle.give_back(page, whole)
    faults = [one for one in faults if one != faults_of]
    assert not faults, "\n".join(faults)


def settled(page: Any) -> None:
    """Wait till the search shows what it found: an index in parts is fetched as it is asked."""
    page.wait_for_selector("#ks-hits:not([aria-busy=true])", state="attached")


def until_true(page: Any, condition: str) -> None:
    """Wait till a script says true; the policy keeps Playwright from asking again by itself."""
    for _ in range(100):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(100)
    raise AssertionError(condition)
