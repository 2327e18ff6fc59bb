"""The exported tree in a second, kept static site builder: the manual outlives the first one.

The builder is Zensical (PyPI, MIT), asked as a command of its own: nothing of ours imports it, and
its configuration is the one the guide prints.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urljoin, urlsplit

import pytest
from browsing import Server, tab
from conftest import ROOT, missing_tool

from generator.sheet.manual import Manual
from generator.site.exporting import export_tree

BUILDER = os.environ.get("SECOND_BUILDER") or shutil.which("zensical")
HOME = "https://example.org/manual/"
SHEET = "stove/barley-soup/"


def configuration() -> str:
    """The configuration that the guide gives for it."""
    text = (ROOT / "site_demo/guide/look-up/phone.md").read_text(encoding="utf-8")
    found = re.search(r"^```toml\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert found is not None
    return found[1]


@pytest.fixture(scope="module")
def tree(demo: Manual, tmp_path_factory: pytest.TempPathFactory) -> Path:
    if BUILDER is None:
        missing_tool("zensical")
    folder = tmp_path_factory.mktemp("second")
    export_tree(demo, folder / "tree")
    (folder / "zensical.toml").write_text(configuration(), encoding="utf-8")
    done = subprocess.run(
        [str(BUILDER), "build"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture(scope="module")
def built(tree: Path) -> Path:
    return tree / "site"


class _Page(HTMLParser):
    """What a page asks for and links to, and the places in it, as a browser reads them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.places: set[str] = {""}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        self.places |= {v for v in (said.get("id"), said.get("name")) if v}
        self.links += [v for k in ("href", "src") if (v := said.get(k))]


def test_every_page_is_there_and_every_link_leads_somewhere(tree: Path, built: Path) -> None:
    pages = {path: _Page(path.read_text(encoding="utf-8")) for path in built.rglob("*.html")}
    sources = [p.relative_to(tree / "tree") for p in (tree / "tree").rglob("*.md")]
    at = {p.parent if p.name == "index.md" else p.with_suffix("") for p in sources}
    assert len(at) > 150 and all((built / place / "index.html") in pages for place in at)
    lost, asked = [], 0
    for path, page in pages.items():
        if path.name == "404.html":
            continue
        here = HOME + path.relative_to(built).as_posix().removesuffix("index.html")
        for link in page.links:
            whole = urljoin(here, link)
            if not whole.startswith(HOME):
                continue
            parts = urlsplit(whole)
            target = built / unquote(parts.path).removeprefix("/manual/")
            target = target / "index.html" if target.is_dir() else target
            asked += 1
            if not target.is_file():
                lost.append(f"{here}: {link}")
            elif target in pages and unquote(parts.fragment) not in pages[target].places:
                lost.append(f"{here}: {link}: no such place")
    assert lost == [] and asked > 5000


def test_nothing_is_asked_of_anybody_else(built: Path) -> None:
    """Fonts, scripts and styles are its own: a kitchen's phone may have no way out."""
    for path in built.rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        asked = re.findall(
            r"<(?:script|link|img|iframe)\b[^>]*?(?:src|href)=[\"']?(https?:[^\"'>\s]+)", text
        )
        assert [a for a in asked if not a.startswith(HOME)] == [], path


def test_it_looks_and_searches(browser: Any, built: Path) -> None:
    """A phone: the weights are read in our type, a size is chosen, a batch begins; the builder's own
    search finds the sheet by its name."""
    with Server(built) as server, tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + SHEET)
        title = page.locator("h1").first.inner_text()
        weight = page.locator(".ks-weigh td b, .ks-amount b, .ks-fig b").first
        assert float(weight.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")) >= 24
        box = page.locator(".ks-limit").first
        assert box.evaluate("e => parseFloat(getComputedStyle(e).borderTopWidth)") >= 2
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 360
        page.get_by_role("button", name="Start a batch").first.click()
        page.locator(".ks-batches[open] .ks-go").click()
        page.wait_for_selector(".ks-holds.ks-going")
        page.goto(server.address)
        sought = page.locator("input[aria-label='Search'][autofocus]")
        sought.wait_for(state="attached")
        page.keyboard.press("Control+k")
        sought.fill("barley soup")
        found = page.locator(f"a[href='{server.address}{SHEET}']")
        found.filter(has_text=title).first.wait_for()
