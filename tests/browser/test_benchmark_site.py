"""What a first visit costs, beside plain Material on the same pages in the same run:
``pytest -m benchmark -s``. Bytes are those on the wire from a server that compresses, counted by
the browser for every fetch it makes; times are Chromium's own, at 250 kbit/s, 500 ms and a slowed
processor.
"""

from __future__ import annotations

import functools
import gzip
import http.server
import io
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF
from synthetic import synthetic_kitchen

from generator.framing import STATIC
from generator.framing.slim import slim
from generator.pages import ASSETS, ON_DEMAND
from generator.pages import STATIC as LOOK
from generator.sheet.manual import make_manual
from generator.site.exporting import export_tree
from generator.site.publish import build_site

pytestmark = pytest.mark.benchmark

PLAIN = (
    "site_name: Plain\ndocs_dir: pages\ntheme: {name: material, font: false}\nplugins: [search]\n"
)
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


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str, int]:
    """Ours and plain Material's of one kitchen of 200 pages; one of its formulas' pages; how
    many."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    base = tmp_path_factory.mktemp("visits")
    manual = make_manual(synthetic_kitchen(base / "kitchen", 165), AS_OF)
    assert manual.errors == ()
    pages = build_site(manual, base / "ours", strict=False)
    export_tree(manual, base / "plain/pages")
    (base / "plain/mkdocs.yml").write_text(PLAIN)
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q"],
        cwd=base / "plain",
        check=True,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
    )
    sheet = manual.sheets["made-7"]
    return base / "ours", base / "plain/site", f"{sheet.formula.formula.home}/made-7/", pages


def share(made: Visit, *parts: str) -> float:
    return sum(size for name, size in made.sizes.items() if name.endswith(parts)) / 1000


def test_a_first_visit_at_200_pages(browser: Any, sites: tuple[Path, Path, str, int]) -> None:
    ours, plain, page, pages = sites
    assert pages >= 200
    made: dict[str, Visit] = {}
    paints: dict[str, list[Visit]] = {}
    for name, folder, search in (
        ("ours", ours, "#ks-find"),
        ("plain Material", plain, "label[for=__search]"),
    ):
        with packed(folder) as address:
            made[name] = visit(browser, address, page, search, slow=False)
            paints[name] = sorted(
                (visit(browser, address, page, search, slow=True) for _ in range(3)),
                key=lambda v: v.paint,
            )
    print(
        f"\nFirst visit to a formula page at {pages} pages, search included (kB on the wire, gz):"
    )
    print(
        f"{'':16}{'all':>8}{'page':>8}{'CSS':>8}{'JS':>8}{'index':>8}{'fetches':>9}{'LCP s':>8}{'CLS':>7}"
    )
    for name, one in made.items():
        index = share(one, "assets/index.js", "search_index.json")
        scripts = share(one, ".js") - share(one, "assets/index.js")
        middle = paints[name][1]
        print(
            f"{name:16}{one.total / 1000:8.1f}{share(one, page):8.1f}{share(one, '.css'):8.1f}{scripts:8.1f}"
            f"{index:8.1f}{len(one.sizes):9}{middle.paint / 1000:8.2f}{max(v.shift for v in paints[name]):7.3f}"
        )
    own = made["ours"]
    scripts = share(own, ".js") - share(own, "assets/index.js") - share(own, "minisearch.js")
    facts = sum(n for name, n in own.sizes.items() if "assets/facts/" in name) / 1000
    scripts -= facts  # what the formula says, kept to tell what changed: no program
    print(f"  our own scripts fetched on it, MiniSearch apart: {scripts:.1f} kB")
    assert scripts <= 15
    assert own.total <= 75_000
    assert own.total < made["plain Material"].total
    assert own.strangers == [] and all(v.strangers == [] for v in paints["ours"])
    assert paints["ours"][1].paint <= 2500
    assert max(v.shift for v in paints["ours"]) == 0


def test_our_own_scripts() -> None:
    """All that is ours, gzipped, MiniSearch apart."""
    scripts = [
        *STATIC.glob("*.js"),
        *(LOOK / a for a in (*ASSETS, *ON_DEMAND) if a.endswith(".js")),
    ]
    sizes = {
        p.name: len(gzip.compress(slim(p.read_text(encoding="utf-8")).encode(), 9))
        for p in sorted(scripts)
    }
    library = sizes.pop("minisearch.js")
    print("\nOwn scripts, gz: " + ", ".join(f"{n} {s / 1000:.1f}" for n, s in sizes.items()))
    print(f"  in all {sum(sizes.values()) / 1000:.1f} kB; MiniSearch {library / 1000:.1f} kB")
    first = sum(sizes[n] for n in sizes if n not in ("find.js", "sw.js", "sw-off.js", *ON_DEMAND))
    print(f"  on a first visit before anything is asked for: {first / 1000:.1f} kB")
    assert sum(sizes[n] for n in ("frame.js", "find.js", "sw.js")) <= 6_600


def test_the_whole_demo_saved(demo_site: Path) -> None:
    files = [p for p in demo_site.rglob("*") if p.is_file()]
    load = sum(len(gzip.compress(p.read_bytes(), 6)) for p in files)
    print(
        f"\nThe whole demo: {len(files)} files, "
        f"{sum(p.stat().st_size for p in files) / 1e6:.2f} MB, {load / 1e6:.2f} MB gz"
    )
    assert load <= 2_000_000
