"""A first visit from a server that compresses, every fetch of the browser counted."""

from __future__ import annotations

import functools
import gzip
import http.server
import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

SLOW = {
    "offline": False,
    "latency": 500,
    "downloadThroughput": 250_000 / 8,
    "uploadThroughput": 250_000 / 8,
}
_PACKED = (".html", ".css", ".js", ".json", ".svg", ".webmanifest", ".xml")


class _Packing(http.server.SimpleHTTPRequestHandler):
    """Answers compressed, as hosts do (gzip, level 6)."""

    protocol_version = "HTTP/1.1"

    def log_message(self, format: str, *args: Any) -> None:
        pass

    def do_GET(self) -> None:
        path = Path(self.translate_path(self.path))
        path = path / "index.html" if path.is_dir() else path
        if not path.is_file():
            self.send_error(404)
            return
        body = path.read_bytes()
        packed = path.suffix in _PACKED
        if packed:
            body = gzip.compress(body, 6, mtime=0)
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(str(path)))
        self.send_header("Content-Length", str(len(body)))
        if packed:
            self.send_header("Content-Encoding", "gzip")
        self.end_headers()
        self.copyfile(io.BytesIO(body), self.wfile)  # type: ignore[misc]


@contextmanager
def packed(folder: Path) -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(_Packing, directory=str(folder))
    )
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}/"
    server.shutdown()


@dataclass
class Visit:
    """One first visit: bytes on the wire by address, largest paint in ms, layout shift,
    strangers."""

    sizes: dict[str, int] = field(default_factory=dict)
    paint: float = 0
    shift: float = 0
    strangers: list[str] = field(default_factory=list)

    @property
    def total(self) -> int:
        return sum(self.sizes.values())


WATCH = """
window.seen = {paint: 0, shift: 0};
new PerformanceObserver(list => { for (const e of list.getEntries()) seen.paint = e.startTime })
  .observe({type: 'largest-contentful-paint', buffered: true});
new PerformanceObserver(list => { for (const e of list.getEntries()) if (!e.hadRecentInput) seen.shift += e.value })
  .observe({type: 'layout-shift', buffered: true});
"""


def visit(browser: Any, address: str, page: str, search: str, *, slow: bool) -> Visit:
    """Open a page in a fresh profile, wait till it is quiet, and search for a word by
    ``search``."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    tab = context.new_page()
    devtools = context.new_cdp_session(tab)
    devtools.send("Network.enable")
    made, named = Visit(), {}
    devtools.on(
        "Network.responseReceived", lambda e: named.update({e["requestId"]: e["response"]["url"]})
    )

    def ended(event: dict[str, Any]) -> None:
        url = named.get(event["requestId"], "?")
        if url.startswith("data:"):
            return
        name = url.removeprefix(address).partition("?")[0] or "(home)"
        made.sizes[name] = made.sizes.get(name, 0) + int(event["encodedDataLength"])

    devtools.on("Network.loadingFinished", ended)
    tab.on(
        "request",
        lambda r: (
            made.strangers.append(r.url) if not r.url.startswith((address, "data:")) else None
        ),
    )
    tab.add_init_script(WATCH)
    if slow:
        devtools.send("Network.emulateNetworkConditions", SLOW)
        devtools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    tab.goto(address + page, wait_until="load", timeout=120_000)
    tab.wait_for_timeout(1500 if slow else 700)
    made.paint, made.shift = tab.evaluate("[seen.paint, seen.shift]")
    if not slow:
        tab.locator(search).first.click()
        tab.wait_for_timeout(300)
        tab.keyboard.type("pork")
        tab.wait_for_selector("#ks-hits a, .md-search-result__item", timeout=20_000)
        tab.wait_for_timeout(500)
    context.close()
    return made
