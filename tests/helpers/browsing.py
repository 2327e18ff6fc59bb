"""A built site on a server of its own, and the system's Chromium to look at it."""

from __future__ import annotations

import functools
import http.server
import os
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


class _Handler(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        pass

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-cache")  # what the guide asks of a host
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


class Server(http.server.ThreadingHTTPServer):
    """Serves ``folder``; ``broken`` are parts of addresses it has no answer for.

    ``within`` is where the site's own ``site_url`` puts it, which its page for a missing page
    names.
    """

    within = "/heron-mill"

    daemon_threads = True

    def __init__(self, folder: Path, port: int = 0) -> None:
        super().__init__(("127.0.0.1", port), functools.partial(_Handler, directory=str(folder)))
        self.broken: list[str] = []
        self.asked: list[str] = []
        self.port = int(self.server_address[1])
        self.address = f"http://127.0.0.1:{self.port}/"
        threading.Thread(target=self.serve_forever, daemon=True).start()

    def stop(self) -> None:
        self.shutdown()
        self.server_close()


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    server = Server(folder)
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
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield running
        running.close()


@contextmanager
def engine_of(browser: Any, script: str) -> Iterator[Any]:
    """A blank page with one script alone."""
    context = browser.new_context()
    page = context.new_page()
    page.add_script_tag(content=script)
    yield page
    context.close()


@contextmanager
def tab(browser: Any, **options: Any) -> Iterator[Any]:
    """A page in a profile of its own, as on a phone; what goes wrong on it fails the test."""
    context = browser.new_context(**{"viewport": {"width": 390, "height": 844}, **options})
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if "Content Security" in m.text else None)
    yield page
    context.close()
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
